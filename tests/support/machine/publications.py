"""What was published so far: the tag and the bytes of each feed, the highest sequence number of each entry."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from scheduler.log.feed_cache import CachedFeed

ENTRY = re.compile(r"BEGIN:(VEVENT|VTODO)\r\n(.*?)END:\1\r\n", re.DOTALL)
PROPERTY = re.compile(r"^(UID|SEQUENCE)[:;](.*?)\r$", re.MULTILINE)


def sequences(body: bytes) -> dict[str, int]:
    """Return the sequence number of each entry of a feed, by UID: read without what wrote them."""
    found = {}
    for entry in ENTRY.finditer(body.decode().replace("\r\n ", "")):
        values = dict(PROPERTY.findall(entry[2]))
        found[values["UID"]] = int(values.get("SEQUENCE", "0"))
    return found


@dataclass
class Publications:
    """What somebody who fetches all the time has seen of each place, by its name."""

    tags: dict[str, dict[str, bytes]] = field(default_factory=dict)
    last: dict[str, CachedFeed] = field(default_factory=dict)
    highest: dict[str, dict[str, int]] = field(default_factory=dict)

    def tag_faults(self, place: str, shelved: CachedFeed) -> Iterator[str]:
        """Yield what is wrong with the tag or the time of a feed that was fetched."""
        body, before = shelved.body(), self.last.get(place)
        known = self.tags.setdefault(place, {})
        if known.setdefault(shelved.etag, body) != body:
            yield f"{place}: other bytes under the tag {shelved.etag}"
        if any(tag != shelved.etag and old == body for tag, old in known.items()):
            yield f"{place}: the same bytes under another tag"
        if before is not None and (before.etag != shelved.etag) != (before.modified != shelved.modified):
            yield f"{place}: tag and time do not change together"
        if before is not None and before.modified > shelved.modified:
            yield f"{place}: last changed {shelved.modified}, and before that {before.modified}"
        self.last[place] = shelved

    def sequence_faults(self, place: str, body: bytes) -> Iterator[str]:
        """Yield the entries that came back with a lower sequence number than they had."""
        highest = self.highest.setdefault(place, {})
        for uid, number in sequences(body).items():
            if number < highest.get(uid, 0):
                yield f"{place}: {uid} has SEQUENCE {number}, and had {highest[uid]}"
            highest[uid] = max(number, highest.get(uid, 0))
