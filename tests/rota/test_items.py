"""What falls due, as it is shared out: what an open job stands for, at the bounds of half an interval."""

from __future__ import annotations

import datetime as dt

import pytest
from recorded import load

from scheduler.care import Every, Job, Notes
from scheduler.plan import Occurrence
from scheduler.plan.series import Series
from scheduler.quantities import Span
from scheduler.rota.items import items
from scheduler.rota.roster import Roster

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
    found = items([open_, *due], Roster(site), WEDNESDAY, later[-1], lambda *_: False)
    assert [one.occurrence.day for one in found] == [WEDNESDAY, *later[is_met:]]
