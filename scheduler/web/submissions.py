"""What is posted to a page: a tick, its taking back, a reading, a hand-over.

Each is answered by the way to a page.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping

from starlette.responses import Response

from scheduler.errors import DoubtError, ReadingError, UsageError
from scheduler.readings import QUANTITIES
from scheduler.web.animals import add_animal, change_animal
from scheduler.web.backlog import backlog_page, catch_up
from scheduler.web.coordinator.links import change_links
from scheduler.web.coordinator.origin import origin_in
from scheduler.web.coordinator.pages import page_again
from scheduler.web.handover import hand_over, take_over_again
from scheduler.web.landing import after_undo
from scheduler.web.notes import keep_note, number_in, pin_note, unpin_note
from scheduler.web.planning import plan_once, say_away, say_back
from scheduler.web.readings import reading_in, store_readings, typed_again
from scheduler.web.round import round_page
from scheduler.web.rows import at_entries
from scheduler.web.sheet import line_of
from scheduler.web.submitted_form import Handle, SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.live.page_record import Written
from scheduler.workflow.record.amendments import AmendmentWish
from scheduler.workflow.record.done import standing_entry
from scheduler.workflow.record.notes import clean_note

RECORDS = ("done", "all-done", "reading", "readings", "note", "catch-up")
"""The forms that record something; the others change what is there."""


def answer_post(part: str, visited: Callable[[], PageVisit], form: Mapping[str, str]) -> Response:
    """Do what a form says, and return the way to the page that shows it; a page that says why not otherwise.

    HTTPException for what is no form of the page; LogError where it could not be done.
    """
    visit = _sent_from(visited(), form)
    day, entry, rota = visit.opened(form)
    again = AGAIN.get(part, _on_the_round) if visit.came_from is None else page_again
    if day != visit.tended.today:
        said = "This page was of another day, and nothing was changed. This is today's."
        return again(visit, form, said, 409)
    try:
        return HANDLES[part](visit, SubmittedForm(form, entry, rota))
    except UsageError as error:
        nothing = "recorded" if part in RECORDS else "changed"
        return again(_sent_from(visited(), form), form, _refusal(error, nothing), 422)


def _sent_from(visit: PageVisit, form: Mapping[str, str]) -> PageVisit:
    if visit.is_coordinator:
        visit.came_from = origin_in(form)
    return visit


def _on_the_round(visit: PageVisit, form: Mapping[str, str], told: str, status: int) -> Response:
    return round_page(visit, told, status, written=form)


def _refusal(error: UsageError, nothing: str) -> str:
    """Return why something was refused, and that half of it was not done either."""
    told = str(error)
    return f"{told[:1].upper()}{told[1:]}. Nothing was {nothing}."


def _done(visit: PageVisit, posted: SubmittedForm) -> Response:
    if posted.form.get("which", "-") == "":
        raise UsageError("choose what was done")
    yesterday = posted.form.get("on") == "yesterday"
    on = visit.tended.today - dt.timedelta(days=1) if yesterday else None
    note = clean_note(posted.form.get("note", ""))
    tending = visit.live.tending(visit.tended, visit.keeper)
    ticked = tending.tick(visit.live.log(), visit.tended, posted.job, posted.entry, note=note, on=on)
    if ticked != "taken back":
        day = on or visit.tended.today
        entry = standing_entry(visit.live.log(), visit.tended.described, visit.tended.job(posted.job), day)
        return visit.told([entry] if entry is not None else [])
    if note:
        said = (
            "This was recorded and taken back since the page was made. Nothing was recorded, and your note "
            "neither: "
            "if it is done after all, tick it below with the note."
        )
        return round_page(visit, said, 409, written=posted.form)
    return visit.back("?told=taken-back#alert")


def _not_today(visit: PageVisit, posted: SubmittedForm) -> Response:
    form = posted.form
    try:
        to = None if form.get("to") == "out" else dt.date.fromisoformat(form.get("to", ""))
        due = dt.date.fromisoformat(form.get("on", ""))
    except ValueError:
        raise UsageError("choose the day to which it is put off") from None
    tending, note = visit.live.tending(visit.tended, visit.keeper), clean_note(form.get("why", ""))
    try:
        entry = tending.not_today(
            visit.live.log(),
            visit.tended,
            posted.job,
            posted.entry,
            AmendmentWish(to=to, on=due),
            note=note,
            sure=form.get("sure") == "yes",
        )
    except DoubtError as error:
        kept = {name: form.get(name, "") for name in ("enclosure", "key", "variant", "on", "to", "why")}
        return visit.html("wait.html", 422, doubts=error.doubts, kept=kept)
    if entry.voided:
        raise UsageError("this was put off and that was taken back since the page was made")
    return visit.back(at_entries([entry.number]))


def _undo(visit: PageVisit, posted: SubmittedForm) -> Response:
    number = number_in(posted)
    tending, log = visit.live.tending(visit.tended, visit.keeper), visit.live.log()
    entry, *values = tending.with_it(log, visit.tended, number)
    if tending.is_of_another(entry) and not entry.voided and posted.form.get("sure") != "yes":
        return visit.html(
            "take-back.html",
            409,
            told=line_of(visit.tended, visit.keeper, entry),
            part="undo",
            heading="Take this back?",
            values=[line_of(visit.tended, visit.keeper, e) for e in values if not e.voided],
        )
    tending.take_back(log, visit.tended, number)
    return visit.back(after_undo(visit, entry))


def _all_done(visit: PageVisit, posted: SubmittedForm) -> Response:
    tending = visit.live.tending(visit.tended, visit.keeper)
    if not posted.jobs:
        raise UsageError("choose what was done")
    new = tending.tick_all(visit.live.log(), visit.tended, posted.jobs, posted.entry)
    return visit.told(new)


def _reading(visit: PageVisit, posted: SubmittedForm) -> Response:
    form = posted.form
    names = reading_in(form)
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
        return visit.back("?told=value-taken-back#alert")
    return visit.back(f"/recorded?entry={entry.number}")


HANDLES: dict[str, Handle] = {
    "done": _done,
    "all-done": _all_done,
    "not-today": _not_today,
    "once": plan_once,
    "away": say_away,
    "back": say_back,
    "animal": change_animal,
    "arrival": add_animal,
    "link": change_links,
    "readings": store_readings,
    "catch-up": catch_up,
    "note": keep_note,
    "pin": pin_note,
    "unpin": unpin_note,
    "undo": _undo,
    "reading": _reading,
    "hand-over": hand_over,
    "hand-back": take_over_again,
}
"""What each form of a page does, by the last part of the address to which it is sent."""

AGAIN: dict[str, Callable[[PageVisit, Mapping[str, str], str, int], Response]] = {
    "readings": typed_again,
    "catch-up": backlog_page,
}
"""What shows a form again that could not be taken, with all that was typed; of the others the round does."""
