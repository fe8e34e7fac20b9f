"""The backlog: what is open of days before today, and on which days of a cadence it fell due."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from scheduler.care import KEYS
from scheduler.errors import UsageError
from scheduler.history import Entry
from scheduler.log import Log, open_log
from scheduler.log.links import LogState
from scheduler.workflow import Who, read_site
from scheduler.workflow.live.round_page import RoundPage, tended
from scheduler.workflow.record.backlog import CaughtUp, WrongDaysError, backlog_of, catch_up
from scheduler.workflow.site_log import log_url

TODAY = dt.date(2026, 12, 14)
OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)


def house(folder: Path, cadence: str) -> tuple[Log, Path]:
    file = folder / "alder.toml"
    file.write_text(
        f'[site]\nname = "Alder"\ntime_zone = "Europe/Dublin"\n\n[[enclosure]]\nname = "Sedge"\nset_up = 2026-01-05\n'
        f'job = {{{OFF}}}\nextra_job = [{{key = "own", title = "own", {cadence}}}]\n'
    )
    log = open_log(log_url(file, read_site(file)))
    first = Entry(
        kind="done", enclosure="sedge", name="own", day=dt.date(2026, 11, 23), title="own",
        recorded=dt.datetime(2026, 11, 23, 9),  # noqa: DTZ001 - the log keeps UTC without zone
    )  # fmt: skip
    log.record("alder", [first])
    return log, file


def seen(log: Log, file: Path) -> RoundPage:
    return tended(log, read_site(file), TODAY, LogState(0, 0, 0))


@pytest.mark.parametrize(
    ("cadence", "days"),
    [
        ('rule = "FREQ=DAILY"', [f"2026-11-{d}" for d in range(24, 31)] + [f"2026-12-{d:02}" for d in range(1, 14)]),
        ('rule = "FREQ=WEEKLY;BYDAY=MO,TH"', ["2026-11-26", "2026-11-30", "2026-12-03", "2026-12-07", "2026-12-10"]),
        ('rule = "FREQ=MONTHLY;BYMONTHDAY=1"', ["2026-12-01"]),
        ('every = "7 days"', ["2026-11-30"]),
        ('every = "1 month"', []),
        ("on = [2026-12-02, 2026-12-12, 2026-12-20]", ["2026-12-02", "2026-12-12"]),
    ],
)  # fmt: skip
def test_the_days_of_a_cadence(tmp_path: Path, cadence: str, days: list[str]) -> None:
    """Of a job by calendar each day that was missed, of one by interval the day on which it fell due."""
    log, file = house(tmp_path, cadence)
    with log:
        found = [m for _, some in backlog_of(seen(log, file)) for m in some]
    assert [str(day) for m in found for day in m.days] == days


def test_it_is_recorded_whole_or_not_at_all(tmp_path: Path) -> None:
    log, file = house(tmp_path, 'rule = "FREQ=WEEKLY;BYDAY=MO,TH"')
    with log:
        now = seen(log, file)
        ((_, (missed,)),) = backlog_of(now)
        with pytest.raises(UsageError, match="say of a job when it was done"):
            catch_up(log, now, {}, Who(as_of=TODAY), 1)
        with pytest.raises(WrongDaysError) as wrong:
            catch_up(log, now, {missed.ref: CaughtUp("other", "2026-12-15")}, Who(as_of=TODAY), 1)
        assert list(wrong.value.wrong) == [missed.ref]
        assert len(list(log.entries("alder"))) == 1
        new = catch_up(log, now, {missed.ref: CaughtUp("due")}, Who(as_of=TODAY), 1)
        assert [str(e.day) for e in new] == [
            "2026-11-26",
            "2026-11-30",
            "2026-12-03",
            "2026-12-07",
            "2026-12-10",
        ]
        assert catch_up(log, now, {missed.ref: CaughtUp("due")}, Who(as_of=TODAY), 1) == []
        assert backlog_of(seen(log, file)) == []
