"""A form of a page as it came: its fields, and how far log and rota were when the page was made."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from starlette.responses import Response

from scheduler.history import JobRef, OccurrenceRef
from scheduler.web.visit import PageVisit


@dataclass(frozen=True, slots=True)
class SubmittedForm:
    """A form of a page: its fields, and how far log and rota were when the page was made."""

    form: Mapping[str, str]
    entry: int
    rota: int

    @property
    def job(self) -> JobRef:
        """Return the job that it is of; where it is chosen from a list, by `which`: `KEY/VARIANT`."""
        form = self.form
        if "which" in form:
            key, _, variant = form["which"].partition("/")
            return JobRef(form.get("enclosure", ""), key, variant)
        return JobRef(form.get("enclosure", ""), form.get("key", ""), form.get("variant", ""))

    @property
    def jobs(self) -> list[JobRef]:
        """Return the jobs of a form of several, by the names of its fields: `job/ENCLOSURE/KEY/VARIANT`."""
        return [JobRef(*parts) for _, *parts in self._named("job", 3)]

    @property
    def tasks(self) -> list[OccurrenceRef]:
        """Return the dated jobs of a form of several: `task/DAY/ENCLOSURE/KEY/VARIANT`, the day on which each
        falls due."""
        found = []
        for _, day, enclosure, key, variant in self._named("task", 4):
            try:
                found.append(OccurrenceRef(enclosure, key, variant, dt.date.fromisoformat(day)))
            except ValueError:
                continue
        return found

    def _named(self, kind: str, parts: int) -> list[list[str]]:
        split = (name.split("/", parts) for name in self.form if name.startswith(f"{kind}/"))
        return [some for some in split if len(some) == parts + 1]


Handle = Callable[[PageVisit, SubmittedForm], Response]
"""What does what a form says, and returns the way to the page that shows it."""
