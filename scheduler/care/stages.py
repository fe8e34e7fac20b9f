"""Life stages of the residents in time: by size where it is known, by age where only that is."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from dateutil.relativedelta import relativedelta

from scheduler.care.engine.case import Case
from scheduler.description.site import Resident
from scheduler.species import Sheet

HATCHLING, JUVENILE, ADULT = range(3)
"""The life stages, as `feeding.STAGES` names them."""


@dataclass(frozen=True, slots=True)
class StageChange:
    """From `day` on (None: all along) a resident is in a stage, 0 hatchling to 2 adult."""

    day: dt.date | None
    stage: int


def stages(case: Case, resident: Resident) -> list[StageChange]:
    """Return the resident's life stages in time.

    By size where carapace and adult size are known; the ages of the species sheet then only move it on. An
    animal that was smaller on arrival than its age says stays in the stage of its size until it is measured
    again. Without size and birthday nothing is known, and it is fed as a juvenile, which the note says.
    Nothing of this depends on today: the days of a plan are the same tomorrow.
    """
    size = case.stage_by_size(resident)
    birthdays = _birthdays(resident, case.sheet(resident))
    if not birthdays:
        return [StageChange(None, 1 if size is None else size)]
    known_on = resident.arrived or case.anchor
    if size is not None and known_on is not None and sum(day <= known_on for day in birthdays) > size:
        return [StageChange(None, size)]
    first = 0 if size is None else size
    later = (StageChange(day, stage) for stage, day in enumerate(birthdays, start=1) if stage > first)
    return [StageChange(None, first), *later]


def _birthdays(resident: Resident, sheet: Sheet | None) -> list[dt.date]:
    """Return the days on which the resident's age ends a stage of its sheet."""
    if resident.born is None or sheet is None:
        return []
    ages = [stage.until_age for stage in sheet.stage if stage.until_age is not None]
    return [resident.born + relativedelta(months=age.months, days=age.days) for age in ages]


def stage_at(timeline: list[StageChange], day: dt.date | None) -> int:
    """Return the stage of a timeline on a day; None asks for the one all along."""
    return [c for c in timeline if c.day is None or (day is not None and c.day <= day)][-1].stage
