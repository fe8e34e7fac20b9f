"""The page of an enclosure's jobs: each with its whole note, on whatever day, also where nothing of it is
due."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.responses import Response

from scheduler.care import Job, Notes
from scheduler.description.site import Enclosure
from scheduler.web.rows import anchor_of
from scheduler.web.sheet import WorkSheet
from scheduler.web.visit import PageVisit


@dataclass(frozen=True, slots=True)
class Whole:
    """A job with all that there is to read; `anchor` names it in the page."""

    job: Job
    notes: Notes

    @property
    def anchor(self) -> str:
        """Return the name of the job inside the page, which is that of its row in the round."""
        return anchor_of(self.job.ref)

    @property
    def sources(self) -> list[str]:
        """Return where the numbers are from, each once."""
        return [*dict.fromkeys(str(source) for source in self.notes.sources)]


@dataclass(frozen=True, slots=True)
class Resting:
    """An enclosure without a sheet of its own in the morning of today; `at` is the anchor of what is there
    all the same."""

    enclosure: Enclosure
    at: str = ""


def jobs_page(visit: PageVisit, tank: str) -> Response:
    """Return the page of the jobs of an enclosure, named by its id.

    HTTPException (404) where there is none of that id.
    """
    site = visit.tended.site
    enclosure = next((e for e in site.enclosures if e.id == tank), None)
    if enclosure is None:
        raise HTTPException(404)
    jobs = {s.job.ref: s.job for s in visit.tended.planned.series if s.job.enclosure.id == enclosure.id}
    return visit.html(
        "jobs.html", enclosure=enclosure, jobs=[Whole(job, job.notes()) for job in jobs.values()]
    )


def resting(visit: PageVisit, sheet: WorkSheet) -> list[Resting]:
    """Return the enclosures of which the page of the round has no place by their plain name: an entry's link
    leads there."""
    there = {tank.anchor: tank.enclosure.id for tank in (*sheet.free, *sheet.tanks)}
    others = {enclosure: anchor for anchor, enclosure in there.items()}
    return [
        Resting(e, others.get(e.id, "")) for e in visit.tended.site.enclosures if f"tank-{e.id}" not in there
    ]
