"""What it costs when a job waits longer than its window allows, and which jobs must not wait."""

from __future__ import annotations

import datetime as dt

from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Job
from scheduler.care.urgency import MOST_URGENT, urgency

INSTEAD = {
    "quarantine-watch": "ask somebody else to look: what shows itself in quarantine shows itself early",
    "quarantine-weigh": "weigh on the day before or after: a fall in weight shows early",
    "quarantine-release": "it decides whether the animal may join others; nothing joins them until then",
    "faecal-test": "take the sample on the next day there is one, and tell the vet",
    "water-change": "ask somebody else to do it today; where nobody can, do a part of it, as its note says",
    "water-test": "ask somebody else to test: an alarm ends by tests alone",
    "heater-check": "ask somebody else to read the thermometer now",
    "vet-check": "call the vet's practice and ask how long it may wait",
}
"""What to do instead of putting off what must not wait."""


def must_not_wait(job: Job) -> str:
    """Return why a job must not wait, with what to do instead; nothing where it may.

    House rule: what a reading asks for at once, and what belongs to quarantine.
    """
    if urgency(job) == MOST_URGENT:
        why = "a reading asks for it"
    elif job.key.startswith("quarantine-") or job.key == "faecal-test":
        why = "it belongs to quarantine"
    else:
        return ""
    instead = INSTEAD.get(job.key, "ask somebody else to do it")
    return f"{why}. Instead, {instead}"


def cost_of_waiting(case: Case, job: Job, due: dt.date, to: dt.date) -> str:
    """Return what it costs that a job of the case, due on a day, is done on a later one; nothing in its
    window."""
    days = (to - due).days
    if days <= job.window:
        return ""
    if job.key == "water-change":
        peak, rise = case.value("nitrate_peak"), case.value("nitrate_rise")
        if peak is not None and rise is not None:
            return (
                f"{days} days more without a change: nitrate comes to about {peak + rise * days:.0f} mg/L "
                f"before it, {peak:.0f} mg/L otherwise"
            )
    if job.key in ("water-test", "cycle-test"):
        return f"{days} days more without a test: nobody knows what is in the water until then"
    late = f"{days} days late, {days - job.window} more than its window of {_days(job.window)}"
    return late if job.window else f"{_days(days)} late; it has no window"


def _days(number: int) -> str:
    return f"{number} day" if number == 1 else f"{number} days"
