"""Volumes, masses, and the load on the floor."""

from __future__ import annotations

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.handbook import volume
from scheduler.sources import Source

PANE_MM = 10.0
"""Thickness that the mass of a tank is reckoned with where it is not given: on the thick side.

House value.
"""


ESTIMATED_TANK = Source(
    (
        "water, substrate and animals, and a glass tank of 10 mm panes (house value); the stand is not "
        "counted: write empty_mass"
    ),
    "house value",
)
TANK_OF_GLASS = Source(
    (
        "water, substrate and animals, and a tank of glass of your thickness; the stand is not counted: "
        "write empty_mass"
    ),
    "computed",
)
WITHOUT_TUB = Source(
    "water, substrate and animals alone; the tub and what it stands on are not counted: write empty_mass",
    "computed",
)


@figure("gross_volume", "L")
def gross_volume(case: Case) -> Made:
    """Compute the volume up to the water line, with what lies in it."""
    e = case.enclosure
    length, width, depth = case.need(length=e.length, width=e.width, water_depth=e.water_depth)
    litres = volume.gross_litres(length, width, depth)
    return Made(
        litres,
        volume.GEOMETRY,
        lambda: f"{case.cm(length)} x {case.cm(width)} x {case.cm(depth)} of water = {case.litres(litres)}",
    )


@figure("net_volume", "L")
def net_volume(case: Case) -> Made:
    """Compute the water: without the solids of the substrate, and without animals of known mass (about 1 kg a
    litre)."""
    gross = case.number("gross_volume")
    e = case.enclosure
    if e.substrate is not None and e.substrate.kind != "bare" and e.substrate.depth is None:
        raise NotKnown("substrate.depth")
    length, width, depth = case.need(length=e.length, width=e.width, water_depth=e.water_depth)
    solid = volume.solid_litres(length, width, case.substrate_cm)
    animals = sum(r.mass * r.count for r in e.resident if r.mass is not None) / 1000.0
    litres = volume.net_litres(length, width, depth, case.substrate_cm) - animals
    if litres <= 0:
        raise NotKnown(why="substrate and animals would take up all the water: measure again")

    def how() -> str:
        text = case.litres(gross)
        if solid:
            text += (
                f", less {case.litres(solid)} of solids ({case.cm(case.substrate_cm)} of substrate, "
                f"porosity {case.numeral(volume.SUBSTRATE_POROSITY)})"
            )
        if animals >= 0.2:
            text += f", less {case.litres(animals)} for the animals' bodies"
        return f"{text} = {case.litres(litres)} of water" if solid or animals else f"{text}, nothing in it"

    return Made(litres, volume.POROSITY if solid else volume.GEOMETRY, how)


@figure("filled_mass", "kg")
def filled_mass(case: Case) -> Made:
    """Compute what the filled enclosure weighs."""
    e = case.enclosure
    if e.kind == "pond" and e.outdoors:
        raise NotKnown(why="a pond rests on the ground", applies=False)
    net = case.number("net_volume")
    length, width = case.need(length=e.length, width=e.width)
    water = net * volume.water_density(25.0 if case.set_to_c is None else case.set_to_c)
    bed = volume.substrate_kg(length, width, case.substrate_cm)
    animals = sum(r.mass * r.count for r in e.resident if r.mass is not None) / 1000.0
    source = volume.DENSITY
    if e.empty_mass is not None:
        empty, said = e.empty_mass / 1000.0, "empty, with its stand (your entry)"
    elif e.kind == "tank":
        (height,) = case.need(height=e.height)
        pane = PANE_MM if e.pane is None else e.pane * 10.0
        empty, said = (
            volume.glass_kg(length, width, height, pane),
            f"for the glass (panes of {case.numeral(pane)} mm), no stand",
        )
        source = ESTIMATED_TANK if e.pane is None else TANK_OF_GLASS
    else:
        empty, said, source = 0.0, f"for the {e.kind}: its mass is not in the description", WITHOUT_TUB
    total = water + bed + animals + empty

    def how() -> str:
        parts = [f"{case.kilograms(water)} of water", f"{case.kilograms(empty)} {said}"]
        parts += [f"{case.kilograms(bed)} of substrate"] if bed else []
        parts += [f"{case.kilograms(animals)} of animals"] if animals else []
        return " + ".join(parts) + f" = {case.kilograms(total)}"

    return Made(total, source, how)


@figure("floor_load", "kPa")
def floor_load(case: Case) -> Made:
    """Compute the load on the floor under the footprint."""
    mass = case.number("filled_mass")
    e = case.enclosure
    length, width = case.need(length=e.length, width=e.width)
    load = volume.floor_kpa(mass, length, width)
    return Made(
        load,
        volume.FLOOR_LOAD,
        lambda: (
            f"{case.kilograms(mass)} x {case.numeral(9.81)} m/s2 on "
            f"{case.numeral(length * width / 1e4, '.2f')} m2 = {case.numeral(load, '.2f')} kPa"
        ),
    )
