"""What is posted to a page: a tick, its taking back, a reading, a hand-over. Each is answered by the way to a page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from scheduler.errors import DoubtError, ReadingError, SchedulerError, UsageError
from scheduler.history import JobRef
from scheduler.readings import QUANTITIES
from scheduler.web.round import WRITTEN, round_page
from scheduler.web.visit import HEADERS, Visit
from scheduler.workflow.tending import Written

NOTE_LENGTH = 2_000


@dataclass(frozen=True, slots=True)
class Posted:
    """A form of a page: its fields, and how far log and rota were when the page was made."""

    form: Mapping[str, str]
    entry: int
    rota: int

    @property
    def job(self) -> JobRef:
        """Return the job that it is of."""
        form = self.form
        return JobRef(form.get("enclosure", ""), form.get("key", ""), form.get("variant", ""))


Handle = Callable[[Visit, Posted], Response]


def answer_post(part: str, visited: Callable[[], Visit], form: Mapping[str, str]) -> Response:
    """Do what a form says, and return the way to the page that shows it; a page that says why not otherwise.

    HTTPException for what is no form of the page; LogError where it could not be done.
    """
    visit = visited()
    day, entry, rota = visit.opened(form)
    if day != visit.tended.today:
        said = "This page was of another day, and nothing was changed. This is today's."
        return round_page(visit, said, 409, written=form)
    try:
        return HANDLES[part](visit, Posted(form, entry, rota))
    except UsageError as error:
        nothing = "recorded" if part in ("done", "reading") else "changed"
        return round_page(visited(), _refusal(error, nothing), 422, written=form)


def _refusal(error: UsageError, nothing: str) -> str:
    """Return why something was refused, and that half of it was not done either."""
    told = str(error)
    return f"{told[:1].upper()}{told[1:]}. Nothing was {nothing}."


def _done(visit: Visit, posted: Posted) -> Response:
    yesterday = posted.form.get("on") == "yesterday"
    on = visit.tended.today - dt.timedelta(days=1) if yesterday else None
    note = " ".join(posted.form.get("note", "").split())
    if len(note) > NOTE_LENGTH:
        raise UsageError(f"the note has {len(note)} characters; {NOTE_LENGTH} are kept at most")
    tending = visit.live.tending(visit.tended, visit.keeper)
    ticked = tending.tick(visit.live.log(), visit.tended, posted.job, posted.entry, note=note, on=on)
    if ticked != "taken back":
        return _back(visit, "#done")
    if note:
        said = (
            "This was recorded and taken back since the page was made. Nothing was recorded, and your note neither: "
            "if it is done after all, tick it below with the note."
        )
        return round_page(visit, said, 409, written=posted.form)
    return _back(visit, "?told=taken-back#round")


def _undo(visit: Visit, posted: Posted) -> Response:
    number = posted.form.get("entry", "")
    if not number.isdecimal() or len(number) > 15:
        raise HTTPException(400)
    visit.live.tending(visit.tended, visit.keeper).take_back(visit.live.log(), int(number))
    return _back(visit, "#round")


def _reading(visit: Visit, posted: Posted) -> Response:
    form = posted.form
    names = {key: form.get(key, "").strip() for key in WRITTEN}
    if names["reading"] not in QUANTITIES:
        raise UsageError("choose what was measured")
    if not names["value"]:
        raise UsageError("write the value that was measured, with its unit")
    place = next((e for e in visit.tended.site.enclosures if e.id == names["enclosure"]), None)
    if place is None:
        raise UsageError("choose the enclosure")
    written = Written(place.id, names["reading"], names["value"], names["whose"])
    tending, sure = visit.live.tending(visit.tended, visit.keeper), form.get("sure") == "yes"
    try:
        entry, _ = tending.measure(visit.live.log(), visit.tended, written, posted.entry, sure=sure)
    except DoubtError as error:
        return visit.html(
            "doubt.html",
            422,
            doubts=error.doubts,
            written=names,
            place=place.name,
            label=QUANTITIES[names["reading"]].label,
        )
    except ReadingError as error:
        raise UsageError(error.in_field) from None
    if entry.voided:
        return _back(visit, "?told=value-taken-back#reading")
    return _back(visit, f"/recorded?entry={entry.number}")


def _hand_over(visit: Visit, posted: Posted) -> Response:
    takers = visit.tended.takers(visit.keeper, visit.tended.job(posted.job))
    taker = next((k for k in takers if k.id == posted.form.get("to")), None)
    if taker is None:
        raise UsageError("choose who takes it, of those who are there today and can do it")
    tending = visit.live.tending(visit.tended, visit.keeper)
    done = tending.hand_on(visit.live.log(), visit.tended, posted.job, taker.id, posted.rota)
    return _back(visit, "#round" if done else "?told=changed-hands#round")


HANDLES: dict[str, Handle] = {
    "done": _done,
    "undo": _undo,
    "reading": _reading,
    "hand-over": _hand_over,
}
"""What each form of a page does, by the last part of the address to which it is sent."""


def _back(visit: Visit, place: str) -> Response:
    # Here, so that the page that comes next has nothing left to work out. What was recorded is so whether that works or not.
    with suppress(SchedulerError):
        visit.live.tended()
    return RedirectResponse(f"{visit.path}{place}", 303, headers=HEADERS)
