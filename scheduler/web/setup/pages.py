"""The pages of a set-up: a step with its form and the review beside it, and the question about phones."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from starlette.responses import HTMLResponse, Response

from scheduler import workflow
from scheduler.quantities import show_mass, show_volume
from scheduler.web.reach import Reach
from scheduler.web.setup.draft import Draft
from scheduler.web.setup.steps import NAMES, STEPS, Fields, Step, questions_of
from scheduler.web.visit import HEADERS, write_page
from scheduler.workflow.setup.preview import Preview, answer_problems, preview
from scheduler.workflow.setup.zones import zones_now

FIRST_REVIEWED = NAMES.index("enclosure")
"""Before this step nothing follows yet."""


@dataclass(frozen=True, slots=True)
class Mistakes:
    """What is wrong with the answers of a draft, by the keys of the questions; "" is of none."""

    wrong: Mapping[str, str]

    def of_step(self, step: str, animals: int) -> dict[str, str]:
        """Return those that belong to a step."""
        keys = {q.key for q in questions_of(step, animals)}
        return {key: text for key, text in self.wrong.items() if key in keys}

    def first_step(self, animals: int) -> str:
        """Return the first step that has one; empty where there is none."""
        if self.wrong and not any(self.of_step(step, animals) for step in NAMES):
            return NAMES[-1]
        return next((step for step in NAMES if self.of_step(step, animals)), "")


@dataclass(frozen=True, slots=True)
class StepView:
    """A step of a draft as it is shown: `path` is the address of the draft, `file` what is to be written, and
    `as_of` counts as today."""

    path: str
    draft: Draft
    step: str
    file: Path
    as_of: dt.date | None = None


def mistakes(draft: Draft, file: Path) -> Mistakes:
    """Return what is wrong with a draft, in the words of the description."""
    answers = draft.answers()
    wrong: dict[str, str] = {}
    for key, problem in answer_problems(answers, file):
        said = f"{problem.message}; {problem.hint}" if problem.hint else problem.message
        wrong.setdefault(key, said)
    if not answers["time_zone"]:
        wrong["time_zone"] = "choose the zone of your place"
    return Mistakes(wrong)


def step_page(view: StepView, said: Mapping[str, str] | None = None, status: int = 200) -> Response:
    """Return the page of a step; `said` is what is wrong beyond the answers, by field, "" of the whole."""
    draft, step, said = view.draft, view.step, said or {}
    at = NAMES.index(step)
    is_reviewed = at >= FIRST_REVIEWED
    wrong = {key: text for key, text in said.items() if key}
    if step in draft.sent:
        wrong |= mistakes(draft, view.file).of_step(step, draft.animals)
    fields = Fields(draft, wrong, workflow.sheets_beside(view.file), zones_now() if step == "place" else {})
    groups = fields.groups(step)
    labels = {one.name: one.label for group in groups for one in group.fields} | SIZES
    later = [q.key for name in NAMES[at + 1 :] for q in questions_of(name, 1)]
    seen = preview(draft.answers(), view.file, later, view.as_of) if is_reviewed else None
    text = write_page(
        "setup-step.html",
        path=view.path,
        step=STEPS[at],
        steps=STEPS,
        at=at,
        groups=groups,
        holds=fields.size_fields() if step == "enclosure" else None,
        by=draft.typed.get("by", "measured"),
        file=fields.file_field(view.file.name) if step == "food" else None,
        animals=draft.animals,
        wrong=[(key, labels[key]) for key in wrong],
        said=said.get("", ""),
        told=draft.told if step == "enclosure" else "",
        reviewed=is_reviewed,
        seen=seen,
        amounts=_amounts(seen, draft) if seen is not None else [],
        next=_next(STEPS[at]),
        before=STEPS[at - 1] if at else None,
    )
    return HTMLResponse(text, status, headers=HEADERS)


SIZES = {"holds": "How much it holds", "common": "Common size", "file": "Name of the file"}


def _amounts(seen: Preview, draft: Draft) -> list[str]:
    """Return the figures that everything else rests on, as far as they are known."""
    system = draft.system
    found = []
    for key, text, show in (
        ("gross_volume", "of water, before stones", show_volume),
        ("water_change_volume", "in a water change", show_volume),
    ):
        value = seen.figure(key)
        if value is not None:
            found.append(f"{show(value, system)} {text}")
    weight = seen.figure("filled_mass")
    if weight is not None:
        found.append(f"{show_mass(weight * 1000, system)} when it is full")
    return found


def _next(step: Step) -> str:
    """Return what is not to be expected of the review yet."""
    return {
        "enclosure": "Filter, heater and lamps come after the next step, the water changes after the food.",
        "equipment": "Temperatures, ultraviolet and room are held against the animals in the next step.",
        "animals": "How often water is changed follows from the food.",
    }.get(step.name, "")


def phones_question(path: str, address: str, reach: Reach, *, file: str, said: str = "") -> Response:
    """Return the page that asks whether phones are let in; `address` is this machine's in the local network,
    empty where it has none. Nothing is asked where others reach the server anyway."""
    text = write_page(
        "setup-phones.html",
        path=path,
        address=address,
        url=reach.url,
        everywhere=reach.everywhere,
        file=file,
        said=said,
    )
    status = 503 if said else 200
    return HTMLResponse(text, status, headers=HEADERS)
