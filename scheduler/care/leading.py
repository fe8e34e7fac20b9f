"""What a day's work is named after: of the jobs that are done together, the one that comes first in their
title.

House order: what comes seldom and takes preparing or a decision first, what comes most often last. It is
another thing than `urgency`, which says what may be left where there is too little time; what an alarm asks
for leads in both.
"""

from __future__ import annotations

from scheduler.care.engine.job import Job
from scheduler.care.urgency import MOST_URGENT, urgency

_OWN, _OWN_ROUTINE = "(own)", "(own routine)"

ORDER = (
    "vet-check",
    "quarantine-release",
    "uv-lamp-replace",
    "pre-arrival-check",
    "fit-out",
    "treat-driftwood",
    "ammonia-dose",
    "media-rinse",
    "faecal-test",
    "quarantine-weigh",
    "weigh-measure",
    "burn-in-baseline",
    "uv-lamp-order",
    "basking-review",
    "space-review",
    "cold-season-check",
    "hot-season-check",
    "water-change",
    "rcd-test",
    "filter-check",
    "heater-check",
    "cord-check",
    "uvi-reading",
    "lamp-clean",
    "lamp-timer",
    "supplies",
    "cuttlebone",
    "water-test",
    "wipe-down",
    "top-up",
    # The keeper's own duties, of which nothing is known but their titles: after what the animals need.
    _OWN,
    "feed",
    _OWN_ROUTINE,
    "cycle-test",
    "basking-watch",
    "quarantine-watch",
    "daily-look",
)
"""The keys of all jobs, the leading ones first.

Of the routine, feeding leads: its days differ, and a look is on all of them.
"""


_PLACE = {key: place for place, key in enumerate(ORDER)}


def leading(job: Job, *, late: bool = False) -> tuple[bool, bool, int]:
    """Return what jobs are sorted by to find the one that leads: what an alarm asks for, what is `late`, then
    by kind."""
    own = _OWN_ROUTINE if job.routine else _OWN
    return urgency(job) != MOST_URGENT, not late, _PLACE.get(job.key, _PLACE[own])
