"""The page of a keeper: today's round, what was done, the days to come; and what is recorded from it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from scheduler import care
from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.site import Keeper, can_do
from scheduler.errors import UsageError
from scheduler.history import Entry, History, JobRef, OccurrenceRef
from scheduler.log import Log
from scheduler.log.links import Stand
from scheduler.log.rotas import Published
from scheduler.plan import Occurrence
from scheduler.rota import Assigned
from scheduler.rota.roster import Roster
from scheduler.rota.rounds import walking_order
from scheduler.workflow.handing import HandedOver, Wish, swap
from scheduler.workflow.planning import DONE_DAYS, Planned, days_of, make_plan, replan
from scheduler.workflow.recording import Known, Recorded, Who, read, record_job, undo
from scheduler.workflow.remembering import history_in
from scheduler.workflow.rostering import quarantined_in

AHEAD_DAYS = 7
"""So many days after today are shown."""

UNDO_DAYS = 1
"""What was recorded for today or so many days before can be taken back on the page."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Something that is to be done: on which day, whether its enclosure is in quarantine, and who takes it (None: nobody yet)."""

    occurrence: Occurrence
    day: dt.date
    quarantine: bool
    keeper: Keeper | None

    @property
    def ref(self) -> OccurrenceRef:
        """Return the identity of the occurrence."""
        return self.occurrence.ref


@dataclass(frozen=True, slots=True)
class Tended:
    """A site on a day, as everybody's pages need it; made once for all of them.

    `turns` is what is to be done, by day, in the order of a round. `done` are entries of today and yesterday that stand.
    `published` is the rota that holds, `present` are the keepers who are there today. `described` is the site as it is
    described, `site` as its record leaves it.
    """

    described: Site
    planned: Planned
    published: Published | None
    present: tuple[Keeper, ...]
    turns: Mapping[dt.date, tuple[Turn, ...]]
    done: tuple[Entry, ...]
    stand: Stand

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

    def job(self, name: JobRef) -> Job:
        """Return the job of an enclosure, key and variant, as the log knows it; UsageError where there is none any more."""
        jobs = {s.job.ref: s.job for s in self.planned.series}
        if name not in jobs:
            raise UsageError("this job is no longer in the plan; nothing was recorded")
        # An extra water change is done as a water change.
        return jobs.get(jobs[name].log_name, jobs[name])

    def mine(self, keeper: Keeper | None, day: dt.date) -> list[Turn]:
        """Return what a keeper does on a day; for None, who is everybody, all."""
        return [t for t in self.turns.get(day, ()) if keeper is None or t.keeper == keeper]

    def free(self, keeper: Keeper | None) -> list[Turn]:
        """Return what is to be done today and is in nobody's round, but the keeper could do."""
        if keeper is None:
            return []
        turns = self.turns.get(self.today, ())
        return [t for t in turns if t.keeper is None and can_do(self.site, keeper, t.occurrence.job.skills)]

    def recorded(self, keeper: Keeper | None) -> list[Entry]:
        """Return what a keeper recorded today or yesterday, the last first; for None what anybody did."""
        return [e for e in reversed(self.done) if keeper is None or e.keeper == keeper.id]

    def others(self, keeper: Keeper | None) -> list[Entry]:
        """Return what others recorded today."""
        if keeper is None:
            return []
        return [e for e in reversed(self.done) if e.keeper != keeper.id and e.day == self.today]

    def takers(self, keeper: Keeper | None, job: Job) -> list[Keeper]:
        """Return to whom a keeper could hand a job over today: who is there, and can do it."""
        if keeper is None:
            return []
        return [k for k in self.present if k != keeper and can_do(self.site, k, job.skills)]


def tended(log: Log, site: Site, today: dt.date, stand: Stand, before: Tended | None = None) -> Tended:
    """Return the site on a day, from its log; with less work where it is known how the site stood `before`."""

    def ask(enclosures: Collection[str] | None) -> History:
        return history_in(log, site, today, today - dt.timedelta(days=DONE_DAYS), enclosures)

    if before is None or before.described is not site or before.today != today:
        before = None
        planned = make_plan(site, today, today, AHEAD_DAYS + 1, ask(None))
    else:
        # Entries are only ever added.
        new = {(e.enclosure, e.of) for e in log.entries(site.place.id, after=before.stand.entry)}
        touched = care.linked(site, new, {enclosure for enclosure, _ in new})
        planned, changed = replan(before.planned, touched, ask)
    if before is not None and before.stand.rota == stand.rota:
        published = before.published
        kept = [t for turns in before.turns.values() for t in turns if t.ref.enclosure not in changed]
        own = replace(planned, series=tuple(s for s in planned.series if s.job.enclosure.id in changed))
        turns = _by_day([*kept, *_turns(own, site, published)])
    else:
        published = log.published(site.place.id) if site.keepers else None
        turns = _by_day(_turns(planned, site, published))
    since = today - dt.timedelta(days=UNDO_DAYS)
    done = tuple(log.entries(site.place.id, since=since, until=today, voided=False))
    roster = Roster(site)
    present = tuple(k for k in site.keepers if roster.comes(k, today))
    return Tended(site, planned, published, present, turns, done, stand)


