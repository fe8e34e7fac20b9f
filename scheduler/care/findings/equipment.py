"""Filter, cover, substrate, floor."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.nitrifying import nitrifies
from scheduler.handbook import filtration, volume
from scheduler.sources import COMMON_PRACTICE, Source

HEAD_SHARE = 0.25
"""A stone as long as a quarter of the carapace is taken to be larger than the head. House value."""

STONES = Source(
    (
        "stones larger than the turtle's head: common practice; the head taken as a quarter of the "
        "carapace: house value"
    ),
    "house value",
)
ENGINEER = Source("above 75 US gallons ask an engineer", "common practice")


@rule
def turnover(case: Case) -> Iterator[Finding]:
    """Hold the rated flow against custom; no standard asks for it."""
    times = case.number("filter_turnover")
    low, high = filtration.CUSTOM
    real = " to ".join(f"{case.numeral(times * share, '.1f')}" for share in filtration.REAL_FLOW)
    said = (
        f"The filter's rated flow turns the water over {case.numeral(times, '.1f')} times an hour; custom "
        f"is {case.numeral(low)} to {case.numeral(high)} times."
    )
    real_said = f" Really {real}, once media and hoses are in."
    if case.enclosure.outdoors:
        yield Finding(
            "filter_turnover",
            "fine",
            (
                f"The filter's rated flow turns the pond over {case.numeral(times, '.1f')} times an "
                f"hour.{real_said} The custom of {case.numeral(low)} to {case.numeral(high)} times is one "
                "of tanks: what counts is that ammonia and nitrite stay at nothing."
            ),
            filtration.CUSTOM_SOURCE,
        )
    elif times < filtration.ENGINEERING_LEAST:
        yield Finding(
            "filter_turnover",
            "act",
            f"{said}{real_said} Under once an hour is less than fish tanks get: take a stronger filter.",
            filtration.ENGINEERING,
            gist="the filter is weaker than fish tanks get",
        )
    elif times < low:
        need = low * case.number("net_volume")
        yield Finding(
            "filter_turnover",
            "look",
            (
                f"{said}{real_said} Custom would be {case.litres(need)} an hour or more; what counts is "
                "that ammonia and nitrite stay at nothing."
            ),
            filtration.CUSTOM_SOURCE,
            gist="the filter is weaker than custom",
        )
    elif times > high:
        yield Finding(
            "filter_turnover",
            "look",
            f"{said}{real_said} See that the animals find a place out of the current.",
            filtration.CUSTOM_SOURCE,
            gist="the filter is stronger than custom; see to a place out of the current",
        )
    else:
        yield Finding("filter_turnover", "fine", f"{said} Inside it.{real_said}", filtration.CUSTOM_SOURCE)


@rule
def media(case: Case) -> Iterator[Finding]:
    """Hold the media against the nitrogen, where the keeper knows its surface."""
    need = case.number("media_area")
    f = case.enclosure.filter
    has = f.media_area if f is not None else None
    if has is None:
        yield Finding(
            "media_area",
            "fine",
            (
                f"The food asks for {case.numeral(need, '.2g')} m2 of biological media; the maker says how "
                "much a litre of it has. With filter.media_area in the description the two are compared."
            ),
            filtration.NITRIFICATION,
        )
    elif has < need:
        yield Finding(
            "media_area",
            "act",
            (
                f"The food asks for {case.numeral(need, '.2g')} m2 of biological media, the filter has "
                f"{case.numeral(has, '.2g')} m2: add media, or feed less."
            ),
            filtration.NITRIFICATION,
            gist="too little filter media for the food",
        )
    else:
        yield Finding(
            "media_area",
            "fine",
            (
                f"The filter's {case.numeral(has, '.2g')} m2 of media are enough for the "
                f"{case.numeral(need, '.2g')} m2 that the food asks for."
            ),
            filtration.NITRIFICATION,
        )


@rule
def no_filter(case: Case) -> Iterator[Finding]:
    """Say that animals without a filter live on water changes alone."""
    # Where nothing nitrifies ammonia says it, with what to do.
    if case.enclosure.filter is None and case.enclosure.resident and nitrifies(case):
        yield Finding(
            "filter-check",
            "look",
            (
                "No filter is described: without one all ammonia stays until water is changed. Test daily, "
                "or write the [enclosure.filter] table."
            ),
            COMMON_PRACTICE,
            gist="no filter is described",
        )


@rule
def cover(case: Case) -> Iterator[Finding]:
    """Ask for a cover over a tank or a tub that animals live in."""
    e = case.enclosure
    if not e.resident:
        return
    if e.outdoors:
        if not e.covered:
            yield Finding(
                "daily-look",
                "look",
                (
                    "It is open, and outdoors: rats, foxes, crows and herons take turtles and eggs, and a "
                    "turtle climbs or digs its way out. A net or grid over the water, and a smooth fence "
                    "with its foot in the ground."
                ),
                COMMON_PRACTICE,
                gist="open and outdoors; predators get in, turtles out",
            )
        return
    if e.covered is None:
        yield Finding(
            "daily-look",
            "look",
            (
                "Whether it is covered is not in the description: write covered. Cover every opening, a "
                "turtle climbs out of a full tank."
            ),
            COMMON_PRACTICE,
            ("covered",),
            gist="whether it is covered is not in the description",
        )
    elif not e.covered and _is_full(case):
        assert e.height is not None and e.water_depth is not None
        text = (
            f"It is open and as good as full: the rim stands {case.cm(max(0.0, e.height - e.water_depth))} "
            "over the water, and a turtle climbs out of less than "
            f"{case.cm(_least_rim_cm(case))}. Cover every opening today, or lower the water; lamps stay "
            "outside the cover, mesh takes part of their ultraviolet."
        )
        yield Finding(
            "daily-look",
            "act",
            text,
            case.house.source("free_rim"),
            gist="open and as good as full; cover it today",
        )
    elif not e.covered:
        free = (
            f" The rim stands {case.cm(e.height - e.water_depth)} over the water."
            if e.height is not None and e.water_depth is not None
            else ""
        )
        yield Finding(
            "daily-look",
            "look",
            (
                f"It is open.{free} Cover every opening that an animal can reach, a turtle climbs out of a "
                "full tank; lamps stay outside the cover, mesh takes part of their ultraviolet."
            ),
            COMMON_PRACTICE,
            gist="open; cover what an animal can reach",
        )
    else:
        yield Finding("daily-look", "fine", "It is covered: see that no opening is left.", COMMON_PRACTICE)


def _least_rim_cm(case: Case) -> float:
    """Return the rim over the water that an open enclosure needs: the keeper's, else 5 cm or half the longest
    carapace."""
    longest = max((r.carapace for r in case.enclosure.resident if r.carapace is not None), default=0.0)
    least = case.house.free_rim_cm
    return least if case.house.own("free_rim") else max(least, longest / 2.0)


def _is_full(case: Case) -> bool:
    e = case.enclosure
    return (
        e.height is not None and e.water_depth is not None and e.height - e.water_depth < _least_rim_cm(case)
    )


@rule
def substrate(case: Case) -> Iterator[Finding]:
    """Hold the smallest stone against what can be swallowed."""
    s = case.enclosure.substrate
    sizes = [r.carapace for r in case.enclosure.resident if r.carapace is not None]
    if s is None or s.kind != "river stones" or not sizes:
        return
    head = HEAD_SHARE * max(sizes)
    if s.smallest_stone is None:
        text = (
            "Measure the smallest stone and write substrate.smallest_stone: it should be larger than the "
            f"largest head, about {case.cm(head)}."
        )
        yield Finding(
            "fit-out", "look", text, STONES, ("substrate.smallest_stone",), gist="measure the smallest stone"
        )
    elif s.smallest_stone < head:
        text = (
            f"The smallest stone ({case.cm(s.smallest_stone)}) may fit into a mouth: take out all under "
            f"{case.cm(head)}, or use fine plain sand."
        )
        yield Finding("fit-out", "act", text, STONES, gist="stones small enough to swallow")
    else:
        text = (
            f"The smallest stone ({case.cm(s.smallest_stone)}) is larger than the largest head, about "
            f"{case.cm(head)}."
        )
        yield Finding("fit-out", "fine", text, STONES)


@rule
def floor(case: Case) -> Iterator[Finding]:
    """Hold the load on the floor against what homes are designed for; only an engineer knows the floor."""
    load, mass = case.number("floor_load"), case.kilograms(case.number("filled_mass"))
    said = (
        f"Filled it weighs {mass}, {case.numeral(load, '.1f')} kPa ({load * 20.885:.0f} psf) on its "
        f"footprint; homes are designed for {case.numeral(volume.LIVE_LOAD_US_KPA)} kPa (40 psf) in the US, "
        f"{case.numeral(volume.LIVE_LOAD_EU_KPA[0])} to {case.numeral(volume.LIVE_LOAD_EU_KPA[1])} in "
        "Europe."
    )
    if load <= volume.LIVE_LOAD_EU_KPA[0]:
        yield Finding("floor_load", "fine", said, volume.FLOOR_LOAD)
    elif case.number("gross_volume") > volume.ASK_ENGINEER_L:
        yield Finding(
            "floor_load",
            "look",
            f"{said} On anything but a slab on the ground ask a structural engineer before it is filled.",
            ENGINEER,
            gist="floor load; ask an engineer unless on a slab",
        )
    else:
        yield Finding(
            "floor_load",
            "look",
            (
                f"{said} That is over it on the spot, as any tank is: stand it near a wall, across the "
                "joists, on a stand that carries the whole footprint; in doubt ask a structural engineer."
            ),
            volume.FLOOR_LOAD,
            gist="floor load on the spot, as of any tank",
        )
