"""The whole product as one machine: what people do, what looks at it, what ends it, and what has to hold all the time."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from unittest import mock

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, precondition, rule

from scheduler import rota, workflow
from scheduler.description.editing import Value
from scheduler.errors import UsageError
from scheduler.history import parse_away
from scheduler.rota import Rota
from scheduler.workflow.workspace import Workspace
from support import told
from support.machine.home import SYNCED_WEEKS, Home, empty_log
from support.machine.publications import Publications
from support.machine.views import differences, entries, near, of_feeds, of_named, of_page, of_rota
from support.rota.checker import check

PROMISES = {
    "views": "rota, page, feed, export and calendar server show one rota",
    "rounds": "each due occurrence is in one round, or left with a true reason; the rules of the rota are kept",
    "tags": "a feed's tag changes if its bytes change, and only then",
    "sequence": "no entry comes back with a lower SEQUENCE",
    "undo": "what is recorded and taken back leaves plan and rota as they were",
    "processes": "two processes serve the same",
    "names": "another name, with the same id, changes neither plan nor rota",
    "ill": "who was published as ill has nothing on those days",
    "record": "what was acknowledged is in the log, whoever is killed",
    "readers": "icalendar reads every feed without a fault",
    "animals": "every animal is where the description has it, with all that was recorded of it",
}
EMPTY_LOG = empty_log()

KEEPERS = st.sampled_from(["noor", "ben", "ada"])
ENCLOSURES = st.sampled_from(["sedge", "rush"])
ANIMALS = st.sampled_from(["biscuit", "nickel", "wren"])
MOST_ANIMALS = 4
PROCESSES = st.sampled_from([0, 1])
NTH = st.integers(0, 12)
LOOKS = st.sampled_from(["", "fetch", "page"])
WAITS = st.sampled_from([None, 1, 1, 2, 4, 12])
AHEAD = st.sampled_from([0, 1, 3, 9])
BACK = st.sampled_from([0, 0, 0, 1, 3])
VALUES = st.sampled_from(
    [
        "ammonia=0 mg/L",
        "ammonia=2 mg/L",
        "nitrite=0.5 mg/L",
        "nitrate=90 mg/L",
        "nitrate=20 mg/L",
        "ph=8.2",
        "ph=6.6",
    ]
)
WEIGHTS = st.sampled_from(["weight=470 g", "weight=380 g", "weight=210 g"])


class Machine(RuleBasedStateMachine):
    """A household over some weeks. A step that the program refuses with a sentence for its keeper is none, and changes nothing."""

    steps = 0
    holds = frozenset(PROMISES)

    def __init__(self) -> None:
        """Begin on a Monday with an empty log."""
        super().__init__()
        self.home = Home(EMPTY_LOG)
        self.seen = Publications()
        self.ill: set[tuple[str, dt.date]] = set()
        self.acknowledged: list[tuple[str, str, str, dt.date]] = []
        self.broken: list[str] = []
        self.patch = mock.patch.object(rota, "assign", self._assigned(rota.assign))
        self.patch.start()

    def teardown(self) -> None:
        """Look once more at everything, and take the folder away."""
        try:
            self.look_around(("rota", "page", "feed"), 0)
            self.fetch(1)
        finally:
            self.close()

    def close(self) -> None:
        """Take the folder away."""
        self.patch.stop()
        self.home.close()

    # --- what is held ---

    def hold(self, promise: str, faults: Iterator[str] | list[str] | str) -> None:
        """Fail where a promise that is looked at is broken."""
        found = [faults] if isinstance(faults, str) else list(faults)
        if promise in self.holds and any(found):
            raise AssertionError(f"{PROMISES[promise]}:\n" + "\n".join(found))

    def _assigned(self, assign: Callable[..., Any]) -> Callable[..., Any]:
        """Look at every rota that anything makes."""

        def assigned(site: Any, occurrences: Any, first: dt.date, last: dt.date, **more: Any) -> Any:
            held = list(occurrences)
            made = assign(site, held, first, last, **more)
            known: dict[str, Any] = {name: more.get(name) for name in ("quarantined", "absent", "past")}
            published = more.get("published") or ()
            self.broken += check(made, site, held, first=first, last=last, published=published, **known)
            return made

        return assigned

    @contextmanager
    def step(self, then: str = "") -> Iterator[None]:
        """Do one step; what is refused with a sentence has changed nothing in the log. Somebody may look at once."""
        Machine.steps += 1
        before = len(self.home.entries()) if "record" in self.holds else 0
        try:
            yield
        except UsageError as error:
            assert str(error)
            if "record" in self.holds:
                assert len(self.home.entries()) == before, f"refused, and recorded: {error}"
        if then == "fetch":
            self._fetch(0)
        elif then == "page":
            self.home.page(0)
        broken, self.broken = self.broken, []
        self.hold("rounds", broken)

    def nth_due(self, nth: int) -> Any:
        due = self.home.due()
        return due[nth % len(due)]

    def acknowledge(self, enclosure: str, key: str, of: str, day: dt.date) -> None:
        self.acknowledged.append((enclosure, key, of, day))

    # --- steps ---

    @rule(nth=NTH, by=KEEPERS, back=BACK, then=LOOKS)
    def did(self, nth: int, by: str, back: int, then: str) -> None:
        """`pondround did`."""
        with self.step(then):
            for entry, _ in self.home.did(self.nth_due(nth), by, back):
                self.acknowledge(entry.enclosure, entry.name, entry.of, entry.day)

    @rule(nth=NTH, by=KEEPERS, back=st.sampled_from([0, 0, 1]), process=PROCESSES, then=LOOKS)
    def ticks(self, nth: int, by: str, back: int, process: int, then: str) -> None:
        """A tick on somebody's page."""
        with self.step(then):
            one = self.nth_due(nth)
            if self.home.tick(process, one, by, back) != "taken back":
                enclosure, key, of = one.job.log_name
                self.acknowledge(enclosure, key, of, self.home.today - dt.timedelta(days=back))

    @rule(enclosure=ENCLOSURES, value=VALUES, by=KEEPERS, back=BACK, then=LOOKS)
    def measures(self, enclosure: str, value: str, by: str, back: int, then: str) -> None:
        """`pondround reading` of the water."""
        with self.step(then):
            self.home.measure(enclosure, value, by, back)

    @rule(animal=st.sampled_from(["biscuit", "nickel"]), value=WEIGHTS, by=KEEPERS)
    def weighs(self, animal: str, value: str, by: str) -> None:
        """`pondround reading` of an animal, where it lives."""
        with self.step():
            name, _, grams = value.partition("=")
            home = self.home.household.homes.get(animal, "sedge")
            self.home.measure(home, f"{name}.{animal.title()}={grams}", by)

    @rule(by=KEEPERS, nth=st.sampled_from([0, 0, 1, 2]), then=LOOKS)
    def undoes(self, by: str, nth: int, then: str) -> None:
        """`pondround undo`, of the last entry or of one before it."""
        with self.step(then):
            standing = [e for e in self.home.entries() if not e.voided and e.kind != "void"]
            entry = standing[-1 - nth] if nth < len(standing) else None
            self.home.undo(by, entry.number if entry is not None and nth else None)
            gone = standing[-1] if entry is None or not nth else entry
            with_it = (gone.enclosure, gone.name, gone.of, gone.day)
            if with_it in self.acknowledged:
                self.acknowledged.remove(with_it)
            self._hold_of_animals()

    @rule(nth=NTH, by=KEEPERS, back=BACK, value=VALUES | st.none(), enclosure=ENCLOSURES)
    def does_and_undoes(self, nth: int, by: str, back: int, value: str | None, enclosure: str) -> None:
        """Something is recorded and taken back: all is as it was."""
        with self.step():
            before = self.home.planned(), self.home.rota()
            if value is None:
                new = self.home.did(self.nth_due(nth), by, back)
            else:
                new = self.home.measure(enclosure, value, by, back)
            if new and new[0][1]:
                self.home.undo(by, new[0][0].number)
            self._hold_as_it_was(before)

    def _hold_as_it_was(self, before: tuple[list[tuple[object, ...]], Rota]) -> None:
        """Hold plan and rota against those of before."""
        after = self.home.planned(), self.home.rota()
        was, now = Counter(before[0]), Counter(after[0])
        self.hold("undo", [f"gone: {one}" for one in was - now] + [f"new: {one}" for one in now - was])
        today = self.home.today
        self.hold(
            "undo",
            differences(before=of_rota(before[1].rounds, today), after=of_rota(after[1].rounds, today)),
        )

    @rule(nth=NTH, by=KEEPERS, days=WAITS, then=LOOKS)
    def bends(self, nth: int, by: str, days: int | None, then: str) -> None:
        """`pondround postpone`, `pondround skip`."""
        with self.step(then):
            self.home.amend(self.nth_due(nth), by, days)

    @rule(nth=NTH, by=KEEPERS, days=WAITS, process=PROCESSES, then=LOOKS)
    def says_not_today(self, nth: int, by: str, days: int | None, process: int, then: str) -> None:
        """The same from somebody's page."""
        with self.step(then):
            self.home.put_off(process, self.nth_due(nth), by, days)

    @rule(
        enclosure=ENCLOSURES,
        title=st.sampled_from(["mend the lid", "feed"]),
        by=KEEPERS,
        days=AHEAD,
        process=PROCESSES | st.none(),
        then=LOOKS,
    )
    def comes_once(
        self, enclosure: str, title: str, by: str, days: int, process: int | None, then: str
    ) -> None:
        """`pondround once`, or the same from somebody's page."""
        with self.step(then):
            if process is None:
                self.home.once(enclosure, title, by, days)
            else:
                self.home.plan_once(process, enclosure, title, by, days)

    @rule(nth=NTH, by=KEEPERS, days=WAITS, enclosure=ENCLOSURES, once=st.booleans())
    def bends_and_undoes(self, nth: int, by: str, days: int | None, enclosure: str, once: bool) -> None:
        """The plan is bent, and that is taken back: all is as it was."""
        with self.step():
            before = self.home.planned(), self.home.rota()
            if once:
                new = self.home.once(enclosure, "drain the pond", by, days or 0)
            else:
                new = self.home.amend(self.nth_due(nth), by, days)
            if new and new[0][1]:
                self.home.undo(by, new[0][0].number)
            self._hold_as_it_was(before)

    @rule(
        who=KEEPERS,
        begin=st.sampled_from([0, 1, 2]),
        days=st.sampled_from([1, 3]),
        weeks=st.sampled_from([1, 4]),
        then=LOOKS,
    )
    def falls_ill(self, who: str, begin: int, days: int, weeks: int, then: str) -> None:
        """`pondround rota --ill NAME=DATE/DATE --publish`."""
        with self.step(then):
            first = self.home.today + dt.timedelta(days=begin)
            last = first + dt.timedelta(days=days - 1)
            self.home.publish(weeks, [f"{self.home.household.names[who]}={first}/{last}"])
            self.ill |= {(who, first + dt.timedelta(days=n)) for n in range(days)}

    @rule(who=KEEPERS, by=KEEPERS, begin=AHEAD, days=st.sampled_from([1, 4]), then=LOOKS)
    def goes_away(self, who: str, by: str, begin: int, days: int, then: str) -> None:
        """`pondround away`."""
        with self.step(then):
            self.home.go_away(who, by, begin, days)

    @rule(who=KEEPERS, by=KEEPERS, begin=AHEAD, then=LOOKS)
    def comes_back(self, who: str, by: str, begin: int, then: str) -> None:
        """`pondround away --back`."""
        with self.step(then):
            self.home.come_back(who, by, begin)
            day = self.home.today + dt.timedelta(days=begin)
            self.ill = {(k, d) for k, d in self.ill if k != who or d < day}

    def _away(self) -> set[tuple[str, dt.date]]:
        """Return who is away on which days, as the log says."""
        spans = ((e.name, *parse_away(e)) for e in self.home.entries() if e.kind == "away" and not e.voided)
        return {
            (who, first + dt.timedelta(days=n))
            for who, first, last in spans
            for n in range((last - first).days + 1)
        }

    @rule(weeks=st.sampled_from([1, 2, 4]), afresh=st.booleans(), then=LOOKS)
    def publishes(self, weeks: int, afresh: bool, then: str) -> None:
        """`pondround rota --publish`."""
        with self.step(then):
            self.home.publish(weeks, afresh=afresh)
            if afresh:
                # Whatever was published, who is ill too.
                self.ill = set()

    @rule(nth=NTH, taker=KEEPERS, whole=st.booleans(), then=LOOKS)
    def swaps(self, nth: int, taker: str, whole: bool, then: str) -> None:
        """`pondround swap`."""
        with self.step(then):
            rounds = self.home.rota().rounds
            one = rounds[nth % len(rounds)]
            task = one.tasks[nth % len(one.tasks)] if one.tasks else None
            word = (
                f"{task.item.job.enclosure.name}/{task.item.job.key}"
                if task is not None and not whole
                else ""
            )
            self.home.swap((one.day, one.keeper.name), self.home.household.names[taker], word)
            self.ill.discard((taker, one.day))

    @rule(days=st.sampled_from([1, 1, 1, 2, 7]), then=LOOKS)
    def a_day_passes(self, days: int, then: str) -> None:
        """Nobody does anything for a day, or a week."""
        with self.step(then):
            self.home.pass_days(days)

    @rule(who=st.sampled_from(["noor", "ben", "ada", "sedge", "rush"]), then=LOOKS)
    def renames(self, who: str, then: str) -> None:
        """Somebody, or an enclosure, gets another name and keeps the id."""
        with self.step(then):
            before = self.home.planned(), self._taken()
            names = self.home.household.names
            names[who] = (
                names[who].removesuffix(" the new") if "new" in names[who] else f"{names[who]} the new"
            )
            self.home.describe()
            after = self.home.planned(), self._taken()
            self.hold("names", [f"plan: {one}" for one in set(before[0]) ^ set(after[0])])
            self.hold("names", [f"rota: {one}" for one in before[1] ^ after[1]])

    def _taken(self) -> set[tuple[object, ...]]:
        """Return who takes what on which day, without a name."""
        return {(*t.item.ref, t.day, t.keeper.id) for t in self.home.rota().tasks()}

    @rule(animal=st.sampled_from(["biscuit", "nickel"]), then=LOOKS)
    def moves(self, animal: str, then: str) -> None:
        """An animal goes to live in the other enclosure."""
        with self.step(then):
            homes = self.home.household.homes
            if "departed" not in self.home.household.animals[animal]:
                homes[animal] = "rush" if homes[animal] == "sedge" else "sedge"
            self.home.describe()

    @rule(animal=ANIMALS, enclosure=ENCLOSURES, by=KEEPERS, back=BACK, then=LOOKS)
    def moves_by_command(self, animal: str, enclosure: str, by: str, back: int, then: str) -> None:
        """`pondround move`."""
        with self.step(then):
            self.home.change(lambda space, who: workflow.plan_move(space, animal, enclosure, who), by, back)
            assert self.home.household.homes[animal] == enclosure
            self._hold_of_animals()

    @rule(enclosure=ENCLOSURES, by=KEEPERS, days=AHEAD, quarantine=st.booleans(), then=LOOKS)
    def somebody_arrives(self, enclosure: str, by: str, days: int, quarantine: bool, then: str) -> None:
        """`pondround arrived`, today or on a day to come."""
        with self.step(then):
            if len(self.home.household.animals) < MOST_ANIMALS:
                self.home.change(self._arrival(enclosure, quarantine=quarantine), by, -days)
                self._hold_of_animals()

    def _arrival(
        self, enclosure: str, *, quarantine: bool = False
    ) -> Callable[[Workspace, workflow.Who], workflow.Edit]:
        table: dict[str, Value] = {
            "name": "Wren",
            "species": "painted turtle",
            "carapace": "9 cm",
            "quarantine": quarantine,
        }
        return lambda space, who: workflow.plan_arrival(space, enclosure, table, who)

    @rule(animal=ANIMALS, by=KEEPERS, back=BACK, then=LOOKS)
    def departs(self, animal: str, by: str, back: int, then: str) -> None:
        """`pondround departed`."""
        with self.step(then):
            self.home.change(
                lambda space, who: workflow.plan_departure(space, animal, "adopted", who), by, back
            )
            self._hold_of_animals()

    @rule(
        animal=ANIMALS,
        enclosure=ENCLOSURES,
        by=KEEPERS,
        what=st.sampled_from(["move", "arrive", "depart", "rename"]),
    )
    def changes_and_undoes(self, animal: str, enclosure: str, by: str, what: str) -> None:
        """The description is changed, and that is taken back: text, plan and rota are as they were."""
        plans = {
            "move": lambda space, who: workflow.plan_move(space, animal, enclosure, who),
            "arrive": self._arrival(enclosure),
            "depart": lambda space, who: workflow.plan_departure(space, animal, "died", who),
            "rename": lambda space, who: workflow.plan_renaming(space, enclosure, "Tansy", who),
        }
        with self.step():
            before = self.home.planned(), self.home.rota()
            text = self.home.file.read_text("utf-8")
            number = self.home.change(plans[what], by, 0)
            self.home.undo(by, number)
            self.hold("undo", [] if self.home.file.read_text("utf-8") == text else ["another text"])
            self._hold_as_it_was(before)

    def _hold_of_animals(self) -> None:
        """Hold what the log says of animals against where the description has them, and what was weighed."""
        home, site = self.home, workflow.read_site(self.home.file)
        stays = workflow.residences(home.file, site)
        now = {stay.resident.id: stay.enclosure for stay in stays if stay.holds(home.today)}
        described = {
            r.id: e.id
            for e in home.site.enclosures
            for r in e.resident
            if (r.arrived or home.today) <= home.today
        }
        self.hold(
            "animals",
            [
                f"{one} lives in {now.get(one)} or {described.get(one)}"
                for one in now.keys() | described.keys()
                if now.get(one) != described.get(one)
            ],
        )
        weighed = Counter(
            e.of for e in home.entries() if e.kind == "reading" and e.name == "weight" and not e.voided
        )
        for animal in home.household.animals:
            own = workflow.entries_of_resident(home.file, site, animal)
            found = sum(e.kind == "reading" for e in own)
            self.hold(
                "animals",
                [] if found == weighed[animal] else [f"{found} of {weighed[animal]} weights of {animal}"],
            )

    @rule(process=PROCESSES, began=st.booleans())
    def mistypes(self, process: int, began: bool) -> None:
        """There is a mistake in the description for a while: both go on with what was good last, and one may begin meanwhile."""
        with self.step():
            self._fetch(process)
            self.home.file.write_text(self.home.household.text() + "\n[enclosure\n", "utf-8")
            if began:
                self.home.restart()
            self._fetch(process)
            self.opens_page(process)
            self.home.describe()

    def _moves_anybody(self) -> None:
        """Move an animal to the other enclosure by the command."""
        animal, home = next(iter(self.home.household.homes.items()))
        other = "rush" if home == "sedge" else "sedge"
        self.home.change(lambda space, who: workflow.plan_move(space, animal, other, who), "noor", 0)

    # --- looks ---

    @rule(process=PROCESSES)
    def fetch(self, process: int) -> None:
        """Calendar programs fetch all feeds."""
        with self.step():
            self._fetch(process)

    def _fetch(self, process: int) -> None:
        """Fetch all feeds of a process; the other one has the same."""
        for name in self.home.feeds:
            shelved, other = (self.home.feed(number, name) for number in (process, 1 - process))
            if (other.etag, other.body(), other.modified) != (shelved.etag, shelved.body(), shelved.modified):
                self.hold("processes", f"the feed of {name} has two forms")
            self.hold("tags", self.seen.tag_faults(name, shelved))
            self.hold("sequence", self.seen.sequence_faults(name, shelved.body()))
            if "readers" in self.holds:
                entries(shelved.body())

    @rule(process=PROCESSES)
    def opens_page(self, process: int) -> None:
        """Somebody opens a page, and somebody else of the other process."""
        with self.step():
            one, other = self.home.page(process), self.home.page(1 - process)
            self.hold("processes", differences(one=of_page(one), other=of_page(other)))

    @rule(order=st.permutations(["rota", "page", "feed"]), process=PROCESSES)
    def look_around(self, order: Any, process: int) -> None:
        """The rota, the pages and the feeds are looked at, in any order."""
        with self.step():
            found = {}
            for name in order:
                if name == "rota":
                    rounds = self.home.rota().rounds
                    found[name] = of_rota(rounds, self.home.today)
                    gone = self.ill | self._away()
                    busy = {(one.keeper.id, one.day) for one in rounds if one.tasks}
                    self.hold("ill", [f"{who} has a round on {day}" for who, day in sorted(busy & gone)])
                elif name == "page":
                    found[name] = of_page(self.home.page(process))
                else:
                    site, today = self.home.site, self.home.today
                    found[name] = of_feeds(self.home.rounds(process), site, today)
                    found["site"] = of_named([self.home.feed(process, "site").body()], site, today)
                    own = [self.home.feed(process, e.id).body() for e in site.enclosures]
                    found["enclosures"] = of_named(own, site, today)
            self.hold("views", differences(**found))

    @rule()
    def exports(self) -> None:
        """`pondround export`: the same rota, and entries that go on from the last export."""
        with self.step():
            files = self.home.export()
            for name, body in files.items():
                self.hold("sequence", self.seen.sequence_faults(f"export/{name}", body))
                if "readers" in self.holds:
                    entries(body)
            own = {
                k: body
                for k in self.home.pages
                for name, body in files.items()
                if name.endswith(f"-{k}.rounds.ics")
            }
            assert len(own) == len(self.home.pages), sorted(files)
            site, today = self.home.site, self.home.today
            self.hold(
                "views",
                differences(
                    rota=of_rota(self.home.rota().rounds, today),
                    export=of_feeds(own, site, today),
                    site=of_named([files[f"{site.settings.id}.ics"]], site, today),
                ),
            )

    @rule()
    def syncs(self) -> None:
        """`pondround sync`: the server has the rota as to-dos."""
        with self.step():
            done = self.home.sync()
            assert done.failures == []
            self.hold("views", self._server_differences())

    @precondition(lambda self: self.home.phone.collections())
    @rule(who=KEEPERS, nth=NTH, at_once=st.booleans())
    def ticks_on_telephone(self, who: str, nth: int, at_once: bool) -> None:
        """A to-do is ticked on a telephone, and synced now or later."""
        with self.step():
            self.home.phone.tick(f"alder-row-{who}", nth, self.home.today)
            if at_once:
                assert self.home.sync().failures == []

    def _server_differences(self) -> str:
        today = self.home.today
        end = today + dt.timedelta(days=7 * SYNCED_WEEKS)
        site = self.home.site
        rounds = [one for one in self.home.rota().rounds if one.day < end]
        there = near(
            (
                (told.day_of(e, "DUE"), who, f"{one.enclosure}: {one.title}")
                for who in self.home.pages
                for e in self.home.phone.open(f"alder-row-{who}").values()
                if not str(e["SUMMARY"]).startswith("Help ")
                for one in told.works(e, site)
            ),
            today,
        )
        return differences(rota=of_rota(rounds, today), server=there)

    # --- ends ---

    @rule()
    def both_restart(self) -> None:
        """Both processes are killed while nothing is done, and begin anew.

        The first rule without arguments is what Hypothesis tries first, and shrinks to: it costs nothing.
        """
        with self.step():
            self.home.restart()

    @rule(
        what=st.sampled_from(["did", "feed", "page", "publish", "export", "sync", "move"]),
        at=st.integers(0, 40),
        nth=NTH,
    )
    def is_killed(self, what: str, at: int, nth: int) -> None:
        """Something is killed between two of its writes; the log is whole, and all goes on."""
        with self.step():
            one = self.nth_due(nth)
            with self.home.kills.at(at):
                match what:
                    case "did":
                        for entry, _ in self.home.did(one, "noor"):
                            self.acknowledge(entry.enclosure, entry.name, entry.of, entry.day)
                    case "feed":
                        self.home.feed(0, "site")
                    case "page":
                        self.home.page(0)
                    case "publish":
                        self.home.publish(4)
                    case "export":
                        self.home.export()
                    case "move":
                        self._moves_anybody()
                    case _:
                        self.home.sync()
            workflow.finish_edit(self.home.file)
            self.home.household.read(self.home.file.read_text("utf-8"))
            self._hold_of_animals()
            self.home.restart()
            connection = sqlite3.connect(self.home.file.with_suffix(".db"))
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            connection.close()
            there = {(e.enclosure, e.name, e.of, e.day) for e in self.home.entries() if not e.voided}
            self.hold("record", [f"lost: {one}" for one in self.acknowledged if one not in there])
