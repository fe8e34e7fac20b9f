"""pH and alkalinity that were read: too acid, too alkaline, or changed too fast, and what holds the pH up."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import contacts
from scheduler.care.engine.case import Case
from scheduler.care.findings.water import LEAST_ALKALINITY
from scheduler.care.limits import ACID_SHARE, LEAST_SHARE
from scheduler.care.watch.alarms import alarms
from scheduler.care.watch.registry import Consequence, watch
from scheduler.handbook import ammonia
from scheduler.history import Entry
from scheduler.sources import Source

NEAR_DAYS = 30
"""Days within which a change from one pH to the next is a change of the water. House value."""

ALKALINITY = Source("at least 50 mg/L of alkalinity (as CaCO3), and 20 at the very least", "house value")
ALKALINITY_ACT = 20.0
"""mg/L as CaCO3 from which down alkalinity is acted on. House value."""

AGAIN = "Measure again now, with a fresh sample and another kit where there is one."


@watch
def ph(case: Case) -> Iterator[Consequence]:
    """Say what a pH out of its limits means, and one that changed fast."""
    readings = [e for e in case.readings("ph") if e.value is not None]
    if not readings or not case.enclosure.resident:
        return
    last, house = readings[-1], case.house
    value = last.value or 0.0
    read = f"The water had {case.reading('ph', value)} on {case.date(last.day)}."
    if value <= house.ph_low:
        yield _found(
            case, "ph_low", read, f"It is acted on from {case.numeral(house.ph_low)} down.", _acid(case)
        )
    elif value >= house.ph_high:
        yield _found(
            case,
            "ph_high",
            read,
            f"It is acted on from {case.numeral(house.ph_high)} up.",
            _alkaline(case, value),
        )
    elif (step := _step(case, readings)) is not None:
        before, by = step
        fell = value < (before.value or 0.0)
        yield _found(
            case,
            "ph_step",
            (
                f"{read[:-1]}, {case.numeral(by, '.2g')} {'lower' if fell else 'higher'} than on "
                f"{case.date(before.day)} ({case.reading('ph', before.value or 0.0)})."
            ),
            f"A change is acted on from {case.numeral(house.ph_step)} on.",
            _acid(case) if fell else _alkaline(case, value),
        )


def _step(case: Case, readings: list[Entry]) -> tuple[Entry, float] | None:
    """Return the reading before the last one, and by how much the pH changed since, where that is too much
    and not long ago."""
    if len(readings) < 2:
        return None
    before, last = readings[-2:]
    by = abs((last.value or 0.0) - (before.value or 0.0))
    near = (last.day - before.day).days <= NEAR_DAYS
    return (before, by) if near and by >= case.house.ph_step - 1e-9 else None


_GISTS = {
    "ph_low": "the water is too acid",
    "ph_high": "the water is too alkaline",
    "ph_step": "the pH jumped",
}


def _found(case: Case, name: str, reading: str, rule: str, plan: str) -> Consequence:
    return Consequence(
        key="water-test",
        judges="ph",
        verdict="act",
        reading=reading,
        rule=rule,
        source=case.house.source(name),
        plan=plan,
        gist=_GISTS[name],
    )


def _acid(case: Case) -> str:
    asked = {alarm.what for alarm in alarms(case).open if alarm.share}
    change = (
        (
            "Where there is any ammonia bind it first, with a conditioner that binds ammonia, by its "
            f"label; then make the change that {' and '.join(sorted(asked))} asks for"
        )
        if asked
        else (
            "So no large change at once: where there is any ammonia bind it first, with a conditioner that "
            f"binds ammonia, by its label, then change {ACID_SHARE * 100:.0f} % a day"
        )
    )
    return (
        f"{AGAIN} Test ammonia and alkalinity with it, and the pH of the tap. Acid water stops the bacteria "
        "of the filter, so that ammonia rises; new water lifts the "
        f"pH, and with it the part of the ammonia that harms. {change}, with a test of pH and ammonia "
        "before each. No powder or drops that lift the pH at once. "
        f"Call {contacts.whom(case, 'vet')} where an animal is listless, or skin or eyes are red."
    )


def _alkaline(case: Case, value: float) -> str:
    celsius = 25.0 if case.set_to_c is None else case.set_to_c
    try:
        share = (
            f" At this pH and {case.degrees(celsius)} "
            f"{case.numeral(ammonia.unionised_share(value, celsius) * 100, '.2g')} % of all ammonia is of "
            "the kind that harms."
        )
    except ValueError:
        share = ""
    asked = any(alarm.share for alarm in alarms(case).open)
    change = (
        "Make the extra change that is due"
        if asked
        else f"Where the tap's pH is lower, change {LEAST_SHARE * 100:.0f} % of the water today"
    )
    return (
        f"{AGAIN} Test ammonia with it, and the pH of the tap.{share} Look for what lifts the pH: "
        "limestone, shells, concrete, a new product, soap. Take it out; "
        f"no acid into the water. {change}, and measure again. Call {contacts.whom(case, 'vet')} where an "
        "animal is listless, or skin or eyes are red."
    )


@watch
def alkalinity(case: Case) -> Iterator[Consequence]:
    """Say where little is left of what holds the pH up."""
    readings = [e for e in case.readings("alkalinity") if e.value is not None]
    if not readings or (readings[-1].value or 0.0) > LEAST_ALKALINITY:
        return
    last = readings[-1]
    value = last.value or 0.0
    act = value <= ALKALINITY_ACT
    limit = ALKALINITY_ACT if act else LEAST_ALKALINITY
    brought = case.site.settings.tap_water.alkalinity
    tap = (
        f" New water brings {case.numeral(brought)}: smaller changes that come more often hold it up."
        if brought is not None and brought > limit
        else (
            " Measure that of the tap: where it is as low, ask a reptile vet or the utility what may be "
            "added."
        )
    )
    yield Consequence(
        key="alkalinity_used",
        judges="alkalinity",
        verdict="act" if act else "look",
        reading=f"Alkalinity was {case.reading('alkalinity', value)} (as CaCO3) on {case.date(last.day)}.",
        rule=f"From {case.numeral(limit)} down the pH may fall at any time, and the filter with it.",
        source=ALKALINITY,
        plan=f"Measure the pH today.{tap}",
        gist="alkalinity was read too low",
    )
