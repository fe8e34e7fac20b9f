"""Handing over from a page: jobs of the coming days, several at once, and taking them back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.errors import UsageError
from scheduler.log.rotas import Given
from scheduler.web.coordinator.origin import Origin
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.live.round_page import AHEAD_DAYS


def give_page(visit: PageVisit, giver: str = "", alert: str = "", status: int = 200) -> Response:
    """Return the page on which jobs of today and the coming days are handed over, a form for each day: those
    of the keeper of the page, or of the `giver` whom a coordinator names by an id.

    HTTPException (404) where there is no such keeper.
    """
    tended, keeper = visit.tended, visit.keeper
    if giver and visit.is_coordinator:
        keeper = next((k for k in tended.described.keepers if k.id == giver), None)
        if keeper is None:
            raise HTTPException(404)
        visit.came_from = Origin("give", giver)
    days = []
    for number in range(AHEAD_DAYS + 1):
        day = tended.today + dt.timedelta(days=number)
        rows = [(turn, tended.takers(keeper, turn.occurrence.job, day)) for turn in tended.mine(keeper, day)]
        takers = {k.id: k for _, some in rows for k in some}
        if rows:
            days.append({"day": day, "turns": [turn for turn, _ in rows], "takers": list(takers.values())})
    return visit.html("give.html", status, days=days, giver=keeper, alert=alert)


def hand_over(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Hand over one job of today, or the tasks of a form for a day."""
    tended, form, giver = visit.tended, posted.form, visit.meant(posted.form, "giver")
    tasks, day = posted.tasks, tended.today
    if not tasks and "key" in form:
        turns = tended.mine(giver, day)
        tasks = [turn.ref for turn in turns if turn.ref.job == posted.job]
        if not tasks:
            raise UsageError("this is no longer in your round")
    elif "on" in form:
        try:
            day = dt.date.fromisoformat(form["on"])
        except ValueError:
            raise UsageError("choose the day") from None
    if not tasks:
        raise UsageError("choose what is handed over")
    jobs = {s.job.ref: s.job for s in tended.planned.series}
    known = [jobs[task.job] for task in tasks if task.job in jobs]
    able = [{k.id for k in tended.takers(giver, job, day)} for job in known]
    if not known or any(form.get("to") not in some for some in able):
        when = "today" if day == tended.today else "on that day"
        raise UsageError(f"choose who takes it, of those who are there {when} and can do it")
    tending = visit.live.tending(tended, giver)
    done = tending.hand_over(visit.live.log(), tended, tasks, day, form["to"], posted.rota)
    return visit.back("#round" if done else "?told=changed-hands#alert")


def take_over_again(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Take back what was handed over."""
    tending = visit.live.tending(visit.tended, visit.keeper)
    tending.take_over_again(visit.live.log(), visit.tended, posted.tasks)
    return visit.back("#round")


def handed_over(visit: PageVisit, some: Iterable[Given], *, taken: bool) -> list[dict[str, Any]]:
    """Return what was handed over as a page tells it: by the other keeper and the day, with the tasks and
    their titles."""
    site = visit.tended.site
    names = {k.id: k.name for k in site.keepers}
    titles = {s.job.ref: f"{s.job.enclosure.name}, {s.job.title}" for s in visit.tended.planned.series}
    found: dict[tuple[str, dt.date], list[Given]] = {}
    for one in some:
        found.setdefault((one.giver if taken else one.taker, one.day), []).append(one)
    return [
        {
            "who": names.get(other, other),
            "day": day,
            "titles": [titles.get(one.ref.job, one.ref.key) for one in ones],
            "tasks": [one.ref for one in ones],
        }
        for (other, day), ones in sorted(found.items(), key=lambda item: (item[0][1], item[0][0]))
    ]
