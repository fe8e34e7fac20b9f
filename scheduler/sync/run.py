"""A sync from its beginning to its end: read back, record, move, and only then write.

What was ticked is in the log before anything is written, so that no failure loses it. Whoever changes
something meanwhile is listened to in another pass.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.calendar import Feed, Options, Writer
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.errors import UsageError
from scheduler.history import Entry, JobRef
from scheduler.sync.address import Address
from scheduler.sync.collection_sync import CollectionSync
from scheduler.sync.credentials import credentials
from scheduler.sync.discovery import Collection, ServerHome, collections_in, find, left_over, named, own
from scheduler.sync.done_work import DoneWork
from scheduler.sync.errors import SyncError, UnreachableError
from scheduler.sync.ledger import Ledger
from scheduler.sync.merge import RemoteChange
from scheduler.sync.outcome import Outcome, Why
from scheduler.sync.resource import local_of
from scheduler.workflow import Recorded, pick_named
from scheduler.workflow.record.completions import BeforeSetUp, StillDone, Tick, record_ticks, take_back
from scheduler.workflow.rota.reschedule import Shift, shift
from scheduler.workflow.rota.shares import Kept, Shares, shares_of
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.sync.session import Session

MOST_PASSES = 4
"""So often others are listened to; who changes things that fast goes on after the sync."""

Found = list[tuple[CollectionSync, RemoteChange]]


@dataclass(frozen=True, slots=True, kw_only=True)
class SyncWish:
    """What is wanted of a sync: which collection, whose, as to-dos or events, how many weeks, how long to
    wait in seconds."""

    collection: str | None = None
    keeper: str | None = None
    to_dos: bool = True
    weeks: int = 4
    seconds: int = 30


def sync(space: Workspace, address: Address, wish: SyncWish) -> Outcome:
    """Bring to-dos to a CalDAV server and back what was done with them.

    UsageError for what does not fit together, SyncError where nothing could be read; what fails later is in
    the outcome.
    """
    person = pick_named(wish.keeper, space.site.keepers, "keeper") if wish.keeper is not None else None
    user, password = credentials(address.user)
    outcome = Outcome()
    writer = Writer(space.site, Options(to_dos=wish.to_dos))
    with _connect(address, user, password, wish.seconds) as session:
        place = find(session)
        there = collections_in(session, place.home)
        pairs = _people_and_collections(
            session, place, there, space.site, person=person, wish=wish, writer=writer
        )
        with Ledger(space.file, space.site) as ledger:
            targets = [
                CollectionSync(session, ledger, collection, keeper, writer=writer, today=space.today)
                for keeper, collection in pairs
            ]
            if person is None and wish.collection is None and place.one is None:
                used = [collection for _, collection in pairs]
                left = left_over(place, there, ledger.collections(), space.site.settings.id, used)
                targets += [
                    CollectionSync(session, ledger, one, who, writer=writer, today=space.today, left=True)
                    for who, one in ((_who_left(one, space.site), one) for one in left)
                ]
                # A collection of the other kind of entries has nothing of this one.
                targets = [target for target in targets if target.bases.by_uid or not target.left]
            outcome.tallies = [target.tally for target in targets]
            _Run(space, wish, ledger=ledger, targets=targets, outcome=outcome).run()
    return outcome


def _connect(address: Address, user: str | None, password: str | None, seconds: int) -> Session:
    try:
        from scheduler.sync.session import Session
    except ModuleNotFoundError:
        raise SyncError("sync needs the caldav library; pip install 'pondround[caldav]'") from None
    return Session(address, user, password, seconds)


def _people_and_collections(
    session: Session,
    place: ServerHome,
    there: list[Collection],
    site: Site,
    *,
    person: Keeper | None,
    wish: SyncWish,
    writer: Writer,
) -> list[tuple[Keeper | None, Collection]]:
    """Return the collection of each keeper, or the one that was named for all."""
    people: Sequence[Keeper | None] = [person] if person is not None else list(site.keepers) or [None]
    kind = writer.options.kind
    one = named(there, wish.collection) if wish.collection is not None else place.one
    if one is not None:
        if len(people) > 1:
            raise UsageError(
                f"{one.name} is one collection, and there are {len(people)} keepers; say whose it is with "
                "--keeper, or leave "
                "--collection out: then one is made for each"
            )
        if not one.takes(kind):
            other = "--as events" if wish.to_dos else "--as to-dos"
            raise UsageError(
                f"the collection {one.name} takes no {'to-dos' if wish.to_dos else 'events'}; name "
                f"another one, or write {other}"
            )
        return [(people[0], one)]
    found = []
    for keeper in people:
        name = site.settings.id + (f"-{keeper.id}" if keeper is not None else "") + _suffix(kind)
        title = Feed(site=site, options=writer.options, keeper=keeper).title
        found.append((keeper, own(session, place, there, name, title=title, kind=kind)))
    return found


def _who_left(collection: Collection, site: Site) -> Keeper | None:
    """Return the keeper of a collection who is no longer described: ticks are still theirs.

    None where it was everybody's.
    """
    name = collection.last.removeprefix(site.settings.id).removeprefix("-").removesuffix(_suffix("VEVENT"))
    return Keeper(name=name, id=name) if name else None


def _suffix(kind: str) -> str:
    return "-events" if kind == "VEVENT" else ""


class _Run:
    """The passes of a sync."""

    def __init__(
        self,
        space: Workspace,
        wish: SyncWish,
        *,
        ledger: Ledger,
        targets: list[CollectionSync],
        outcome: Outcome,
    ) -> None:
        self._space, self._wish = space, wish
        self._ledger, self._targets, self._outcome = ledger, targets, outcome
        self._news = False
        """Whether the pass that is made now recorded or moved anything."""

    def run(self) -> None:
        """Listen and write until nobody changes anything meanwhile, or the server fails."""
        targets = well = self._targets
        for number in range(MOST_PASSES):
            self._news = False
            written = self._listen_and_write(targets)
            well = [target for target in well if target in written or target not in targets]
            # What came late from one collection may change what all others should have.
            targets = (
                well if self._news and number else [target for target in written if target.changed_meanwhile]
            )
            if not targets:
                return
        self._outcome.failures.append(
            "somebody changes the collections all the time; sync again when they are done"
        )

    def _listen_and_write(self, targets: list[CollectionSync]) -> list[CollectionSync]:
        """Make one pass over collections; return those that were brought to what is wanted."""
        found: Found = []
        readable = self._each(
            targets, lambda target: found.extend((target, change) for change in target.look())
        )
        # Nothing is written before everything that was read is in the log.
        for target, change in found:
            if change.verdict == "same":
                target.bases.agree(change)
        self._tick(found)
        self._untick(found)
        shares = self._shift(found)
        for target, change in found:
            if change.verdict in ("cancelled", "broken"):
                target.write_again(change)
        self._outcome.untaken = shares.untaken
        writer = Writer(shares.site, Options(to_dos=self._wish.to_dos))
        local = {
            share.keeper.id if share.keeper else "": {one.uid: one for one in local_of(writer, share.rounds)}
            for share in shares.shares
        }
        done = DoneWork(self._done(), shares.jobs)
        return self._each(
            readable,
            lambda target: target.write(
                {} if target.left else local[target.tally.keeper], done, self._outcome, self._space.tell
            ),
        )

    def _each(
        self, targets: list[CollectionSync], what: Callable[[CollectionSync], None]
    ) -> list[CollectionSync]:
        """Do something with each collection; return those with which it went well.

        Where nobody answers the rest is left.
        """
        well = []
        for target in targets:
            try:
                what(target)
            except SyncError as error:
                self._outcome.failures.append(str(error))
                if isinstance(error, UnreachableError):
                    break
            else:
                well.append(target)
        return well

    def _done(self) -> Mapping[JobRef, list[Entry]]:
        found: dict[JobRef, list[Entry]] = {}
        for entry in self._ledger.done(self._space.today):
            found.setdefault(entry.job, []).append(entry)
        return found

    # --- what was read ---

    def _tick(self, found: Found) -> None:
        """Record what was ticked, and agree on it."""
        ticked = [(target, change) for target, change in found if change.verdict == "ticked"]
        lent = [(target, change) for target, change in ticked if change.base.job is None]
        for target, change in lent:
            target.bases.agree_done(change, _moment(change)[0] or self._space.today, None, ticked=False)
        ticked = [(target, change) for target, change in ticked if change.base.job is not None]
        if not ticked:
            return
        ticks = [_tick_of(target, change) for target, change in ticked]
        # What it says of them is printed.
        made = record_ticks(self._space.in_plain_formats(), ticks)
        if made.recorded is not None:
            self._outcome.recorded.append(made.recorded)
            self._news = True
        for (target, change), tick, entry in zip(ticked, ticks, made.entries, strict=True):
            if isinstance(entry, BeforeSetUp):
                target.write_again(change)
                self._outcome.remark("not recorded", target.tally.keeper, change.base, why=entry)
            else:
                # Somebody else's entry of that day is not this tick's to take back.
                own = (entry.keeper, entry.note) == (target.tally.keeper, tick.note) and tick.time in (
                    None,
                    entry.time,
                )
                target.bases.agree_done(change, entry.day, entry.time, ticked=own)

    def _untick(self, found: Found) -> None:
        """Take back what was unticked, where it was ticked there and nothing rests on it; else it is done
        there again."""
        for target, change in found:
            base = change.base
            if change.verdict != "unticked":
                continue
            if base.job is None or base.done is None:
                target.bases.agree_open(change)
                continue
            taken: Recorded | StillDone = StillDone.NOT_FROM_THERE
            if base.ticked:
                done = (base.log_name, base.done)
                who = None if target.left else target.keeper
                taken = take_back(
                    self._space.in_plain_formats(),
                    done,
                    keeper=who,
                )
            if isinstance(taken, StillDone):
                target.write_again(change)
                self._outcome.remark("still done", target.tally.keeper, base, why=taken)
            else:
                self._outcome.recorded.append(taken)
                self._news = True
                target.bases.agree_open(change)

    def _shift(self, found: Found) -> Shares:
        """Move what was moved, where the rules allow it, and return who does what then."""
        kept = {
            a.job: a.day
            for target in self._targets
            for a in target.bases.by_uid.values()
            if a.job is not None
        }
        shares = self._shares(kept)
        moved = [
            (target, change) for target, change in found if change.verdict == "moved" and not target.left
        ]
        shifts = [
            Shift(change.base.job, target.keeper, change.to)
            for target, change in moved
            if change.base.job is not None and change.to is not None
        ]
        whys = iter(shift(self._space, shares, shifts) if shifts else ())
        any_moved = False
        for target, change in moved:
            base = change.base
            why: Why | None = "a hand is lent on the day of the job" if base.job is None else next(whys)
            self._outcome.remark(
                "stays" if why else "moved", target.tally.keeper, base, to=change.to, why=why
            )
            target.write_again(change)
            if not why and base.job is not None and change.to is not None:
                kept[base.job], any_moved = change.to, True
        self._news = self._news or any_moved
        return self._shares(kept) if any_moved else shares

    def _shares(self, kept: Kept) -> Shares:
        return shares_of(self._space, self._wish.weeks, kept=kept)


def _tick_of(target: CollectionSync, change: RemoteChange) -> Tick:
    base, remote = change.base, change.remote
    assert base.job is not None and remote is not None
    day, time = _moment(change)
    return Tick(
        job=base.job.job,
        of=base.of,
        day=day,
        time=time,
        keeper=target.keeper,
        note=remote.comment,
        title=base.work,
        minutes=base.minutes,
    )


def _moment(change: RemoteChange) -> tuple[dt.date | None, dt.time | None]:
    """Return when something was ticked: as it says, else when its text was changed."""
    remote = change.remote
    assert remote is not None
    return remote.completed or (remote.modified if not remote.broken else None) or (None, None)
