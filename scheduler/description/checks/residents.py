"""Residents and their food."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduler.description.fields import MOST_NAME
from scheduler.description.site import (
    Enclosure,
    Food,
    Resident,
)
from scheduler.errors import Path, Problem, clip, nearest
from scheduler.species import Sheets

# House limits: they catch slips of the pen; they are not husbandry.
_CARAPACE_CM = (1.5, 100.0)
_WIDTH_SHARES = (0.4, 1.1)


def same_resident_ids(enclosures: tuple[Enclosure, ...]) -> Iterator[Problem]:
    """Yield a problem for each resident whose id another one of the site has: what is measured follows the
    id."""
    first: dict[str, tuple[Enclosure, Path]] = {}
    taken = {r.id for e in enclosures for r in e.resident}
    for i, e in enumerate(enclosures):
        for j, r in enumerate(e.resident):
            path: Path = ("enclosure", i, "resident", j, "name")
            other, there = first.setdefault(r.id, (e, path))
            if there == path:
                continue
            wanted = (f"{r.id}-{e.id}"[:MOST_NAME], *(f"{r.id}-{n}" for n in range(2, len(taken) + 3)))
            free = next(one for one in wanted[1 if other is e else 0 :] if one not in taken)
            taken.add(free)
            kept = "" if other is e else f"; what was recorded of it in {e.name} stays its own"
            yield Problem(
                path=path,
                involves=(there,),
                message=(
                    f'{clip(r.name)} has the id "{r.id}", which a resident of {clip(other.name)} has '
                    "already: an animal keeps its record by its id, wherever it lives"
                ),
                hint=f'write id = "{free}"{kept}',
            )


@dataclass(frozen=True, slots=True)
class _Resident:
    """A resident in its enclosure, which has the path `around`."""

    resident: Resident
    enclosure: Enclosure
    path: Path
    around: Path
    sheets: Sheets


def resident(r: Resident, e: Enclosure, path: Path, around: Path, sheets: Sheets) -> Iterator[Problem]:
    """Yield the problems of a resident; `around` is the path of its enclosure."""
    at = _Resident(r, e, path, around, sheets)
    for check in _RESIDENT_CHECKS:
        yield from check(at)


def _species(at: _Resident) -> Iterator[Problem]:
    r = at.resident
    if r.species is not None:
        try:
            at.sheets[r.species]
        except KeyError:
            known = [name for sheet in at.sheets.values() for name in (sheet.species, *sheet.names)]
            close = nearest(r.species, known)
            hint = f'nearest: "{close}"; ' if close else ""
            yield Problem(
                path=(*at.path, "species"),
                message=f"no species sheet for {clip(r.species)}",
                hint=(
                    f"{hint}sheets: {', '.join(at.sheets)}; put your own beside the description, or leave "
                    "species out"
                ),
            )


def _arrived_after_birth(at: _Resident) -> Iterator[Problem]:
    r = at.resident
    if r.born and r.arrived and r.arrived < r.born:
        yield Problem(
            path=(*at.path, "arrived"),
            involves=((*at.path, "born"),),
            message=f"arrived on {r.arrived}, before it was born on {r.born}",
            hint="swap the two, or mend the year",
        )


def _measured_after_birth(at: _Resident) -> Iterator[Problem]:
    r = at.resident
    if r.born and r.measured and r.measured < r.born:
        yield Problem(
            path=(*at.path, "measured"),
            involves=((*at.path, "born"),),
            message=f"measured on {r.measured}, before it was born on {r.born}",
            hint="swap the two, or mend the year",
        )


def _arrived_after_set_up(at: _Resident) -> Iterator[Problem]:
    r, e = at.resident, at.enclosure
    if r.arrived and e.set_up and r.arrived < e.set_up and r.here_since is None:
        yield Problem(
            path=(*at.path, "arrived"),
            involves=((*at.around, "set_up"),),
            message=f"arrived on {r.arrived}, before the enclosure was set up on {e.set_up}",
            hint="write when it came into this enclosure",
        )


def _here_since(at: _Resident) -> Iterator[Problem]:
    r, e = at.resident, at.enclosure
    if r.here_since is None:
        return
    for key, day, said in (
        ("arrived", r.arrived, "it arrived on"),
        ("set_up", e.set_up, "the enclosure was set up on"),
    ):
        if day is not None and r.here_since < day:
            around = at.path if key == "arrived" else at.around
            yield Problem(
                path=(*at.path, "here_since"),
                involves=((*around, key),),
                message=f"here since {r.here_since}, before {said} {day}",
                hint="write when it came into this enclosure",
            )


def _departed(at: _Resident) -> Iterator[Problem]:
    r, e = at.resident, at.enclosure
    if r.departed is None:
        if r.departed_as is not None:
            yield Problem(
                path=(*at.path, "departed_as"),
                involves=((*at.path, "departed"),),
                message="how it left, without the day",
                hint="add departed = YYYY-MM-DD, the day on which it left",
            )
        if e.retired is not None:
            yield Problem(
                path=(*at.path, "name"),
                involves=((*at.around, "retired"),),
                message=f"{clip(r.name)} lives in {clip(e.name)}, which is retired since {e.retired}",
                hint="move it to another enclosure first, or write departed = YYYY-MM-DD",
            )
        return
    for key, day in (("here_since", r.here_since), ("arrived", r.arrived), ("born", r.born)):
        if day is not None and r.departed < day:
            yield Problem(
                path=(*at.path, "departed"),
                involves=((*at.path, key),),
                message=f"departed on {r.departed}, before {key} = {day}",
                hint="swap the two, or mend the year",
            )
            return
    if e.retired is not None and e.retired < r.departed:
        yield Problem(
            path=(*at.path, "departed"),
            involves=((*at.around, "retired"),),
            message=f"it left on {r.departed}, after its enclosure was retired on {e.retired}",
            hint="mend the later of the two",
        )


def _quarantine(at: _Resident) -> Iterator[Problem]:
    r = at.resident
    if r.quarantine and r.arrived is None:
        yield Problem(
            path=(*at.path, "quarantine"),
            involves=((*at.path, "arrived"),),
            message="quarantine without the day of arrival",
            hint="add arrived = YYYY-MM-DD, the day it came",
        )


def _size(at: _Resident) -> Iterator[Problem]:
    r, e = at.resident, at.enclosure
    if r.carapace is not None and not _CARAPACE_CM[0] <= r.carapace <= _CARAPACE_CM[1]:
        yield Problem(
            path=(*at.path, "carapace"),
            message=f"a carapace of {r.carapace:g} cm is not believable",
            hint=f"expected {_CARAPACE_CM[0]:g} to {_CARAPACE_CM[1]:g} cm, in a straight line",
        )
    elif r.carapace is not None and e.length is not None and r.carapace >= e.length:
        yield Problem(
            path=(*at.path, "carapace"),
            involves=((*at.around, "length"),),
            message=f"the carapace ({r.carapace:g} cm) is as long as the enclosure ({e.length:g} cm) or longer",  # noqa: E501
            hint="measure again; lengths of the enclosure are inside lengths",
        )
    elif r.carapace is not None and r.mass is not None and r.count == 1:
        # House limit: a turtle weighs about 0.15 g a cubic centimetre of carapace length, 0.10 to 0.20 leaves
        # room.
        low, high = 0.10 * r.carapace**3, 0.20 * r.carapace**3
        if not low / 1.5 <= r.mass <= high * 1.5:
            yield Problem(
                path=(*at.path, "mass"),
                involves=((*at.path, "carapace"),),
                message=(
                    f"{r.mass:g} g does not fit a carapace of {r.carapace:g} cm, which goes with {low:.0f} "
                    f"to {high:.0f} g (house rule)"
                ),
                hint="measure again; write the carapace in a straight line, and the mass of one animal",
            )


def _shell_width(at: _Resident) -> Iterator[Problem]:
    r = at.resident
    if (
        r.shell_width is not None
        and r.carapace is not None
        and _CARAPACE_CM[0] <= r.carapace <= _CARAPACE_CM[1]
    ):
        # House limit: the carapace of a turtle is longer than wide, or about as wide in a hatchling.
        low, high = (share * r.carapace for share in _WIDTH_SHARES)
        if not low <= r.shell_width <= high:
            yield Problem(
                path=(*at.path, "shell_width"),
                involves=((*at.path, "carapace"),),
                message=(
                    f"a shell {r.shell_width:g} cm wide does not fit a carapace of {r.carapace:g} cm, which "
                    f"goes with {low:.1f} to {high:.1f} cm (house rule)"
                ),
                hint="measure again; both in a straight line, the width where it is widest",
            )


_RESIDENT_CHECKS: tuple[Callable[[_Resident], Iterator[Problem]], ...] = (
    _species,
    _arrived_after_birth,
    _measured_after_birth,
    _arrived_after_set_up,
    _here_since,
    _departed,
    _quarantine,
    _size,
    _shell_width,
)
"""In the order of their messages."""


def feed(feed: Food, e: Enclosure, path: Path) -> Iterator[Problem]:
    """Yield the problems of the food."""
    if feed.meals_a_week is not None and 7 < feed.meals_a_week < 14:
        yield Problem(
            path=(*path, "feed", "meals_a_week"),
            message=f"found {feed.meals_a_week} meals a week",
            hint="write 1 to 7, or 14 for twice a day",
        )
    if feed.opened is not None and feed.pack is None:
        yield Problem(
            path=(*path, "feed", "opened"),
            involves=((*path, "feed", "pack"),),
            message="the day a pack was opened says nothing without what a full pack holds",
            hint='add pack = "500 g"',
        )
    heavy = sum((r.mass or 0.0) * r.count for r in e.resident)
    if feed.grams is not None and heavy and all(r.mass for r in e.resident) and feed.grams > 0.25 * heavy:
        yield Problem(
            path=(*path, "feed", "grams"),
            message=(
                f"{feed.grams:g} g a meal is a quarter or more of what the residents weigh together "
                f"({heavy:g} g)"
            ),
            hint="write grams of one meal as fed",
        )