def _turns(planned: Planned, site: Site, published: Published | None) -> Iterator[Turn]:
    """Yield what is to be done at a site as it is described, enclosure by enclosure in the order of the plan."""
    today = planned.today
    slots: dict[OccurrenceRef, Assigned] = {}
    if published is not None:
        slots = {a.ref: a for a in published.assigned}
    quarantined = quarantined_in(site, planned.history)
    keepers = {k.id: k for k in site.keepers}
    for one in days_of(planned):
        if one.state == "done":
            continue
        slot = slots.get(one.ref)
        # What was published for an earlier day and is still open is the same keeper's today.
        day = one.day if slot is None else max(today, slot.day)
        keeper = keepers.get(slot.keeper) if slot is not None else None
        if keeper is None and len(keepers) == 1:
            keeper = site.keepers[0]
        yield Turn(one, day, quarantined(one.job.enclosure.id, day), keeper)


def _by_day(turns: Iterable[Turn]) -> dict[dt.date, tuple[Turn, ...]]:
    """Return turns by day, in the order of a round; what is alike in that stays in the order of the plan."""
    found: dict[dt.date, list[Turn]] = {}
    for turn in turns:
        found.setdefault(turn.day, []).append(turn)

    def order(turn: Turn) -> tuple[object, ...]:
        return walking_order(turn.occurrence.job, quarantine=turn.quarantine)

    return {day: tuple(sorted(some, key=order)) for day, some in sorted(found.items())}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tending:
    """Records what a page says, for its keeper; None is whoever keeps a site for which one page is all.

    Methods raise UsageError for what cannot be, with nothing recorded, and LogError where the log cannot be reached.
    """

    file: Path
    site: Site
    today: dt.date
    keeper: Keeper | None
    as_of: dt.date | None = None

    def who(self, note: str = "", on: dt.date | None = None) -> Who:
        """Return who records."""
        by = self.keeper.id if self.keeper is not None else None
        return Who(on=on, by=by, note=note, as_of=self.as_of)

    def tick(
        self, log: Log, tended: Tended, name: JobRef, seen: int, *, note: str = "", on: dt.date | None = None
    ) -> bool:
        """Record a job as done; return False where that is known already, or was taken back since the page was made."""
        known = Known(tended.site, tended.today, tended.history)
        return record_job(log, known, tended.job(name), self.who(note, on), seen=seen)

    def take_back(self, log: Log, number: int) -> Recorded:
        """Take back an entry that the page shows."""
        since = self.today - dt.timedelta(days=UNDO_DAYS)
        shown = log.entries(self.site.place.id, since=since, until=self.today)
        if not any(e.number == number and e.kind != "void" for e in shown):
            raise UsageError(
                "only what was recorded for today or yesterday can be taken back here; nothing was changed"
            )
        return undo(self.file, self.site, self.today, self.who(), number)

    def measure(
        self, enclosure: str, name: str, value: str, *, whose: str = "", sure: bool = False
    ) -> Recorded:
        """Record a reading of an enclosure. DoubtError asks about a value that looks mistyped, unless it is `sure`."""
        written = [f"{name}={value}"]
        of = whose or None
        return read(self.file, self.site, self.today, [enclosure], written, who=self.who(), of=of, sure=sure)

    def hand_on(self, tended: Tended, name: JobRef, taker: str) -> HandedOver:
        """Hand one job of the keeper's round of today over, also one that is left of an earlier day; checked as a swap is."""
        turn = next((t for t in tended.mine(self.keeper, tended.today) if t.ref.job == name), None)
        if turn is None or self.keeper is None:
            raise UsageError("this is no longer in your round; nothing was changed")
        wish = Wish(tended.today, self.keeper.id, taker, one=turn.ref)
        return swap(self.file, self.site, self.today, wish, self.as_of)
