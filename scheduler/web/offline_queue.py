"""Forms that the script of a page sends: at once as any form, or later for their own day.

Each is answered in a few words.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from scheduler.errors import DoubtError, LogError, ReadingError, UsageError, clip
from scheduler.readings import QUANTITIES
from scheduler.web.deadline import RETRY
from scheduler.web.error_pages import WORDS
from scheduler.web.readings import filled_in, reading_in
from scheduler.web.scripts import QUEUED
from scheduler.web.submissions import answer_post
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import HEADERS, PageVisit
from scheduler.workflow.live.page_record import Written
from scheduler.workflow.record.delayed import Late, check_day, measure_late, store_late, tick_late
from scheduler.workflow.record.notes import clean_note
from scheduler.workflow.record.value_sheets import WrongValuesError

TAKEN_BACK = "it was recorded and taken back meanwhile; if it is right after all, record it anew"


def is_queued(form: Mapping[str, str]) -> bool:
    """Tell whether a form comes from the script of a page: then it bears the name that it has in the phone's
    queue."""
    return "queued" in form


def answer_queued(part: str, visited: Callable[[], PageVisit], form: Mapping[str, str]) -> Response:
    """Do what a form of a phone's queue says. The answer is JSON: where to `go`, or what is to be `said`.

    What is sent at once is answered as a form without script is, also that its page was of another day. What
    is sent later is recorded for its own day. It counts once however often it is sent: by its job and day or
    by its value, and by what was in the log when its page was made. A refusal has a status of 4xx; with 5xx
    it is to be sent again.
    """
    try:
        return _answered(part, visited, form)
    except DoubtError as error:
        said = " ".join(_sentence(doubt) for doubt in error.doubts)
        return JSONResponse({"said": said, "doubt": True}, 422, headers=HEADERS)
    except UsageError as error:
        told = error.in_field if isinstance(error, ReadingError) else str(error)
        return JSONResponse({"said": f"{_sentence(told)} Nothing was recorded."}, 409, headers=HEADERS)
    except LogError:
        return JSONResponse({"said": WORDS[503]}, 503, headers={**HEADERS, **RETRY})
    except HTTPException as error:
        said = WORDS.get(error.status_code, error.detail)
        return JSONResponse({"said": said}, error.status_code, headers={**HEADERS, **(error.headers or {})})


def _answered(part: str, visited: Callable[[], PageVisit], form: Mapping[str, str]) -> Response:
    visit = visited()
    if visit.offline != "offered":
        raise HTTPException(403, "This page is no longer made for use without a network.")
    if part not in QUEUED:
        raise HTTPException(400)
    day, entry, rota = visit.opened(form)
    if form.get("late") == "yes":
        check_day(day, visit.tended.today)
        return JSONResponse(LATE[part](visit, SubmittedForm(form, entry, rota), day), headers=HEADERS)
    answer = answer_post(part, visited, form)
    if answer.status_code != 303:
        return JSONResponse({"said": ""}, answer.status_code, headers=HEADERS)
    return JSONResponse({"go": answer.headers["location"]}, headers=HEADERS)


def _tick(visit: PageVisit, posted: SubmittedForm, day: dt.date) -> dict[str, Any]:
    note = clean_note(posted.form.get("note", ""))
    on = day - dt.timedelta(days=1) if posted.form.get("on") == "yesterday" else day
    tending = visit.live.tending(visit.tended, visit.keeper)
    late = tick_late(visit.live.log(), visit.tended, tending, posted.job, posted.entry, day=on, note=note)
    return {"said": _said(visit, late)}


def _ticks(visit: PageVisit, posted: SubmittedForm, day: dt.date) -> dict[str, Any]:
    """Tick several jobs, each for itself: what cannot be recorded any more is no reason to lose the
    others."""
    if not posted.jobs:
        raise UsageError("choose what was done")
    tending, log = visit.live.tending(visit.tended, visit.keeper), visit.live.log()
    places = {e.id: e.name for e in visit.tended.site.enclosures}
    said, refused = [], []
    for name in posted.jobs:
        try:
            said.append(_said(visit, tick_late(log, visit.tended, tending, name, posted.entry, day=day)))
        except UsageError as error:
            where = places.get(name.enclosure, clip(name.enclosure))
            refused.append(_sentence(f"{where}, {clip(name.key)}: {error}"))
    if not said:
        raise UsageError(" ".join(refused))
    return {"said": " ".join(dict.fromkeys(filter(None, [*said, *refused])))}


def _measure(visit: PageVisit, posted: SubmittedForm, day: dt.date) -> dict[str, Any]:
    form, read = posted.form, reading_in(posted.form)
    name, value = read["reading"], read["value"]
    if name not in QUANTITIES or not value:
        raise UsageError("choose what was measured, and write the value")
    written = Written(read["enclosure"], name, value, read["whose"])
    tending, sure = visit.live.tending(visit.tended, visit.keeper), form.get("sure") == "yes"
    late = measure_late(visit.live.log(), visit.tended, tending, written, posted.entry, day=day, sure=sure)
    return {"said": _said(visit, late)}


def _store(visit: PageVisit, posted: SubmittedForm, day: dt.date) -> dict[str, Any]:
    tending = visit.live.tending(visit.tended, visit.keeper)
    filled = filled_in(visit, posted)
    try:
        stored = store_late(visit.live.log(), visit.tended, tending, filled, posted.entry, day=day)
    except WrongValuesError as error:
        if error.doubts:
            raise DoubtError(error.doubts.values()) from None
        wrong = [error.basis, *error.wrong.values()]
        raise UsageError(" ".join(_sentence(text) for text in wrong if text)) from None
    if any(entry.voided for entry in stored.readings):
        raise UsageError(TAKEN_BACK)
    return {"said": ""}


def _said(visit: PageVisit, late: Late) -> str:
    """Return what is said of what was sent later: nothing where it was recorded, by this sending or one
    before."""
    if late.became == "taken back":
        raise UsageError(TAKEN_BACK)
    own = visit.keeper.id if visit.keeper is not None else ""
    if late.became == "recorded" or late.entry is None or late.entry.keeper == own:
        return ""
    names = {k.id: k.name for k in visit.tended.site.keepers}
    who = names.get(late.entry.keeper, "Somebody")
    return (
        f"{who} had recorded it for {visit.tended.site.settings.formats.date(late.entry.day)} already; it "
        "counts once."
    )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".removesuffix(".") + "."


LATE: dict[str, Callable[[PageVisit, SubmittedForm, dt.date], dict[str, Any]]] = {
    "done": _tick,
    "all-done": _ticks,
    "reading": _measure,
    "readings": _store,
}
"""What records a form for its own day."""
