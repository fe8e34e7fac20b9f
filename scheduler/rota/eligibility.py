"""May this keeper take this on this day, and if not why: the one place that answers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.care import Job
from scheduler.description.site import Keeper, can_do
from scheduler.rota.availability import Roster
from scheduler.rota.refusal import Refusal


@dataclass(frozen=True, slots=True)
class Carried:
    """What a keeper has already: minutes on the day, whether that is a round, and rounds on other days of its week."""

    minutes: int = 0
    is_round: bool = False
    other_rounds: int = 0


NOTHING = Carried()


def carry(day: dt.date, work: Iterable[tuple[dt.date, int]], today: dt.date, out: int) -> Carried:
    """Return what a keeper carries on a day and in its week.

    `work` are the day and minutes of each of its tasks, of whatever week, without what is asked about; a day with work
    is a round. `out` are its rounds of the week of `today` that are over.
    """
    week = day.isocalendar()[:2]
    own = [(on, minutes) for on, minutes in work if on.isocalendar()[:2] == week]
    rounds = {on for on, _ in own}
    over = out if today.isocalendar()[:2] == week else 0
    minutes = sum(minutes for on, minutes in own if on == day)
    return Carried(minutes, day in rounds, len(rounds - {day}) + over)


def refuse_day(roster: Roster, keeper: Keeper, day: dt.date) -> Refusal | None:
    """Return why a keeper is not there on a day; None where he or she is."""
    if roster.away(keeper, day):
        return Refusal("away", keeper, day)
    return None if roster.comes(keeper, day) else Refusal("not a day", keeper, day)


def refuse_skills(roster: Roster, keeper: Keeper, job: Job, day: dt.date) -> Refusal | None:
    """Return which of the skills that a job asks for a keeper lacks; None where none."""
    if can_do(roster.site, keeper, job.skills):
        return None
    lacking = tuple(skill for skill in job.skills if skill not in (keeper.can or ()))
    return Refusal("skill", keeper, day, lacking=lacking)


def refuse(
    roster: Roster,
    keeper: Keeper,
    job: Job,
    day: dt.date,
    carried: Carried = NOTHING,
    *,
    own_weekdays: bool = True,
) -> Refusal | None:
    """Return why a keeper may not take a job on a day beside what is `carried`; None where he or she may.

    In this order: the weekdays of the job, the keeper's days and absences, skills, minutes of the day (those of what is
    done today are used up), rounds of the week. Without `own_weekdays` the day is the plan's, and its weekday is right.
    """
    if own_weekdays and not on_weekday(job, day):
        return Refusal("job's weekday", keeper, day)
    return (
        refuse_day(roster, keeper, day)
        or refuse_skills(roster, keeper, job, day)
        or refuse_load(roster, keeper, day, carried.minutes + job.minutes, carried)
    )


def refuse_load(
    roster: Roster, keeper: Keeper, day: dt.date, minutes: int, carried: Carried = NOTHING
) -> Refusal | None:
    """Return why a keeper has no room for so many minutes in all on a day, or for one more round in its week."""
    most = roster.minutes(keeper, day)
    if minutes > most:
        return Refusal("minutes", keeper, day, needs=minutes, has=most)
    if keeper.rounds_a_week is None or carried.is_round or carried.other_rounds < keeper.rounds_a_week:
        return None
    return Refusal("rounds", keeper, day, needs=carried.other_rounds + 1, has=keeper.rounds_a_week)


def can_anybody(roster: Roster, job: Job, days: Iterable[dt.date]) -> bool:
    """Tell whether anybody could do a job on any of the days, if there were nothing else to do."""
    return first_day(roster, job, days) is not None


def first_day(roster: Roster, job: Job, days: Iterable[dt.date]) -> dt.date | None:
    """Return the first of the days on which anybody could do a job, if there were nothing else to do."""
    able = [roster.keepers[n] for n in roster.able(job.skills)]
    return next((day for day in days if any(roster.minutes(k, day) >= job.minutes for k in able)), None)


def on_weekday(job: Job, day: dt.date) -> bool:
    """Tell whether a job may be done on a day as far as the keeper's own weekdays for it go."""
    return job.weekdays is None or day.weekday() in job.weekdays


def could_do(roster: Roster, keeper: Keeper, job: Job, day: dt.date) -> bool:
    """Tell whether a keeper is there on a day and has the skills, however long the day is: what a list of jobs shows."""
    return refuse_day(roster, keeper, day) is None and refuse_skills(roster, keeper, job, day) is None
