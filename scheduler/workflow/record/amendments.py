"""What people bend by hand: a job that waits, one that is left out, one that comes once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pydantic import ValidationError

from scheduler import care, plan
from scheduler.care import Every, Job
from scheduler.description import Enclosure, Site
from scheduler.description.identity import slug
from scheduler.description.site import ExtraJob
from scheduler.errors import DoubtError, UsageError, as_words
from scheduler.history import Entry, JobRef, parse_amendment, parse_once
from scheduler.plan import Series
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.plan import Planned
from scheduler.workflow.record.job_words import Meant, jobs_named
from scheduler.workflow.record.standing import (
    Recorded,
    Standing,
    Who,
    keeper_id,
    opened,
    refuse_before_set_up,
    standing_after,
    standing_before,
    what_follows,
)
from scheduler.workflow.rota.site_rota import Absent, not_there
from scheduler.workflow.site_log import now_as_of
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log

MOST_AHEAD = dt.timedelta(days=366)
"""No further ahead can anything be put off, or be planned to come once. House value."""

ONCE_MINUTES = 10
"""What comes once takes so long where nobody says. House value, as of a job of the keeper's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AmendmentWish:
    """What somebody wants of one occurrence of a job: that it comes on another day, or not at all (`to` is
    None).

    `on` is the day on which it falls due; None is what is open, else the next time.
    """

    to: dt.date | None
    on: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OnceWish:
    """Something that comes once: its title, its day, how long it takes, and which skills it asks for."""

    title: str
    on: dt.date
    minutes: int = ONCE_MINUTES
    can: tuple[str, ...] = ()


def amend(
    space: Workspace,
    words: Sequence[str],
    wish: AmendmentWish,
    who: Who,
    *,
    sure: bool = False,
    dry: bool = False,
) -> Recorded:
    """Record that a job waits or is left out, and say what follows; with `dry`, say it and record nothing.

    UsageError where that makes no sense; DoubtError where the job must not wait, unless it is `sure`.
    """
    before = standing_before(space)
    meant = Meant(day=space.today, today=space.today, next=before.next, history=before.history)
    jobs = jobs_named(before.site, before.jobs, words, meant)
    if len(jobs) != 1:
        raise UsageError("one job at a time: " + ", ".join(f"{j.enclosure.name}: {j.title}" for j in jobs))
    job = jobs[0]
    whole = replace(who, by=keeper_id(space.site, who.by))
    entry, told = amendment_of(before.planned, job.ref, wish, whole, sure=sure, absent=not_there(space))
    return _keep(space, before, entry, job.enclosure, told, dry=dry)


def once(space: Workspace, place: str | None, wish: OnceWish, who: Who, *, dry: bool = False) -> Recorded:
    """Record that something comes once in an enclosure, the only one where none is named; say what
    follows."""
    before = standing_before(space)
    enclosure = _enclosure(before, place)
    entry = once_of(before, enclosure, wish, replace(who, by=keeper_id(space.site, who.by)))
    return _keep(space, before, entry, enclosure, [], dry=dry)


def _enclosure(before: Standing, place: str | None) -> Enclosure:
    places = before.site.enclosures
    if place is not None:
        return pick_named(place, places, "enclosure")
    if len(places) == 1:
        return places[0]
    raise UsageError(f"name the enclosure: {', '.join(e.name for e in places)}")


def amendment_of(
    planned: Planned, ref: JobRef, wish: AmendmentWish, who: Who, *, sure: bool, absent: Absent | None = None
) -> tuple[Entry, list[str]]:
    """Return the entry that says what somebody wants of an occurrence, and what to know about it.

    `absent` is who cannot come when, besides what the description says. UsageError where that makes no sense;
    DoubtError where the job must not wait, unless it is `sure`.
    """
    meant = _meant(planned, ref, wish.on)
    job = meant.series.job
    told = meant.check(wish.to, absent) if wish.to is not None else []
    if wish.to is None and isinstance(job.cadence, Every) and job.cadence.lasts:
        raise UsageError(
            f"{job.title} is the end of a thing's life: postpone it to a day, do not leave it out"
        )
    reason = care.must_not_wait(job)
    if reason and not sure:
        what = f"leave out {job.title}" if wish.to is None else f"put off {job.title} to {wish.to}"
        raise DoubtError([f"{job.enclosure.name}: {what}? It must not wait: {reason}"])
    entry = Entry(
        kind="skipped" if wish.to is None else "postponed",
        enclosure=job.enclosure.id,
        name=job.key,
        of=job.variant,
        day=planned.today,
        given=given_of(replace(wish, on=meant.due)),
        keeper=who.by or "",
        title=job.title,
        minutes=job.minutes,
        note=who.note,
        recorded=now_as_of(planned.site, who.as_of),
    )
    return entry, told


