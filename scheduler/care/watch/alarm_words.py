"""What is said of ammonia that a change of water does not take out: bind it, and look at the tap."""

from __future__ import annotations

import datetime as dt

from scheduler.care.engine.case import Case
from scheduler.care.limits import (
    ACID_PH,
    ACID_SHARE,
)
from scheduler.handbook import disinfectant
from scheduler.history import Entry

BIND_FIRST = (
    "Bind the ammonia in the tank first, with a conditioner that binds ammonia, by its label: "
    f"under pH {ACID_PH:g} little of it harms, but new water lifts the pH, and that part with it."
)
A_FIFTH = f"Then change {ACID_SHARE * 100:.0f} % a day, with a test of pH and ammonia before each."
OTHER_WATER = (
    "Take other water for changes (rain, reverse osmosis): the tap brings as much nitrate as the limit."
)


def words_to_bind(case: Case, new: float) -> str:
    """Say with what ammonia is bound where new water has more of it than a change takes out.

    `new` is what new water has, in mg/L as N.
    """
    assumed = (
        ""
        if case.site.settings.tap_water.disinfectant_level is not None
        else ", at the level that is assumed,"
    )
    return (
        "Bind the ammonia in the tank with a conditioner that binds ammonia, by its label, and so in all "
        "new water; or take water "
        f"without chloramine. Changing water does not help: the chloramine of the tap{assumed} leaves "
        f"{little_in_words(case, new)} mg/L of "
        "ammonia in new water. See that the filter runs; it takes the rest out. Some kits go on showing "
        "what is bound: ask for one "
        "that tells free ammonia."
    )


def words_on_the_tap(case: Case, since: dt.date, reading: Entry) -> str:
    """Return what to look into where changes have not ended an alarm and nobody knows what the tap carries;
    "" otherwise."""
    made = [e for e in case.done("water-change") if e.day >= since and not follows(e, reading)]
    if not made or case.site.settings.tap_water.disinfectant != "unknown":
        return ""
    most = disinfectant.freed_ammonia_mg_l(case.chlorine_level)
    return (
        "Test new water for ammonia too, once it is treated: it is high after a change. If the tap carries "
        "chloramine that is up to "
        f"{little_in_words(case, most)} mg/L: then a conditioner that binds ammonia, by its label, helps, "
        "and a change does not."
    )


def follows(change: Entry, reading: Entry) -> bool:
    """Tell whether a change was made after a reading: by the hour where both have one, else in the order of
    recording."""
    if change.day != reading.day:
        return change.day > reading.day
    if change.time is not None and reading.time is not None and change.time != reading.time:
        return change.time > reading.time
    return change.number > reading.number


def little_in_words(case: Case, mg_l: float) -> str:
    """Return an amount in mg/L to two figures, as plain digits: the limits for it are a few hundredths."""
    return (
        f"under {case.numeral(0.001)}"
        if mg_l < 0.001
        else f"{case.numeral(mg_l, '.2g')}"
        if mg_l < 10
        else f"{mg_l:.0f}"
    )
