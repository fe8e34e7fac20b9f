"""To-dos to and from a CalDAV server (RFC 4791)."""

from scheduler.sync.address import Address, read_address
from scheduler.sync.errors import SyncError
from scheduler.sync.outcome import Outcome, Remark, Tally
from scheduler.sync.run import SyncWish, sync

__all__ = ["Address", "Outcome", "Remark", "SyncError", "SyncWish", "Tally", "read_address", "sync"]
