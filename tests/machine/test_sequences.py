"""What the machine found, step by step: the shortest way to each promise that was broken."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.machine.machine import Machine

# The machine itself walks a short way in a plain run; what it once found waits for the long one.
pytestmark = pytest.mark.slow


@pytest.fixture
def machine() -> Iterator[Machine]:
    """Begin a household."""
    made = Machine()
    yield made
    made.close()


def test_a_page_shows_what_falls_due_later_and_is_done_in_its_days(machine: Machine) -> None:
    machine.holds = frozenset({"views"})
    machine.look_around(["feed", "rota", "page"], 0)


def test_a_page_that_is_opened_first_says_what_the_feed_says(machine: Machine) -> None:
    machine.holds = frozenset({"views"})
    machine.did(nth=1, by="ada", back=0, then="page")
    machine.a_day_passes(1, "")
    machine.look_around(["rota", "page", "feed"], 0)


def test_what_is_open_until_somebody_comes_meets_what_falls_due_on_that_day(machine: Machine) -> None:
    machine.holds = frozenset({"rounds"})
    machine.ticks(nth=9, by="ada", back=1, process=1, then="page")
    machine.a_day_passes(7, "fetch")
    machine.falls_ill("noor", 0, 1, 1, "")


def test_a_change_that_was_put_off_waits_and_the_next_counts_from_it(machine: Machine) -> None:
    machine.a_day_passes(7, "")
    machine.says_not_today(by="ada", days=12, nth=1, process=0, then="fetch")
    machine.falls_ill("noor", 0, 3, 4, "fetch")
    machine.look_around(["rota", "page", "feed"], 0)


def test_a_tank_whose_quarantine_begins_later_comes_before_one_that_is_in_it(machine: Machine) -> None:
    """What could also be done once the tank is in quarantine is not in it before."""
    machine.holds = frozenset({"rounds"})
    machine.swaps(nth=3, taker="ben", then="page", whole=True)
    machine.a_day_passes(days=2, then="")
    machine.publishes(afresh=False, then="page", weeks=1)
    machine.moves_by_command(animal="biscuit", back=0, by="ben", enclosure="sedge", then="page")
    machine.a_day_passes(days=1, then="")
    machine.measures(back=0, by="noor", enclosure="rush", then="page", value="ammonia=2 mg/L")
    machine.somebody_arrives(by="ada", days=3, enclosure="rush", quarantine=True, then="page")
    machine.departs(animal="wren", back=0, by="ada", then="page")
    machine.somebody_arrives(by="noor", days=9, enclosure="sedge", quarantine=True, then="page")


def test_of_two_that_arrive_with_one_name_each_is_known_by_its_id(machine: Machine) -> None:
    machine.holds = frozenset({"animals"})
    machine.somebody_arrives(by="ada", days=3, enclosure="rush", quarantine=True, then="fetch")
    machine.somebody_arrives(by="noor", days=1, enclosure="sedge", quarantine=True, then="")


def test_who_is_ill_stays_ill_when_another_falls_ill(machine: Machine) -> None:
    machine.holds = frozenset({"ill"})
    machine.falls_ill("noor", 0, 1, 1, "")
    machine.falls_ill("ada", 0, 3, 4, "")
    machine.look_around(["rota", "page", "feed"], 0)


def test_a_round_that_was_gone_comes_back_with_a_higher_number(machine: Machine) -> None:
    machine.holds = frozenset({"sequence"})
    machine.fetch(0)
    machine.falls_ill("noor", 1, 3, 4, "fetch")
    machine.a_day_passes(1, "fetch")
    machine.falls_ill("ben", 0, 3, 4, "fetch")


def test_a_shorter_span_has_what_was_published_for_its_days(machine: Machine) -> None:
    """What falls due the day after a week, and is done in it."""
    machine.holds = frozenset({"rounds"})
    machine.fetch(1)
    machine.publishes(4, False, "")
    machine.falls_ill("noor", 2, 3, 1, "")
    machine.a_day_passes(1, "fetch")
    machine.falls_ill("ben", 1, 3, 1, "")


def test_a_record_that_is_taken_back_whole_doubles_nothing(machine: Machine) -> None:
    """Without a record nothing is overdue: what was published as open for today is met by what falls due today."""
    machine.holds = frozenset({"rounds"})
    machine.a_day_passes(1, "page")
    machine.measures("rush", "nitrate=20 mg/L", "ben", 3, "")
    machine.a_day_passes(1, "fetch")
    machine.undoes("noor", 0, "page")


def test_a_backlog_that_is_published_stays_as_it_is(machine: Machine) -> None:
    machine.holds = frozenset({"rounds", "views"})
    machine.measures("sedge", "nitrate=90 mg/L", "noor", 1, "fetch")
    machine.falls_ill("ada", 0, 3, 4, "fetch")
    machine.a_day_passes(7, "")
    machine.exports()
    machine.a_day_passes(1, "page")
    machine.falls_ill("ben", 0, 1, 1, "")
    machine.measures("rush", "nitrite=0.5 mg/L", "noor", 3, "")
    machine.did(10, "ben", 3, "page")
    machine.look_around(["rota", "page", "feed"], 0)


def test_what_fell_due_before_the_record_began_has_its_day_everywhere(machine: Machine) -> None:
    """Published for a later day than it falls due on; on that day somebody records the first thing."""
    machine.holds = frozenset({"views"})
    machine.moves("biscuit", "fetch")
    machine.a_day_passes(1, "page")
    machine.syncs()
    machine.ticks(11, "noor", 1, 1, "fetch")
    machine.syncs()


def test_a_tick_that_is_heard_late_is_everywhere(machine: Machine) -> None:
    """In a collection that was written by a sync which was broken off, of what another keeper has still to do."""
    machine.holds = frozenset({"views"})
    machine.weighs("nickel", "weight=210 g", "ben")
    machine.is_killed("sync", 30, 8)
    machine.ticks_on_telephone("ada", 3, False)
    machine.syncs()


def test_of_what_fell_due_twice_before_the_record_the_later_one_is_to_be_done(machine: Machine) -> None:
    """The only entry is taken back: both were published for today, the first one as overdue."""
    machine.holds = frozenset({"rounds"})
    machine.a_day_passes(1, "fetch")
    machine.ticks(4, "ben", 1, 1, "fetch")
    machine.a_day_passes(7, "fetch")
    machine.undoes("noor", 0, "fetch")


def test_without_a_record_nothing_is_overdue_in_a_collection(machine: Machine) -> None:
    """What was put there as overdue for today is met by what falls due today."""
    machine.holds = frozenset({"views"})
    machine.measures("rush", "ammonia=0 mg/L", "ben", 3, "")
    machine.a_day_passes(1, "page")
    machine.syncs()
    machine.undoes("noor", 1, "")
    machine.syncs()


@pytest.mark.parametrize("write", range(34, 42))
def test_what_a_broken_off_sync_had_put_goes_when_it_is_wanted_no_more(machine: Machine, write: int) -> None:
    """Killed at each write of one entry in turn, into the log or to the server; then the animal moves, and its feeding goes."""
    machine.holds = frozenset({"views"})
    machine.is_killed("sync", write, 10)
    machine.moves("biscuit", "")
    machine.syncs()
