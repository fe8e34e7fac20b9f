"""The filter: how often the water passes it, and the media that the nitrogen asks for."""

from __future__ import annotations

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Made, NotKnown
from scheduler.care.engine.registry import figure
from scheduler.care.figures.heat import water_c
from scheduler.handbook import filtration


@figure("filter_turnover", "1/h")
def filter_turnover(case: Case) -> Made:
    """Compute the rated flow over the volume of water."""
    f = case.enclosure.filter
    if f is None:
        raise NotKnown(why="there is no filter in the description", applies=False)
    (flow,) = case.need(filter__flow=f.flow)
    net = case.number("net_volume")
    times = filtration.turnover(flow, net)
    return Made(
        times,
        filtration.CUSTOM_SOURCE,
        lambda: (
            f"{case.litres(flow)} an hour / {case.litres(net)} = {case.numeral(times, '.1f')} times an "
            "hour, by the rated flow"
        ),
    )


@figure("media_area", "m2", "media area needed", extra=True)
def media_area(case: Case) -> Made:
    """Compute the surface of biological media that the enclosure's ammonia asks for, at the slower design
    rate."""
    if case.enclosure.filter is None:
        raise NotKnown(why="there is no filter in the description", applies=False)
    nitrogen = case.number("feed_nitrogen")
    celsius = water_c(case)
    rate = filtration.rate_at(celsius, filtration.DESIGN_RATE[0])
    area = filtration.media_area_m2(nitrogen, rate)
    return Made(
        area,
        filtration.NITRIFICATION,
        lambda: (
            f"{case.numeral(nitrogen, '.3f')} g of nitrogen a day / {case.numeral(rate, '.2f')} g a m2 "
            f"and day at {case.degrees(celsius)} = {case.numeral(area, '.2f')} m2"
        ),
    )
