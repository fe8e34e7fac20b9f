"""The register of rules about readings: what each reading means, and what follows from it for the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from scheduler.care.engine.case import Case
from scheduler.care.verdicts import Verdict
from scheduler.sources import Source

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequence:
    """What follows from readings: what was read, the rule it meets, where that is from, and what it does to
    the plan.

    `key` is that of the job or the figure that it is about; `judges` is the quantity of which it judges the
    last reading, "" where it is about more than that; `gist` is that of its finding.
    """

    key: str
    verdict: Verdict
    reading: str
    rule: str
    source: Source
    plan: str
    judges: str = ""
    gist: str = ""

    @property
    def text(self) -> str:
        """Return it as sentences: first what is to be done, then why; what is fine asks for nothing."""
        told = (self.reading, self.rule, self.plan)
        if self.verdict != "fine":
            told = (self.plan, self.reading, self.rule)
        return " ".join(part for part in told if part)


Rule = Callable[[Case], Iterator[Consequence]]
RULES: list[Rule] = []


def watch(rule: Rule) -> Rule:
    """Register a function that yields the consequences of an enclosure's readings."""
    RULES.append(rule)
    return rule


def switched_off(case: Case, key: str) -> bool:
    """Tell whether the keeper has switched a job off: then nothing of it can be promised."""
    own = case.enclosure.job.get(key)
    return own is not None and own.off


def once(look: Callable[[Case], Found]) -> Callable[[Case], Found]:
    """Make a function look at a case once and remember what it found."""

    def looked(case: Case) -> Found:
        name = f"{look.__module__}.{look.__qualname__}"
        if name not in case.watched:
            case.watched[name] = look(case)
        return case.watched[name]  # type: ignore[return-value]

    return looked
