"""The review of a whole site: what to act on, what to look at, the same finding once with its enclosures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from starlette.responses import Response

from scheduler.care.findings import Finding
from scheduler.care.review import Review
from scheduler.description.site import Enclosure
from scheduler.web.coordinator.origin import Origin
from scheduler.web.visit import PageVisit
from scheduler.workflow.record.notes import pins_in
from scheduler.workflow.review import review


@dataclass(frozen=True, slots=True)
class SharedFinding:
    """A finding in the words that it has in each of some enclosures."""

    finding: Finding
    enclosures: tuple[Enclosure, ...]


def review_page(visit: PageVisit) -> Response:
    """Return the page of the review of the site."""
    visit.came_from = Origin("review")
    reviews = visit.live.derived(visit.tended, "reviews", lambda: reviews_of(visit))
    shared = {verdict: shared_findings(reviews, verdict) for verdict in ("act", "look")}
    fine = sum(finding.verdict == "fine" for one in reviews for finding in one.findings)
    return visit.html("coordinator/review.html", shared=shared, fine=fine)


def reviews_of(visit: PageVisit, enclosure: str | None = None) -> list[Review]:
    """Return the reviews of all enclosures of the site of a page as they stand, or of one by its id."""
    tended = visit.tended
    pinned = pins_in(visit.live.log(), tended.described, tended.today)
    return review(tended.described, tended.today, enclosure, tended.history, pinned=pinned)


def shared_findings(reviews: Iterable[Review], verdict: str) -> list[SharedFinding]:
    """Return the findings of a verdict, those of most enclosures first; what reads alike is one."""
    found: dict[tuple[str, str], tuple[Finding, list[Enclosure]]] = {}
    for one in reviews:
        for finding in one.findings:
            if finding.verdict == verdict:
                kept = found.setdefault((finding.key, finding.text), (finding, []))
                kept[1].append(one.enclosure)
    shared = [SharedFinding(finding, tuple(places)) for finding, places in found.values()]
    return sorted(shared, key=lambda one: -len(one.enclosures))
