"""Supplies: what is used up, and how much of it until the next look."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import cautions
from scheduler.care.case import Case
from scheduler.care.feeding import diets
from scheduler.care.job import Every, Job, Notes
from scheduler.care.registry import job
from scheduler.handbook import disinfectant, feeding
from scheduler.quantities import Span, show_milligrams
from scheduler.sources import HOUSE, Source

EVERY = Span(28)


@job("supplies")
def supplies(case: Case) -> Iterator[Job]:
    """Look at the shelf every four weeks."""

    def notes() -> Notes:
        days = EVERY.days
        steps = []
        if case.enclosure.resident:
            grams = case.enclosure.feed.grams
            if grams is not None:
                need = feeding.grams_a_day(grams, diets(case)[0].meals) * days
                steps.append(
                    f"Pellets: four weeks take about {case.grams(need)}; have eight weeks' worth, and look at the date on the tub."
                )
            else:
                steps.append(
                    "Pellets: weigh a meal once, then the need can be reckoned; look at the date on the tub."
                )
            steps.append("Cuttlebone, greens, frozen food.")
        if case.chlorine_level:
            override = case.enclosure.job.get("water-change")
            off = override is not None and override.off
            every = override.every.most_days if override is not None and override.every is not None else 14
            if case.change_l is not None and not off:
                need_mg = disinfectant.chlorine_mg(case.change_l, case.chlorine_level) * days / every
                steps.append(
                    f"Conditioner: enough for {show_milligrams(need_mg)} of chlorine (as Cl2) in four weeks; its label says how much "
                    f"that is (of plain sodium thiosulfate, as the pentahydrate, {_grams(case, need_mg)})."
                )
            else:
                steps.append("Conditioner: as much as the next four weeks of changes need, by its label.")
        steps.append("Tests: ammonia, nitrite, nitrate and pH; look at the dates.")
        if case.enclosure.filter:
            steps.append("Sponges, floss and a spare seal for the filter.")
        return Notes(
            steps=tuple(steps),
            cautions=(cautions.SINK,),
            reason="what runs out on a Sunday is missing on a Sunday.",
            sources=(Source("amounts follow from the description", "computed"), HOUSE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="supplies",
        cadence=Every(span=EVERY, anchor=case.anchor),
        window=7,
        minutes=10,
        notes=notes,
    )


def _grams(case: Case, chlorine_mg: float) -> str:
    """Return the range of thiosulfate for so much chlorine: the ratio of the field, and that of the worst case."""
    usual, most = disinfectant.thiosulfate_mg(chlorine_mg)
    return f"{case.grams(usual / 1000)}, at most {case.grams(most / 1000)}"
