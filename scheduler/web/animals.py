"""An animal that moves, has left or arrives, said on the page of whoever keeps a site alone or answers for
it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import get_args

from starlette.responses import Response

from scheduler.description.editing import Value
from scheduler.description.enclosure import DepartureReason
from scheduler.errors import UsageError
from scheduler.sheets.recorded import difference_lines, edited_lines
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import TEXT_WIDTH, PageVisit
from scheduler.workflow.editing.edit import Edit, perform
from scheduler.workflow.editing.residents import (
    Lodging,
    lodging,
    plan_arrival,
    plan_departure,
    plan_move,
)
from scheduler.workflow.record.notes import clean_note
from scheduler.workflow.record.standing import Recorded, Who

REASONS: tuple[str, ...] = get_args(DepartureReason)


def movable(visit: PageVisit) -> list[Lodging]:
    """Return the animals that a page may move: those of a site that one person keeps, and all for a
    coordinator.

    Where several share the work a page is one of theirs, and not everybody changes the description.
    """
    site = visit.tended.described
    if len(site.keepers) > 1 and not visit.is_coordinator:
        return []
    return [
        Lodging(resident, enclosure)
        for enclosure in site.enclosures
        for resident in enclosure.resident
        if resident.arrived is None or resident.arrived <= visit.tended.today
    ]


def change_animal(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Ask whether an animal moved or left, with what that changes; or change the description and the log."""
    form, allowed = posted.form, movable(visit)
    if not allowed:
        raise UsageError("who moves an animal does so in the description, or on the command line")
    found = next((one for one in allowed if one.resident.id == form.get("animal")), None)
    if found is None:
        raise UsageError("choose the animal")
    today = visit.tended.today
    on = today - dt.timedelta(days=1) if form.get("on") == "yesterday" else today
    who = _who(visit, on, form.get("why", ""))
    edit = _edit(visit, found, form.get("to", ""), who)
    return _asked(visit, posted, edit, "animal", ("animal", "to", "on", "why"))


ARRIVING = ("enclosure", "name", "species", "carapace", "mass", "quarantine", "on", "why")
"""The fields of the form of an arrival."""


def add_animal(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Ask whether an animal arrives, today or on a day to come, with what that changes; or write it into the
    description and the log.

    UsageError where that makes no sense, and on a page that is not a coordinator's.
    """
    form = posted.form
    if not visit.is_coordinator:
        raise UsageError("a new animal is written into the description, or by `pondround arrived`")
    if not form.get("name", "").strip():
        raise UsageError("write the name of the animal")
    try:
        on = dt.date.fromisoformat(form.get("on", ""))
    except ValueError:
        raise UsageError("choose the day on which it arrives") from None
    table: dict[str, Value] = {"name": form["name"]}
    table |= {key: form[key].strip() for key in ("species", "carapace", "mass") if form.get(key, "").strip()}
    if form.get("quarantine") == "yes":
        table["quarantine"] = True
    who = _who(visit, on, form.get("why", ""))
    space = visit.live.tending(visit.tended, visit.keeper).space
    edit = plan_arrival(space, form.get("enclosure", ""), table, who)
    return _asked(visit, posted, edit, "arrival", ARRIVING)


def _asked(visit: PageVisit, posted: SubmittedForm, edit: Edit, part: str, fields: Sequence[str]) -> Response:
    """Carry out a change of the description that somebody is sure of; else tell what it changes, and ask."""
    space = visit.live.tending(visit.tended, visit.keeper).space
    if posted.form.get("sure") == "yes":
        perform(space, edit)
        visit.live.look(now=True)
        return visit.back("#round")
    told = perform(space, edit, dry=True)
    kept = {name: posted.form[name] for name in fields if name in posted.form}
    first, *rest = _lines(told)
    return visit.html("change.html", said=first, lines=[*rest, *edit.words], kept=kept, part=part)


def _who(visit: PageVisit, on: dt.date, note: str) -> Who:
    return Who(on=on, by=visit.keeper.id if visit.keeper else None, note=clean_note(note))


def _edit(visit: PageVisit, found: Lodging, to: str, who: Who) -> Edit:
    space = visit.live.tending(visit.tended, visit.keeper).space
    name = lodging(space.site, found.resident.id).resident.id
    what, _, which = to.partition("/")
    if what == "in" and which:
        return plan_move(space, name, which, who)
    if what == "left" and which in REASONS:
        return plan_departure(space, name, which, who)
    raise UsageError("choose what happened to it")


def _lines(told: Recorded) -> list[str]:
    """Return what a change says and does, a sentence a line."""
    lines = [*edited_lines(told.site, told.entries, told.moves, told.edited, width=TEXT_WIDTH)]
    differs = told.difference
    if differs is not None:
        lines += difference_lines(differs.before, differs.after, differs.new, differs.gone, width=TEXT_WIDTH)
    return [line.strip() for line in lines]
