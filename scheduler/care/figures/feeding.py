"""What is used up, and when to order more."""

from __future__ import annotations

from scheduler.care.case import Case
from scheduler.care.figure import Made, NotKnown, figure
from scheduler.handbook import feeding
from scheduler.quantities import show_date
from scheduler.sources import Source

PACK = Source("what a pack holds over what is used, less the days to order ahead", "computed")


@figure("food_order_on", "date", "order food on", extra=True)
def food_order_on(case: Case) -> Made:
    """Compute the day to order food: before the opened pack is used up."""
    daily = case.number("ration")
    own = case.enclosure.feed
    if own.opened is None:
        raise NotKnown(*(("feed.pack", "feed.opened") if own.pack is None else ("feed.opened",)))
    (pack,) = case.need(feed__pack=own.pack)
    opened = own.opened
    days = feeding.supply_days(pack, daily)
    ahead = case.house.supplies_ahead_days
    day = feeding.order_on(opened, days, ahead)
    return Made(
        day,
        PACK,
        lambda: (
            f"{case.grams(pack)} / {daily:.2f} g a day = {days:.0f} days from {show_date(opened)}, less {ahead} days"
        ),
    )


@figure("conditioner_order_on", "date", "order conditioner on", extra=True)
def conditioner_order_on(case: Case) -> Made:
    """Compute the day to order conditioner: before the opened bottle is used up by this enclosure's changes."""
    if not case.chlorine_level:
        raise NotKnown(why="the tap water carries no disinfectant", applies=False)
    change, every = case.number("water_change_volume"), case.number("water_change_interval")
    own = case.enclosure.conditioner
    if own.opened is None:
        raise NotKnown(
            *(("conditioner.treats", "conditioner.opened") if own.treats is None else ("conditioner.opened",))
        )
    (treats,) = case.need(conditioner__treats=own.treats)
    opened = own.opened
    days = feeding.supply_days(treats, change / every)
    ahead = case.house.supplies_ahead_days
    return Made(
        feeding.order_on(opened, days, ahead),
        PACK,
        lambda: (
            f"{case.litres(treats)} / {case.litres(change)} every {every:.3g} days = {days:.0f} days from {show_date(opened)}, less {ahead} days"
        ),
    )
