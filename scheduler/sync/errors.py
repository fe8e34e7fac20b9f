"""What may go wrong between here and a CalDAV server, as sentences."""

from __future__ import annotations

from scheduler.errors import SchedulerError


class SyncError(SchedulerError):
    """The server refuses, or answers what is no CalDAV; the message says what to do."""


class UnreachableError(SyncError):
    """Nobody answers, or not in time: the next request would fare no better."""
