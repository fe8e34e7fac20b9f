"""The page of an enclosure: who lives in it, what is due today, what was read, what the review finds, what
was recorded."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler import care
from scheduler.care import Figure, Job
from scheduler.care.newest_readings import newest_readings
from scheduler.description.site import Enclosure, Resident, Site
from scheduler.history import Entry
from scheduler.readings import QUANTITIES, show_reading
from scheduler.sheets.recorded import described
from scheduler.sheets.review import show
from scheduler.web.animals import REASONS, movable
from scheduler.web.coordinator.origin import Origin
from scheduler.web.coordinator.review import reviews_of
from scheduler.web.readings import WRITTEN
from scheduler.web.round import measurable, of_rows
from scheduler.web.sheet import WorkSheet, make_sheet
from scheduler.web.visit import PageVisit

HISTORY_DAYS = 60
"""So many days of the record are on the page of an enclosure. House value."""

MOST_LINES = 400
"""So many entries of it at most. House value."""


@dataclass(frozen=True, slots=True)
class FigureLine:
    """A figure as the page shows it: what it is called, its value, how it came about, and where it is
    from."""

    label: str
    value: str
    how: str
    source: str


@dataclass(frozen=True, slots=True)
class DayOfRecord:
    """What was recorded for a day, each with who did it ("" where nobody is named)."""

    day: dt.date
    lines: tuple[tuple[str, str, str], ...]


def tank_page(
    visit: PageVisit,
    tank: str,
    alert: str = "",
    status: int = 200,
    *,
    written: Mapping[str, str] | None = None,
) -> Response:
    """Return the page of an enclosure, named by its id; `written` is a form that was refused.

    HTTPException (404) where there is none of that id.
    """
    tended, form = visit.tended, written or {}
    site = tended.site
    enclosure = next((e for e in site.enclosures if e.id == tank), None)
    if enclosure is None:
        raise HTTPException(404)
    visit.came_from = Origin("tank", enclosure.id)
    sheet = make_sheet(tended, None)
    (review,) = reviews_of(visit, enclosure.id)
    return visit.html(
        "coordinator/tank.html",
        status,
        **of_rows(visit),
        alert=alert,
        enclosure=enclosure,
        sheet=_of_enclosure(sheet, enclosure),
        residents=[(r, species_of(site, r)) for r in enclosure.resident],
        read=_read(visit, enclosure),
        findings={
            verdict: [f for f in review.findings if f.verdict == verdict]
            for verdict in ("act", "look", "fine")
        },
        figures=[_line(figure, visit) for figure in review.figures],
        record=[*days_of_record(site, _entries(visit, enclosure))],
        jobs=_jobs(visit, enclosure),
        quantities=measurable(site.settings),
        written={key: form.get(key, "") if "reading" in form else "" for key in WRITTEN},
        typed={key: form.get(key, "") if "species" in form else "" for key in _ARRIVAL},
        note=form.get("note", "") or form.get("why", ""),
        animals=[one for one in movable(visit) if one.enclosure.id == enclosure.id],
        reasons=REASONS,
        species=sorted(sheet.names[0] for sheet in site.sheets.values()),
    )


_ARRIVAL = ("name", "species", "carapace", "mass", "why")


def _of_enclosure(sheet: WorkSheet, enclosure: Enclosure) -> WorkSheet:
    """Return what of a sheet is of an enclosure."""
    return WorkSheet(
        alarms=tuple(row for row in sheet.alarms if row.job.enclosure.id == enclosure.id),
        tanks=tuple(tank for tank in sheet.tanks if tank.enclosure.id == enclosure.id),
        free=(),
        others=tuple(line for line in sheet.others if line.entry.enclosure == enclosure.id),
        earlier=tuple(line for line in sheet.earlier if line.entry.enclosure == enclosure.id),
    )


def species_of(site: Site, resident: Resident) -> tuple[str, str]:
    """Return the common and the scientific name of the species of a resident; "" for what is not known."""
    sheet = site.sheet(resident)
    return (resident.species or "", "") if sheet is None else (sheet.names[0], sheet.species)


def _read(visit: PageVisit, enclosure: Enclosure) -> list[tuple[str, str, str, dt.date]]:
    """Return the last readings: of what, the value, the verdict ("" for none), and the day."""
    tended = visit.tended
    settings = tended.site.settings
    own = (
        case
        for case in care.cases(tended.described, tended.today, tended.history)
        if case.enclosure.id == enclosure.id
    )
    return [
        (
            QUANTITIES[one.entry.name].label,
            show_reading(one.entry.name, one.entry.value or 0.0, settings.units, settings.formats),
            one.verdict or "",
            one.entry.day,
        )
        for case in own
        for one in newest_readings(case)
    ]


def _jobs(visit: PageVisit, enclosure: Enclosure) -> list[Job]:
    """Return the jobs of an enclosure that are not open today, each as the log knows it."""
    tended = visit.tended
    open_ = {turn.occurrence.job.log_name for turn in tended.turns.get(tended.today, ())}
    own = (s.job for s in tended.planned.series if s.job.enclosure.id == enclosure.id)
    found = {job.ref: job for job in own if job.ref == job.log_name and job.ref not in open_}
    return sorted(found.values(), key=lambda job: job.title.lower())


def _line(figure: Figure, visit: PageVisit) -> FigureLine:
    units = visit.tended.site.settings.units
    return FigureLine(figure.label, show(figure, units), figure.how(), str(figure.source))


def _entries(visit: PageVisit, enclosure: Enclosure) -> list[Entry]:
    today = visit.tended.today
    since = today - dt.timedelta(days=HISTORY_DAYS)
    place = visit.tended.described.settings.id
    some = visit.live.log().entries(
        place, since=since, until=today, enclosure=enclosure.id, voided=False, last=MOST_LINES
    )
    return list(some)


def days_of_record(site: Site, entries: list[Entry]) -> Iterator[DayOfRecord]:
    """Yield what was recorded, the last day first."""
    names = {k.id: k.name for k in site.keepers}
    by_day: dict[dt.date, list[tuple[str, str, str]]] = {}
    for entry in sorted(entries, key=lambda e: e.moment):
        who = names.get(entry.keeper, entry.keeper)
        by_day.setdefault(entry.day, []).append((described(site, entry), who, entry.note))
    for day, lines in sorted(by_day.items(), reverse=True):
        yield DayOfRecord(day, tuple(lines))
