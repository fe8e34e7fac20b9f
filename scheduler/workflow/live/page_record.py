"""What is recorded from the page of a keeper: ticks, their taking back, readings; each counts once however
often it is sent."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from scheduler.care.asked import AskedQuantity
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.errors import DoubtError, UsageError
from scheduler.history import AMENDING, Entry, History, JobRef, OccurrenceRef
from scheduler.log import Log
from scheduler.readings import QUANTITIES, assumption, parse_reading, with_unit
from scheduler.workflow.live.round_page import AHEAD_DAYS, UNDO_DAYS, RoundPage
from scheduler.workflow.record.amendments import (
    AmendmentWish,
    OnceWish,
    amendment_of,
    changed_meanwhile,
    given_of,
    keep,
    once_of,
    refuse_chain,
)
from scheduler.workflow.record.backlog import CaughtUp, catch_up
from scheduler.workflow.record.done import add_note, record_job, record_jobs, standing_entry
from scheduler.workflow.record.notes import keep_note, pin_note, pin_of, unpin_note
from scheduler.workflow.record.readings import record_reading
from scheduler.workflow.record.standing import Recorded, Standing, Who, what_follows
from scheduler.workflow.record.value_sheets import Filled, Stored, store_values
from scheduler.workflow.rota.swap import SwapRequest, swap
from scheduler.workflow.site_log import day_there, history_in, hour_there, now_as_of
from scheduler.workflow.workspace import Workspace

Ticked = Literal["recorded", "known", "taken back"]
"""What became of a tick: it was recorded; it was known, and a note is with it; it was taken back since the
page was made."""


@dataclass(frozen=True, slots=True)
class Written:
    """A reading as it was typed: the enclosure, the name of the quantity, the value, and whom or what it is
    of."""

    enclosure: str
    name: str
    value: str
    whose: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageRecorder:
    """Records what a page says, for its keeper; None is whoever keeps a site for which one page is all.

    Methods raise UsageError for what cannot be, with nothing recorded, and LogError where the log cannot be
    reached.
    """

    space: Workspace
    keeper: Keeper | None

    @property
    def site(self) -> Site:
        """The site that is described."""
        return self.space.site

    @property
    def today(self) -> dt.date:
        """The day of the page."""
        return self.space.today

    def who(self, note: str = "", on: dt.date | None = None) -> Who:
        """Return who records. What is done today was done at this hour; when it was yesterday nobody
        knows."""
        by = self.keeper.id if self.keeper is not None else None
        at = None if on is not None else hour_there(self.site)
        return Who(on=on, at=at, by=by, note=note, as_of=self.space.as_of)

    def tick(
        self,
        log: Log,
        tended: RoundPage,
        name: JobRef,
        seen: int,
        *,
        note: str = "",
        on: dt.date | None = None,
    ) -> Ticked:
        """Record a job as done, unless that is known already, or was taken back since the page was made.

        A note is kept with what is known already.
        """
        known, job = tended.known, tended.job(name)
        who = self.who(note, on)
        if record_job(log, known, job, who, seen=seen):
            return "recorded"
        found = standing_entry(log, self.site, job, on or self.today)
        if found is None:
            return "taken back"
        if note and add_note(log, self.site, job, found, who) is None:
            raise UsageError("this was taken back just now")
        return "known"

    def tick_all(
        self, log: Log, tended: RoundPage, names: Sequence[JobRef], seen: int, *, on: dt.date | None = None
    ) -> list[Entry]:
        """Record several jobs of the keeper's round as done, in one transaction; return the entries that are
        new.

        What is no longer to be done, or was taken back since the page was made, is passed over. UsageError
        for a job that is ticked by itself: one that comes seldom, asks for values, takes two people, or that
        an alarm brought.
        """
        open_ = {t.ref.job: t.occurrence.job for t in tended.mine(self.keeper, tended.today)}
        jobs = [open_[name] for name in dict.fromkeys(names) if name in open_]
        for job in jobs:
            if not job.is_plain:
                raise UsageError(f"{job.enclosure.name}: {job.title} is ticked by itself")
        recorded = [tended.job(job.ref) for job in jobs]
        return record_jobs(log, tended.known, recorded, self.who("", on), seen=seen)

    def catch_up(
        self,
        log: Log,
        tended: RoundPage,
        said: Mapping[OccurrenceRef, CaughtUp],
        seen: int,
        *,
        mine: bool = True,
    ) -> list[Entry]:
        """Record what is said of the backlog; see `catch_up`. Where it was not `mine` nobody is named."""
        who = self.who() if mine else replace(self.who(), by=None)
        return catch_up(log, tended, said, who, seen)

    def not_today(
        self,
        log: Log,
        tended: RoundPage,
        name: JobRef,
        seen: int,
        wish: AmendmentWish,
        *,
        note: str,
        sure: bool,
    ) -> Entry:
        """Put an occurrence off, or leave it out; return the entry that says so.

        That may be one which stands since the page was made, or was taken back since: the form is sent again.
        DoubtError where the job must not wait, or where waiting costs something, unless it is `sure`.
        """
        newer = log.entries(self.site.settings.id, enclosure=name.enclosure, names=[name.key], after=seen)
        said = given_of(wish)
        own = [e for e in newer if e.of == name.variant and e.kind != "reading"]
        for earlier in own:
            if earlier.kind in AMENDING and earlier.given == said:
                return earlier
        if own:
            raise changed_meanwhile(own[0])
        entry, costs = amendment_of(tended.planned, name, wish, self.who(note), sure=sure)
        if costs and not sure:
            raise DoubtError(costs)
        return keep(log, self.site, entry, seen)[0]

    def once(self, log: Log, tended: RoundPage, place: str, wish: OnceWish, seen: int, *, note: str) -> Entry:
        """Plan something that comes once at an enclosure, by its id; return the entry that says so.

        That may be one which stands since the page was made, or was taken back since: the form is sent again.
        """
        enclosure = next((e for e in tended.site.enclosures if e.id == place), None)
        if enclosure is None:
            raise UsageError("choose the enclosure")
        before = Standing(tended.described, tended.history, tended.today, seen)
        entry = once_of(before, enclosure, wish, self.who(note))
        newer = log.entries(self.site.settings.id, enclosure=place, names=[entry.name], after=seen)
        same = next((e for e in newer if e.kind == "once" and e.given == entry.given), None)
        return same or keep(log, self.site, entry, seen)[0]

    def note(self, log: Log, place: str, words: str, seen: int, *, vet: bool = False) -> list[Entry]:
        """Keep a note at a tank; see `keep_note`."""
        return keep_note(log, self.site, place, words, self.who(), day=self.today, seen=seen, vet=vet)

    def pin(self, log: Log, number: int) -> Entry:
        """Pin a note for the vet; see `pin_note`."""
        return pin_note(log, self.site, number, self.who(), today=self.today)

    def pinned(self, log: Log, number: int) -> Entry:
        """Return the entry that pins a note; see `pin_of`."""
        return pin_of(log, self.site, number, self.today)

    def unpin(self, log: Log, number: int) -> None:
        """Take a pin off again; see `unpin_note`."""
        unpin_note(log, self.site, number, self.who(), today=self.today)

    def with_it(self, log: Log, tended: RoundPage, number: int) -> list[Entry]:
        """Return an entry that the page shows, and what was recorded with it: the values of a sheet that are
        the job.

        UsageError where it is not shown.
        """
        since = self.today - dt.timedelta(days=UNDO_DAYS)
        site = self.site.settings.id
        target = next((e for e in log.entries(site, after=number - 1, until=self.today)), None)
        late = target is not None and max(target.day, day_there(target.recorded, self.site)) < since
        if target is None or target.number != number or target.kind == "void" or late:
            raise UsageError("only what was recorded for today or yesterday can be taken back here")
        asks = next((s.job.asks for s in tended.planned.series if s.job.ref == target.job), None)
        if target.kind != "done" or asks is None:
            return [target]
        asked = {value.measured for value in asks.values}
        same = (target.recorded, target.enclosure, target.keeper, target.day)
        values = [
            e
            for e in log.entries(site, since=target.day, until=target.day, enclosure=target.enclosure)
            if e.kind == "reading"
            and AskedQuantity(e.name, e.of) in asked
            and (e.recorded, e.enclosure, e.keeper, e.day) == same
        ]
        return [target, *values]

    def is_of_another(self, entry: Entry) -> bool:
        """Tell whether somebody else recorded an entry; of a page that is everybody's, whether anybody is
        named."""
        return entry.keeper != (self.keeper.id if self.keeper is not None else "")

    def take_back(self, log: Log, tended: RoundPage, number: int) -> None:
        """Take back an entry that the page shows, with its values; nothing is changed where that was done
        before."""
        site, by = self.site.settings.id, self.keeper.id if self.keeper is not None else ""
        entries = self.with_it(log, tended, number)
        for entry in entries:
            refuse_chain(log, site, entry)
        uids = [entry.uid(site) for entry in entries]
        log.void_all(site, uids, keeper=by, recorded=now_as_of(self.site, self.space.as_of))

    def store(self, log: Log, tended: RoundPage, filled: Filled, seen: int) -> Stored:
        """Record the values of a sheet and the jobs that are done by them; see `store_values`."""
        by = self.keeper.id if self.keeper is not None else None
        return store_values(log, tended.known, filled, Who(by=by, as_of=self.space.as_of), seen)

    def measure(
        self, log: Log, tended: RoundPage, reading: Written, seen: int, *, sure: bool = False
    ) -> tuple[Entry, bool]:
        """Record a reading of an enclosure; return it, and whether it is new.

        DoubtError asks about a value that looks mistyped, unless it is `sure`. It is not new where the same
        was recorded since the page was made, also when it was taken back.
        """
        place = next((e for e in tended.site.enclosures if e.id == reading.enclosure), None)
        if place is None:
            raise UsageError("choose the enclosure")
        typed = with_unit(reading.name, reading.value, tended.site.settings.formats)
        by = self.keeper.id if self.keeper is not None else None
        return record_reading(
            log,
            tended.known,
            place,
            f"{reading.name}={typed}",
            Who(by=by, as_of=self.space.as_of),
            seen=seen,
            of=reading.whose or None,
            sure=sure,
        )

    def follows(self, log: Log, numbers: Collection[int]) -> Recorded | None:
        """Return what follows from readings of today or yesterday; None where there is none of these numbers
        that stands.

        It is what would be otherwise without them, as things are now: told again it is the same.
        """
        since = self.today - dt.timedelta(days=UNDO_DAYS)
        some = log.entries(self.site.settings.id, since=since, until=self.today, kind="reading", voided=False)
        read = [e for e in some if e.number in numbers and e.name in QUANTITIES]
        if not read:
            return None
        history = history_in(log, self.site, self.today)
        before = Standing(self.site, _without(history, self.site, numbers), self.today)
        after = Standing(self.site, history, self.today)
        words = []
        for entry in read:
            basis = getattr(self.site.settings.test_kit, entry.name, None)
            word = (
                assumption(entry.name, parse_reading(entry.name, entry.given, basis)) if entry.given else None
            )
            words += [word] if word else []
        return what_follows(before, [(e, True) for e in read], after, {e.enclosure for e in read}, words)

    def hand_over(  # noqa: PLR0917 - what, when, to whom
        self, log: Log, tended: RoundPage, tasks: Sequence[OccurrenceRef], day: dt.date, taker: str, rota: int
    ) -> bool:
        """Hand jobs of the keeper's round of a day over, all or none; checked as a swap is.

        Return False, with nothing changed, where one was somebody else's since the page was made, of which
        `rota` is the number of the rota that held: then it is a form that was sent before. UsageError for no
        jobs, for a day that is not shown, and for what a rule forbids.
        """
        if self.keeper is None or not tasks:
            raise UsageError("choose what is handed over")
        if not tended.today <= day <= tended.today + dt.timedelta(days=AHEAD_DAYS):
            raise UsageError(f"only today and the next {AHEAD_DAYS} days are handed over here")
        for since in log.published_since(self.site.settings.id, rota):
            if any(a.ref in tasks and a.keeper != self.keeper.id for a in since.assigned):
                return False
        wish = SwapRequest(day, self.keeper.id, taker, tasks=tuple(tasks))
        swap(self.space, wish)
        return True

    def take_over_again(self, log: Log, tended: RoundPage, tasks: Sequence[OccurrenceRef]) -> None:
        """Take back what the keeper handed over, all or none; nothing is changed where it is in the own round
        again.

        UsageError where it is done or has gone on to somebody else.
        """
        own = {t.ref for some in tended.turns.values() for t in some if t.keeper == self.keeper}
        left = [ref for ref in tasks if ref not in own]
        gave = [one for one in tended.gave(self.keeper) if one.ref in left]
        if len(gave) < len(left) or self.keeper is None:
            raise UsageError("this is done, or in somebody else's round by now")
        by_round: dict[tuple[dt.date, str], list[OccurrenceRef]] = {}
        for one in gave:
            by_round.setdefault((one.day, one.taker), []).append(one.ref)
        if len(by_round) > 1:
            raise UsageError("take back one round at a time")
        for (day, taker), refs in by_round.items():
            wish = SwapRequest(day, taker, self.keeper.id, tasks=tuple(refs))
            swap(self.space, wish)


def _without(history: History, site: Site, numbers: Collection[int]) -> History:
    """Return a history without the readings of some numbers."""
    places = [e.id for e in site.enclosures]
    left = [e for place in places for e in history.measured(place) if e.number not in numbers]
    return history.with_readings(left, history.stays)
