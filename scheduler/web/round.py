"""The round page as it is shown: today's jobs, what was recorded, the days to come; what follows; the calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.description import Enclosure
from scheduler.history import Entry
from scheduler.quantities import System
from scheduler.readings import QUANTITIES, Quantity, parse_reading, show_reading
from scheduler.sheets.recorded import described, recorded_lines
from scheduler.web.backlog import count_of
from scheduler.web.codes import code_svg
from scheduler.web.handover import handed_over
from scheduler.web.notes import shown_notes
from scheduler.web.readings import repeated, shown_sheet
from scheduler.web.visit import Visit
from scheduler.workflow.linking import calendar_secret
from scheduler.workflow.recording import Recorded
from scheduler.workflow.tending import Turn

TEXT_WIDTH = 100_000
"""The lines of a page are broken by the browser."""

WRITTEN = ("enclosure", "reading", "value", "whose")
"""The fields of a reading."""

TOLD = {
    "taken-back": "This was recorded and taken back since the page was made; it was not recorded again. If it is done after all, tick it below.",
    "value-taken-back": "This reading was recorded and taken back since the page was made; it was not recorded again. If it is right after all, write it below.",
    "note-taken-back": "This note was kept and taken back since the page was made; it was not kept again.",
    "changed-hands": "This has changed hands since the page was made; nothing was changed.",
}
"""What a page says of a form that led to it, by the word in its address."""


def round_page(
    visit: Visit,
    alert: str = "",
    status: int = 200,
    *,
    written: Mapping[str, str] | None = None,
    again: Mapping[str, Any] | None = None,
    recorded: str = "",
) -> Response:
    """Return the page of the round; `written` is a form that was refused, of which nothing is lost.

    `again` is a form that could not be recorded, to be sent again. `recorded` are the numbers of entries of which it is said that
    they were recorded just now.
    """
    tended, keeper, form = visit.tended, visit.keeper, written or {}
    helps = tended.helps(keeper, tended.today)
    mine = [*tended.mine(keeper, tended.today), *helps, *tended.free(keeper)]
    week = [tended.today + dt.timedelta(days=n) for n in range(1, 8)]
    return visit.html(
        "round.html",
        status,
        alert=alert,
        turns=_shown(visit, tended.mine(keeper, tended.today)),
        free=_shown(visit, tended.free(keeper), "free-"),
        cautions=list(dict.fromkeys(c for turn in mine for c in turn.occurrence.job.notes().cautions)),
        done=[told_of(visit, entry) for entry in tended.recorded(keeper)],
        others=[told_of(visit, entry) for entry in tended.others(keeper)],
        helps=helps,
        week=[
            (day, tended.mine(keeper, day), tended.helps(keeper, day))
            for day in week
            if tended.mine(keeper, day) or tended.helps(keeper, day)
        ],
        quantities=[(q, _example(q, tended.site.place.units)) for q in QUANTITIES.values()],
        written={key: form.get(key, "") if "reading" in form else "" for key in WRITTEN},
        note=form.get("note", ""),
        again=again,
        recorded=_recorded_now(visit, recorded),
        repeated=repeated(visit),
        whole=_whole_tanks(visit),
        tanks=_tanks(visit),
        got=handed_over(visit, tended.got(keeper), taken=True),
        gave=handed_over(visit, tended.gave(keeper), taken=False),
        backlog=count_of(tended),
        others_have=bool(tended.turns.get(tended.today)),
    )


def follows_page(visit: Visit, number: str) -> Response:
    """Return the page of what follows from a reading; the round itself where there is no such reading any more."""
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
    )


def calendar_page(visit: Visit) -> Response:
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


def _numbers(text: str) -> set[int]:
    """Return the numbers of entries that an address names; nothing where it names anything else."""
    some = text[:2000].split(",")
    return (
        {int(n) for n in some} if all(n.isdecimal() and n.isascii() and len(n) <= 15 for n in some) else set()
    )


def _recorded_now(visit: Visit, text: str) -> list[dict[str, Any]]:
    """Return what was recorded just now, of what stands."""
    numbers = _numbers(text)
    return [told_of(visit, entry) for entry in visit.tended.done if entry.number in numbers]


def _whole_tanks(visit: Visit) -> list[tuple[str, list[Turn]]]:
    """Return the tanks of which several plain jobs are open, each with these."""
    found: dict[str, list[Turn]] = {}
    for turn in visit.tended.mine(visit.keeper, visit.tended.today):
        if turn.occurrence.job.is_plain:
            found.setdefault(turn.occurrence.job.enclosure.name, []).append(turn)
    return [(name, some) for name, some in found.items() if len(some) > 1]


def _tanks(visit: Visit) -> list[tuple[Enclosure, list[dict[str, Any]]]]:
    """Return the tanks of today's round, or all where it has none, each with its notes."""
    mine = {turn.ref.enclosure for turn in visit.tended.mine(visit.keeper, visit.tended.today)}
    places = visit.tended.site.enclosures
    return [(e, shown_notes(visit, e.id)) for e in places if not mine or e.id in mine]


def _lines(made: Recorded) -> list[str]:
    lines = recorded_lines(made.site, made.entries, made.next, made.moves, (), width=TEXT_WIDTH)
    return [line.strip() for line in lines]


def _example(q: Quantity, units: System) -> str:
    """Return how a reading may be written, as people of the site write it."""
    if q.kind not in ("temperature", "length"):
        return q.example
    return show_reading(q.name, parse_reading(q.name, q.example).value, units)


def _shown(visit: Visit, turns: Sequence[Turn], prefix: str = "") -> list[dict[str, Any]]:
    """Return jobs as the page shows them: what is the same in many tanks is read once."""
    first: dict[tuple[str, ...], tuple[str, str]] = {}
    found = []
    for number, turn in enumerate(turns, start=1):
        notes, own = turn.occurrence.job.notes(), f"{prefix}{number}"
        # A duty without a note has its title for a step.
        steps = () if notes.steps == (turn.occurrence.job.title,) else notes.steps
        # Often the first step alone has numbers of this tank.
        alike = [steps, steps[1:]] if len(steps) > 2 else [steps] if len(steps) == 2 else []
        like = next(((first[some], len(steps) - len(some)) for some in alike if some in first), None)
        for some in alike:
            first.setdefault(some, (own, turn.occurrence.job.enclosure.name))
        found.append(
            {
                "turn": turn,
                "job": turn.occurrence.job,
                "number": own,
                "reason": notes.reason if like is None else "",
                "steps": steps if like is None else steps[: like[1]],
                "like": like[0] if like is not None else None,
                "sheet": shown_sheet(visit, turn.occurrence.job),
                "takers": [] if prefix else visit.tended.takers(visit.keeper, turn.occurrence.job),
            }
        )
    return found


def told_of(visit: Visit, entry: Entry) -> dict[str, Any]:
    """Return an entry as a page tells it: what, where, who, and of which day."""
    site = visit.tended.site
    return {
        "entry": entry,
        "what": described(site, entry),
        "where": next((e.name for e in site.enclosures if e.id == entry.enclosure), entry.enclosure),
        "who": next((k.name for k in site.keepers if k.id == entry.keeper), ""),
        "day": entry.day,
    }
