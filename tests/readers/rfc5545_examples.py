"""The examples of RFC 5545, section 3.8.5.3, with the dates that the RFC prints behind each.

Nos. 1 to 42 in the order of the section. No. 35 is printed with UNTIL=19970902T170000Z, which is 13:00 in New York and
contradicts the RFC's own list of instances; here it is 210000Z, which agrees with the list.
"""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from pathlib import Path

from icalendar import Calendar

FOLDER = Path(__file__).parent / "rfc5545"
ZONE = "America/New_York"


@dataclass(frozen=True, slots=True)
class Example:
    """One example. `whole`: the RFC prints all instances; else only the first of an endless rule."""

    name: str
    start: dt.datetime
    rule: str
    whole: bool
    instances: tuple[dt.datetime, ...]

    @property
    def days(self) -> list[dt.date]:
        return [moment.date() for moment in self.instances]

    def __str__(self) -> str:
        return self.name.removeprefix("rfc5545-") + " " + self.rule


def _read() -> list[Example]:
    expected = json.loads((FOLDER / "rfc5545_expected.json").read_text())
    found = []
    for file in ("rfc5545_days.ics", "rfc5545_subdaily.ics"):
        for event in Calendar.from_ical((FOLDER / file).read_bytes()).walk("VEVENT"):
            entry = expected[str(event["UID"])]
            instances = tuple(dt.datetime.fromisoformat(text) for text in entry["local"])
            start = event["DTSTART"].dt.replace(tzinfo=None)
            found.append(Example(str(event["UID"]), start, entry["rule"], entry["complete"], instances))
    return found


EXAMPLES = _read()
SUB_DAILY = [e for e in EXAMPLES if e.name[-2:] in ("35", "36", "37", "38", "39")]
DAYS = [e for e in EXAMPLES if e not in SUB_DAILY]
