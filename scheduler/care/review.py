"""The fitting-out review of an enclosure: its figures, and what the rules find about them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Figure
from scheduler.care.figures import KEYS
from scheduler.care.findings import VERDICTS, Finding, findings
from scheduler.description.site import Enclosure
from scheduler.quantities import System


@dataclass(frozen=True, slots=True)
class Review:
    """What the handbook says about one enclosure: figures in their fixed order, findings worst first."""

    enclosure: Enclosure
    units: System
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]

    @property
    def to_act_on(self) -> bool:
        """Tell whether anything wants acting on."""
        return any(finding.verdict == "act" for finding in self.findings)


def review(case: Case, more: Iterable[Finding] = ()) -> Review:
    """Return the review of an enclosure as of its case's day; `more` are findings of others, such as of its
    plan."""
    found = sorted((*findings(case), *more), key=lambda finding: VERDICTS.index(finding.verdict))
    return Review(case.enclosure, case.units, case.known(*KEYS), tuple(found))
