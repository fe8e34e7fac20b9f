"""What a keeper carries on a day and in its week: added up in one place, whoever asks."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduler.rota.eligibility import NO_WORK, Workload, workload_of

MONDAY = dt.date(2026, 12, 14)


def on(day: int) -> dt.date:
    return MONDAY + dt.timedelta(days=day)


@pytest.mark.parametrize(
    ("day", "work", "out", "expected"),
    [
        (0, [], 0, NO_WORK),
        (0, [(0, 20), (0, 5)], 0, Workload(25, True, 0)),
        (0, [(0, 20), (2, 5), (2, 5), (6, 5)], 0, Workload(20, True, 2)),
        (1, [(0, 20), (2, 5)], 0, Workload(0, False, 2)),
        # A task of no minutes is a round too.
        (0, [(0, 0)], 0, Workload(0, True, 0)),
        # Weeks begin on Mondays (ISO 8601): the Sunday before and the Monday after are of others.
        (0, [(-1, 20), (7, 5)], 0, Workload(0, False, 0)),
        (7, [(0, 20), (8, 5)], 0, Workload(0, False, 1)),
        # What is over of this week counts for this week alone.
        (4, [(4, 20), (5, 5)], 2, Workload(20, True, 3)),
        (7, [(8, 5)], 2, Workload(0, False, 1)),
    ],
)
def test_what_a_keeper_carries(day: int, work: list[tuple[int, int]], out: int, expected: Workload) -> None:
    today = on(3)
    assert workload_of(on(day), ((on(d), minutes) for d, minutes in work), today, out) == expected


def test_the_week_of_the_new_year() -> None:
    """29 December 2025 and 1 January 2026 are of one week, the first of 2026 (ISO 8601)."""
    days = [dt.date(2025, 12, 29), dt.date(2026, 1, 1)]
    assert workload_of(days[1], [(days[0], 10)], days[0], 1) == Workload(0, False, 2)
