"""An enclosure: its measures, equipment and dates."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduler.description.checks import jobs, residents
from scheduler.description.checks.common import degrees
from scheduler.description.site import (
    Description,
    Enclosure,
    Food,
    Lamp,
)
from scheduler.errors import Path, Problem
from scheduler.handbook.ultraviolet import TUBES
from scheduler.species import Sheets

# House limits: they catch slips of the pen, such as degrees of the other scale; they are not husbandry.
_HEATER_C, _LAMP_DISTANCE_CM, _PANE_MM, _TUBE_CM = (5.0, 40.0), (5.0, 300.0), (2.0, 30.0), (10.0, 200.0)


def enclosure(e: Enclosure, path: Path, description: Description, sheets: Sheets) -> Iterator[Problem]:
    """Yield the problems of an enclosure and of everything in it."""
    at = _At(path, description, sheets)
    for check in _ENCLOSURE_CHECKS:
        yield from check(e, at)


@dataclass(frozen=True, slots=True)
class _At:
    """Where an enclosure stands, and what it is held against."""

    path: Path
    description: Description
    sheets: Sheets


def _sizes(e: Enclosure, at: _At) -> Iterator[Problem]:
    path = at.path
    if e.height is not None and e.water_depth is not None and e.water_depth > e.height:
        yield Problem(
            path=(*path, "water_depth"),
            involves=((*path, "height"),),
            message=f"the water ({e.water_depth:g} cm) is deeper than the enclosure is high ({e.height:g} cm)",  # noqa: E501
            hint="measure from the floor to the water line",
        )
    if e.length is not None and e.width is not None and e.width > e.length:
        yield Problem(
            path=(*path, "width"),
            involves=((*path, "length"),),
            message=f"the width ({e.width:g} cm) is larger than the length ({e.length:g} cm)",
            hint="swap the two",
        )


def _substrate(e: Enclosure, at: _At) -> Iterator[Problem]:
    s, path = e.substrate, at.path
    if s is None:
        return
    if s.depth is not None and e.water_depth is not None and s.depth >= e.water_depth:
        yield Problem(
            path=(*path, "substrate", "depth"),
            involves=((*path, "water_depth"),),
            message=f"the substrate ({s.depth:g} cm) reaches the water line ({e.water_depth:g} cm)",
            hint="measure both from the floor",
        )
    elif s.depth is not None and e.height is not None and s.depth >= e.height:
        yield Problem(
            path=(*path, "substrate", "depth"),
            involves=((*path, "height"), (*path, "water_depth")),
            message=f"the substrate ({s.depth:g} cm) fills the enclosure ({e.height:g} cm high)",
            hint="measure both from the floor",
        )
    if s.kind == "bare" and (s.depth is not None or s.smallest_stone is not None):
        yield Problem(
            path=(*path, "substrate"),
            message="a bare floor has no depth and no stones",
            hint='leave them out, or write kind = "sand"',
        )
    if s.kind == "sand" and s.smallest_stone is not None:
        yield Problem(
            path=(*path, "substrate", "smallest_stone"),
            message="sand has no stones",
            hint='leave it out, or write kind = "river stones"',
        )


def _walls(e: Enclosure, at: _At) -> Iterator[Problem]:
    path = at.path
    for key, what in (("pane", "walls"), ("empty_mass", "empty mass")):
        if e.kind == "pond" and e.outdoors and getattr(e, key) is not None:
            yield Problem(
                path=(*path, key),
                involves=((*path, "kind"), (*path, "outdoors")),
                message=f"a pond outdoors has no {what}: it rests in the ground",
                hint='leave it out, or write kind = "tub"',
            )
    if (
        e.pane is not None
        and not (e.kind == "pond" and e.outdoors)
        and not _PANE_MM[0] <= 10 * e.pane <= _PANE_MM[1]
    ):
        yield Problem(
            path=(*path, "pane"),
            message=f"walls of {10 * e.pane:g} mm are not believable",
            hint=f'expected {_PANE_MM[0]:g} to {_PANE_MM[1]:g} mm, the thickness of one wall: pane = "8 mm"',
        )


def _heaters(e: Enclosure, at: _At) -> Iterator[Problem]:
    for i, heater in enumerate(e.heater):
        if heater.set_to is not None and not _HEATER_C[0] <= heater.set_to <= _HEATER_C[1]:
            yield Problem(
                path=(*at.path, "heater", i, "set_to"),
                message=f"a heater set to {heater.set_to:.3g} degC is not believable",
                hint=f"expected {degrees(*_HEATER_C)}",
            )


def _lamps(e: Enclosure, at: _At) -> Iterator[Problem]:
    named: dict[str, int] = {}
    for i, lamp in enumerate(e.lamp):
        yield from _lamp(lamp, (*at.path, "lamp", i))
        if lamp.id and named.setdefault(lamp.id, i) != i:
            yield Problem(
                path=(*at.path, "lamp", i, "id"),
                involves=((*at.path, "lamp", named[lamp.id], "id"),),
                message=f'lamp[{named[lamp.id]}] has the id "{lamp.id}" already',
                hint=f'write id = "{lamp.id}-2"',
            )


def _residents(e: Enclosure, at: _At) -> Iterator[Problem]:
    for i, resident in enumerate(e.resident):
        yield from residents.resident(resident, e, (*at.path, "resident", i), at.path, at.sheets)


def _cycled(e: Enclosure, at: _At) -> Iterator[Problem]:
    if e.set_up and isinstance(e.cycled, dt.date) and e.cycled < e.set_up:
        yield Problem(
            path=(*at.path, "cycled"),
            involves=((*at.path, "set_up"),),
            message=f"cycled on {e.cycled}, before it was set up on {e.set_up}",
            hint="write the later date",
        )
    if e.set_up and e.retired and e.retired < e.set_up:
        yield Problem(
            path=(*at.path, "retired"),
            involves=((*at.path, "set_up"),),
            message=f"retired on {e.retired}, before it was set up on {e.set_up}",
            hint="swap the two, or mend the year",
        )
    if e.cycled is False and e.set_up is None:
        yield Problem(
            path=(*at.path, "cycled"),
            involves=((*at.path, "set_up"),),
            message="not cycled, and no day of set-up from which the tests count",
            hint="add set_up = YYYY-MM-DD, the day it was set up",
        )


def _feed(e: Enclosure, at: _At) -> Iterator[Problem]:
    if e.feed != Food():
        yield from residents.feed(e.feed, e, at.path)


def _conditioner(e: Enclosure, at: _At) -> Iterator[Problem]:
    conditioner = e.conditioner
    if conditioner.opened is not None and conditioner.treats is None:
        yield Problem(
            path=(*at.path, "conditioner", "opened"),
            involves=((*at.path, "conditioner", "treats"),),
            message="the day a bottle was opened says nothing without the water that it treats",
            hint='add treats = "1000 L", from the label of a full bottle',
        )


def _lamp(lamp: Lamp, path: Path) -> Iterator[Problem]:
    if lamp.on_at is not None and lamp.hours_a_day is None:
        yield Problem(
            path=(*path, "on_at"),
            involves=((*path, "hours_a_day"),),
            message="an hour at which a lamp goes on says not when it goes off",
            hint="add hours_a_day = 12; it may reach past midnight",
        )
    if lamp.uvi is not None and not lamp.gives_uv:
        yield Problem(
            path=(*path, "uvi"),
            involves=((*path, "kind"),),
            message=f'a lamp of kind "{lamp.kind}" is not there for ultraviolet, yet has a UVI',
            hint="name the lamp's real kind, or leave the UVI out",
        )
    if lamp.uvi is not None and lamp.uvi_at is None:
        yield Problem(
            path=(*path, "uvi"),
            involves=((*path, "uvi_at"),),
            message="a UVI without the distance at which it was read says nothing",
            hint='add uvi_at = "30 cm"',
        )
    if lamp.uvi_at is not None and lamp.uvi is None:
        yield Problem(
            path=(*path, "uvi_at"),
            involves=((*path, "uvi"),),
            message="a distance without the UVI that was read there",
            hint="add uvi = 3.4",
        )
    if lamp.length is not None and lamp.kind not in TUBES:
        yield Problem(
            path=(*path, "length"),
            involves=((*path, "kind"),),
            message=f'a lamp of kind "{lamp.kind}" has no length; a tube has',
            hint='leave it out, or write kind = "T5 HO tube" or "T8 tube"',
        )
    elif lamp.length is not None and not _TUBE_CM[0] <= lamp.length <= _TUBE_CM[1]:
        yield Problem(
            path=(*path, "length"),
            message=f"a tube of {lamp.length:g} cm is not believable",
            hint=f"expected {_TUBE_CM[0]:g} to {_TUBE_CM[1]:g} cm, the lit part without its caps",
        )
    for key, distance in (("uvi_at", lamp.uvi_at), ("basking_distance", lamp.basking_distance)):
        if distance is not None and not _LAMP_DISTANCE_CM[0] <= distance <= _LAMP_DISTANCE_CM[1]:
            yield Problem(
                path=(*path, key),
                message=f"{distance:g} cm from a lamp is not believable",
                hint=(
                    f"expected {_LAMP_DISTANCE_CM[0]:g} to {_LAMP_DISTANCE_CM[1]:g} cm, from the lamp to "
                    "the shell"
                ),
            )


def _overrides(e: Enclosure, at: _At) -> Iterator[Problem]:
    for key, override in e.job.items():
        here = (*at.path, "job", key)
        yield from jobs.cadence(override, here, at.description.site.start, required=False)
        if override.share is not None and key != "water-change":
            yield Problem(
                path=(*here, "share"),
                message="only water-change has a share",
                hint="leave it out",
            )


def _extra_jobs(e: Enclosure, at: _At) -> Iterator[Problem]:
    keys: set[str] = set()
    for i, extra in enumerate(e.extra_job):
        here = (*at.path, "extra_job", i)
        yield from jobs.cadence(extra, here, at.description.site.start, required=True)
        if extra.key in keys:
            yield Problem(
                path=(*here, "key"),
                message=f'the key "{extra.key}" stands twice in this enclosure',
                hint=f'write "{extra.key}-2"',
            )
        keys.add(extra.key)
        yield from jobs.skills(extra, here, at.description.keeper)


_ENCLOSURE_CHECKS: tuple[Callable[[Enclosure, _At], Iterator[Problem]], ...] = (
    _sizes,
    _substrate,
    _walls,
    _heaters,
    _lamps,
    _residents,
    _cycled,
    _feed,
    _conditioner,
    _overrides,
    _extra_jobs,
)
"""In the order of their messages."""
