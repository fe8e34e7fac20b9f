"""The round page as it is shown: today's jobs, what was recorded, the days to come; what follows; the
calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.care.cautions import headline
from scheduler.description.site import Enclosure, SiteSettings
from scheduler.quantities import show_minutes
from scheduler.readings import QUANTITIES, Quantity, parse_reading, show_reading
from scheduler.sheets.recorded import recorded_lines
from scheduler.web.animals import REASONS, movable
from scheduler.web.backlog import count_of
from scheduler.web.codes import code_svg
from scheduler.web.handover import handed_over
from scheduler.web.jobs import resting
from scheduler.web.notes import shown_notes
from scheduler.web.planning import away_days
from scheduler.web.readings import WRITTEN, repeated, shown_sheet
from scheduler.web.rows import Row, at_entries
from scheduler.web.sheet import WorkSheet, make_sheet, minutes_of
from scheduler.web.tanks import in_parts
from scheduler.web.visit import TEXT_WIDTH, PageVisit
from scheduler.web.words import WORDS, terms_in
from scheduler.workflow.feeds.links import calendar_secret
from scheduler.workflow.record.amendments import later_days
from scheduler.workflow.record.standing import Recorded

CHOSEN_DAYS = 28
"""So many days are offered where one is chosen."""

TOLD = {
    "taken-back": (
        "This was recorded and taken back since the page was made; it was not recorded again. If it is done "
        "after all, tick it below."
    ),
    "value-taken-back": (
        "This reading was recorded and taken back since the page was made; it was not recorded again. If it "
        "is right after all, write it below."
    ),
    "note-taken-back": "This note was kept and taken back since the page was made; it was not kept again.",
    "changed-hands": "This has changed hands since the page was made; nothing was changed.",
}
"""What a page says of a form that led to it, by the word in its address."""


def round_page(
    visit: PageVisit,
    alert: str = "",
    status: int = 200,
    *,
    written: Mapping[str, str] | None = None,
    again: Mapping[str, Any] | None = None,
) -> Response:
    """Return the page of the round; `written` is a form that was refused, of which nothing is lost.

    `again` is a form that could not be recorded, to be sent again.
    """
    tended, keeper, form = visit.tended, visit.keeper, written or {}
    sheet = make_sheet(tended, keeper)
    own = [*(row for row in sheet.alarms if keeper in (None, row.turn.keeper)), *sheet.own_rows]
    week = [tended.today + dt.timedelta(days=n) for n in range(1, 8)]
    worst, place = sheet.cautions, tended.site.settings
    return visit.html(
        "round.html",
        status,
        **of_rows(visit),
        alert=alert,
        sheet=sheet,
        own=own,
        left=_left(own),
        nothing=_nothing(visit, sheet),
        parts=[*in_parts(sheet.tanks, place.formats.time(place.times.evening))],
        headline=headline(worst[0]) if worst else "",
        week=[
            (day, tended.mine(keeper, day), tended.helps(keeper, day))
            for day in week
            if tended.mine(keeper, day) or tended.helps(keeper, day)
        ],
        quantities=measurable(place),
        signs=[q for q in QUANTITIES.values() if q.is_sign],
        written={key: form.get(key, "") if "reading" in form else "" for key in WRITTEN},
        note=form.get("note", "") or form.get("why", ""),
        again=again,
        repeated=repeated(visit),
        elsewhere=_noted_elsewhere(visit, sheet),
        got=handed_over(visit, tended.got(keeper), taken=True),
        gave=handed_over(visit, tended.gave(keeper), taken=False),
        backlog=count_of(tended),
        resting=resting(visit, sheet),
        away=away_days(visit),
        animals=movable(visit),
        reasons=REASONS,
        planned_once={
            name: form.get(name, "") if "title" in form else ""
            for name in ("enclosure", "title", "on", "minutes")
        },
    )


def of_rows(visit: PageVisit) -> dict[str, Any]:
    """Return what the rows of any sheet ask for while they are written."""
    tended = visit.tended
    return {
        "later": lambda turn: later_days(tended.planned, turn.occurrence.series),
        "value_sheet": lambda job: shown_sheet(visit, job),
        "terms_in": terms_in,
        "notes_of": lambda place: shown_notes(visit, place),
        "ahead": [tended.today + dt.timedelta(days=n) for n in range(CHOSEN_DAYS)],
    }


def _noted_elsewhere(visit: PageVisit, sheet: WorkSheet) -> list[tuple[Enclosure, list[dict[str, Any]]]]:
    """Return the tanks that have notes and no open sheet on the page, with these."""
    here = {tank.enclosure.id for tank in (*sheet.tanks, *sheet.free) if not tank.is_shut}
    places = [e for e in visit.tended.site.enclosures if e.id not in here and visit.tended.notes.get(e.id)]
    return [(place, shown_notes(visit, place.id)) for place in places]


def _left(own: Sequence[Row]) -> str:
    """Return what is left, and for how long."""
    if not own:
        return "nothing left"
    return f"{len(own)} job{'s' if len(own) != 1 else ''} left, {show_minutes(minutes_of(own))}"


def _nothing(visit: PageVisit, sheet: WorkSheet) -> str:
    """Return what is said where nothing is open; others may have work all the same."""
    tended, keeper = visit.tended, visit.keeper
    mine = "" if keeper is None else " in your round"
    if any(tank.lines for tank in sheet.tanks):
        return f"Nothing is left{mine} today."
    return f"Nothing is due{mine} today." if tended.turns.get(tended.today) else "Nothing is due today."


def follows_page(visit: PageVisit, number: str) -> Response:
    """Return the page of what follows from a reading; the round itself where there is no such reading any
    more."""
    numbers = _numbers(number)
    if not numbers:
        raise HTTPException(404)
    made = visit.live.tending(visit.tended, visit.keeper).follows(visit.live.log(), numbers)
    if made is None:
        return round_page(visit, "There is no such reading of today or yesterday any more.")
    return visit.html(
        "recorded.html",
        said=_lines(replace(made, moves=())),
        words=made.words,
        consequences=made.consequences,
        moved=_lines(replace(made, entries=())),
        back=at_entries(numbers),
    )


def calendar_page(visit: PageVisit) -> Response:
    """Return the page that leads to the keeper's calendar."""
    address = f"{visit.base}/feeds/{calendar_secret(visit.secret)}.ics"
    scheme, _, rest = address.partition("://")
    return visit.html(
        "calendar.html",
        address=address,
        webcal=f"webcal://{rest}",
        code=code_svg(address),
        secure=scheme == "https",
    )


def _numbers(text: str) -> frozenset[int]:
    """Return the numbers of entries that an address names; nothing where it names anything else."""
    some = text[:2000].split(",")
    well = all(n.isdecimal() and n.isascii() and len(n) <= 15 for n in some)
    return frozenset(int(n) for n in some) if well else frozenset()


def words_page(visit: PageVisit) -> Response:
    """Return the page of words."""
    return visit.html("words.html", words=WORDS)


def _lines(made: Recorded) -> list[str]:
    lines = recorded_lines(made.site, made.entries, made.next, made.moves, (), width=TEXT_WIDTH)
    return [line.strip().replace(" -> ", ", now ") for line in lines]


def measurable(place: SiteSettings) -> list[tuple[Quantity, str]]:
    """Return what can be measured, each with how people of the site may write it."""
    return [(q, _example(q, place)) for q in QUANTITIES.values() if not q.is_sign]


def _example(q: Quantity, place: SiteSettings) -> str:
    """Return how a reading may be written, as people of the site write it."""
    if q.kind not in ("temperature", "length"):
        return place.formats.prose(q.example)
    return show_reading(q.name, parse_reading(q.name, q.example).value, place.units, place.formats)
