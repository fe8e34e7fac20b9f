"""What the page of a keeper shows: today's round, what was done, what was remarked, the days to come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.errors import UsageError
from scheduler.history import DONE_DAYS, Entry, History, JobRef, OccurrenceRef
from scheduler.log import Log
from scheduler.log.links import LogState
from scheduler.log.rotas import Given
from scheduler.plan import Occurrence
from scheduler.rota.availability import Availability
from scheduler.rota.eligibility import could_do
from scheduler.rota.rounds import walking_order
from scheduler.workflow.plan import Planned, days_of, make_plan, plan_after
from scheduler.workflow.record.notes import NOTE_DAYS, KeptNote, notes_at, pins_in
from scheduler.workflow.record.standing import RecordContext
from scheduler.workflow.rota.site_rota import SiteRota, quarantined_in
from scheduler.workflow.site_log import day_there, history_in

AHEAD_DAYS = 7
"""So many days after today are shown."""

MOST_CAUGHT_UP = 300
"""Of so many entries at the end of the log it is looked at which were recorded today or yesterday for an
earlier day."""


UNDO_DAYS = 1
"""What was recorded for today or so many days before can be taken back on the page."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Something that is to be done: on which day, whether its enclosure is in quarantine, and who takes it
    (None: nobody yet).

    `helper` lends a hand with what one person should not lift.
    """

    occurrence: Occurrence
    day: dt.date
    quarantine: bool
    keeper: Keeper | None
    helper: Keeper | None = None

    @property
    def ref(self) -> OccurrenceRef:
        """Return the identity of the occurrence."""
        return self.occurrence.ref


@dataclass(frozen=True, slots=True)
class RoundPage:
    """A site on a day, as everybody's pages need it; made once for all of them.

    `turns` is what is to be done, by day, in the order of a round. `done` are entries that stand, of today
    and yesterday or recorded then for an earlier day. `notes` are those at each tank, of the last days or
    pinned. `given` is what was handed over of the days that are shown, and is still to be done.
    `shown` is the rota that holds, where there are keepers. `availability` tells who is there when,
    `present` are the keepers who are there today. `described` is the site as it is described, `site` as its
    record leaves it.
    """

    described: Site
    planned: Planned
    availability: Availability
    present: tuple[Keeper, ...]
    turns: Mapping[dt.date, tuple[Turn, ...]]
    done: tuple[Entry, ...]
    stand: LogState
    notes: Mapping[str, tuple[KeptNote, ...]]
    given: tuple[Given, ...] = ()
    shown: SiteRota | None = None

    @property
    def site(self) -> Site:
        """Return the site with the newest measured values."""
        return self.planned.site

    @property
    def today(self) -> dt.date:
        """Return the day."""
        return self.planned.today

    @property
    def history(self) -> History:
        """Return what was recorded, as far back as a plan looks."""
        return self.planned.history

    @property
    def known(self) -> RecordContext:
        """Return what recording needs to know of the site."""
        return RecordContext(self.site, self.today, self.history)

    def job(self, name: JobRef) -> Job:
        """Return the job of an enclosure, key and variant, as the log knows it; UsageError where there is
        none any more."""
        jobs = {s.job.ref: s.job for s in self.planned.series}
        if name not in jobs:
            raise UsageError("this job is no longer in the plan")
        # An extra water change is done as a water change.
        return jobs.get(jobs[name].log_name, jobs[name])

    def mine(self, keeper: Keeper | None, day: dt.date) -> list[Turn]:
        """Return what a keeper does on a day; for None, who is everybody, all."""
        return [t for t in self.turns.get(day, ()) if keeper is None or t.keeper == keeper]

    def helps(self, keeper: Keeper | None, day: dt.date) -> list[Turn]:
        """Return where a keeper lends somebody else a hand on a day."""
        return [t for t in self.turns.get(day, ()) if keeper is not None and t.helper == keeper]

    def free(self, keeper: Keeper | None) -> list[Turn]:
        """Return what is to be done today and is in nobody's round, but the keeper could do."""
        if keeper is None:
            return []
        turns = [t for t in self.turns.get(self.today, ()) if t.keeper is None]
        return [t for t in turns if could_do(self.availability, keeper, t.occurrence.job, self.today)]

    def recorded(self, keeper: Keeper | None) -> list[Entry]:
        """Return what a keeper recorded today or yesterday, the last first; for None what anybody did."""
        return [e for e in reversed(self.done) if keeper is None or e.keeper == keeper.id]

    def others(self, keeper: Keeper | None) -> list[Entry]:
        """Return what others recorded today."""
        if keeper is None:
            return []
        return [e for e in reversed(self.done) if e.keeper != keeper.id and e.day == self.today]

    def takers(self, keeper: Keeper | None, job: Job, day: dt.date | None = None) -> list[Keeper]:
        """Return to whom a keeper could hand a job over on a day, today by default: who is there, and can do
        it."""
        if keeper is None:
            return []
        on = day or self.today
        there = [k for k in self.site.keepers if k.id != keeper.id and self.availability.comes(k, on)]
        return [k for k in there if could_do(self.availability, k, job, on)]

    def got(self, keeper: Keeper | None) -> list[Given]:
        """Return what others handed over to a keeper and is still to be done."""
        return [one for one in self.given if keeper is not None and one.taker == keeper.id]

    def gave(self, keeper: Keeper | None) -> list[Given]:
        """Return what a keeper handed over and is still to be done."""
        return [one for one in self.given if keeper is not None and one.giver == keeper.id]


