"""The rules of conflict: what it means that a resource of ours is not as it was agreed.

What was ticked goes before what was moved; what the log has goes before what stands in the collection; a tick is never lost.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from scheduler.sync.remote import Seen
from scheduler.sync.resource import Agreed

Verdict = Literal["same", "ticked", "unticked", "moved", "cancelled", "broken", "replaced"]


@dataclass(frozen=True, slots=True)
class Change:
    """A resource of ours whose text is another one than was agreed: what that means, and the day to which it was moved."""

    agreed: Agreed
    verdict: Verdict
    url: str
    tag: str
    seen: Seen | None = None
    to: dt.date | None = None


def judge(agreed: Agreed, seen: Seen | None, url: str, tag: str) -> Change:
    """Return what the text that is seen at an address means, against what was agreed."""
    verdict, to = _judged(agreed, seen)
    return Change(agreed, verdict, url, tag, seen, to)


def _judged(agreed: Agreed, seen: Seen | None) -> tuple[Verdict, dt.date | None]:
    if seen is None or seen.uid != agreed.put.uid:
        return "replaced", None
    was_done = agreed.done is not None
    if _is_to_do(agreed) and (done := is_done(seen, was_done)) != was_done:
        return ("ticked" if done else "unticked"), None
    if seen.broken:
        return "broken", None
    if seen.status == "CANCELLED":
        return "cancelled", None
    to = day_of(agreed, seen)
    if was_done or to == agreed.day:
        return "same", None
    return "moved", to


def is_done(seen: Seen, was_done: bool) -> bool:
    """Tell whether a to-do is ticked.

    Programs write any of three properties (RFC 5545, sections 3.8.1.8, 3.8.1.11, 3.8.2.1), and who takes a tick away may
    leave two of them behind: so of what was done the status decides.
    """
    if seen.status == "COMPLETED":
        return True
    if was_done and seen.status:
        return False
    return seen.completed is not None or seen.percent == 100


def day_of(agreed: Agreed, seen: Seen) -> dt.date:
    """Return the day for which an entry stands now: that of its DUE, or of DTSTART where it has none.

    Another hour of the same day is no move, nor is a date that was taken away: the plan knows days.
    """
    if seen.due is not None:
        return agreed.day if seen.due == agreed.last else seen.due
    return seen.begins or agreed.day


def _is_to_do(agreed: Agreed) -> bool:
    return agreed.content.endswith(b"END:VTODO\r\n")
