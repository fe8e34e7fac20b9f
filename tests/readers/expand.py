"""List what recurring-ical-events makes of calendars: python expand.py FROM TO FILE...

FROM and TO are instants, 2026-12-01T00:00:00Z. Each occurrence of a VEVENT or VTODO that starts from FROM on and before
TO becomes one line of JSON: file, uid, start (local), tzid, utc, summary. Whole days start at midnight, have no tzid, and
their utc is null. Runs in an environment of its own: see setup.sh.
"""

import datetime as dt
import json
import sys
from pathlib import Path

import icalendar
import recurring_ical_events


def main(start: str, end: str, *files: str) -> None:
    """Print the occurrences of the files."""
    first, last = dt.datetime.fromisoformat(start), dt.datetime.fromisoformat(end)
    for file in files:
        calendar = icalendar.Calendar.from_ical(Path(file).read_bytes())
        query = recurring_ical_events.of(calendar, components=["VEVENT", "VTODO"], skip_bad_series=False)
        for entry in query.between(first, last):
            moment = entry["DTSTART"].dt
            whole_day = not isinstance(moment, dt.datetime)
            if whole_day:
                moment = dt.datetime.combine(moment, dt.time(), tzinfo=dt.UTC)
            if not first <= moment < last:
                continue  # begun earlier and still going on
            line = {
                "file": file,
                "uid": str(entry["UID"]),
                "start": moment.replace(tzinfo=None).isoformat(timespec="seconds"),
                "tzid": None if whole_day else str(moment.tzinfo),
                "utc": None if whole_day else f"{moment.astimezone(dt.UTC):%Y-%m-%dT%H:%M:%SZ}",
                "summary": str(entry["SUMMARY"]),
            }
            print(json.dumps(line))


if __name__ == "__main__":
    main(*sys.argv[1:])
