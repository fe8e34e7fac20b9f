"""What starts a filter where no animal lives yet: the ammonia that takes the place of theirs."""

from __future__ import annotations

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.watch.cycling import starts_on_doses
from scheduler.handbook import ammonia, nitrogen


@figure("ammonia_dose", "g", "ammonium chloride for one dose", extra=True)
def ammonia_dose(case: Case) -> Made:
    """Compute the ammonium chloride that brings the water of a new tank to the dose its filter is started
    on."""
    if not starts_on_doses(case):
        raise NotKnown(why="a filter is started on doses only where no animal is there yet", applies=False)
    net, target = case.number("net_volume"), case.house.ammonia_dose
    grams = ammonia.ammonium_chloride_mg(net, target) / 1000.0
    return Made(
        grams,
        ammonia.CHLORIDE,
        lambda: (
            f"{case.numeral(net, '.1f')} L x {case.numeral(target)} mg/L (as N) x "
            f"{case.numeral(ammonia.NH4CL)} / {case.numeral(nitrogen.MOLAR_N, '')} = "
            f"{case.numeral(grams * 1000, '.0f')} mg"
        ),
    )
