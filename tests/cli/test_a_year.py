"""A year of the household sample, two hundred events typed as people type them: each week three readers of another origin
show of each keeper's calendar what the rota says, and of the site's what `jobs` lists."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import vobject
from support.conversations import run

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.calendar.titles import DONE, LATE, place_names
from scheduler.workflow.workspace import Workspace, open_workspace

SAMPLES = Path(__file__).parents[2] / "sample_configs"
SCRIPT = Path(__file__).with_name("a-year.txt")
FILE = Path("enclosures.toml")
WEEK = 7

Seen = Counter[tuple[str, str]]
"""Days and titles, with how often each is there."""


@pytest.fixture
def household(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside the household's description, without a log."""
    shutil.copy(SAMPLES / "household.toml", tmp_path / FILE)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return tmp_path


def events() -> list[tuple[dt.date, str]]:
    """Return the days and lines of the script."""
    lines = [line.partition(" ") for line in SCRIPT.read_text("utf-8").splitlines()]
    return [(dt.date.fromisoformat(day), typed) for day, _, typed in lines]


@pytest.mark.slow
@pytest.mark.reader
def test_a_year_of_the_household(readers: Any, household: Path) -> None:
    script = events()
    assert len(script) >= 200
    words = Counter(typed.split()[0] for _, typed in script)
    assert set(words) >= {
        *("did", "reading", "postpone", "skip", "once", "away", "undo", "rota"),
        *("move", "arrived", "departed", "set-up", "retire", "merge", "rename"),
    }
    weeks = 0
    while script:
        monday = script[0][0] - dt.timedelta(days=script[0][0].weekday())
        for day, typed in [one for one in script if one[0] < monday + dt.timedelta(days=WEEK)]:
            code, _, err = run(typed, today=str(day))
            # Where nobody takes a job, a rota says so by its code.
            assert code == 0 or (code == 1 and "Nobody takes" in err), (day, typed, err)
        script = [one for one in script if one[0] >= monday + dt.timedelta(days=WEEK)]
        _see_the_week(readers, monday + dt.timedelta(days=WEEK))
        weeks += 1
    assert weeks >= 51
    assert "Nickel" in run("history --resident nickel", today=None)[1]


def _see_the_week(readers: Any, today: dt.date) -> None:
    """Hold what three readers make of the calendars of a week against the plan and the rota."""
    space = open_workspace(FILE, str(today))
    history = workflow.history_of(space, done_since=today - dt.timedelta(days=workflow.DONE_DAYS))
    planned = workflow.make_plan(space.site, today, today, WEEK, history)
    shared = workflow.rota_to_export(space, today)
    options = Options(each_job=True)
    for folder in ("plan", "rota"):
        shutil.rmtree(folder, ignore_errors=True)
    workflow.export(planned, Path("plan"), options, keep_starts=True)
    workflow.export(planned, Path("rota"), options, keep_starts=True, rota=shared.rota)
    site = Path("plan", f"{space.site.settings.id}.ics")
    own = {
        keeper.id: Path("rota", f"{space.site.settings.id}-{keeper.id}.rounds.ics")
        for keeper in space.site.keepers
    }
    expected = {site: _listed(space, planned)} | {
        file: _taken(space, shared, who) for who, file in own.items()
    }
    for read in (readers.recurring_ical_events, readers.ical_js, by_vobject):
        for file, wanted in expected.items():
            assert _shown(read, file, today) == wanted, (today, file.name)


def _listed(space: Workspace, planned: workflow.Planned) -> Seen:
    """Return what `jobs` lists of the week and is still to be done."""
    places = place_names(planned.site)
    return Counter(
        (o.day.isoformat(), _title(o.job.short, places[o.job.enclosure.id]))
        for o in workflow.days_of(planned)
        if o.state != "done"
    )


def _taken(space: Workspace, shared: workflow.SiteRota, keeper: str) -> Seen:
    """Return what the rota gives a keeper in the week."""
    places, end = place_names(space.site), space.today + dt.timedelta(days=WEEK)
    return Counter(
        (one.day.isoformat(), _title(task.item.job.short, places[task.item.job.enclosure.id]))
        for one in shared.rota.rounds
        if one.keeper.id == keeper and space.today <= one.day < end
        for task in one.tasks
    )


def _title(short: str, place: str) -> str:
    return _plain(f"{short} {place}")


def _plain(title: str) -> str:
    """Return the words of a title: how they are parted hangs on what stands before them."""
    return re.sub("[:,]", "", title).casefold()


def _shown(read: Callable[..., list[dict[str, str]]], file: Path, today: dt.date) -> Seen:
    """Return what a reader shows of a calendar in the week and is still to be done, without the word that it is late."""
    until = today + dt.timedelta(days=WEEK)
    # A site between two midnights of UTC: the day is the one that the reader shows there.
    found = read(
        [file], f"{today - dt.timedelta(days=1)}T00:00:00Z", f"{until + dt.timedelta(days=1)}T00:00:00Z"
    )
    return Counter(
        (one["start"][:10], _plain(one["summary"].removeprefix(LATE)))
        for one in found
        if not one["summary"].startswith((DONE, "Help"))
        and today.isoformat() <= one["start"][:10] < until.isoformat()
    )


def by_vobject(files: list[Path], first: str, end: str) -> list[dict[str, str]]:
    """List occurrences as vobject and dateutil expand them, in the same form as the other readers."""
    since, until = (dt.datetime.fromisoformat(text).replace(tzinfo=None) for text in (first, end))

    def occurrences(event: Any) -> Iterator[dt.datetime]:
        begin = event.dtstart.value
        days = event.getrruleset(addRDate=True)
        for day in [begin] if days is None else days.between(_as(begin, since), _as(begin, until), inc=True):
            moment = day if isinstance(day, dt.datetime) else dt.datetime.combine(day, dt.time())
            yield moment.replace(tzinfo=None)

    return [
        {"start": moment.isoformat(), "summary": event.summary.value}
        for file in files
        for event in vobject.readOne(file.read_text("utf-8")).vevent_list
        for moment in occurrences(event)
        if since <= moment < until
    ]


def _as(begin: object, moment: dt.datetime) -> dt.datetime:
    """Return a moment with the zone of a start, if it has one."""
    return moment.replace(tzinfo=begin.tzinfo) if isinstance(begin, dt.datetime) else moment
