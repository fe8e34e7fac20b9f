"""The page of the backlog: done but not written down?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from starlette.responses import Response

from scheduler.history import OccurrenceRef
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.live.round_page import RoundPage
from scheduler.workflow.record.backlog import CaughtUp, Missed, WrongDaysError, backlog_of


def count_of(tended: RoundPage) -> int:
    """Return how many jobs the backlog has."""
    return sum(len(some) for _, some in backlog_of(tended))


def backlog_page(
    visit: PageVisit,
    form: Mapping[str, str] | None = None,
    told: str = "",
    status: int = 200,
    wrong: Mapping[OccurrenceRef, str] | None = None,
) -> Response:
    """Return the sheet of the backlog, by tank; with what was typed into it, and what is wrong with that."""
    typed = form or {}
    tanks = [
        (place, [_row(missed, typed, wrong or {}) for missed in some])
        for place, some in backlog_of(visit.tended)
    ]
    return visit.html("backlog.html", status, tanks=tanks, told=told, by=typed.get("by", "me"))


def _row(missed: Missed, typed: Mapping[str, str], wrong: Mapping[OccurrenceRef, str]) -> dict[str, Any]:
    ref = missed.ref
    name = f"{ref.due}/{ref.enclosure}/{ref.key}/{ref.variant}"
    return {
        "job": missed.job,
        "days": missed.days,
        "name": name,
        "choice": typed.get(f"past/{name}", ""),
        "day": typed.get(f"when/{name}", ""),
        "wrong": wrong.get(ref, ""),
    }


def catch_up(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Record what is said of the backlog, all of it or nothing."""
    said: dict[OccurrenceRef, CaughtUp] = {}
    for name, text in posted.form.items():
        kind, *rest = name.split("/", 4)
        if kind != "past" or len(rest) != 4 or text not in ("due", "other"):
            continue
        try:
            ref = OccurrenceRef(rest[1], rest[2], rest[3], dt.date.fromisoformat(rest[0]))
        except ValueError:
            continue
        day = posted.form.get(f"when/{'/'.join(rest)}", "")
        said[ref] = CaughtUp("due" if text == "due" else "other", day)
    tending = visit.live.tending(visit.tended, visit.keeper)
    mine = posted.form.get("by", "me") == "me"
    try:
        new = tending.catch_up(visit.live.log(), visit.tended, said, posted.entry, mine=mine)
    except WrongDaysError as error:
        told = f"{str(error)[:1].upper()}{str(error)[1:]}. Nothing was recorded."
        return backlog_page(visit, posted.form, told, 422, error.wrong)
    return visit.told(new)
