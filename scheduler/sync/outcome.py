"""What a sync did, as data: what was read back and what follows, what was put, and what a keeper should
know."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Literal

from scheduler.rota.refusal import Refusal
from scheduler.sync.resource import Base
from scheduler.workflow import Recorded
from scheduler.workflow.record.completions import BeforeSetUp, StillDone

Why = BeforeSetUp | StillDone | Refusal | str
"""Why something did not come about, as a value; a server's own words are text."""

RemarkKind = Literal[
    "moved", "stays", "put back", "reopened", "still done", "not recorded", "left alone", "mended"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """What came of one to-do: moved to a day, or kept on it; put back; not recorded; and why."""

    kind: RemarkKind
    keeper: str
    title: str
    enclosure: str
    job: str
    due: dt.date | None
    day: dt.date
    to: dt.date | None = None
    why: Why | None = None


@dataclass(slots=True)
class Tally:
    """What was done in a collection."""

    name: str
    url: str
    keeper: str
    put: int = 0
    changed: int = 0
    removed: int = 0
    unchanged: int = 0


@dataclass(slots=True)
class Outcome:
    """Everything that a sync did, also where it could not come to its end: then `failures` say why."""

    recorded: list[Recorded] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    tallies: list[Tally] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)
    untaken: int = 0

    def remark(
        self, kind: RemarkKind, keeper: str, base: Base, *, to: dt.date | None = None, why: Why | None = None
    ) -> None:
        """Add what came of a to-do."""
        enclosure, job, _, due = base.job or ("", "", "", None)
        made = Remark(
            kind=kind,
            keeper=keeper,
            title=base.title,
            enclosure=enclosure,
            job=job,
            due=due,
            day=base.day,
            to=to,
            why=why,
        )
        if made not in self.remarks:
            self.remarks.append(made)
