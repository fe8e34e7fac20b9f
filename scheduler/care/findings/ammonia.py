"""Animals where nothing turns ammonia into nitrate: what is done every day, whether it is enough, and what
ends it."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import contacts
from scheduler.care.change_interval import largest_share, rhythm
from scheduler.care.engine.case import Case
from scheduler.care.figures.interval import ammonia_room
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.nitrifying import nitrifies
from scheduler.handbook.nitrogen import AMMONIA_BALANCE
from scheduler.sources import Source

START_UP = Source("two clean tests a day or more apart end the start-up", "house value")


@rule
def no_filter_works(case: Case) -> Iterator[Finding]:
    """Say what animals without a working filter need, and whether changes of water hold the ammonia down."""
    e, today = case.enclosure, case.today
    here = [r for r in e.resident if r.here_from is None or (today is not None and r.here_from <= today)]
    if nitrifies(case):
        if e.cycled is False and here:
            yield Finding(
                "cycle-test",
                "act",
                (
                    "Test ammonia and nitrite daily, and change water when they show: the biofilter does "
                    "not work yet, and animals are in."
                ),
                START_UP,
                gist="animals are in, and the filter does not work yet; test and change daily",
            )
        return
    if not e.resident:
        return
    filtered = "the filter does not work yet" if e.filter is not None else "there is no filter"
    ends = (
        "Media from a filter that has long worked, of a healthy tank, end it soonest."
        if e.filter is not None
        else "A filter, with media from one that has long worked in a healthy tank, ends it."
    )
    if not here and today is not None:
        yield Finding(
            "cycle-test",
            "act",
            f"Let the animals come only once two tests have passed: {filtered}. {ends}",
            START_UP,
            gist="let animals come only once two tests have passed",
        )
        return
    peak, limit = case.value("ammonia_peak"), case.value("ammonia_limit")
    if peak is None or limit is None:
        yield Finding(
            "ammonia_peak",
            "act",
            (
                f"Test ammonia and nitrite daily, and change water when they show: {filtered}, and animals "
                f"are in. {ends}"
            ),
            START_UP,
            gist="animals are in, and nothing nitrifies; test daily",
        )
        return
    every = case.number("water_change_interval")
    do = (
        f"Change {case.change_share * 100:.0f} % of the water {rhythm(case, every)}, and test ammonia and "
        "nitrite daily"
    )
    why = (
        f"{filtered}, and the food adds {case.numeral(case.number('ammonia_rise'), '.2g')} mg/L of ammonia "
        "a day"
    )
    said = (
        f"{do}: {why}. Before a change it stands at {case.numeral(peak, '.2g')} mg/L; it is acted on from "
        f"{case.numeral(limit, '.2g')} on."
    )
    if peak < limit:
        yield Finding(
            "ammonia_peak",
            "act",
            f"{said} {ends}",
            AMMONIA_BALANCE,
            gist="animals are in, and nothing nitrifies; change water as often as it says",
        )
        return
    yield Finding(
        "ammonia_peak",
        "act",
        f"{said} That is not held. {_enough(case, every)}{ends}",
        AMMONIA_BALANCE,
        gist="animals are in, nothing nitrifies, and changes do not hold the ammonia",
    )


def _enough(case: Case, every: float) -> str:
    """Say how much more water, or how much less food, would be enough."""
    room = ammonia_room(case)
    if room <= 0.0:
        return (
            "New water alone brings as much, by its chloramine: use a conditioner that binds ammonia, by "
            "its label, in all new water. "
        )
    part = largest_share(case) * room / (case.number("ammonia_rise") * every)
    return (
        f"It would take {case.litres(case.number('net_volume') / part)} of water, or "
        f"{case.numeral(case.number('ration') * part, '.2g')} g of food a day "
        f"until the filter works; ask {contacts.whom(case, 'vet')} how little food the animals stand. "
    )
