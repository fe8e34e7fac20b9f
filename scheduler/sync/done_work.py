"""What the log says is done, as collections are brought to it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from scheduler.care import Job
from scheduler.history import Entry, JobRef
from scheduler.plan import matching
from scheduler.sync.resource import Base


@dataclass(frozen=True, slots=True)
class DoneWork:
    """What was done of late, by the name that the log has for a job; and the jobs of the plan."""

    done: Mapping[JobRef, list[Entry]]
    jobs: Mapping[JobRef, Job]

    def met(self, resources: Iterable[Base]) -> dict[str, Entry]:
        """Return of resources the entry that says one is done, by UID: as the plan takes what was done early
        or late."""
        # One entry may meet two of them: an extra water change, and the one that was due.
        by_job: dict[tuple[JobRef, JobRef], dict[dt.date, str]] = {}
        for base in resources:
            if base.job is not None:
                by_job.setdefault((base.job.job, base.log_name), {})[base.job.due] = base.stored.uid
        found: dict[str, Entry] = {}
        for (ref, name), uids in by_job.items():
            entries = {entry.day: entry for entry in self.done.get(name, ())}
            days, job = sorted(uids), self.jobs.get(ref)
            if job is not None and job.met_on is not None:
                # A change of that day may have been made before the reading, or be less than it asks for.
                entries = {day: entry for day, entry in entries.items() if day in job.met_on}
            early = 0 if job is None else matching.early_days(job, days)
            for day, due in matching.met(days, entries, early).items():
                found[uids[due]] = entries[day]
        return found

    def has_done(self, base: Base) -> bool:
        """Tell whether the log has what was agreed to be done."""
        return any(entry.day == base.done for entry in self.done.get(base.log_name, ()))
