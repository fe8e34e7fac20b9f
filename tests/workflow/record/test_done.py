"""What is recorded as done together."""

from __future__ import annotations

import datetime as dt
from itertools import count

import pytest

import scheduler
from scheduler.history import NO_HISTORY
from scheduler.workflow.record import done
from scheduler.workflow.record.standing import RecordContext, Who

TODAY = dt.date(2026, 12, 14)
BEGUN = dt.datetime.combine(TODAY, dt.time(8, 0))

WEIR = """\
[site]
name = "Weir"
start = 2026-12-01

[[enclosure]]
name = "Sedge"

[[enclosure.resident]]
name = "Fern"
species = "painted turtle"
"""


def test_what_is_ticked_together_has_one_instant(monkeypatch: pytest.MonkeyPatch) -> None:
    """The page knows by it what one tap recorded; the clock may go on meanwhile."""
    seconds = count()
    monkeypatch.setattr(done, "now_as_of", lambda *_: BEGUN + dt.timedelta(seconds=next(seconds)))
    site = scheduler.loads(WEIR)
    jobs = [*scheduler.jobs(site)][:3]
    entries = done.done_entries(RecordContext(site, TODAY, NO_HISTORY), jobs, Who())
    assert [e.recorded for e in entries] == [BEGUN] * 3
