"""What is scarce goes to animals first: the class of each job, of which a higher one is never left for a
lower one.

House values: 1 what an alarm asks for; 2 what tells how an animal is, and food; 3 clean water, its tests, the
weighing of young and ill animals; 4 the rest, with the duties of the keeper's own.
"""

from __future__ import annotations

from scheduler.care.engine.job import Job

MOST_URGENT = 1
LEAST_URGENT = 4

_BY_KEY = {
    "daily-look": 2,
    "quarantine-watch": 2,
    "feed": 2,
    "water-change": 3,
    "water-test": 3,
    "cycle-test": 3,
    "ammonia-dose": 3,
    "faecal-test": 3,
    "quarantine-weigh": 3,
}

_BY_VARIANT = {
    ("water-change", "alarm"): 1,
    ("water-test", "alarm"): 1,
    ("vet-check", "weight"): 1,
    ("vet-check", "sign"): 1,
    ("heater-check", "temperature"): 1,
    ("uvi-reading", "high"): 1,
    ("weigh-measure", "again"): 3,
}
"""By the key and the first word of the variant: jobs that follow from a reading."""


def urgency(job: Job) -> int:
    """Return the class of a job, 1 (first) to 4, by its key and variant; weighing is one of the third where
    animals are young."""
    if job.recorded_as is not None:
        own = _BY_VARIANT.get((job.key, job.variant.partition("-")[0]))
        if own is not None:
            return own
    return 3 if job.of_young else _BY_KEY.get(job.key, LEAST_URGENT)