def given_of(wish: AmendmentWish) -> str:
    """Return how an entry writes the days of a wish, which names the day on which it falls due."""
    return f"{wish.on}/{wish.to}" if wish.to is not None else f"{wish.on}"


@dataclass(frozen=True, slots=True)
class _MeantOccurrence:
    """The occurrence of a series of which somebody says something: the day on which it falls due, and the one
    on which it is shown."""

    planned: Planned
    series: Series
    due: dt.date
    day: dt.date

    def check(self, to: dt.date, absent: Absent | None) -> list[str]:
        """Return what to know of a day to which it is put off. UsageError where that makes no sense."""
        job, today, formats = self.series.job, self.planned.today, self.planned.site.settings.formats
        if to < today:
            raise UsageError(f"{formats.date(to)} is over; today is {formats.date(today)}")
        if to > today + MOST_AHEAD:
            raise UsageError(
                f"{formats.date(to)} is more than a year away; write a nearer day, or change the description"
            )
        if to == self.day:
            raise UsageError(f"{job.title} comes on {formats.date(to)} anyway; nothing changes")
        until = self.series.until or (job.cadence.until if isinstance(job.cadence, Every) else None)
        if until is not None and to > until:
            raise UsageError(
                f"{job.title} ends on {formats.date(until)}; choose a day until then, or leave it out"
            )
        if not _counts_from_last(self.planned, job):
            others = (d for d in self.series.between(today, to) if d > self.day)
            later = next(others, None)
            if later is not None:
                raise UsageError(
                    f"{job.title} comes on {formats.date(later)} anyway; choose a day before that, or leave "
                    "this one out"
                )
        return [
            f"{job.enclosure.name}: {word}" for word in (self._cost(to), self._nobody(to, absent)) if word
        ]

    def _cost(self, to: dt.date) -> str:
        job, planned = self.series.job, self.planned
        cases = care.cases_of(planned.described, planned.site, planned.history, {job.enclosure.id})
        return care.cost_of_waiting(next(cases), job, self.due, to)

    def _nobody(self, to: dt.date, absent: Absent | None) -> str:
        """Say where nobody who can do it comes on a day, with the next day on which somebody does."""
        site, job = self.planned.site, self.series.job
        if not site.keepers:
            return ""
        from scheduler.rota.availability import Availability
        from scheduler.rota.eligibility import can_anybody, first_day

        availability = Availability(site, absent, self.planned.today)
        if can_anybody(availability, job, (to,)):
            return ""
        formats = site.settings.formats
        ahead = first_day(availability, job, [to + dt.timedelta(days=n) for n in range(29)])
        said = f"nobody who can do it comes on {formats.weekday_date(to)}"
        return f"{said}; somebody does on {formats.weekday_date(ahead)}" if ahead is not None else said


def later_days(planned: Planned, series: Series) -> list[dt.date]:
    """Return the days of the coming week to which what is due today can be put off: before its next time."""
    today = planned.today
    week = [today + dt.timedelta(days=n) for n in range(1, 8)]
    if _counts_from_last(planned, series.job):
        return week
    ahead = next(series.between(week[0], week[-1]), None)
    return [day for day in week if ahead is None or day < ahead]


def _counts_from_last(planned: Planned, job: Job) -> bool:
    """Tell whether a job counts from the day on which it was last done, once there is a record."""
    return isinstance(job.cadence, Every) and job.key not in planned.site.settings.not_logged


def _meant(planned: Planned, ref: JobRef, on: dt.date | None) -> _MeantOccurrence:
    """Return the occurrence of a job that is meant: the one of a day, else what is open, else the next."""
    today = planned.today
    series = next((one for one in planned.series if one.job.ref == ref), None)
    coming = plan.next_days([series], today).get(ref) if series is not None else None
    if series is None or coming is None:
        raise UsageError("this job is not planned; there is nothing to put off")
    job, formats = series.job, planned.site.settings.formats
    due = coming.since or coming.day
    if on is None or on in (due, coming.day):
        return _MeantOccurrence(planned, series, due, coming.day)
    if on < today:
        raise UsageError(f"{formats.date(on)} is over; record what was done then, or leave out what is open")
    if _counts_from_last(planned, job):
        raise UsageError(
            f"{job.title} counts from the day on which it was last done; it is due on {formats.date(due)}, "
            "and no further time has a day yet"
        )
    if on not in series.between(today, on):
        ahead = list(series.between(today, today + MOST_AHEAD))[:3]
        raise UsageError(
            f"{job.enclosure.name} has no {job.title} on {formats.date(on)}; it comes on "
            + ", ".join(map(formats.date, ahead))
        )
    return _MeantOccurrence(planned, series, on, on)


