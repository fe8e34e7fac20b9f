"""How fast water warms and cools, where it settles, and the energy that takes.

The loss is a function of the water's temperature, such as that of `heat.losses`, or a constant for each
kelvin.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from scheduler.sources import Source

HEAT_BALANCE = Source(
    "heat balance of well-mixed water: power less loss, over mass x 4.18 kJ/kgK", "computed"
)

WATER_HEAT_CAPACITY = 4.18
"""kJ/kgK; IAPWS gives 4.178 to 4.220 from 0 to 40 degC."""

HOURS_A_MONTH = 30.4375 * 24.0
CUSTOM_W_PER_GALLON = (3.0, 5.0)

_NODES = ((-0.8611363115940526, 0.3478548451374538), (-0.3399810435848563, 0.6521451548625461),
          (0.3399810435848563, 0.6521451548625461), (0.8611363115940526, 0.3478548451374538))  # fmt: skip
"""Four points and weights of Gauss-Legendre on -1 to 1."""


def _watt_hours_a_kelvin(mass_kg: float) -> float:
    if not mass_kg > 0.0:
        raise ValueError(f"there is no water to warm or cool: {mass_kg:g} kg")
    return mass_kg * WATER_HEAT_CAPACITY / 3.6


def _check_power(power_w: float) -> None:
    if not power_w >= 0.0:
        raise ValueError(f"a heater gives 0 W or more, not {power_w:g}")


def hours_between(
    start_c: float, end_c: float, mass_kg: float, power_w: float, loss: Callable[[float], float]
) -> float:
    """Return the hours in which water warms or cools from `start_c` to `end_c`; inf when it never gets there.

    dT/dt = (power - loss(T)) / (m c), with `loss` in W rising with the temperature T of the water (computed).
    The time grows like a logarithm as the water settles, so Gauss-Legendre runs over the logarithm of the
    distance to where the water would settle if the loss went on at its slope near the end. Error below 0.5 %.
    """
    capacity = _watt_hours_a_kelvin(mass_kg)
    _check_power(power_w)
    span = end_c - start_c
    if span == 0.0:
        return 0.0
    sign, way = math.copysign(1.0, span), abs(span)
    net = sign * (power_w - loss(end_c))  # W that drive the water towards the end
    if not net > 0.0:
        return math.inf
    step = 0.001 * way
    slope = (
        sign * (power_w - loss(end_c - sign * step)) - net
    ) / step  # W of drive that each K on the way costs
    steady = slope * way < 0.05 * net  # the drive hardly falls: steps of temperature do
    beyond = 0.0 if steady else net / slope  # K from the end to where the water would settle
    reach = way if steady else math.log1p(way / beyond)
    panels = 2 if steady else max(2, math.ceil(reach))
    half, total = 0.5 * reach / panels, 0.0
    for panel in range(panels):
        for node, weight in _NODES:
            at = half * (2 * panel + 1 + node)
            short = at if steady else beyond * math.expm1(at)  # K short of the end
            drive = sign * (power_w - loss(end_c - sign * short))
            if not drive > 0.0:
                return math.inf
            total += weight * half * (1.0 if steady else short + beyond) / drive
    return capacity * total


def settles_at_c(power_w: float, loss: Callable[[float], float], low_c: float, high_c: float) -> float:
    """Return the temperature in degC between two others at which the loss equals the power, to 0.001 K.

    False position with the Illinois step: a loss is nearly a line. `loss` in W rises with the temperature.
    ValueError when it settles outside.
    """
    _check_power(power_w)
    low, high = loss(low_c) - power_w, loss(high_c) - power_w
    if low > 0.0:
        raise ValueError(f"with {power_w:g} W the water settles below {low_c:.3g} degC")
    if high < 0.0:
        raise ValueError(f"with {power_w:g} W the water settles above {high_c:.3g} degC")
    at_c, side = low_c, 0
    for _ in range(60):
        if high == low:
            return low_c
        before_c = at_c
        at_c = low_c - low * (high_c - low_c) / (high - low)
        found = loss(at_c) - power_w
        if abs(at_c - before_c) < 2e-4 or found == 0.0:
            break
        if found < 0.0:
            low_c, low = at_c, found
            high *= 0.5 if side < 0 else 1.0
            side = -1
        else:
            high_c, high = at_c, found
            low *= 0.5 if side > 0 else 1.0
            side = 1
    return at_c


def heat_up_hours(mass_kg: float, kelvin: float, power_w: float) -> float:
    """Return the hours in which so much power warms water by so many K when nothing is lost: m c K / P
    (computed)."""
    capacity = _watt_hours_a_kelvin(mass_kg)
    _check_power(power_w)
    if not kelvin >= 0.0:
        raise ValueError(f"a heater warms the water by 0 K or more, not by {kelvin:g}")
    if kelvin == 0.0:
        return 0.0
    return capacity * kelvin / power_w if power_w > 0.0 else math.inf


def time_constant_hours(mass_kg: float, ua_w_k: float) -> float:
    """Return m c / UA in hours: the time to cover 63 % of the way to where the water settles (computed)."""
    if not ua_w_k > 0.0:
        raise ValueError(f"a tank loses more than 0 W for each K, not {ua_w_k:g}")
    return _watt_hours_a_kelvin(mass_kg) / ua_w_k


def stuck_c(room_c: float, power_w: float, ua_w_k: float) -> float:
    """Return where the water settles with a heater that is always on: room + P / UA (computed, loss
    linear)."""
    _check_power(power_w)
    if not ua_w_k > 0.0:
        raise ValueError(f"a tank loses more than 0 W for each K, not {ua_w_k:g}")
    return room_c + power_w / ua_w_k


def reach_hours(  # noqa: PLR0917 - a formula
    start_c: float, end_c: float, room_c: float, power_w: float, ua_w_k: float, mass_kg: float
) -> float:
    """Return the hours from one temperature to another when the loss is UA (T - room); inf when it never gets
    there."""
    limit, tau = stuck_c(room_c, power_w, ua_w_k), time_constant_hours(mass_kg, ua_w_k)
    if start_c == end_c:
        return 0.0
    before, after = limit - start_c, limit - end_c
    if before * after <= 0.0 or abs(after) > abs(before):
        return math.inf
    return tau * math.log(before / after)


def drop_after_hours(hours: float, start_c: float, room_c: float, ua_w_k: float, mass_kg: float) -> float:
    """Return by how many K water cools in so many hours without power: (T - room)(1 - exp(-t / tau))
    (computed)."""
    if not hours >= 0.0:
        raise ValueError(f"time runs from 0 hours on, not from {hours:g}")
    return (start_c - room_c) * -math.expm1(-hours / time_constant_hours(mass_kg, ua_w_k))


def kwh_a_month(watts: float) -> float:
    """Return the kWh that a mean power takes in a month of 30.4375 days, a twelfth of 365.25."""
    return watts * HOURS_A_MONTH / 1000.0


def customary_w(us_gallons: float) -> tuple[float, float]:
    """Return the least and most power in W by the trade's rule of 3 to 5 W for each US gallon."""
    return CUSTOM_W_PER_GALLON[0] * us_gallons, CUSTOM_W_PER_GALLON[1] * us_gallons
