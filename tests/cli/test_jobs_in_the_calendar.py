"""`pondround jobs --format json` names the calendar entry in which each job stands: it is there, on that day, at that hour."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path

import pytest
from dateutil.rrule import rrulestr
from icalendar import Calendar, Event
from support.samples import EVERY_SAMPLE, RESCUE
from typer.testing import CliRunner

from scheduler.cli.main import app

SAMPLES = Path(__file__).parents[2] / "sample_configs"
TODAY, LATER = "2026-12-01", "2026-12-09"
REACH = dt.date(2027, 3, 1)


@pytest.fixture
def file(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return Path(shutil.copy(SAMPLES / f"{request.param}.toml", tmp_path))


def ok(*words: object) -> str:
    result = CliRunner().invoke(app, [*map(str, words)])
    assert result.exit_code == 0, result.output[:2000]
    return result.stdout


def days_of(event: Event) -> set[dt.date]:
    """Return the days on which an entry stands."""
    start = event["DTSTART"].dt
    if "RRULE" not in event:
        return {start.date() if isinstance(start, dt.datetime) else start}
    out = event.get("EXDATE", [])
    gone = {d.dt.date() for one in (out if isinstance(out, list) else [out]) for d in one.dts}
    rule = rrulestr(event["RRULE"].to_ical().decode(), dtstart=start)
    found = rule.between(start, dt.datetime.combine(REACH, dt.time(), start.tzinfo), inc=True)
    return {moment.date() for moment in found} - gone


def answered(line: dict[str, str], lines: list[dict[str, str]]) -> bool:
    """Tell whether a line is answered by what is open of its job: that is done so late that it is both, in one entry."""
    job = ("enclosure", "job", "variant", "uid")
    return any(
        one["state"] == "overdue" and one["date"] < line["date"] and all(one[key] == line[key] for key in job)
        for one in lines
    )


def check(file: Path, today: str) -> int:
    """See that each line's entry is in the site's calendar, or in its enclosure's; return how many are in the former."""
    out = file.parent / today
    ok("export", file, "--to", out, "--today", today)
    lines = [
        json.loads(line)
        for line in ok("jobs", file, "--format", "json", "--today", today, "--days", 60).splitlines()
    ]
    assert len(lines) > 100
    feeds = {
        path.stem: {
            str(e["UID"]): (e, days_of(e)) for e in Calendar.from_ical(path.read_bytes()).walk("VEVENT")
        }
        for path in out.glob("*.ics")
        if not path.stem.endswith(".rounds")
    }
    site = min(feeds, key=len)
    in_site = 0
    for line in lines:
        held = [name for name, some in feeds.items() if line["uid"] in some]
        assert held, line
        in_site += site in held
        assert site in held or held == [f"{site}-{line['enclosure']}"], (line, held)
        event, days = feeds[held[0]][line["uid"]]
        if answered(line, lines):
            continue
        assert dt.date.fromisoformat(line["date"]) in days or line["keeper"] is not None, line
        start = event["DTSTART"].dt
        if isinstance(start, dt.datetime):
            assert f"{start:%H:%M}" == line["time"], line
        else:
            by, _, work = str(event["SUMMARY"]).partition(": ")
            assert work and (by == "Nobody" if line["keeper"] is None else line["keeper"].startswith(by)), (
                line
            )
    return in_site


@pytest.mark.parametrize("file", EVERY_SAMPLE, indirect=True)
def test_every_line_stands_in_an_entry(file: Path) -> None:
    assert check(file, TODAY)


@pytest.mark.parametrize(
    "file", ["one-tank", pytest.param("household", marks=pytest.mark.slow), RESCUE], indirect=True
)
def test_every_line_stands_in_an_entry_once_things_are_late_and_done(file: Path) -> None:
    """A week of people who forget: some of it was done, and not always on its day."""
    due = [
        json.loads(line)
        for line in ok("jobs", file, "--format", "json", "--today", TODAY, "--days", 8).splitlines()
    ]
    by = ["--by", due[0]["keeper_id"]] if due[0]["keeper_id"] else []
    for line in [one for n, one in enumerate(due) if n % 5 == 0][:12]:
        word = f"{line['job']}/{line['variant']}" if line["variant"] else line["job"]
        CliRunner().invoke(
            app,
            ["did", str(file), line["enclosure"], word, "--on", line["date"], "--today", line["date"], *by],
        )
    assert check(file, LATER)