def tended(
    log: Log,
    site: Site,
    today: dt.date,
    stand: LogState,
    *,
    shown: SiteRota | None = None,
    before: RoundPage | None = None,
) -> RoundPage:
    """Return the site on a day, from its log and the rota that is shown, where it has keepers.

    Without keepers it is less work where it is known how the site stood `before`.
    """
    if shown is not None:
        planned = shown.planned
        turns = _by_day(_rounds(shown, today + dt.timedelta(days=AHEAD_DAYS)))
    elif before is not None and before.described is site and before.today == today:
        planned, changed = plan_after(log, before.planned, before.stand.entry)
        kept = [t for turns in before.turns.values() for t in turns if t.ref.enclosure not in changed]
        own = replace(planned, series=tuple(s for s in planned.series if s.job.enclosure.id in changed))
        turns = _by_day([*kept, *_turns(own, site)])
    else:
        history = history_in(log, site, today, today - dt.timedelta(days=DONE_DAYS))
        planned = make_plan(site, today, today, AHEAD_DAYS + 1, history)
        turns = _by_day(_turns(planned, site))
    since = today - dt.timedelta(days=NOTE_DAYS)
    recent = list(log.entries(site.settings.id, since=since, until=today, voided=False))
    done = _of_late(log, site, today, recent)
    given = _still_given(shown, turns)
    notes = notes_at(site, recent, pins_in(log, site, today))
    availability = Availability(site, shown.not_there if shown is not None else None)
    present = tuple(k for k in site.keepers if availability.comes(k, today))
    return RoundPage(site, planned, availability, present, turns, done, stand, notes, given, shown)


def _of_late(log: Log, site: Site, today: dt.date, recent: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return what was done or measured today and yesterday, and what was caught up on then, in the order
    recorded."""
    since = today - dt.timedelta(days=UNDO_DAYS)
    found = {e.number: e for e in recent if e.day >= since}
    for e in log.entries(site.settings.id, until=today, voided=False, last=MOST_CAUGHT_UP):
        if day_there(e.recorded, site) >= since:
            found.setdefault(e.number, e)
    return tuple(found[number] for number in sorted(found))


def _still_given(shown: SiteRota | None, turns: Mapping[dt.date, Iterable[Turn]]) -> tuple[Given, ...]:
    """Return what was handed over and is still in the round of who took it."""
    if shown is None or shown.published is None:
        return ()
    held = {t.ref: t.keeper.id for some in turns.values() for t in some if t.keeper is not None}
    return tuple(one for one in shown.published.given if held.get(one.ref) == one.taker)


def _turns(planned: Planned, site: Site) -> Iterator[Turn]:
    """Yield what is to be done at a site without keepers, enclosure by enclosure in the order of the plan."""
    quarantined = quarantined_in(site, planned.history)
    for one in days_of(planned):
        if one.state != "done":
            yield Turn(one, one.day, quarantined(one.job.enclosure.id, one.day), None)


def _rounds(shown: SiteRota, last: dt.date) -> Iterator[Turn]:
    """Yield what is to be done by the rota that holds, up to a last day; what nobody takes is nobody's."""
    for task in shown.rota.tasks():
        if task.day <= last:
            yield Turn(task.item.occurrence, task.day, task.item.quarantine, task.keeper, task.helper)
    for left in shown.rota.unfilled:
        if left.item.occurrence.day <= last:
            yield Turn(left.item.occurrence, left.item.occurrence.day, left.item.quarantine, None)


def _by_day(turns: Iterable[Turn]) -> dict[dt.date, tuple[Turn, ...]]:
    """Return turns by day, in the order of a round; what is alike in that stays in the order of the plan."""
    found: dict[dt.date, list[Turn]] = {}
    for turn in turns:
        found.setdefault(turn.day, []).append(turn)

    def order(turn: Turn) -> tuple[object, ...]:
        return walking_order(turn.occurrence.job, quarantine=turn.quarantine)

    return {day: tuple(sorted(some, key=order)) for day, some in sorted(found.items())}
