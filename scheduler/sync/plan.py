"""What all collections are brought to: what the plan wants, and what the log says is done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from scheduler.care import Job, On
from scheduler.history import Entry, JobName
from scheduler.plan import matching
from scheduler.plan.following import ONE_OFF_EARLY_DAYS
from scheduler.sync.resource import Agreed


@dataclass(frozen=True, slots=True)
class Plan:
    """The UIDs that are wanted in any collection, what was done of late, and the jobs, by the names that the log has for them."""

    wanted: Container[str]
    done: Mapping[JobName, list[Entry]]
    jobs: Mapping[JobName, Job]

    def met(self, resources: Iterable[Agreed]) -> dict[str, Entry]:
        """Return of resources the entry that says one is done, by UID: as the plan takes what was done early or late."""
        # One entry may meet two of them: an extra water change, and the one that was due.
        by_job: dict[tuple[JobName, str], dict[dt.date, str]] = {}
        for agreed in resources:
            if agreed.job is not None:
                _, _, variant, due = agreed.job
                by_job.setdefault((log_name(agreed), variant), {})[due] = agreed.put.uid
        found: dict[str, Entry] = {}
        for (name, _), uids in by_job.items():
            entries = {entry.day: entry for entry in self.done.get(name, ())}
            days = sorted(uids)
            for day, due in matching.met(days, entries, _early(self.jobs.get(name), days)).items():
                found[uids[due]] = entries[day]
        return found

    def has_done(self, agreed: Agreed) -> bool:
        """Tell whether the log has what was agreed to be done."""
        return any(entry.day == agreed.done for entry in self.done.get(log_name(agreed), ()))


def log_name(agreed: Agreed) -> JobName:
    """Return the name under which the log knows the job of a resource."""
    assert agreed.job is not None
    return agreed.job[0], agreed.job[1], agreed.of


def _early(job: Job | None, days: list[dt.date]) -> int:
    """Return how many days ahead a job counts as done: as in the plan, its window and never half way to the next."""
    if job is None:
        return 0
    if isinstance(job.cadence, On) and len(job.cadence.days) == 1:
        return max(job.window, ONE_OFF_EARLY_DAYS)
    gap = min(((b - a).days for a, b in pairwise(days)), default=2 * job.window + 1)
    return min(job.window, (gap - 1) // 2)
