"""What follows from the answers of a set-up as far as they go: the review that `check` makes of a file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

from scheduler import care
from scheduler.care.findings import Finding
from scheduler.care.review import Review
from scheduler.description.starter import Answers, Problems, starter_problems, starter_text
from scheduler.errors import DescriptionError
from scheduler.workflow.clock import today_in
from scheduler.workflow.review import review
from scheduler.workflow.site_files import sheets_beside, site_of


@dataclass(frozen=True, slots=True)
class Preview:
    """The review of the one enclosure that is set up, as a page shows it."""

    review: Review

    def told(self, verdict: str) -> list[Finding]:
        """Return the findings of a verdict, without what is only not known yet."""
        return [f for f in self.review.findings if f.verdict == verdict and not f.unknown]

    @property
    def not_known(self) -> list[str]:
        """Return what could be computed if more were described, in the words of the description."""
        needs = (need for f in self.review.findings if f.unknown and f.verdict == "look" for need in f.needs)
        return [*dict.fromkeys(needs)]

    def figure(self, key: str) -> float | None:
        """Return a figure in its own unit; None where it is not known."""
        found = next((one.value for one in self.review.figures if one.key == key), None)
        return float(found) if isinstance(found, int | float) else None


def preview(
    answers: Answers, file: Path, later: Collection[str] = (), today: dt.date | None = None
) -> Preview | None:
    """Return what follows from the answers; None where the description that they make has a mistake.

    `file` is where it is to be written: species sheets of the keeper's own lie beside it. Questions that come
    `later` nobody has been asked yet: what an ordinary answer to them would take away is not told.
    Without `today` it is that of the place.
    """
    try:
        found = _reviewed(answers, file, today)
        usual = {key: text for key, text in USUAL.items() if key in later and not answers.get(key)}
        if usual:
            stays = {_about(finding) for finding in _reviewed({**answers, **usual}, file, today).findings}
            found = replace(found, findings=tuple(f for f in found.findings if _about(f) in stays))
    except DescriptionError:
        return None
    return Preview(found)


USUAL = {
    "filter": "canister", "flow": "2000 L/h", "heater": "200 W", "set_to": "24 degC",
    "lamp": "T5 HO tube", "second_lamp": "heat", "species": "painted turtle",
}  # fmt: skip
"""Ordinary answers, by which it is told what belongs to a question that comes later."""


def _about(finding: Finding) -> tuple[str, str]:
    """Return what tells a finding from others, whatever numbers and species it names further on."""
    return finding.key, finding.text[:20]


def _reviewed(answers: Answers, file: Path, today: dt.date | None) -> Review:
    site = site_of(starter_text(answers), file)
    (found,) = review(site, today or today_in(site))
    return found


def answer_problems(answers: Answers, file: Path) -> Problems:
    """Return what is wrong with the answers, each problem with the key of its question ("" where it has
    none); nothing exactly where `check` finds nothing wrong with the file."""
    return starter_problems(answers, sheets_beside(file), (care.check,))
