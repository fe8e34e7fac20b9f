"""Filtration: how often the water passes the filter, and the surface of media that its ammonia asks for."""

from __future__ import annotations

import math

from scheduler.sources import Source

CUSTOM_SOURCE = Source(
    "6 to 8 times an hour by the rated flow: custom of the trade, no published source", "common practice"
)
NITRIFICATION = Source(
    "0.2 to 0.3 g of ammonia nitrogen a m2 of media and day at 25-28 degC, half of it 10 degC below 25: "
    "Timmons & "
    "Ebeling, Recirculating Aquaculture",
    "from memory",
)
ENGINEERING = Source(
    "fish tanks turn over 1 to 2 times an hour: Timmons & Ebeling, Recirculating Aquaculture", "from memory"
)

CUSTOM = (6.0, 8.0)
"""Rated flow over the volume of water, times an hour. Common practice, in no standard."""

ENGINEERING_LEAST = 1.0
"""Turnover that fish tanks have at least, times an hour. Timmons & Ebeling (from memory)."""

REAL_FLOW = (0.5, 0.7)
"""Share of the rated flow that is left once media are in and the water is lifted (pump curves; from
memory)."""


DESIGN_RATE = (0.2, 0.3)
"""g of TAN-N that a m2 of media takes up a day, to design with, at 25 to 28 degC and under 1 mg/L TAN (from
memory).

Timmons & Ebeling give 0.2 to 0.6 in all. What a medium really does falls about in line with the TAN in the
water.
"""


Q10 = 2.0
"""Times faster nitrification is for 10 K more, between 15 and 28 degC, roughly (from memory)."""


def turnover(flow_l_h: float, litres: float) -> float:
    """Return how many times an hour a flow in L/h passes a volume in L. ValueError without a volume."""
    if not 0.0 < litres < math.inf:
        raise ValueError(f"the turnover of a filter needs a volume of water above 0 L, not {litres:g}")
    if not 0.0 <= flow_l_h < math.inf:
        raise ValueError(f"the flow of a filter must be 0 L/h or more, not {flow_l_h:g}")
    return flow_l_h / litres


def rate_at(celsius: float, rate: float) -> float:
    """Return a nitrification rate, known for 25 to 28 degC, at a temperature in degC.

    rate x 2 ** ((T - 25) / 10) below 25 degC, unchanged from 25 on. Valid from 15 to 28 degC, ValueError
    outside; the factor of 2 for 10 K is from memory.
    """
    if not 15.0 <= celsius <= 28.0:
        raise ValueError(f"the work of filter media is defined here from 15 to 28 degC, not at {celsius:g}")
    return rate if celsius >= 25.0 else rate * float(Q10 ** ((celsius - 25.0) / 10.0))


def media_area_m2(tan_g_day: float, rate_g_m2_day: float) -> float:
    """Return the m2 of media that nitrify so many g of TAN-N a day at a rate in g a m2 and day: load /
    rate."""
    if not 0.0 <= tan_g_day < math.inf:
        raise ValueError(f"the ammonia nitrogen of a day must be 0 g or more, not {tan_g_day:g}")
    if not 0.0 < rate_g_m2_day < math.inf:
        raise ValueError(f"media must nitrify more than 0 g a m2 and day, not {rate_g_m2_day:g}")
    return tan_g_day / rate_g_m2_day
