"""Before and at set-up, until the biofilter works, and the first two weeks of a new animal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care import cautions, contacts, lamp_hours, lamps, switching
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import ByRule, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.description.fields import Part
from scheduler.description.site import Resident
from scheduler.handbook import disinfectant, volume
from scheduler.handbook.ultraviolet import FIRE
from scheduler.rules import Rule
from scheduler.sources import COMMON_PRACTICE, HOUSE, Source

WATCH_DAYS = 14
"""Basking is to be seen by day 14 after arrival. Common practice, no published source."""

LEAK_TEST_HOURS = 2
"""The filled enclosure stands for so long, and is looked at again the next morning, before anything is
plugged in or trusted. House value.
"""


LEAK_TEST = Source(f"leak test of {LEAK_TEST_HOURS} hours, and a look the next morning", "house value")


def _day(day: dt.date, days: int) -> dt.date:
    return day + dt.timedelta(days=days)


@job("treat-driftwood", where="where `set_up` is given, and `driftwood` is not false")
def treat_driftwood(case: Case) -> Iterator[Job]:
    """Boil driftwood on the day before set-up, unless the description says that there is none."""
    e = case.enclosure
    if e.set_up is None or e.driftwood is False:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                "Only if driftwood goes in: brush it under running water, no soap.",
                (
                    "Boil it for an hour in a pot that is kept for this; turn it over halfway if it does "
                    "not fit."
                ),
                "Come back when it has cooled in the pot, and soak it in cold water until set-up.",
            ),
            cautions=(cautions.HOT_WATER,),
            reason="boiling kills what lives in the wood, and it sinks and stains less afterwards.",
            sources=(COMMON_PRACTICE,),
        )

    yield Job(
        enclosure=e,
        title="treat driftwood",
        short="Boil driftwood",
        cadence=On(days=(_day(e.set_up, -1),)),
        window=7,
        minutes=90,
        skills=("adult",),
        notes=notes,
    )


@job("fit-out", where="where `set_up` is given")
def fit_out(case: Case) -> Iterator[Job]:
    """Fit the enclosure out, in the order that keeps water, electricity and animals apart."""
    if case.enclosure.set_up is None:
        return
    yield Job(
        enclosure=case.enclosure,
        title="fit out",
        short="Fit out",
        cadence=On(days=(case.enclosure.set_up,)),
        # Without the hours of the leak test, in which nobody has to stay.
        minutes=240,
        skills=("adult", "electrics", "lifting"),
        # A tank is carried to its stand by two, whatever it weighs: common practice, no published source.
        needs_two=True,
        notes=lambda: _fit_out_notes(case),
    )


def _fit_out_notes(case: Case) -> Notes:
    e = case.enclosure
    late = (
        " Nothing electric is plugged in before the leak test is passed."
        if switching.is_electric(case)
        else ""
    )
    steps = [
        "Set the stand so that it carries the whole footprint. Lay a spirit level on it along and across, "
        "and shim its feet "
        f"until the bubble stands in the middle both ways.{late}"
    ]
    if e.substrate is not None and e.substrate.kind != "bare":
        bed = (
            f" {case.litres(case.floor[0] * case.floor[1] * case.substrate_cm / 1000)} of"
            if case.floor and case.substrate_cm
            else ""
        )
        deep = f" {case.cm(case.substrate_cm)} deep" if case.substrate_cm else ""
        steps.append(
            f"Rinse{bed} {e.substrate.kind} until the water runs clear. Lay the bed{deep} before any "
            "water goes in. No additives."
        )
        if e.substrate.kind == "river stones":
            steps.append("Every stone is larger than the turtle's head, so that none can be swallowed.")
    parts = [*(["filter"] if e.filter else []), *(["heater"] if e.heater else [])]
    steps.append(
        f"Set in {join((*parts, 'thermometer', 'basking place'))}; the place carries the animals and "
        "stays dry."
    )
    if case.chlorine_level:
        whole = f", {case.litres(case.water_l)}" if case.water_l is not None else ""
        amount = (
            (
                ": it has to neutralise "
                f"{case.milligrams(disinfectant.chlorine_mg(case.water_l, case.chlorine_level))} (as Cl2)"
            )
            if case.water_l is not None
            else ""
        )
        steps.append(
            f"Put conditioner for the whole enclosure{whole}, in before the water runs, by its label{amount}."
        )
    fill = (
        f"Fill {case.litres(case.water_l)} of tap water"
        if case.water_l is not None
        else "Fill in tap water (measure the litres: they are needed later)"
    )
    to = f", up to {case.cm(e.water_depth)} over the floor" if e.water_depth else ""
    steps.append(
        f"{fill}{to}. At a hand's height stop and look: the water stands as high at every corner, or "
        "drain it and shim the stand again."
    )
    steps.append(
        "Leak test: dry the outside, lay dry paper along the seams, under the edge of the enclosure and "
        "under each hose, and come "
        f"back after {LEAK_TEST_HOURS} hours. Paper wet anywhere: drain it, and mend or change what leaks."
    )
    steps.append("Cover every opening: a turtle climbs out of a full tank.")
    by_sheets = case.species_notes("air", "cover", "basking")
    steps += [f"{species}: {note.words}" for species, note in by_sheets]
    if e.lamp:
        steps.append(
            "Hang the lamps in ceramic sockets with guards, at their distance from the basking place, "
            "and not by a clamp alone."
        )
    canister = e.filter is not None and e.filter.kind == "canister"
    purged = "Purge the filter of air. " if canister else ""
    steps += switching.plug_in_again(
        case, lead=f"{purged}Plug in with dry hands, cords in drip loops, and see"
    )
    steps.append("Look again the next morning: floor, stand and paper are dry, and all of it still runs.")
    return Notes(
        steps=tuple(steps),
        cautions=(
            *switching.hands_in_water(case),
            cautions.lift(case.house.pail_l, case.formats),
            cautions.SINK,
            cautions.HANDS,
        ),
        reason="the order keeps hands, water and current apart, and nothing has to come out again.",
        sources=(
            COMMON_PRACTICE,
            LEAK_TEST,
            *([volume.GEOMETRY] if case.water_l is not None else []),
            *(note.cited for _, note in by_sheets),
        ),
    )


@job("pre-arrival-check", where="for each day `arrived`")
def pre_arrival_check(case: Case) -> Iterator[Job]:
    """Check temperatures, ultraviolet and cover on the day before an animal comes."""
    for day, everybody in case.arrivals.items():
        # Who came from another enclosure was checked for there.
        residents = [r for r in everybody if r.here_since is None]
        if not residents:
            continue
        yield Job(
            enclosure=case.enclosure,
            variant=day.isoformat(),
            title=f"before {_names(residents)} comes"
            if len(residents) == 1
            else f"before {_names(residents)} come",
            short="Get ready",
            cadence=On(days=(_day(day, -1),)),
            minutes=20,
            # Test kits, a UV meter, and hands under lamps.
            skills=("adult",),
            notes=lambda: _pre_arrival_notes(case),
        )


def _names(residents: list[Resident]) -> str:
    return join(tuple(r.name for r in residents))


def _pre_arrival_notes(case: Case) -> Notes:
    water = (
        f"The water should be {case.band(case.water_band)}"
        if case.water_band
        else "Look up the species' water temperature"
    )
    basking = (
        f"the basking surface {case.band(case.basking_band)}"
        if case.basking_band
        else "and its basking temperature"
    )
    by_sheets = case.species_notes("law", "air", "cover", "basking")
    return Notes(
        steps=(
            f"Measure both temperatures with a second thermometer. {water}, {basking}.",
            *(
                ("Measure the UVI at the basking place, and that it falls to nothing in the shade.",)
                if any(lamp.gives_uv for lamp in case.enclosure.lamp)
                else ()
            ),
            "Test ammonia and nitrite: neither should be found.",
            f"Have a scale, a tub and the vet's number{contacts.in_brackets(case, 'vet')} ready.",
            *(f"{species}: {note.words}" for species, note in by_sheets),
            *switching.unplug(case),
            "Try the ramp, the cover and every opening with your hand.",
            *switching.plug_in_again(case),
        ),
        cautions=(
            *((cautions.LAMP_ON,) if any(lamp.gives_uv for lamp in case.enclosure.lamp) else ()),
            *switching.hands_in_water(case),
            cautions.HANDS,
            cautions.LAW,
        ),
        reason="what is wrong now is mended in minutes; with a frightened animal in the tank it is not.",
        sources=(
            COMMON_PRACTICE,
            *dict.fromkeys(
                s.basking.cited for r in case.enclosure.resident if (s := case.sheet(r)) is not None
            ),
            *(note.cited for _, note in by_sheets),
        ),
    )


@job("basking-watch", where="for each day `arrived`, but of species that rarely bask", routine=True)
def basking_watch(case: Case) -> Iterator[Job]:
    """Watch daily for basking on days 1 to 14 after arrival, once the lamps are warm."""
    for day, residents in _basking(case).items():
        # It goes on where an animal moves to meanwhile.
        start = min(max(_day(day, 1), r.here_since or day) for r in residents)

        def notes(names: str = _names(residents)) -> Notes:
            return Notes(
                steps=(
                    f"Watch the basking place from a distance for ten minutes. Looked for: {names}.",
                    "Write down who was seen on it and who was not, with the temperature of the surface.",
                    "Leave it quiet otherwise. Offer food from day 2 or 3.",
                ),
                cautions=(cautions.HANDS, cautions.VET),
                reason="a new animal hides at first; by day 14 it should have been seen basking.",
                sources=(COMMON_PRACTICE,),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=day.isoformat(),
            title=f"basking watch, {_names(residents)}",
            short="Watch basking",
            cadence=ByRule(rule=Rule(freq="DAILY"), start=start, until=_day(day, WATCH_DAYS)),
            minutes=10,
            part=_lit_part(case),
            notes=notes,
        )


def _basking(case: Case) -> dict[dt.date, list[Resident]]:
    """Return the arrivals of animals that are to be seen basking: not of those whose species rarely does, nor
    of those that came from another enclosure once it was over."""
    found = {
        day: [
            r
            for r in some
            if not case.basks_rarely(r) and (r.here_since is None or r.here_since <= _day(day, WATCH_DAYS))
        ]
        for day, some in case.arrivals.items()
    }
    return {day: some for day, some in found.items() if some}


def _lit_part(case: Case) -> Part:
    """Return the part of the day in which the basking place is warm."""
    return lamp_hours.part_with(case, lamp_hours.warm_lamps(case), case.house.warm_up) or "morning"


@job("basking-review", where="for each day `arrived`, but of species that rarely bask")
def basking_review(case: Case) -> Iterator[Job]:
    """Decide on day 14 what to change if no basking was seen."""
    for day, residents in _basking(case).items():

        def notes(names: str = _names(residents)) -> Notes:
            warm = f" to {case.band(case.basking_band)}" if case.basking_band else ""
            return Notes(
                steps=(
                    (
                        f"Seen basking in these two weeks: {names}? Then all is well: change nothing, and "
                        "stop here."
                    ),
                    *switching.unplug(case),
                    "Change one thing, the first of these three that is not right:",
                    "The ramp: rough, gentle, reaching well under water.",
                    (
                        "The heat: lower or stronger lamp, moved unplugged and cold, until the surface "
                        f"comes{warm or ' to the warmth the species needs'}. {lamps.not_nearer(case)}"
                    ),
                    "The place: quieter, less in view, larger.",
                    *switching.plug_in_again(case),
                    (
                        "Watch for three days, then change the next in the same way. Still nothing, or not "
                        f"eating for 7 days (a hatchling 3): call {contacts.whom(case, 'vet')}."
                    ),
                ),
                cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET),
                reason="an animal that does not bask gets no warmth to digest and no ultraviolet to build bone.",  # noqa: E501
                sources=(
                    COMMON_PRACTICE,
                    Source("days without food before the vet is called", "house value"),
                    FIRE,
                    HOUSE,
                ),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=day.isoformat(),
            title=f"basking review, {_names(residents)}",
            short="Basking review",
            cadence=On(days=(_day(day, WATCH_DAYS),)),
            window=1,
            minutes=20,
            part=_lit_part(case),
            # It moves lamps.
            skills=("adult",),
            notes=notes,
        )