def once_of(before: Standing, enclosure: Enclosure, wish: OnceWish, who: Who) -> Entry:
    """Return the entry that says that something comes once. UsageError where that makes no sense."""
    today, formats = before.today, before.site.settings.formats
    if wish.on < today:
        raise UsageError(f"{formats.date(wish.on)} is over; what was done then can be written down as a note")
    if wish.on > today + MOST_AHEAD:
        raise UsageError(f"{formats.date(wish.on)} is more than a year away; write it into the description")
    title = " ".join(wish.title.split())
    _check_as_described(title, wish, who.note)
    refuse_before_set_up(enclosure, wish.on, "")
    same = [j for j in before.jobs if j.enclosure.id == enclosure.id and as_words(j.title) == as_words(title)]
    own = {e.name for e in before.history.amendments(enclosure.id) if e.kind == "once"}
    standing = next((j for j in same if j.key not in own), None)
    if standing is not None:
        raise UsageError(
            f"{enclosure.name} has the job {standing.title} already; to have it on another day: "
            f'pondround postpone "{enclosure.name}" {standing.word} --to {wish.on}'
        )
    key = slug(title)
    taken = {j.key for j in before.jobs if j.enclosure.id == enclosure.id} | set(care.KEYS)
    if key in taken - own:
        key = f"once-{key}"
    return Entry(
        kind="once",
        enclosure=enclosure.id,
        name=key,
        day=today,
        given=" ".join(filter(None, [wish.on.isoformat(), ", ".join(wish.can)])),
        keeper=who.by or "",
        title=title,
        minutes=wish.minutes,
        note=who.note,
        recorded=now_as_of(before.site, who.as_of),
    )


def _check_as_described(title: str, wish: OnceWish, note: str) -> None:
    """Hold something that comes once against what the description asks of a job of the keeper's own."""
    table = {"key": slug(title), "title": title, "minutes": wish.minutes, "can": wish.can, "note": note}
    try:
        ExtraJob.model_validate({**table, "on": (wish.on,)})
    except ValidationError as error:
        raise UsageError(
            "; ".join(
                ", ".join(
                    filter(None, [f"{one['loc'][0]}: {one['msg']}", one.get("ctx", {}).get("hint", "")])
                )
                for one in error.errors(include_url=False)
            )
        ) from None


def _keep(
    space: Workspace,
    before: Standing,
    entry: Entry,
    enclosure: Enclosure,
    told: Sequence[str],
    *,
    dry: bool,
) -> Recorded:
    if dry:
        after = Standing(space.site, before.planned.history.amending([entry], space.today), space.today)
        return what_follows(before, [(entry, True)], after, {enclosure.id}, told, bent=True)
    with opened(space.file, space.site) as log:
        kept = keep(log, space.site, entry, before.seen)
        after = standing_after(log, space.site, space.today)
    return what_follows(before, [kept], after, {enclosure.id}, told, bent=True)


def keep(log: Log, site: Site, entry: Entry, seen: int) -> tuple[Entry, bool]:
    """Record what bends the plan, and return it as stored, and whether it is new.

    UsageError where somebody did the job, or bent it, after the entry number `seen`.
    """
    kept = log.amend(site.settings.id, entry, seen=seen)
    if kept is None:
        raise changed_meanwhile(entry)
    return kept


def changed_meanwhile(entry: Entry) -> UsageError:
    """Return the error of what rests on a plan that is no more: somebody said something of the job since."""
    return UsageError(f"somebody recorded {entry.title} meanwhile; look again, and say what you want then")


def refuse_chain(log: Log, site: str, target: Entry) -> None:
    """Raise UsageError where what is to be taken back was bent further since: that goes first."""
    if target.kind not in ("postponed", "once"):
        return
    made = parse_amendment(target).to if target.kind == "postponed" else parse_once(target).day
    later = log.entries(
        site, enclosure=target.enclosure, names=[target.name], of=target.of, after=target.number, voided=False
    )
    for entry in list(later):
        if entry.kind in ("postponed", "skipped") and parse_amendment(entry).due == made:
            raise UsageError(
                f"entry {entry.number} has bent it further since; take that back first: undo --entry "
                f"{entry.number}"
            )
