"""The review of a whole site: what to act on, what to look at, what is alike once with its enclosures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from starlette.responses import Response

from scheduler.care.review import Review
from scheduler.description.site import Enclosure
from scheduler.sheets.names import names_by_id
from scheduler.sheets.summary import findings_of, grouped
from scheduler.web.coordinator.origin import Origin
from scheduler.web.visit import PageVisit
from scheduler.workflow.record.notes import pins_in
from scheduler.workflow.review import review


@dataclass(frozen=True, slots=True)
class SharedFinding:
    """What is found alike in some enclosures: in a few words, each text with those of whom it is said, and
    the source of all ("" where it stands in the texts)."""

    gist: str
    texts: tuple[tuple[str, tuple[Enclosure, ...]], ...]
    source: str

    @property
    def count(self) -> int:
        """Return in how many enclosures it is found."""
        return len({place.id for _, places in self.texts for place in places})


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


def shared_findings(reviews: Sequence[Review], verdict: str) -> list[SharedFinding]:
    """Return the findings of a verdict, those first that `check` has first."""
    places = [one.enclosure for one in reviews]
    names = names_by_id(places)
    by_name = {names[place.id]: place for place in places}
    return [
        SharedFinding(
            group.gist,
            tuple(
                (text, tuple(by_name[name] for name in dict.fromkeys(said)))
                for text, said in group.texts.items()
            ),
            group.source,
        )
        for group in grouped(findings_of(reviews))
        if group.verdict == verdict
    ]
