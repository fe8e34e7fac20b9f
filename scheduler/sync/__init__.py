"""To-dos to and from a CalDAV server (RFC 4791).

Decisions
---------

A sync compares three texts
    A sync compares three texts: what the server has, what the log agreed on last (`to_do.body`), and what
    the plan wants. The entity tag of what was agreed tells whether anybody changed it since; only then it
    is fetched. So a quiet sync is a listing of each collection. The body is our text without what others
    added to it: their lines are taken over from the server whenever ours is written.

An order that survives a kill at any point
    Read; record ticks in the log; agree on them; store moved days; then write. What is new is remembered
    with "?" alone and put with If-None-Match: remembered afterwards, what a broken off sync had put stayed
    for ever where nobody wanted it any more. What is to change is remembered first too, with "?" and the
    tag that it had: found with that tag it was not written, and is written again; with another one the text
    says which it is. Without the mark a day that we moved ourselves, killed before it was noted, would look
    like one that somebody moved. Tests cut every request of a sync, before it arrives and after, and kill
    it at instants all over; deterministic cuts find what random kills do not.

X-PONDROUND-JOB
    X-PONDROUND-JOB in each to-do names enclosure, key, variant, the day on which it falls due, and the
    variant under which the log knows it. It is read from our own copy in the log, never from the server: a
    tick is recorded also when the occurrence is no longer in the plan, or the job no longer in the
    description, and nobody can claim a tick for a job by writing that line.

DUE, not DURATION
    Programs for to-dos go by DUE, and many know no DURATION (RFC 5545, section 3.6.2, has one or the
    other). It is on the day of DTSTART also where the job runs past midnight: the day is what a keeper
    reads. Of what was done only the status decides whether it was unticked, since some programs leave
    COMPLETED behind.

A 500 for one resource is not a reason to write over it
    A 500 for one resource is not a reason to write over it: a tick may be in it. Radicale leaves files out
    of its listing that it cannot read, Xandikos lists them and fails. Xandikos also refuses invalid texts
    with 412, which elsewhere means that a tag did not match: the body of the answer tells.

The caldav library below its objects
    Its requests negotiate logins and parse XML without entities; its calendars and to-dos bring retries,
    searches and rewriting of their own, of which each would be one more thing between a tick and the log.
    Its session is replaced by one that follows redirects on the same server alone, reads at most 20 MB and
    ends an answer that trickles.

A collection that a keeper left
    A collection that a keeper left is one whose address is the site's name and more, of which the log has
    to-dos, and which nobody uses any more. It is read like the others, so that no tick is lost, and nothing
    is wanted in it. It is never deleted: others may have put something there.

What fell due and was put for a later day stays until that day is over
    What fell due and was put for a later day stays until that day is over, though a site that just begins
    its record has no overdue jobs.
"""

from scheduler.sync.address import Address, read_address
from scheduler.sync.errors import SyncError
from scheduler.sync.outcome import Outcome, Remark, Tally
from scheduler.sync.run import SyncWish, sync

__all__ = ["Address", "Outcome", "Remark", "SyncError", "SyncWish", "Tally", "read_address", "sync"]
