"""The time zones of the world, each with the hour that it is there now."""

from __future__ import annotations

import datetime as dt
import zoneinfo

from scheduler.workflow.clock import machine_zone

REGIONS = (
    *("Africa", "America", "Antarctica", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific"),
)
"""The areas of the IANA database that hold places."""


def place_zone() -> str:
    """Return the machine's time zone where it is that of a place; "" for UTC and the like, as of a machine
    that nobody told where it stands."""
    zone = machine_zone()
    return zone if zone.partition("/")[0] in REGIONS else ""


def zones_now() -> dict[str, list[tuple[str, str]]]:
    """Return the zones by region, each with its name and what is told of it: Dublin, Tue 14:05."""
    now = dt.datetime.now(dt.UTC)
    found: dict[str, list[tuple[str, str]]] = {region: [] for region in REGIONS}
    for name in sorted(zoneinfo.available_timezones()):
        region, _, place = name.partition("/")
        if region in found and place:
            there = now.astimezone(zoneinfo.ZoneInfo(name))
            found[region].append((name, f"{_called(place)}, {there:%a %H:%M}"))
    for some in found.values():
        some.sort(key=lambda one: one[1])
    return found


def _called(place: str) -> str:
    """Return a place by its own name first: Argentina/Buenos_Aires is Buenos Aires (Argentina)."""
    *within, own = place.replace("_", " ").split("/")
    return f"{own} ({', '.join(within)})" if within else own
