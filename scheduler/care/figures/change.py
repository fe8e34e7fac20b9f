"""The water change: litres, hot and cold, what is to be neutralised, and what may be lifted."""

from __future__ import annotations

from scheduler.care.change_interval import changing
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.figures.heat import water_c
from scheduler.handbook import ammonia, disinfectant, lifting, volume


@figure("water_change_volume", "L")
def water_change_volume(case: Case) -> Made:
    """Compute the litres of one change."""
    changing(case)
    net = case.number("net_volume")
    litres = net * case.change_share
    status = case.change_source.status
    whose = {"keeper's value": "your share", "computed": "what keeps the limit"}.get(
        status, "customary share"
    )
    return Made(
        litres,
        case.change_source,
        lambda: f"{case.litres(net)} x {case.change_share * 100:.0f} % ({whose}) = {case.litres(litres)}",
    )


def fills_by_hose(case: Case) -> bool:
    """Tell whether the new water runs in by hose: where there is much of it, and the taps can give its
    warmth."""
    if case.change_l is None or case.change_l <= case.house.hose_from_l:
        return False
    return not taps_cannot_warm(case)


def taps_cannot_warm(case: Case) -> bool:
    """Tell whether no mixture of cold and hot tap water is as warm as the tank."""
    tap = case.site.settings.tap_water
    known = case.set_to_c is not None and tap.cold is not None and tap.hot is not None
    return known and case.change_l is not None and case.hot_l is None


def conditioned_l(case: Case) -> float:
    """Return the L that the conditioner of one change is dosed for: the whole tank where a hose fills it,
    else the new water.

    NotKnown without a change.
    """
    change = case.number("water_change_volume")
    return case.number("net_volume") if fills_by_hose(case) else change


@figure("line_after_change", "cm", "water line to stop at", extra=True)
def line_after_change(case: Case) -> Made:
    """Compute the height of the water over the floor once the litres of a change have gone."""
    change = case.number("water_change_volume")
    e = case.enclosure
    length, width, depth = case.need(length=e.length, width=e.width, water_depth=e.water_depth)
    line = volume.line_after_draining_cm(length, width, depth, case.substrate_cm, change)
    return Made(
        line,
        volume.GEOMETRY,
        lambda: (
            f"{case.litres(change)} on {case.cm(length)} x {case.cm(width)} lower the line by "
            f"{case.cm(depth - line)}, to {case.cm(line)} over the floor"
        ),
    )


@figure("hot_water_volume", "L")
def hot_water_volume(case: Case) -> Made:
    """Compute the litres of hot tap water that bring the new water to the tank's temperature."""
    change = case.number("water_change_volume")
    tap = case.site.settings.tap_water
    target = water_c(case)
    cold, hot = case.need(site__tap_water__cold=tap.cold, site__tap_water__hot=tap.hot)
    if not cold <= target <= hot:
        raise NotKnown(
            why=(
                f"the taps give {case.degrees(cold)} to {case.degrees(hot)}, {case.degrees(target)} cannot "
                "be mixed from them"
            )
        )
    share = volume.hot_share(target, cold, hot)
    return Made(
        change * share,
        volume.MIXING,
        lambda: (
            f"({case.degrees(target)} - {case.degrees(cold)}) / ({case.degrees(hot)} - "
            f"{case.degrees(cold)}) = {case.numeral(share, '.3f')} of {case.litres(change)} = "
            f"{case.litres(change * share)} hot, the rest cold"
        ),
    )


@figure("chlorine_to_neutralise", "mg")
def chlorine_to_neutralise(case: Case) -> Made:
    """Compute the chlorine or chloramine in the new water of one change, as Cl2."""
    if not case.chlorine_level:
        raise NotKnown(why="the tap water carries no disinfectant", applies=False)
    change = case.number("water_change_volume")
    level = case.chlorine_level
    mg = disinfectant.chlorine_mg(change, level)
    return Made(
        mg,
        case.chlorine_source,
        lambda: f"{case.numeral(change, '.1f')} L x {case.numeral(level)} mg/L (as Cl2) = {mg:.0f} mg",
    )


@figure("freed_ammonia", "mg/L")
def freed_ammonia(case: Case) -> Made:
    """Compute the ammonia nitrogen in the new water once its chloramine is neutralised."""
    changing(case)
    if not case.chlorine_level or not case.frees_ammonia:
        raise NotKnown(why="the tap water carries no chloramine", applies=False)
    level = case.chlorine_level
    freed = disinfectant.freed_ammonia_mg_l(level)
    return Made(
        freed,
        case.chlorine_source,
        lambda: (
            f"{case.numeral(level)} mg/L of chloramine x {case.numeral(disinfectant.MOLAR_N, '')} / "
            f"{case.numeral(disinfectant.MOLAR_CL2, '')} = {case.numeral(freed, '.2f')} mg/L of nitrogen"
        ),
    )


@figure("unionised_ammonia", "mg/L", "un-ionised ammonia after a change", extra=True)
def unionised_ammonia(case: Case) -> Made:
    """Compute the poisonous part, as nitrogen, of the ammonia that one change frees in the whole tank."""
    freed = case.number("freed_ammonia") * case.change_share
    celsius = water_c(case)
    (ph,) = case.need(site__tap_water__ph=case.site.settings.tap_water.ph)
    share = ammonia.unionised_share(ph, celsius)
    return Made(
        freed * share,
        ammonia.EMERSON,
        lambda: (
            f"{case.numeral(freed, '.3f')} mg/L in the tank after the change x "
            f"{case.numeral(share * 100, '.2g')} % un-ionised at pH {case.numeral(ph)} and "
            f"{case.degrees(celsius)} = {case.numeral(freed * share, '.4f')} mg/L"
        ),
    )


@figure("pail_mass", "kg", "one full pail")
def pail_mass(case: Case) -> Made:
    """Compute what one pail of the change weighs when it is carried by hand in equal pails."""
    change = case.number("water_change_volume")
    count = volume.pails(change, case.house.pail_l)
    each = change / count
    mass = lifting.full_pail_kg(each, 25.0)
    return Made(
        mass,
        case.house.source("pail"),
        lambda: (
            f"{case.litres(change)} in {count} pail{'s' if count > 1 else ''} of {case.litres(each)} = "
            f"{case.kilograms(mass)} each, with the pail itself"
        ),
    )


@figure("lifting_limit", "kg", "limit for one lift")
def lifting_limit(case: Case) -> Made:
    """Compute the recommended limit for a pail that is lifted from the floor in one hand."""
    reference = case.house.reference_kg
    limit = lifting.pail_limit_kg(reference)
    lift = lifting.PAIL_LIFT
    return Made(
        limit,
        lifting.ISO,
        lambda: (
            f"ISO 11228-1: reference mass {case.kilograms(reference)}, the hand {case.cm(lift.hand_cm)} out "
            f"and {case.cm(lift.height_cm)} up, "
            f"lifted {case.cm(lift.travel_cm)}, one pail every two minutes (house values), one hand x "
            f"{case.numeral(lifting.ONE_HAND)} = {case.kilograms(limit)}"
        ),
    )
