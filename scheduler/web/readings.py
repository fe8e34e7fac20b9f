"""Sheets of values on the pages: the fields of a job, the same job in many tanks, and what becomes of what
was typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.care import Job
from scheduler.history import Entry
from scheduler.readings import QUANTITIES, show_reading
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.record.value_sheets import (
    FieldRef,
    Filled,
    WrongValuesError,
    fields_in,
    fixed_basis,
    sheet_of,
)

LEAST_REPEATED = 3
"""From so many tanks on the same job is offered as one sheet. House value."""


WRITTEN = ("enclosure", "reading", "value", "whose")
"""The fields of a reading."""


def reading_in(form: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of a reading in a form; of a sign the animal is one field, `ENCLOSURE/RESIDENT`."""
    found = {key: form.get(key, "").strip() for key in WRITTEN}
    place, _, whose = form.get("animal", "").strip().partition("/")
    return found | ({"enclosure": place, "whose": whose} if place else {})


def shown_sheet(visit: PageVisit, job: Job) -> dict[str, Any] | None:
    """Return the fields of a job as a page shows them; None where it asks for no values."""
    site, today = visit.tended.site, visit.tended.today
    sheet = sheet_of(site, visit.tended.history, job, today)
    if sheet is None:
        return None
    fixed = fixed_basis(site)
    bases = {one.ref.name for one in sheet.fields if QUANTITIES[one.ref.name].bases}
    return {
        "job": job,
        "fields": [
            {
                "name": one.ref.field,
                "ref": one.ref,
                "label": one.label,
                "unit": f"{one.unit} as {fixed[one.ref.name]}" if one.ref.name in fixed else one.unit,
                "last": _shown(visit, one.last),
                "last_on": one.last.day if one.last is not None else None,
                "today": _shown(visit, one.today),
                "needed": one.needed,
            }
            for one in sheet.fields
        ],
        "asks_basis": bool(bases - set(fixed)),
    }


def _shown(visit: PageVisit, entry: Entry | None) -> str:
    if entry is None or entry.value is None:
        return ""
    place = visit.tended.site.settings
    return show_reading(entry.name, entry.value, place.units, place.formats)


def repeated(visit: PageVisit) -> list[tuple[str, str, int]]:
    """Return the jobs of today's round that come in many tanks: key, title and in how many."""
    found: dict[str, list[Job]] = {}
    for turn in visit.tended.mine(visit.keeper, visit.tended.today):
        job = turn.occurrence.job
        if job.is_plain or job.asks is not None:
            found.setdefault(job.key, []).append(job)
    return [(key, some[0].title, len(some)) for key, some in found.items() if len(some) >= LEAST_REPEATED]


def same_page(visit: PageVisit, key: str) -> Response:
    """Return the sheet of one job in all tanks of today's round.

    HTTPException (404) where nothing by that key is open.
    """
    turns = visit.tended.mine(visit.keeper, visit.tended.today)
    jobs = [t.occurrence.job for t in turns if t.occurrence.job.key == key]
    some = [job for job in jobs if job.is_plain or job.asks is not None]
    if not some:
        raise HTTPException(404)
    return _sheet_page(visit, some, {})


def _sheet_page(
    visit: PageVisit,
    jobs: Sequence[Job],
    form: Mapping[str, str],
    error: WrongValuesError | None = None,
    *,
    told: str = "",
    status: int = 200,
) -> Response:
    asking = [(job, sheet) for job in jobs if (sheet := shown_sheet(visit, job)) is not None]
    titles = list(dict.fromkeys(job.title for job in jobs))
    return visit.html(
        "same.html",
        status,
        heading=titles[0] if len(titles) == 1 else "Values",
        sheets=asking,
        plain=[job for job in jobs if job.asks is None],
        typed=dict(form),
        basis=form.get("basis", ""),
        basis_wrong=error.basis if error is not None else "",
        wrong=_by_name(error.wrong) if error is not None else {},
        doubts=_by_name(error.doubts) if error is not None else {},
        told=told,
    )


def _by_name(said: Mapping[FieldRef, str]) -> dict[str, str]:
    return {ref.field: text for ref, text in said.items()}


def typed_again(visit: PageVisit, form: Mapping[str, str], told: str, status: int) -> Response:
    """Return the sheet with what was typed into it, where it could not be taken as it came."""
    return _sheet_page(visit, _jobs_in(visit, SubmittedForm(form, 0, 0)), form, told=told, status=status)


def _jobs_in(visit: PageVisit, posted: SubmittedForm) -> list[Job]:
    """Return the jobs of a form that are in the plan."""
    wanted = set(posted.jobs)
    return [s.job for s in visit.tended.planned.series if s.job.ref in wanted]


def filled_in(visit: PageVisit, posted: SubmittedForm) -> Filled:
    """Return a sheet as it was sent, with the jobs of it that are in the plan."""
    form = posted.form
    return Filled(
        _jobs_in(visit, posted), dict(fields_in(form)), form.get("basis", ""), form.get("sure") == "yes"
    )


def store_readings(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Record the values of a sheet; what is wrong is said at its field, with all that was typed, and nothing
    is recorded."""
    tended, filled = visit.tended, filled_in(visit, posted)
    tending = visit.live.tending(tended, visit.keeper)
    try:
        stored = tending.store(visit.live.log(), tended, filled, posted.entry)
    except WrongValuesError as error:
        return _sheet_page(
            visit,
            filled.jobs,
            posted.form,
            error,
            told=f"{str(error).capitalize()}. Nothing was recorded.",
            status=422,
        )
    if any(entry.voided for entry in stored.readings):
        return visit.back("?told=value-taken-back#alert")
    return visit.back(f"/recorded?entry={','.join(str(e.number) for e in stored.readings)}")
