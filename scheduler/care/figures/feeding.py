"""What is used up, and when to order more."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Literal

from scheduler.care.engine.case import Case, join
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.figures.change import conditioned_l, fills_by_hose
from scheduler.description.site import Enclosure, Site
from scheduler.handbook import feeding
from scheduler.sources import Source

PACK = Source("what a pack holds over what is used, less the days to order ahead", "computed")


Table = Literal["feed", "conditioner"]


def _product(enclosure: Enclosure, table: Table) -> str | None:
    name = getattr(enclosure, table).name
    return None if name is None else str(name).casefold()


def sharing(site: Site, enclosures: Collection[str]) -> set[str]:
    """Return the ids of some enclosures and of all that share a product with them: what one takes moves the
    others' orders."""
    found = set(enclosures)
    tables: tuple[Table, ...] = ("feed", "conditioner")
    while True:
        named = {(t, _product(e, t)) for e in site.enclosures if e.id in found for t in tables}
        more = {
            e.id for e in site.enclosures for t in tables if _product(e, t) and (t, _product(e, t)) in named
        }
        if more <= found:
            return found
        found |= more


def _together(case: Case, table: Table, each: Callable[[Case], float]) -> tuple[float, str]:
    """Return what all enclosures that give a product the same name use a day, and the others' names in
    words."""
    total = each(case)
    name = _product(case.enclosure, table)
    others = []
    for e in case.site.enclosures:
        if e.id == case.enclosure.id or name is None or _product(e, table) != name:
            continue
        try:
            total += each(Case(case.site, e, case.today, case.history))
        except NotKnown as missing:
            if missing.applies:
                raise NotKnown(why=f"what {e.name} takes of it is not known") from None
            continue
        others.append(e.name)
    return total, f" with {join(tuple(others))}" if others else ""


@figure("food_order_on", "date", "order food on", extra=True)
def food_order_on(case: Case) -> Made:
    """Compute the day to order food: before the opened pack is used up."""
    case.number("ration")
    own = case.enclosure.feed
    if own.opened is None:
        raise NotKnown(*(("feed.pack", "feed.opened") if own.pack is None else ("feed.opened",)))
    (pack,) = case.need(feed__pack=own.pack)
    opened = own.opened
    daily, others = _together(case, "feed", lambda c: c.number("ration"))
    days = feeding.supply_days(pack, daily)
    ahead = case.house.supplies_ahead_days
    day = feeding.order_on(opened, days, ahead)
    return Made(
        day,
        PACK,
        lambda: (
            f"{case.grams(pack)} / {case.numeral(daily, '.2f')} g a day{others} = {days:.0f} days from "
            f"{case.date(opened)}, less {ahead} days"
        ),
    )


def topped_up_a_day(case: Case) -> float:
    """Return the L of new water a day that only replace what evaporates; 0 where that is not known, or nobody
    tops up."""
    own = case.enclosure.job.get("top-up")
    return 0.0 if own is not None and own.off else case.value("evaporation") or 0.0


def conditioned_a_day(case: Case) -> float:
    """Return the L a day that conditioner is dosed for: at changes and between them.

    NotKnown without a change.
    """
    return conditioned_l(case) / case.number("water_change_interval") + topped_up_a_day(case)


@figure("conditioner_order_on", "date", "order conditioner on", extra=True)
def conditioner_order_on(case: Case) -> Made:
    """Compute the day to order conditioner: before the opened bottle is used up by changes and by what is
    topped up."""
    if not case.chlorine_level:
        raise NotKnown(why="the tap water carries no disinfectant", applies=False)
    dosed, every = conditioned_l(case), case.number("water_change_interval")
    own = case.enclosure.conditioner
    if own.opened is None:
        raise NotKnown(
            *(("conditioner.treats", "conditioner.opened") if own.treats is None else ("conditioner.opened",))
        )
    (treats,) = case.need(conditioner__treats=own.treats)
    opened = own.opened
    daily, others = _together(case, "conditioner", conditioned_a_day)
    topped = topped_up_a_day(case)
    between = f" and {case.litres(topped)} a day to top up" if topped else ""
    often = case.numeral(every, ".3g")
    whole = ", the whole tank by hose," if fills_by_hose(case) else ""
    unknown = "" if topped else "; what is topped up is not known and not counted"
    days = feeding.supply_days(treats, daily)
    ahead = case.house.supplies_ahead_days
    return Made(
        feeding.order_on(opened, days, ahead),
        PACK,
        lambda: (
            f"{case.litres(treats)} / "
            f"{f'{case.litres(daily)} a day{others}' if others else f'({case.litres(dosed)}{whole} every {often} days{between})' if between else f'{case.litres(dosed)}{whole} every {often} days'} "  # noqa: E501
            f"= {days:.0f} days from {case.date(opened)}, less {ahead} days{unknown}"
        ),
    )
