"""Which day of a series is met by which day on which the job was done: counted by hand."""

from __future__ import annotations

import datetime as dt
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.care import ByRule, Job, Notes, On
from scheduler.description.site import Enclosure
from scheduler.plan.matching import ONE_OFF_EARLY_DAYS, early_days, met, missed
from scheduler.rules import parse


def days(*numbers: int) -> list[dt.date]:
    return [dt.date(2026, 12, n) for n in numbers]


@pytest.mark.parametrize(
    ("series", "done", "early", "expected"),
    [
        ([4, 11, 18], [4, 11], 0, {4: 4, 11: 11}),
        ([4, 11, 18], [5, 13], 0, {5: 4, 13: 11}),  # late
        ([4, 11, 18], [9], 2, {9: 11}),  # early, and what was missed on the 4th is settled with it
        ([4, 11, 18], [8], 2, {8: 4}),
        ([4, 11, 18], [12], 0, {12: 11}),
        ([4, 11, 18], [4, 5], 0, {4: 4}),  # over and above
        ([4, 11, 18], [2], 1, {}),
        ([4, 11, 18], [10, 11], 2, {10: 11}),
        ([4], [4, 20], 3, {4: 4}),
        ([], [4], 3, {}),
    ],
)
def test_a_day_that_was_done_meets_a_day_of_the_series(series, done, early, expected):
    found = met(days(*series), days(*done), early)
    assert {a.day: b.day for a, b in found.items()} == expected


@given(
    st.lists(st.integers(0, 60), max_size=12, unique=True).map(sorted),
    st.lists(st.integers(0, 60), max_size=12),
    st.integers(0, 3),
)
def test_what_is_met_is_not_missed(series, done, early):
    start = dt.date(2026, 12, 1)
    gap = min((b - a for a, b in itertools.pairwise(series)), default=99)
    early = min(early, (gap - 1) // 2)
    instances = [start + dt.timedelta(days=n) for n in series]
    performed = [start + dt.timedelta(days=n) for n in done]
    found = met(instances, performed, early)
    assert len(set(found.values())) == len(found) and set(found) <= set(performed)
    last = max(performed, default=None)
    left = missed(instances, start, last, early)
    # What the last time left open is what no time met, after it.
    after = [d for d in instances if d not in found.values() and (last is None or d > last)]
    assert left == after


WEEKLY = ByRule(rule=parse("FREQ=WEEKLY"))
ONCE = On(days=(dt.date(2026, 12, 18),))
TWICE = On(days=(dt.date(2026, 12, 4), dt.date(2026, 12, 18)))


def job(cadence, window: int, recorded_as: str | None = None) -> Job:
    return Job(
        enclosure=Enclosure(name="Alder", id="alder"),
        key="brush",
        title="brush the pane",
        short="brush the pane",
        cadence=cadence,
        window=window,
        minutes=5,
        recorded_as=recorded_as,
        notes=lambda: Notes(steps=("Brush the pane.",)),
    )


@pytest.mark.parametrize(
    ("brushing", "series", "expected"),
    [
        (job(WEEKLY, 2), [4, 11, 18], 2),  # the window
        (job(WEEKLY, 3), [4, 11, 18], 3),  # three of seven days: not yet half way
        (job(WEEKLY, 6), [4, 11, 18], 3),
        (job(WEEKLY, 6), [4, 11, 12], 0),  # the nearest two decide
        (job(WEEKLY, 6), [4, 6], 0),
        (job(WEEKLY, 6), [4, 7], 1),
        (job(WEEKLY, 6), [4], 6),  # nothing is known of a next one
        (job(WEEKLY, 6), [], 6),
        (job(ONCE, 2), [18], ONE_OFF_EARLY_DAYS),  # what comes once
        (job(ONCE, 40), [18], 40),
        (job(TWICE, 9), [4, 18], 6),
        (job(ONCE, 2, recorded_as=""), [18], 0),  # what follows from a reading: never
        (job(WEEKLY, 2, recorded_as=""), [4, 11, 18], 0),
    ],
)
def test_how_early_doing_counts(brushing, series, expected):
    assert early_days(brushing, days(*series)) == expected
