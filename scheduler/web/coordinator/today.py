"""The site today: a line for each enclosure in walking order, with what is open and who has it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from starlette.responses import Response

from scheduler import care
from scheduler.care import Case
from scheduler.care.newest_readings import NewestReading, newest_readings
from scheduler.description.site import Enclosure, Keeper, Site
from scheduler.readings import show_reading
from scheduler.rota.model import Unfilled
from scheduler.web.coordinator.origin import Origin
from scheduler.web.round import of_rows
from scheduler.web.rows import RecordedLine
from scheduler.web.sheet import ALARM, REMARKS, fresh_of, line_of, make_sheet
from scheduler.web.tanks import walking_place
from scheduler.web.visit import PageVisit
from scheduler.workflow.live.round_page import RoundPage, Turn
from scheduler.workflow.rota.site_rota import quarantined_in

BIG_MINUTES = 20
"""From so many minutes on a job is told as the next big one of an enclosure. House value."""

ALWAYS_READ = ("temperature", "nitrate")
"""Of these the last reading is told whatever it is; of others only one that is not fine."""

READ_DAYS = 60
"""A reading that is older is not told. House value."""


@dataclass(frozen=True, slots=True)
class Task:
    """Something open, in the words of a calendar: since when, where that is earlier, and whether it is an
    alarm."""

    short: str
    since: dt.date | None
    alarm: bool


@dataclass(frozen=True, slots=True)
class ReadValue:
    """A reading as the line of an enclosure tells it; `verdict` is "" where no limit is known for it."""

    text: str
    verdict: str
    day: dt.date


@dataclass(frozen=True, slots=True, kw_only=True)
class TankLine:
    """An enclosure today: who lives in it, what is open by who has it ("" for nobody), what was read last,
    and the next job that takes long."""

    enclosure: Enclosure
    animals: str
    quarantine: bool
    open: tuple[tuple[str, tuple[Task, ...]], ...]
    done: int
    read: tuple[ReadValue, ...]
    next: tuple[str, dt.date] | None


@dataclass(frozen=True, slots=True)
class Presence:
    """A keeper who is there today: what is left, the minutes of it, and how many more the keeper has."""

    keeper: Keeper
    jobs: int
    minutes: int
    free: int


def today_page(visit: PageVisit, alert: str = "", status: int = 200) -> Response:
    """Return the page of the site today."""
    visit.came_from = Origin("site")
    tended = visit.tended
    sheet = make_sheet(tended, None)
    cases = care.cases(tended.described, tended.today, tended.history)
    lines = visit.live.derived(tended, "lines", lambda: tank_lines(tended, cases))
    left = tended.shown.rota.unfilled if tended.shown is not None else ()
    return visit.html(
        "coordinator/site.html",
        status,
        **of_rows(visit),
        alert=alert,
        sheet=sheet,
        walls=in_walls(lines),
        open_jobs=sum(len(tasks) for line in lines for _, tasks in line.open),
        done_jobs=sum(line.done for line in lines),
        fresh=_fresh(tended, visit.keeper),
        here=_here(tended),
        left=[one for one in left if _is_near(one, tended.today)],
    )


def _fresh(tended: RoundPage, keeper: Keeper | None) -> list[RecordedLine]:
    """Return what whoever looks recorded last, by one tap."""
    own = [entry for entry in tended.recorded(keeper) if entry.name not in REMARKS]
    last = fresh_of(own)
    return [line_of(tended, keeper, entry) for entry in own if entry.number in last]


def _is_near(one: Unfilled, today: dt.date) -> bool:
    return one.item.occurrence.day <= today + dt.timedelta(days=1)


def tank_lines(tended: RoundPage, cases: Iterable[Case]) -> list[TankLine]:
    """Return a line for each enclosure of a site, in walking order."""
    quarantined = quarantined_in(tended.site, tended.history)
    turns: dict[str, list[Turn]] = {}
    for turn in tended.turns.get(tended.today, ()):
        turns.setdefault(turn.ref.enclosure, []).append(turn)
    done: dict[str, int] = {}
    for entry in tended.done:
        if entry.kind == "done" and entry.day == tended.today:
            done[entry.enclosure] = done.get(entry.enclosure, 0) + 1
    by_id = {case.enclosure.id: case for case in cases}
    found = []
    for enclosure in tended.site.enclosures:
        line = TankLine(
            enclosure=enclosure,
            animals=_animals(tended.site, enclosure),
            quarantine=quarantined(enclosure.id, tended.today),
            open=_open(turns.get(enclosure.id, ()), tended.today),
            done=done.get(enclosure.id, 0),
            read=_read(tended, newest_readings(by_id[enclosure.id])),
            next=_next_big(tended, enclosure),
        )
        found.append(line)
    return sorted(found, key=lambda one: walking_place(one.enclosure, quarantine=one.quarantine))


def in_walls(lines: Sequence[TankLine]) -> list[list[tuple[str, list[TankLine]]]]:
    """Return lines room by room in one table, or in two of about the same length where there are many.

    The room of those in quarantine is told apart.
    """
    rooms: list[tuple[str, list[TankLine]]] = []
    for (apart, room), some in groupby(lines, lambda one: (one.quarantine, one.enclosure.room or "")):
        said = apart and "quarantine" not in room.lower()
        title = ", ".join(filter(None, ("Quarantine" if said else "", room[:1].upper() + room[1:])))
        rooms.append((title, [*some]))
    if len(lines) <= ONE_WALL or len(rooms) == 1:
        return [rooms]
    before = [sum(len(some) for _, some in rooms[:n]) for n in range(len(rooms) + 1)]
    cut = min(range(1, len(rooms)), key=lambda n: abs(2 * before[n] - len(lines)))
    return [rooms[:cut], rooms[cut:]]


ONE_WALL = 8
"""Up to so many enclosures stand in one table. House value."""


def _animals(site: Site, enclosure: Enclosure) -> str:
    """Return who lives in an enclosure, short: the names of two, of more how many of which species."""
    some = enclosure.resident
    if len(some) <= 2 and all(r.count == 1 for r in some):
        return ", ".join(r.name for r in some)
    counts: dict[str, int] = {}
    for resident in some:
        sheet = site.sheet(resident) if resident.species else None
        name = sheet.names[0] if sheet is not None else resident.species or resident.name
        counts[name] = counts.get(name, 0) + resident.count
    return ", ".join(f"{number} × {name}" for name, number in counts.items())


def _open(turns: Iterable[Turn], today: dt.date) -> tuple[tuple[str, tuple[Task, ...]], ...]:
    by_keeper: dict[str, list[Task]] = {}
    for turn in turns:
        job, due = turn.occurrence.job, turn.ref.due
        task = Task(lower_first(job.short), due if due < today else None, care.urgency(job) == ALARM)
        by_keeper.setdefault(turn.keeper.name if turn.keeper is not None else "", []).append(task)
    return tuple((who, tuple(tasks)) for who, tasks in sorted(by_keeper.items()))


def lower_first(text: str) -> str:
    """Return a title as it stands inside a line: "Look in" as "look in", "UVI reading" as it is."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _read(tended: RoundPage, newest: Iterable[NewestReading]) -> tuple[ReadValue, ...]:
    site = tended.site
    found = []
    for one in newest:
        entry, bad = one.entry, one.verdict in {"act", "look"}
        recent = (tended.today - entry.day).days <= READ_DAYS
        if entry.value is None or not recent or not (bad or entry.name in ALWAYS_READ):
            continue
        shown = show_reading(entry.name, entry.value, site.settings.units, site.settings.formats)
        label = "" if entry.name in {"temperature", "ph"} else f"{entry.title or entry.name} "
        found.append(ReadValue(f"{label}{shown}", one.verdict or "", entry.day))
    return tuple(sorted(found, key=lambda one: ("act", "look", "fine", "").index(one.verdict)))


def _next_big(tended: RoundPage, enclosure: Enclosure) -> tuple[str, dt.date] | None:
    """Return the next job of the days to come that takes long: its short title and its day."""
    for day, turns in sorted(tended.turns.items()):
        jobs = [turn.occurrence.job for turn in turns if turn.ref.enclosure == enclosure.id]
        longest = max(jobs, key=lambda job: job.minutes, default=None)
        if day > tended.today and longest is not None and longest.minutes >= BIG_MINUTES:
            return lower_first(longest.short), day
    return None


def _here(tended: RoundPage) -> list[Presence]:
    found = []
    for keeper in tended.present:
        mine = tended.mine(keeper, tended.today)
        minutes = sum(turn.occurrence.job.minutes for turn in mine)
        most = tended.availability.minutes(keeper, tended.today)
        found.append(Presence(keeper, len(mine), minutes, max(0, most - minutes)))
    return found
