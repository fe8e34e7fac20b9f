"""What is done with one resource, by what was agreed (base), what stands there (remote) and what the plan has (local).

No server and no log: a table of the cases.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import pytest
from support.first_local import TODAY, first_local

from scheduler.history import Entry
from scheduler.log.caldav_resources import StoredResource
from scheduler.sync.address import path_of
from scheduler.sync.done_work import DoneWork
from scheduler.sync.merge import NOTHING_SEEN, Merge, RemoteState, Step
from scheduler.sync.resource import PENDING, Base, Local, base_of, done_content, text_of

FOLDER = "https://dav.example.org/alder-row/"
WRITER, LOCAL = first_local()
_, LATER = first_local(day=LOCAL.task.day + dt.timedelta(days=1))
UID = LOCAL.uid
JOB = LOCAL.task.item.job


def base(content: bytes = LOCAL.content, tag: str = '"1"') -> Base:
    """Return a base with a content and the entity tag under which the log has it."""
    text = text_of(WRITER, UID, content, 2026, today=TODAY)
    made = base_of(WRITER, StoredResource(UID, f"{FOLDER}{UID}.ics", tag, text))
    assert made is not None
    return made


def done(days_ago: int) -> Base:
    """Return a base that says that the job was done so many days ago."""
    return base(done_content(WRITER, LOCAL.content, TODAY - dt.timedelta(days=days_ago), None))


def entry(days_ago: int) -> Entry:
    """Return an entry of the log that says that the job was done so many days ago."""
    name = JOB.log_name
    return Entry(
        kind="done",
        enclosure=name.enclosure,
        name=name.key,
        of=name.variant,
        day=TODAY - dt.timedelta(days=days_ago),
        title=JOB.title,
        recorded=dt.datetime(2026, 12, 7, 9, tzinfo=dt.UTC),
    )


AS_AGREED = replace(NOTHING_SEEN, tags={path_of(f"{FOLDER}{UID}.ics"): (f"{FOLDER}{UID}.ics", '"1"')})
GONE = replace(NOTHING_SEEN, gone=frozenset({UID}))
WITHHELD = replace(AS_AGREED, withheld={UID: "something else stands in its place"})
UNSETTLED = replace(AS_AGREED, unsettled=frozenset({UID}))


@dataclass(frozen=True, kw_only=True)
class Case:
    """A base, what stands there, what the plan has, what the log says is done; and what has to come of it."""

    base: Base | None = None
    remote: RemoteState = NOTHING_SEEN
    local: Local | None = None
    rewrite: str = ""
    entry: Entry | None = None
    then: str
    told: str | None = None


CASES = {
    # new
    "in the plan, nowhere else": Case(local=LOCAL, then="Put"),
    "in the plan, and something stands at its address": Case(local=LOCAL, remote=AS_AGREED, then="Adopt"),
    # in the plan as before
    "nothing changed": Case(base=base(), remote=AS_AGREED, local=LOCAL, then="Keep"),
    "the plan moved it": Case(base=base(), remote=AS_AGREED, local=LATER, then="Replace"),
    "somebody deleted it": Case(base=base(), remote=GONE, local=LOCAL, then="Put", told="put back"),
    "it never came to the server": Case(base=base(tag=PENDING), remote=GONE, local=LOCAL, then="Put"),
    "it may not have come to the server": Case(base=base(), remote=UNSETTLED, local=LOCAL, then="Replace"),
    "somebody cancelled it": Case(base=base(), remote=AS_AGREED, local=LOCAL, rewrite="cancelled", then="Replace", told="put back"),
    "somebody broke it": Case(base=base(), remote=AS_AGREED, local=LOCAL, rewrite="broken", then="Replace", told="mended"),
    "somebody moved it": Case(base=base(), remote=AS_AGREED, local=LATER, rewrite="moved", then="Replace"),
    "it cannot be read": Case(base=base(), remote=WITHHELD, local=LATER, then="Keep", told="left alone"),
    "it was done, and is open again": Case(base=done(1), remote=AS_AGREED, local=LOCAL, then="Replace", told="reopened"),
    "a lent hand was ticked": Case(base=done(1), remote=AS_AGREED, local=replace(LOCAL, helps=True), then="Keep"),
    # no longer in the plan
    "the plan dropped it": Case(base=base(), remote=AS_AGREED, then="Delete"),
    "the plan dropped it, and it is gone": Case(base=base(), remote=GONE, then="Forget"),
    "the plan dropped it, and it cannot be read": Case(base=base(), remote=WITHHELD, then="Keep"),
    "the log says it is done": Case(base=base(), remote=AS_AGREED, entry=entry(1), then="Replace"),
    "the log says it was done long ago": Case(base=base(), remote=AS_AGREED, entry=entry(100), then="Delete"),
    "done, as the log says": Case(base=done(1), remote=AS_AGREED, entry=entry(1), then="Keep"),
    "done, and somebody broke it": Case(base=done(1), remote=AS_AGREED, entry=entry(1), rewrite="broken", then="Replace"),
    "done, and the log took it back": Case(base=done(1), remote=AS_AGREED, then="Delete"),
    "done long ago": Case(base=done(100), remote=AS_AGREED, entry=entry(100), then="Delete"),
}  # fmt: skip


def merged(case: Case) -> list[Step]:
    entries = [case.entry] if case.entry is not None else []
    return list(
        Merge(
            url=FOLDER,
            bases={UID: case.base} if case.base is not None else {},
            remote=case.remote,
            local={UID: case.local} if case.local is not None else {},
            rewrite={UID: case.rewrite} if case.rewrite else {},
            done=DoneWork({e.job: entries for e in entries}, {JOB.ref: JOB}),
            writer=WRITER,
            today=TODAY,
        ).steps()
    )


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_what_is_done_with_a_resource(case: Case) -> None:
    (step,) = merged(case)
    assert (type(step.action).__name__, step.remark) == (case.then, case.told)


def test_what_goes_goes_before_what_comes() -> None:
    """What moves between collections is never in two of them for long."""
    other = replace(LOCAL, uid="another")
    steps = Merge(
        FOLDER, {UID: base()}, AS_AGREED, {"another": other}, {}, DoneWork({}, {}), WRITER, TODAY
    ).steps()
    assert [type(step.action).__name__ for step in steps] == ["Delete", "Put"]


def test_a_put_again_goes_on_from_what_it_was() -> None:
    """A program that saw it deleted takes only what is younger (RFC 5545, section 3.8.7.4)."""
    was = base()
    (step,) = merged(Case(base=was, remote=GONE, local=LOCAL, then="Put"))
    assert step.action.was == was.was  # type: ignore[union-attr]
