"""Notes on the pages: kept at a tank for whoever comes next, pinned for the vet, and unpinned again."""

from __future__ import annotations

from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.record.notes import NOTE


def shown_notes(visit: PageVisit, place: str) -> list[dict[str, Any]]:
    """Return the notes at a tank as a page shows them: pinned ones first, then the newest first."""
    names = {k.id: k.name for k in visit.tended.site.keepers}
    return [
        {
            "text": note.text,
            "day": note.entry.day,
            "time": visit.tended.site.settings.formats.time(note.entry.time)
            if note.entry.time is not None
            else "",
            "who": "" if note.is_pin else names.get(note.entry.keeper, note.entry.keeper),
            "number": note.entry.number,
            "pin": note.pin.number if note.pin is not None else None,
        }
        for note in visit.tended.notes.get(place, ())
    ]


def number_in(posted: SubmittedForm) -> int:
    """Return the number of the entry that a form is about. HTTPException where it is none."""
    number = posted.form.get("entry", "")
    if not number.isdecimal() or len(number) > 15:
        raise HTTPException(400)
    return int(number)


def keep_note(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Keep a note at a tank."""
    form = posted.form
    tending, log = visit.live.tending(visit.tended, visit.keeper), visit.live.log()
    place, vet = form.get("enclosure", ""), form.get("vet") == "yes"
    kept = tending.note(log, place, form.get("note", ""), posted.entry, vet=vet)
    return (
        visit.told(e for e in kept if e.name == NOTE) if kept else visit.back("?told=note-taken-back#alert")
    )


def pin_note(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Pin a note for the vet."""
    visit.live.tending(visit.tended, visit.keeper).pin(visit.live.log(), number_in(posted))
    return visit.back("#round")


def unpin_note(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Take a pin off; where somebody else set it, it is asked about first."""
    number = number_in(posted)
    tending, log = visit.live.tending(visit.tended, visit.keeper), visit.live.log()
    pin = tending.pinned(log, number)
    if tending.is_of_another(pin) and not pin.voided and posted.form.get("sure") != "yes":
        site = visit.tended.site
        told = {
            "where": next((e.name for e in site.enclosures if e.id == pin.enclosure), pin.enclosure),
            "what": "note for the vet",
            "who": next((k.name for k in site.keepers if k.id == pin.keeper), pin.keeper),
            "day": pin.day,
            "entry": pin,
        }
        heading = f"Unpin this note of {visit.tended.site.settings.formats.date(pin.day)}?"
        return visit.html("take-back.html", 409, told=told, values=[], part="unpin", heading=heading)
    tending.unpin(log, number)
    return visit.back("#round")
