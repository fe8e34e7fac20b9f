"""Supplies: what is used up, and how much of it until the next look."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Figure
from scheduler.care.engine.job import Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.figures.feeding import conditioned_a_day
from scheduler.handbook import disinfectant
from scheduler.quantities import Span
from scheduler.sources import HOUSE, Source

EVERY = Span(28)


@job("supplies", where="always; also on the days to order food or conditioner")
def supplies(case: Case) -> Iterator[Job]:
    """Look at the shelf every four weeks."""

    def notes() -> Notes:
        days = EVERY.days
        steps = []
        if case.enclosure.resident:
            daily = case.value("ration")
            if daily is not None:
                need = daily * days
                steps.append(
                    f"Pellets: four weeks take about {case.grams(need)}; have eight weeks' worth, and "
                    "look at the date on the tub."
                )
            else:
                steps.append(
                    "Pellets: weigh a meal once, then the need can be reckoned; look at the date on the tub."
                )
            steps.append("Cuttlebone, greens, frozen food.")
        if case.chlorine_level:
            if case.change_l is not None and case.value("water_change_interval") is not None:
                need_mg = case.chlorine_level * conditioned_a_day(case) * days
                steps.append(
                    f"Conditioner: enough for {case.milligrams(need_mg)} of chlorine (as Cl2) in four "
                    "weeks; its label says how much "
                    f"that is (of plain sodium thiosulfate, as the pentahydrate, {_grams(case, need_mg)})."
                )
            else:
                steps.append("Conditioner: as much as the next four weeks of changes need, by its label.")
        steps.append("Tests: ammonia, nitrite, nitrate and pH; look at the dates.")
        if case.enclosure.filter:
            steps.append("Sponges, floss and a spare seal for the filter.")
        return Notes(
            steps=tuple(steps),
            reason="what runs out on a Sunday is missing on a Sunday.",
            sources=(Source("amounts follow from the description", "computed"), HOUSE),
            worked=case.known(
                "ration",
                "water_change_interval",
                "chlorine_to_neutralise",
                "food_order_on",
                "conditioner_order_on",
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="supplies",
        short="Supplies",
        cadence=Every(span=EVERY, anchor=case.anchor),
        window=7,
        minutes=10,
        notes=notes,
    )
    yield from _orders(case)


def _orders(case: Case) -> Iterator[Job]:
    """Yield the days to order what a pack in use says enough about: by its own consumption, not by the
    month."""
    feed, conditioner = case.enclosure.feed, case.enclosure.conditioner
    for variant, key, opened, thing in (
        ("food", "food_order_on", feed.opened, "the food"),
        ("conditioner", "conditioner_order_on", conditioner.opened, "the water conditioner"),
    ):
        found = case.known(key)
        if not found or opened is None:
            continue
        day = found[0].value
        assert isinstance(day, dt.date)

        def notes(thing: str = thing, figure: Figure = found[0]) -> Notes:
            return Notes(
                steps=(
                    f"Order {thing}: the pack in use ends in about {Span(case.house.supplies_ahead_days)}.",
                    (
                        "Look at the date on what you have; write the day on which you open the new one "
                        "into the description, as `opened`."
                    ),
                ),
                reason="what runs out on a Sunday is missing on a Sunday.",
                sources=(figure.source, case.house.source("supplies_ahead")),
                worked=(figure,),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            fixed=True,
            title=f"order {thing}",
            short=f"Order {variant}",
            cadence=On(days=(day,)),
            window=3,
            minutes=10,
            notes=notes,
        )


def _grams(case: Case, chlorine_mg: float) -> str:
    """Return the range of thiosulfate for so much chlorine: the ratio of the field, and that of the worst
    case."""
    usual, most = disinfectant.thiosulfate_mg(chlorine_mg)
    return f"{case.grams(usual / 1000)}, at most {case.grams(most / 1000)}"
