"""UIDs: version 5 UUIDs of what a job is, so that they survive renamings, re-exports and other machines.

RFC 7986, section 5.3: no user, host or other private data, and no "@".
"""

from __future__ import annotations

import bisect
import datetime as dt
import uuid
from functools import lru_cache
from hashlib import sha1

from scheduler.history import Entry
from scheduler.plan import Series

NAMESPACE = uuid.UUID("5f0c7a52-93d8-5f0e-8d5b-9c3c1f4a7e21")
"""The name space of this program's UIDs. It must never change."""


def make_uid(*names: str) -> str:
    """Return the UUID, version 5, of a path of names."""
    return _uuid5("/".join(names))


def _uuid5(name: str) -> str:
    # As uuid.uuid5, without building the object: dated events need tens of thousands of these.
    raw = bytearray(sha1(NAMESPACE.bytes + name.encode("utf-8"), usedforsecurity=False).digest()[:16])
    raw[6] = raw[6] & 0x0F | 0x50
    raw[8] = raw[8] & 0x3F | 0x80
    h = raw.hex()
    return f"{h[:8]}-{h[8:12]}-{h[12:16]}-{h[16:20]}-{h[20:]}"


@lru_cache(maxsize=4096)
def job_path(site_id: str, enclosure_id: str, key: str, variant: str, to_do: bool) -> str:
    """Return the name under which a job's UID is made; a to-do is another object than the event of the same
    job."""
    return "/".join(
        [site_id, enclosure_id, key, *([variant] if variant else []), *(["to-do"] if to_do else [])]
    )


def uid_of(
    site_id: str, series: Series, day: dt.date, *, to_do: bool = False, entry: Entry | None = None
) -> str:
    """Return the UID of the calendar object that an occurrence belongs to: the rule's, or its own.

    What is open has one by the day on which it fell due, wherever it is shown; of single days it keeps that
    of its day. What was done (`entry`) has one by the day on which that was: of the record alone, since the
    series may end while it is shown.
    """
    job = series.job
    path = job_path(site_id, job.enclosure.id, job.key, job.variant, to_do)
    if entry is not None:
        return _uuid5(f"{path}/done/{day.isoformat()}" + (f"/{entry.turn}" if entry.turn else ""))
    if series.open is not None and day == series.open.day and not series.open.own:
        # By the day on which it fell due: once done it never comes back under this name with a lower sequence
        # number.
        of = series.open.of
        return _uuid5(f"{path}/{of.isoformat()}" if of else f"{path}/open/{series.open.since.isoformat()}")
    if series.rule is not None and day not in series.apart:
        return _uuid5(path)
    if series.moves and series.rule is None:
        # The next time is the first of them, whatever its day: it moves, and does not vanish, when a job is
        # done.
        return _uuid5(f"{path}/next/{bisect.bisect_left(series.dates, day) + 1}")
    return _uuid5(f"{path}/{day.isoformat()}")
