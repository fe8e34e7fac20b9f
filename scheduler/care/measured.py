"""The description as the record leaves it: sizes that were measured since, lamps that were replaced, filters
that work.

The care rules see these values where the description's used to be, and know nothing of the log.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from scheduler.care.house import House
from scheduler.care.lamps import named
from scheduler.care.watch.cycling import passed_on
from scheduler.description.identity import slug
from scheduler.description.site import Enclosure, Lamp, Resident, Site
from scheduler.history import Entry, History

REPLACE = "uv-lamp-replace"


def as_measured(site: Site, history: History) -> Site:
    """Return the site with the newest values of the record in place of older ones of the description."""
    if history.begun is None:
        return site
    changed = tuple(_enclosure(site, enclosure, history) for enclosure in site.enclosures)
    return site.with_enclosures(changed)


def _enclosure(site: Site, enclosure: Enclosure, history: History) -> Enclosure:
    update: dict[str, Any] = {}
    readings = history.measured(enclosure.id)
    residents = tuple(_resident(site, enclosure, r, readings) for r in enclosure.resident)
    if residents != enclosure.resident:
        update["resident"] = residents
    lamps = _lamps(enclosure, history)
    if lamps != enclosure.lamp:
        update["lamp"] = lamps
    if (
        enclosure.cycled is False
        and (day := passed_on(enclosure, history, House(site.settings.house_values))) is not None
    ):
        update["cycled"] = day
    return enclosure.model_copy(update=update) if update else enclosure


def _resident(site: Site, enclosure: Enclosure, resident: Resident, readings: tuple[Entry, ...]) -> Resident:
    written = resident.measured or resident.arrived or enclosure.set_up or site.settings.start
    update: dict[str, Any] = {}
    for name, key in (("length", "carapace"), ("weight", "mass")):
        found = [r for r in readings if r.name == name and r.of == resident.id]
        # A description without a size says none that could be newer: an animal that moves in brings its own
        # along.
        since = written if getattr(resident, key) is not None else None
        if found and found[-1].value is not None and (since is None or found[-1].day >= since):
            update[key] = found[-1].value
            # The day is that of the carapace, by which growth is reckoned.
            if name == "length":
                update["measured"] = found[-1].day
    return resident.model_copy(update=update) if update else resident


def _lamps(enclosure: Enclosure, history: History) -> tuple[Lamp, ...]:
    """Return the lamps, those for ultraviolet with the identity and the day of installation that the record
    knows."""
    if not any(lamp.gives_uv for lamp in enclosure.lamp):
        return enclosure.lamp
    replaced = history.variants(enclosure.id, REPLACE)
    current = named(enclosure.lamp)
    present = {variant for variant, _ in current}
    found: dict[int, Lamp] = {}
    update: dict[str, Any]
    for variant, lamp in current:
        if not lamp.gives_uv:
            continue
        day = replaced.get(variant)
        if day is not None and (lamp.installed is None or day > lamp.installed):
            # A new lamp: what was read of the old one says nothing about it.
            update = {"id": variant, "installed": day, "uvi": None, "uvi_at": None}
        else:
            update = {"id": _lineage(variant, lamp, replaced, present)}
            present.add(update["id"])
        found[id(lamp)] = lamp.model_copy(update=update)
    return tuple(found.get(id(lamp), lamp) for lamp in enclosure.lamp)


def _lineage(variant: str, lamp: Lamp, replaced: Mapping[str, dt.date], present: set[str]) -> str:
    """Return the identity of a lamp whose new day of installation was written into the description after it
    was recorded.

    It goes on as the lamp that it replaced, and so do its calendar entries.
    """
    if lamp.id or lamp.installed is None:
        return variant
    before = [
        of
        for of, day in sorted(replaced.items())
        if day == lamp.installed and of not in present and of.startswith(slug(lamp.kind))
    ]
    return before[0] if before else variant
