"""May this keeper take this on this day, and if not why: the one place that answers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.care import Job
from scheduler.description.site import Keeper, can_do
from scheduler.rota.availability import Availability
from scheduler.rota.refusal import Refusal


@dataclass(frozen=True, slots=True)
class Workload:
    """What a keeper has already: minutes on the day, whether that is a round, and rounds on other days of its
    week."""

    minutes: int = 0
    is_round: bool = False
    other_rounds: int = 0


NO_WORK = Workload()


def workload_of(day: dt.date, work: Iterable[tuple[dt.date, int]], today: dt.date, out: int) -> Workload:
    """Return what a keeper carries on a day and in its week.

    `work` are the day and minutes of each of its tasks, of whatever week, without what is asked about; a day
    with work is a round. `out` are its rounds of the week of `today` that are over.
    """
    week = day.isocalendar()[:2]
    own = [(on, minutes) for on, minutes in work if on.isocalendar()[:2] == week]
    rounds = {on for on, _ in own}
    over = out if today.isocalendar()[:2] == week else 0
    minutes = sum(minutes for on, minutes in own if on == day)
    return Workload(minutes, day in rounds, len(rounds - {day}) + over)


def refuse_day(availability: Availability, keeper: Keeper, day: dt.date) -> Refusal | None:
    """Return why a keeper is not there on a day; None where he or she is."""
    if availability.away(keeper, day):
        return Refusal("away", keeper, day)
    return None if availability.comes(keeper, day) else Refusal("not a day", keeper, day)


def refuse_skills(availability: Availability, keeper: Keeper, job: Job, day: dt.date) -> Refusal | None:
    """Return which of the skills that a job asks for a keeper lacks; None where none."""
    if can_do(availability.site, keeper, job.skills):
        return None
    lacking = tuple(skill for skill in job.skills if skill not in (keeper.can or ()))
    return Refusal("skill", keeper, day, lacking=lacking)


def refuse(
    availability: Availability,
    keeper: Keeper,
    job: Job,
    day: dt.date,
    workload: Workload = NO_WORK,
    *,
    own_weekdays: bool = True,
) -> Refusal | None:
    """Return why a keeper may not take a job on a day beside his or her `workload`; None where he or she may.

    In this order: the weekdays of the job, the keeper's days and absences, skills, minutes of the day (those
    of what is done today are used up), rounds of the week. Without `own_weekdays` the day is the plan's, and
    its weekday is right.
    """
    if own_weekdays and not on_weekday(job, day):
        return Refusal("job's weekday", keeper, day)
    return (
        refuse_day(availability, keeper, day)
        or refuse_skills(availability, keeper, job, day)
        or refuse_load(availability, keeper, day, workload.minutes + job.minutes, workload)
    )


def refuse_load(
    availability: Availability, keeper: Keeper, day: dt.date, minutes: int, workload: Workload = NO_WORK
) -> Refusal | None:
    """Return why a keeper has no room for so many minutes in all on a day, or for one more round in its
    week."""
    most = availability.minutes(keeper, day)
    if minutes > most:
        return Refusal("minutes", keeper, day, needs=minutes, has=most)
    if keeper.rounds_a_week is None or workload.is_round or workload.other_rounds < keeper.rounds_a_week:
        return None
    return Refusal("rounds", keeper, day, needs=workload.other_rounds + 1, has=keeper.rounds_a_week)


def can_anybody(availability: Availability, job: Job, days: Iterable[dt.date]) -> bool:
    """Tell whether anybody could do a job on any of the days, if there were nothing else to do."""
    return first_day(availability, job, days) is not None


def first_day(availability: Availability, job: Job, days: Iterable[dt.date]) -> dt.date | None:
    """Return the first of the days on which anybody could do a job, if there were nothing else to do."""
    able = [availability.keepers[n] for n in availability.able(job.skills)]
    return next((day for day in days if any(availability.minutes(k, day) >= job.minutes for k in able)), None)


def on_weekday(job: Job, day: dt.date) -> bool:
    """Tell whether a job may be done on a day as far as the keeper's own weekdays for it go."""
    return job.weekdays is None or day.weekday() in job.weekdays


def could_do(availability: Availability, keeper: Keeper, job: Job, day: dt.date) -> bool:
    """Tell whether a keeper is there on a day and has the skills, however long the day is: what a list of
    jobs shows."""
    return (
        refuse_day(availability, keeper, day) is None
        and refuse_skills(availability, keeper, job, day) is None
    )
