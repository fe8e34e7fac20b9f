"""A whole feed: header, time zone, entries, end."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduler.calendar.component import Options
from scheduler.calendar.identity import make_uid
from scheduler.calendar.text import fold, text_line
from scheduler.calendar.zones import UTC_NAMES, vtimezone
from scheduler.description.site import Enclosure, Keeper, Site

LARGE_BYTES = 700_000
"""From this size on a feed is warned about: some big web calendars refuse or lose feeds of 1 MB."""

RESERVED_NAMES = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
)
"""Names of devices on one system, which no file there can have, whatever its ending."""

REFRESH = "PT6H"
PRODID = "-//pondround//care calendar//EN"

# CSS3 names (RFC 7986, section 5.9) with the hex value that one client wants; calm ones that black text
# stands on.
COLOURS = (
    ("cadetblue", "#5F9EA0"), ("darkseagreen", "#8FBC8F"), ("tan", "#D2B48C"), ("lightsteelblue", "#B0C4DE"),
    ("rosybrown", "#BC8F8F"), ("thistle", "#D8BFD8"), ("palegoldenrod", "#EEE8AA"), ("lightslategray", "#778899"),  # noqa: E501
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """Which feed: of an enclosure, of the rounds of a keeper, or of the whole site when there is neither."""

    site: Site
    options: Options
    enclosure: Enclosure | None = None
    keeper: Keeper | None = None

    @property
    def stem(self) -> str:
        """Return the file name without its ending: only small letters, digits, hyphens and one dot."""
        site = self.site.settings.id
        if self.keeper:
            # The dot tells it from an enclosure's, whatever that is called.
            return f"{site}-{self.keeper.id}.rounds" + ("-to-dos" if self.options.to_dos else "")
        if not self.enclosure and site in RESERVED_NAMES:
            return f"site-{site}" + (".to-dos" if self.options.to_dos else "")
        names = [site, *([self.enclosure.id] if self.enclosure else [])]
        return "-".join(names) + (".to-dos" if self.options.to_dos else "")

    @property
    def title(self) -> str:
        """Return the calendar's name. Its dash is beyond ASCII on purpose: see `header`."""
        site = self.site.settings.name
        kind = " to-dos" if self.options.to_dos else ""
        if self.keeper:
            return f"{self.keeper.name} – rounds, {site}{kind}"
        return f"{self.enclosure.name} – {site}{kind}" if self.enclosure else f"{site} – turtle care{kind}"


def header(feed: Feed, stamp: bytes, first_year: int, *, empty: bool = False) -> bytes:
    """Return everything before the entries (RFC 5545, section 3.6; RFC 7986).

    The name, with a character beyond ASCII, stands before the time zone: one web calendar guesses the
    encoding from the first lines. A calendar has to hold a component; without entries (`empty`) the time zone
    is it, whatever it is.
    """
    place = feed.site.settings
    names = [
        place.id,
        *([feed.enclosure.id] if feed.enclosure else []),
        *(["rounds", feed.keeper.id] if feed.keeper else []),
        "to-dos" if feed.options.to_dos else "events",
    ]
    colour, hexadecimal = COLOURS[sum(make_uid(*names).encode()) % len(COLOURS)]
    what = (
        f"What {feed.keeper.name} does at {place.name}"
        if feed.keeper
        else f"What {feed.enclosure.name if feed.enclosure else place.name} needs"
    )
    about = f"{what}, planned by pondround. No vet, no electrician: a reminder."
    lines = [
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n",
        fold(f"PRODID:{PRODID}"),
        b"CALSCALE:GREGORIAN\r\n",
        f"UID:{make_uid('calendar', *names)}\r\n".encode(),
        b"LAST-MODIFIED:" + stamp + b"\r\n",
        text_line("NAME", feed.title),
        text_line("X-WR-CALNAME", feed.title),
        text_line("DESCRIPTION", about),
        text_line("X-WR-CALDESC", about),
        f"REFRESH-INTERVAL;VALUE=DURATION:{REFRESH}\r\nX-PUBLISHED-TTL:{REFRESH}\r\n".encode(),
    ]
    if feed.options.base_url:
        lines.append(fold(f"SOURCE;VALUE=URI:{feed.options.base_url.rstrip('/')}/{feed.stem}.ics"))
    lines.append(f"COLOR:{colour}\r\nX-APPLE-CALENDAR-COLOR:{hexadecimal}\r\n".encode())
    # A time in UTC and a day need none (RFC 5545, section 3.2.19).
    if empty or not (feed.options.all_day is True or place.time_zone in UTC_NAMES):
        lines.append(vtimezone(place.time_zone, first_year))
    return b"".join(lines)


def footer() -> bytes:
    """Return the end of a feed."""
    return b"END:VCALENDAR\r\n"


def stamp_of(today: dt.date, zone: ZoneInfo) -> bytes:
    """Return the time in UTC that changes of a day of a zone carry: its start there.

    So the same input gives the same bytes, and no stamp lies in the future of whoever writes it on that day.
    """
    start = dt.datetime.combine(today, dt.time(), zone)
    return f"{start.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}".encode()


def day_of_stamp(stamp: bytes, zone: ZoneInfo) -> dt.date:
    """Return the day on which a stamp lies in a zone."""
    moment = dt.datetime.strptime(stamp.decode(), "%Y%m%dT%H%M%SZ").replace(tzinfo=dt.UTC)
    return moment.astimezone(zone).date()
