"""What falls due, as it is shared out: what an open job stands for, at the bounds of half an interval."""

from __future__ import annotations

import datetime as dt

import pytest
from support.recorded import load

from scheduler.care import Every, Job, Notes
from scheduler.plan import Occurrence
from scheduler.plan.series import Series
from scheduler.quantities import Span
from scheduler.rota.availability import Availability
from scheduler.rota.items import items
from scheduler.workflow import days_of, make_plan

SATURDAYS = """
[site]
name = "Plover Yard"
[[keeper]]
name = "Noor"
weekdays = ["Sat"]
[[enclosure]]
name = "Quillet"
set_up = 2026-01-05
"""
WEDNESDAY, SATURDAY = dt.date(2026, 12, 16), dt.date(2026, 12, 19)


@pytest.mark.parametrize(
    ("period", "after", "is_met"),
    [
        # Half of 7 days is 3.5: on Saturday the one of 3 days later is done too, that of 4 days later is not.
        (7, 3, True),
        (7, 4, False),
        # Half of 8 is 4.
        (8, 3, True),
        (8, 4, False),
    ],
)
def test_what_comes_less_than_half_an_interval_after_an_open_one_is_met_by_it(
    period: int, after: int, is_met: bool
) -> None:
    """Open on Wednesday; nobody comes before Saturday."""
    site = load(SATURDAYS)
    job = Job(
        enclosure=site.enclosures[0],
        key="prune",
        title="prune",
        short="Prune",
        cadence=Every(span=Span(period)),
        minutes=10,
        notes=lambda: Notes(steps=("Prune.",)),
    )
    later = [SATURDAY + dt.timedelta(days=after + n * period) for n in range(3)]
    series = Series(job=job, dates=tuple(later), moves=True)
    open_ = Occurrence(WEDNESDAY, dt.time(8), job, series, "overdue", WEDNESDAY - dt.timedelta(days=5))
    due = [Occurrence(day, dt.time(8), job, series) for day in later]
    found = items([open_, *due], Availability(site), WEDNESDAY, later[-1], lambda *_: False)
    assert [one.occurrence.day for one in found] == [WEDNESDAY, *later[is_met:]]


HALL = """
[site]
name = "Plover Yard"
[[keeper]]
name = "Noor"
[[enclosure]]
name = "Quillet"
set_up = 2026-01-05
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm"}]
"""


def test_water_is_tested_before_it_is_changed_whatever_days_are_chosen() -> None:
    """Facts of the trade: values are at their highest just before a change (common practice, no published source)."""
    site = load(HALL)
    today = WEDNESDAY
    planned = make_plan(site, today, today, 60)
    found = items(
        days_of(planned), Availability(site), today, today + dt.timedelta(days=55), lambda *_: False
    )
    changes = [i for i in found if i.job.key == "water-change"]
    pairs = [
        (test, next((c for c in changes if c.due >= test.due), None))
        for test in found
        if test.job.key == "water-test"
    ]
    assert len(pairs) == 8
    assert all(max(test.days) < min(change.days) for test, change in pairs if change is not None)
    # Each can still move, away from the other.
    assert any(len(test.days) > 1 for test, _ in pairs) and any(len(c.days) > 1 for c in changes)
