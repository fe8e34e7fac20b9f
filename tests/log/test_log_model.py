"""Whatever is recorded, taken back and recorded again: both databases tell what a plain list tells."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.logged import DAY, NOW, SITE, told
from support.servers import Server

from scheduler.history import Entry, History, JobRef, Looks
from scheduler.log import Log, open_log

TANKS = ("rush", "sedge")


class Model:
    """A log as a list: every question walks through all of it."""

    def __init__(self) -> None:
        self.rows: list[Entry] = []

    def stands(self, entry: Entry) -> bool:
        return entry.kind != "void" and all(row.voids != entry.uid(SITE) for row in self.rows)

    def record(self, entry: Entry, again: bool) -> tuple[Entry, bool]:
        same = [r for r in self.rows if replace(entry, turn=r.turn).uid(SITE) == r.uid(SITE)]
        for row in same:
            alike = entry.kind == "done" or (row.time, row.value) == (entry.time, entry.value)
            if alike and self.stands(row) and not again:
                return row, False
        self.rows.append(replace(entry, turn=len(same), number=len(self.rows) + 1))
        return self.rows[-1], True

    def void(self, entry: Entry) -> bool:
        if not self.stands(entry):
            return False
        taking = Entry(
            kind="void", enclosure=entry.enclosure, name=entry.name, of=entry.of, day=entry.day, recorded=NOW
        )
        self.rows.append(replace(taking, voids=entry.uid(SITE), number=len(self.rows) + 1))
        return True

    def entries(self) -> list[Entry]:
        return [replace(row, voided=row.kind != "void" and not self.stands(row)) for row in self.rows]

    def history(self, until: dt.date, looks: Looks) -> History:
        standing = [row for row in self.rows if self.stands(row) and row.day <= until]
        done = [row for row in standing if row.kind == "done"]
        last: dict[JobRef, dt.date] = {}
        for row in done:
            name = (row.enclosure, row.name, row.of)
            last[name] = max(row.day, last.get(name, row.day))

        def wanted(row: Entry) -> bool:
            late = looks.all_done is not None and row.day >= looks.all_done
            return late or (row.name in looks.done and row.day >= looks.done[row.name])

        def read(row: Entry) -> bool:
            return (
                row.kind == "reading" and row.name in looks.readings and row.day >= looks.readings[row.name]
            )

        return History(None, last, filter(wanted, done), filter(read, standing))


@dataclass(frozen=True)
class Void:
    """Take back the entry at this place in the list, counted round."""

    place: int


Steps = list[tuple[Entry, bool] | Void]
Drawn = tuple[Steps, dt.date, Looks]
"""Steps, the day for which is planned, and how far back the plan looks."""

days = st.integers(0, 6).map(lambda n: DAY - dt.timedelta(n))
some = st.sampled_from
entries = st.one_of(
    st.builds(
        Entry,
        kind=st.just("done"),
        enclosure=some(TANKS),
        name=some(["feed", "top-up", "vet"]),
        of=some(["", "a", "b"]),
        day=days,
        recorded=st.just(NOW),
    ),
    st.builds(
        Entry,
        kind=st.just("reading"),
        enclosure=some(TANKS),
        name=some(["ph", "feed"]),
        of=some(["", "a"]),
        day=days,
        time=some([None, dt.time(7, 30)]),
        value=some([7.0, 7.5]),
        recorded=st.just(NOW),
    ),
)
steps = st.lists(
    st.one_of(st.tuples(entries, st.booleans()), st.builds(Void, st.integers(0, 50))), max_size=25
)
dated = st.dictionaries(some(["feed", "top-up", "vet", "ph"]), days, max_size=3)
looks = st.builds(Looks, done=dated, readings=dated, all_done=st.none() | days)


def follow(log: Log, model: Model, steps: Steps) -> None:
    """Do the same with a log and with the model; what each step answers is the same."""
    for step in steps:
        if not isinstance(step, Void):
            entry, again = step
            assert log.record(SITE, [entry], again=again) == [model.record(entry, again)]
        elif targets := [row for row in model.rows if row.kind != "void"]:
            target = targets[step.place % len(targets)]
            _, new = log.void(SITE, target.uid(SITE), keeper="", note="", recorded=NOW)
            assert new == model.void(target)


def compare(log: Log, model: Model, until: dt.date, looks: Looks) -> None:
    expected = model.entries()
    assert list(log.entries(SITE)) == expected
    standing = [e for e in expected if e.kind != "void" and not e.voided]
    assert list(log.entries(SITE, voided=False)) == standing
    assert (log.first(SITE), log.latest(SITE)) == ((standing[0], standing[-1]) if standing else (None, None))
    history = model.history(until, looks)
    assert told(log.history(SITE, until, looks), *TANKS) == told(history, *TANKS)
    for tank in TANKS:
        of_one = told(log.history(SITE, until, looks, [tank]), tank)
        assert of_one == {
            **told(history, tank),
            "last": {k: v for k, v in history.last.items() if k[0] == tank},
        }


def check(url: str, folder: Path, drawn: Drawn) -> None:
    steps, until, looks = drawn
    model = Model()
    with open_log(url) as log:
        follow(log, model, steps)
        compare(log, model, until, looks)
        exported = list(log.entries(SITE))
    with open_log(f"sqlite:///{folder}/copy.db") as copy:
        assert copy.join(SITE, exported) == (len(exported), 0)
        compare(copy, model, until, looks)


drawn = st.tuples(steps, days, looks)
few = settings(max_examples=examples(25), suppress_health_check=[HealthCheck.function_scoped_fixture])


@few
@given(drawn)
def test_sqlite_tells_what_a_list_tells(drawn: Drawn) -> None:
    with TemporaryDirectory() as folder:
        check(f"sqlite:///{folder}/log.db", Path(folder), drawn)


@pytest.mark.server
@few
@given(drawn)
def test_postgresql_tells_what_a_list_tells(server: Server, drawn: Drawn) -> None:
    with TemporaryDirectory() as folder:
        check(server.new_schema(), Path(folder), drawn)
