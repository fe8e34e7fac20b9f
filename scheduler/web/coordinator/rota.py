"""The rota on a page: who comes when and for how long, who is away, and what nobody takes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.responses import Response

from scheduler.description.site import Keeper
from scheduler.web.coordinator.origin import Origin
from scheduler.web.planning import said_away
from scheduler.web.round import CHOSEN_DAYS
from scheduler.web.visit import PageVisit
from scheduler.workflow.live.round_page import RoundPage

WEEKS = 2
"""So many weeks of the rota are on the page, from this week's Monday on. House value."""


@dataclass(frozen=True, slots=True)
class Shift:
    """What a keeper does on a day: minutes, of how many enclosures, and whether the keeper is away then."""

    day: dt.date
    minutes: int
    enclosures: tuple[str, ...]
    away: bool


def rota_page(
    visit: PageVisit, alert: str = "", status: int = 200, *, written: Mapping[str, str] | None = None
) -> Response:
    """Return the page of the rota; `written` is a form that was refused."""
    visit.came_from = Origin("rota")
    tended, form = visit.tended, written or {}
    monday = tended.today - dt.timedelta(days=tended.today.weekday())
    days = [monday + dt.timedelta(days=n) for n in range(7 * WEEKS)]
    names = {k.id: k.name for k in tended.described.keepers}
    return visit.html(
        "coordinator/rota.html",
        status,
        alert=alert,
        weeks=[
            (days[n : n + 7], [(k, shifts(tended, k, days[n : n + 7])) for k in tended.described.keepers])
            for n in range(0, len(days), 7)
        ],
        loads=_loads(tended),
        left=tended.shown.rota.unfilled if tended.shown is not None else (),
        away=[(who, names[who], first, last) for who, first, last in said_away(visit) if who in names],
        ahead=[tended.today + dt.timedelta(days=n) for n in range(CHOSEN_DAYS)],
        written={name: form.get(name, "") for name in ("who", "on", "to", "why")},
    )


def shifts(tended: RoundPage, keeper: Keeper, days: list[dt.date]) -> list[Shift]:
    """Return what a keeper does on each of some days, by the rota that holds; nothing on days that are
    over."""
    rounds = {
        one.day: one for one in (tended.shown.rota.rounds if tended.shown else ()) if one.keeper == keeper
    }
    found = []
    for day in days:
        tasks = rounds[day].tasks if day in rounds else ()
        places = tuple(dict.fromkeys(task.item.job.enclosure.name for task in tasks))
        minutes = sum(task.item.job.minutes for task in tasks)
        found.append(Shift(day, minutes, places, tended.availability.away(keeper, day)))
    return found


def _loads(tended: RoundPage) -> list[tuple[Keeper, int]]:
    """Return the minutes of each keeper over the whole rota, the most first."""
    rounds = tended.shown.rota.rounds if tended.shown is not None else ()
    found = [
        (k, sum(task.item.job.minutes for one in rounds if one.keeper == k for task in one.tasks))
        for k in tended.described.keepers
    ]
    return sorted(found, key=lambda one: -one[1])
