"""What this machine says: the date of now, its time zone, its time zone database."""

from __future__ import annotations

import datetime as dt
import os
import re
import zoneinfo
from pathlib import Path

from scheduler.description import Site

_FIXED = re.compile(r"(EST|MST|HST|Etc/GMT.*|GMT[+-]?0?|Greenwich|Etc/Greenwich)")
"""Zones of the database that never change their clocks and are of no place: files of old, and offsets by the
hour."""


def unsure_zone(site: Site) -> str:
    """Return what is to be said of a time zone that is missing or is no place's; "" where it is one, or UTC
    by choice."""
    place = site.settings
    if "time_zone" not in place.model_fields_set:
        said = "time_zone is not in the description: the hours are those of UTC"
    elif _FIXED.fullmatch(place.time_zone):
        said = f'time_zone = "{place.time_zone}" is a fixed offset, which knows no summer time'
    else:
        return ""
    machine = machine_zone()
    near = machine if "/" in machine and not machine.startswith("Etc/") else "Europe/Dublin"
    which = "this machine's" if near == machine else "or that of your place"
    return f'{said}; write time_zone = "{near}" under [site], {which}.'


def use_newest_zones() -> None:
    """Have this process read time zones from the newer of the system's database and the installed package's.

    Python prefers the system's, which may be years old: after a country's change of law its calendars would
    be an hour off.
    """
    import tzdata

    if _system_zones() < tzdata.IANA_VERSION:
        zoneinfo.reset_tzpath(())


def _system_zones() -> str:
    """Return the version of the system's time zone database, such as `2025b`; nothing when it does not
    say."""
    for file in (Path(folder) / name for folder in zoneinfo.TZPATH for name in ("tzdata.zi", "+VERSION")):
        try:
            with file.open(encoding="ascii", errors="replace") as stream:
                return stream.readline().removeprefix("# version ").strip()
        except OSError:
            continue
    return ""


def today_in(site: Site) -> dt.date:
    """Return the date of now in the site's time zone."""
    return dt.datetime.now(site.settings.zone).date()


def now_in(site: Site, day: dt.date | None = None, at: dt.time | None = None) -> dt.datetime:
    """Return the time of now in the site's time zone, without zone; with a `day` or a time, as if it were
    then."""
    now = dt.datetime.now(site.settings.zone).replace(tzinfo=None)
    return dt.datetime.combine(day or now.date(), at or now.time())


def now_utc() -> dt.datetime:
    """Return the second of now in UTC, without zone."""
    return dt.datetime.now(dt.UTC).replace(tzinfo=None, microsecond=0)


def machine_zone() -> str:
    """Return the IANA name of the machine's time zone, or "" where it does not say: TZ, else the link
    /etc/localtime."""
    try:
        where = str(Path("/etc/localtime").readlink())
    except OSError:
        where = ""
    # A TZ of the older POSIX form ("CET-1CEST") names no zone.
    for candidate in (os.environ.get("TZ", "").removeprefix(":"), where):
        name = candidate.rpartition("zoneinfo/")[2]
        try:
            if name:
                return zoneinfo.ZoneInfo(name).key
        except (ValueError, OSError, KeyError):
            continue
    return ""
