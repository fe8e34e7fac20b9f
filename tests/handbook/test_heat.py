"""Heat of a tank against IAPWS properties, heat-transfer standards, an ODE solver, and a table worked out on its own."""

import math
from itertools import pairwise

import iapws
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from iapws.humidAir import Air
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from support.depth import examples

from scheduler.handbook import heat, warming
from scheduler.handbook.volume import water_density

ASHRAE = "ASHRAE HVAC Applications, natatoriums (form from memory), worked with IAPWS pressures"
BALANCE = "heat balance, m c = 4.18 kJ/kgK"

# --- Worked values ----------------------------------------------------------------------------------------------

CHECKS = [
    # id, computed, expected, tolerance, source
    ("evaporation", heat.evaporation_kg_day(0.4181, 25, 20, 0.5, 0.5), 1.43, 0.0286, ASHRAE),
    ("its heat", heat.evaporation_w(heat.evaporation_kg_day(0.4181, 25, 20, 0.5, 0.5), 25), 40.5, 0.81, ASHRAE),
    # At 1 m/s over the water: 0.089 + 0.0782 = 0.1672.
    ("in a draught", heat.evaporation_kg_day(0.4181, 25, 20, 0.5, 1.0, 1.0),
     0.4181 * (3.1699 - 0.5 * 2.3393) * 0.1672 / 2441.7 * 86400, 0.01, "ASHRAE, as above, at 1 m/s"),
    ("usual activity", heat.evaporation_kg_day(0.4181, 25, 20), 1.5 * 1.433, 0.02, "house value 0.75, half as much again as 0.5"),
    # The short form of the same handbook, for air at about 0.1 m/s: 4e-5 kg/s for each m2 and kPa.
    ("short form", heat.evaporation_kg_day(0.4181, 25, 20, 0.5, 0.5),
     4e-5 * 0.4181 * (3.1699 - 0.5 * 2.3393) * 0.5 * 86400, 0.02, "ASHRAE short form (from memory)"),
    ("a litre a day", heat.evaporated_litres_day(28.2, 25), 1.0, 0.002, "IAPWS: 2441.7 kJ/kg and 0.99705 kg/L in 86 400 s"),
    ("pressure at 20", heat.saturation_kpa(20), 2.3393, 0.0002, "kPa: IAPWS-95; IAPWS-IF97 is 0.005 % lower"),
    ("pressure at 25", heat.saturation_kpa(25), 3.1699, 0.0002, "kPa: IAPWS-95; IAPWS-IF97 is 0.005 % lower"),
    ("latent heat at 25", heat.latent_kj_kg(25), 2441.7, 0.1, "kJ/kg: IAPWS"),
    ("heat up", warming.heat_up_hours(151.0, 10, 200), 8.77, 0.005, "151.0 kg x 4.18 x 10 K / 200 W"),
    ("heat up a kelvin", warming.heat_up_hours(151.0, 1, 200), 0.877, 0.0005, "a tenth of it"),
    ("time constant", warming.time_constant_hours(151.0, 18), 9.74, 0.005, BALANCE),
    ("limit", warming.stuck_c(20, 200, 18) - 20, 11.1, 0.02, "200 W / 18 W/K"),
    ("reach", warming.reach_hours(20, 25, 20, 200, 18, 151.0), 5.82, 0.005, "9.74 h x ln(11.11 / 6.11)"),
    ("power cut", warming.drop_after_hours(8, 25, 18, 14, 151.0), 3.3, 0.02, "7 K x (1 - exp(-8 h / 12.5 h))"),
    ("stuck", warming.stuck_c(24, 200, 18), 35.1, 0.02, "24 + 200 / 18"),
    ("month", warming.kwh_a_month(100), 73.05, 1e-9, "100 W for a twelfth of 365.25 days"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("computed", "expected", "tolerance", "source"), [row[1:] for row in CHECKS], ids=[row[0] for row in CHECKS]
)  # fmt: skip
def test_worked_values(computed, expected, tolerance, source):
    assert computed == pytest.approx(expected, abs=tolerance), source


def test_the_custom_of_watts_a_gallon():
    # Common practice, no published source: 3 to 5 W for each US gallon.
    assert warming.customary_w(40) == (120, 200)


# An open tank of 91.4 x 45.7 cm with 36 cm of water at 25 degC, humidity 0.5, worked out apart from this program with
# the same handbook formulas (Incropera for the surfaces, ASHRAE for the evaporation); W, to be met within 2 W a cell.
@pytest.mark.parametrize(
    ("room", "sides", "base", "still", "splashing", "top", "least", "most"),
    [
        (21, 28, 2, 39, 78, 15, 83, 122),
        (20, 35, 2, 41, 81, 19, 97, 137),
        (18, 50, 3, 43, 87, 27, 123, 167),
        (15, 73, 4, 47, 94, 40, 164, 211),
    ],
)
def test_the_losses_of_an_open_tank_of_forty_gallons(room, sides, base, still, splashing, top, least, most):
    quiet = heat.losses(91.4, 45.7, 36, 25, room, activity=0.5, humidity=0.5)
    rough = heat.losses(91.4, 45.7, 36, 25, room, activity=1.0, humidity=0.5)
    assert quiet == pytest.approx((sides, base, top, still), abs=2)
    assert rough == pytest.approx((sides, base, top, splashing), abs=2)
    assert (quiet.total, rough.total) == pytest.approx((least, most), abs=2)
    assert quiet.total == pytest.approx(sum(quiet))


# --- Water and air against the standards ------------------------------------------------------------------------


@pytest.mark.parametrize("celsius", [0.01, 1, 4, 10, 15, 20, 25, 28, 30, 35, 40])
def test_water_against_a_library_of_iapws(celsius):
    """The library iapws computes IAPWS-IF97 on its own."""
    liquid, vapour = (iapws.IAPWS97(T=celsius + 273.15, x=x) for x in (0, 1))
    assert heat.saturation_kpa(celsius) == pytest.approx(1000 * liquid.P, rel=1e-9)
    assert heat.latent_kj_kg(celsius) == pytest.approx(vapour.h - liquid.h, abs=0.11)
    assert liquid.cp == pytest.approx(warming.WATER_HEAT_CAPACITY, rel=0.01)
    # Under its own vapour water is thinner by up to 0.05 kg/m3 than under the air's pressure.
    assert 1000 * water_density(celsius) == pytest.approx(liquid.rho, abs=0.06)


def test_a_freezing_room_still_holds_some_vapour():
    # Share of the pull that saturated air of -10 degC takes away: 0.2863 kPa over supercooled water (WMO, Goff-Gratch;
    # value from memory) of 3.1699 kPa over water of 25 degC (IAPWS).
    dry, saturated = (heat.evaporation_kg_day(1, 25, -10, humidity) for humidity in (0.0, 1.0))
    assert 1 - saturated / dry == pytest.approx(0.2863 / 3.1699, rel=0.005)


def film_of_air(skin, room):
    """Return g beta / (nu alpha), Pr and k of dry air, from the equations of state and transport of a library."""
    air = Air(T=(skin + room) / 2 + 273.15, P=0.101325)
    return 9.80665 * air.alfav / (air.nu * air.alfa), air.Prandt, air.k


def radiation(skin, room, emissivity):
    """Return Stefan and Boltzmann's law, W/m2."""
    return emissivity * 5.670374419e-8 * ((skin + 273.15) ** 4 - (room + 273.15) ** 4)


@pytest.mark.parametrize(
    ("water", "room", "pane_mm", "conductivity", "height"),
    [
        (25, 21, 6, 1.0, 0.36),
        (25, 15, 6, 1.0, 0.36),
        (28, 10, 10, 1.0, 0.50),
        (24, 20, 20, 0.19, 0.45),  # acrylic
        (30, -5, 12, 1.0, 0.30),
        (18, 24, 6, 1.0, 0.36),  # the room warms the water
    ],
)
def test_the_wall_balances_heat_within_and_without(water, room, pane_mm, conductivity, height):
    """What passes water and pane leaves by air and radiation: Churchill & Chu 1975 (laminar), solved by scipy."""

    def surplus(skin):
        buoyancy, prandtl, k = film_of_air(skin, room)
        rayleigh = buoyancy * abs(skin - room) * height**3
        assert rayleigh < 4e8
        nusselt = 0.68 + 0.670 * rayleigh**0.25 / (1 + (0.492 / prandtl) ** (9 / 16)) ** (4 / 9)
        outside = nusselt * k / height * (skin - room) + radiation(skin, room, 0.9)
        return (water - skin) / (1 / heat.WATER_SIDE + pane_mm / 1000 / conductivity) - outside

    skin = brentq(surplus, water, room)
    flow = (water - skin) / (1 / heat.WATER_SIDE + pane_mm / 1000 / conductivity)
    u = heat.side_u(water, room, pane_mm, conductivity, height)
    assert u * (water - room) == pytest.approx(flow, rel=0.007)


@pytest.mark.parametrize("kelvin", [4, 5, 7, 10])
def test_a_wall_of_six_millimetres_passes_seven_watts(kelvin):
    # Worked out apart from this program with the same correlations: 7.0 to 7.4 W/m2K for 4 to 10 K.
    assert 7.0 <= heat.side_u(25, 25 - kelvin) <= 7.4


def test_walls_and_surface_against_the_values_for_buildings():
    # ISO 6946, internal surfaces, convection and radiation together: 0.13 m2K/W on walls, 0.10 with the heat flowing up
    # (values from memory). They are rounded means for large surfaces; a tank's small one may stray by a fifth.
    outside = 1 / (1 / heat.side_u(25, 20) - 1 / heat.WATER_SIDE - 0.006)
    assert 1 / outside == pytest.approx(0.13, rel=0.1)
    assert heat.top_w(0.4177, 2.742, 25, 20) / (0.4177 * 5) == pytest.approx(1 / 0.10, rel=0.2)


def plate(skin, room, length, emissivity):
    """Return the W/m2 that leave a level surface facing up: McAdams (Incropera, from memory), laminar."""
    buoyancy, _, k = film_of_air(skin, room)
    rayleigh = buoyancy * abs(skin - room) * length**3
    assert 1e4 < rayleigh < 4.5e6
    # Hot plates drive the air above them twice as hard as cold ones.
    nusselt = (0.54 if skin > room else 0.27) * rayleigh**0.25
    return nusselt * k / length * (skin - room) + radiation(skin, room, emissivity)


@pytest.mark.parametrize(("water", "room"), [(25, 21), (25, 10), (38, 25), (18, 26)])
def test_the_open_surface_against_the_textbook_plate(water, room):
    # Emissivity of water 0.95 (Incropera, from memory).
    area, perimeter = 0.60 * 0.40, 2.00
    assert heat.top_w(area, perimeter, water, room) == pytest.approx(
        area * plate(water, room, area / perimeter, 0.95), rel=0.01
    )


@pytest.mark.parametrize(("water", "room"), [(25, 21), (25, 10), (32, -10), (18, 28)])
def test_the_cover_balances_heat_within_and_without(water, room):
    # House values: the gap 0.10 m2K/W and 4 mm of 1 W/mK; glass of emissivity 0.9 above. scipy finds its temperature.
    area, perimeter = 0.50 * 0.30, 1.60
    skin = brentq(
        lambda c: (water - c) / 0.104 - plate(c, room, area / perimeter, 0.9),
        room + 0.1 * (water - room), water - 0.1 * (water - room),
    )  # fmt: skip
    assert heat.cover_w(area, perimeter, water, room) == pytest.approx(
        area * (water - skin) / 0.104, rel=0.01
    )


def test_the_air_under_a_cover_is_what_a_wet_gap_conducts():
    # ISO 6946, still air layer, heat flowing up: 0.16 m2K/W (from memory). Its radiation between surfaces of 0.9 is
    # sigma 4 T^3 / (2 / 0.9 - 1); what is left is convection, and Lewis' relation gives the vapour that it carries.
    kelvin = 298.15
    dry_radiation = 5.670374419e-8 * 4 * kelvin**3 / (2 / 0.9 - 1)
    convection = 1 / 0.16 - dry_radiation
    step = 1000 * (
        iapws.IAPWS97(T=kelvin + 0.5, x=0).P - iapws.IAPWS97(T=kelvin - 0.5, x=0).P
    )  # kPa for each K
    vapour = 0.622 * 2441.7 * step / (1.006 * 101.325)
    assert 1 / (1 / 0.16 + convection * vapour) == pytest.approx(heat.COVER_GAP, abs=0.01)


# --- What must hold for every tank ------------------------------------------------------------------------------

waters, rooms = st.floats(0, 40), st.floats(-10, 40)
sizes = st.floats(20, 300)


@st.composite
def tanks(draw):
    """Length, width and depth of the water in cm."""
    return draw(sizes), draw(sizes), draw(st.floats(5, 150))


@given(tanks(), waters, rooms, rooms, st.booleans())
def test_a_colder_room_takes_more(tank, water, one, other, covered):
    cold, warm = sorted((one, other))
    assume(warm - cold > 0.01)
    assert heat.losses(*tank, water, cold, covered=covered).total > heat.losses(*tank, water, warm, covered=covered).total  # fmt: skip


@given(tanks(), waters, waters, rooms, st.booleans())
def test_warmer_water_loses_more(tank, one, other, room, covered):
    cold, warm = sorted((one, other))
    assume(warm - cold > 0.01)
    assert heat.losses(*tank, warm, room, covered=covered).total > heat.losses(*tank, cold, room, covered=covered).total  # fmt: skip


@given(tanks(), waters, rooms)
def test_a_cover_keeps_heat_and_water_in(tank, water, room):
    open_tank, covered = (heat.losses(*tank, water, room, covered=c) for c in (False, True))
    assert covered[:2] == open_tank[:2]
    assert abs(covered.top) <= abs(open_tank.top)
    assert covered.evaporation == pytest.approx(0.1 * open_tank.evaporation)  # house value


@given(tanks(), waters, rooms)
def test_heat_flows_from_warm_to_cold(tank, water, room):
    loss = heat.losses(*tank, water, room)
    assert all(part * (water - room) >= 0 for part in loss[:3])
    assert loss.evaporation >= 0


@given(tanks(), waters)
def test_without_a_difference_only_evaporation_is_left(tank, water):
    loss = heat.losses(*tank, water, water, humidity=0.5)
    assert loss[:3] == (0, 0, 0)
    assert loss.evaporation > 0
    assert heat.losses(*tank, water, water, humidity=1.0).total == 0


@given(waters, rooms, st.floats(0, 1), st.floats(0, 1))
def test_damp_air_and_a_still_surface_evaporate_less(water, room, humidity, activity):
    dry = heat.evaporation_kg_day(1, water, room, 0.0, 1.0)
    assert 0 <= heat.evaporation_kg_day(1, water, room, humidity, activity) <= dry
    assert heat.evaporation_kg_day(1, water, room, humidity, 0.5) == pytest.approx(
        0.5 * heat.evaporation_kg_day(1, water, room, humidity, 1.0)
    )


def test_no_water_evaporates_into_air_that_wets_it():
    # Cold water in a warm, damp room: vapour condenses, which is left out.
    assert heat.evaporation_kg_day(1, 10, 25, humidity=0.9) == 0
    assert heat.losses(80, 40, 30, 10, 25, humidity=0.9).total < 0


def test_the_surface_of_a_deep_tank_has_no_jump_where_the_air_turns_turbulent():
    # Incropera: laminar to Ra about 1e9, then 0.10 Ra^(1/3). From 1 to 40 K the flow grows without a jump.
    flow = [
        heat.side_u(30, 30 - kelvin, height_m=1.2) * kelvin for kelvin in (1 + 0.05 * i for i in range(781))
    ]
    assert all(0.2 < after - before < 0.6 for before, after in pairwise(flow))  # W/m2 for each 0.05 K
    # The full Churchill-Chu equation for all Ra, 30 K over 1.2 m: 25 % is the scatter among such correlations.
    buoyancy, prandtl, k = film_of_air(27, 0)
    rayleigh = buoyancy * 27 * 1.2**3
    full = (
        (0.825 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2 * k / 1.2
    )
    outside = 1 / (1 / heat.side_u(30, 0, height_m=1.2) - 1 / heat.WATER_SIDE - 0.006)
    assert outside - radiation(27, 0, 0.9) / 27 == pytest.approx(full, rel=0.25)


# --- Warming and cooling ----------------------------------------------------------------------------------------


def loss_of(room, covered):
    """Return the loss in W of a tank of 91.4 x 45.7 x 36 cm as a function of its water's temperature."""
    return lambda celsius: heat.losses(91.4, 45.7, 36, celsius, room, covered=covered).total


@pytest.mark.parametrize(
    ("room", "covered", "start", "end", "power"),
    [
        (15, False, 15, 25, 200),
        (15, True, 15, 25, 200),
        (18, False, 18, 25, 165),
        (10, False, 10, 25, 300),
        (10, True, 15, 25, 212),
        (20, True, 10, 26, 100),  # through the room's own temperature
        (10, False, 25, 18, 0),
        (10, False, 25, 10.5, 0),
        (10, True, 25, 11, 0),
        (10, False, 30, 20, 100),
    ],
)
def test_the_time_to_warm_or_cool_against_an_ode_solver(room, covered, start, end, power):
    """scipy integrates dT/dt = (P - loss) / (m c) and finds the moment."""
    loss = loss_of(room, covered)

    def reached(_, celsius):
        return celsius[0] - end

    reached.terminal = True
    solved = solve_ivp(
        lambda _, celsius: [(power - loss(celsius[0])) / (150_000 * 4.18) * 3600],
        (0, 500), [start], events=reached, rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    assert warming.hours_between(start, end, 150, power, loss) == pytest.approx(
        solved.t_events[0][0], rel=0.001
    )


@given(
    st.floats(5, 35), st.floats(5, 35), st.floats(-10, 40), st.floats(0, 1000), st.floats(1, 60),
    st.floats(5, 3000),
)  # fmt: skip
@example(5.000000000000001, 5.0, 0.0, 14.0, 1.0, 5.0)
def test_both_ways_agree_where_the_loss_is_linear(start, end, room, power, ua, mass):
    # To within a millionth of a kelvin of the limit, or of where it starts, the closed form itself is a matter of rounding.
    assume(abs(room + power / ua - end) > 1e-6 and (start == end or abs(start - end) > 1e-6))
    numeric = warming.hours_between(start, end, mass, power, lambda celsius: ua * (celsius - room))
    closed = warming.reach_hours(start, end, room, power, ua, mass)
    assert numeric == pytest.approx(closed, rel=0.005)


@given(st.floats(5, 40), st.floats(-10, 40), st.floats(1, 60), st.floats(5, 3000), st.floats(0, 200))
def test_a_power_cut_undone_takes_as_long(start, room, ua, mass, hours):
    drop = warming.drop_after_hours(hours, start, room, ua, mass)
    assert abs(drop) <= abs(start - room)
    assume(abs(start - drop - room) > 1e-3 and abs(drop) > 1e-3)
    assert warming.reach_hours(start, start - drop, room, 0, ua, mass) == pytest.approx(hours, rel=1e-6)


@settings(max_examples=examples(40))
@given(st.floats(200, 2000), st.floats(1, 1000), st.booleans())
def test_more_power_warms_faster(power, more, covered):
    loss = loss_of(16, covered)
    slow, fast = (warming.hours_between(16, 24, 150, p, loss) for p in (power, power + more))
    assert fast < slow
    assert warming.heat_up_hours(150, 8, power) < slow or math.isinf(slow)


def test_water_that_never_gets_there():
    loss = loss_of(15, covered=False)
    limit = warming.settles_at_c(100, loss, 0, 40)
    assert math.isinf(warming.hours_between(15, limit + 0.01, 150, 100, loss))
    assert math.isfinite(warming.hours_between(15, limit - 0.01, 150, 100, loss))
    # Dry air cools open water below the room's temperature, but not by much.
    assert math.isinf(warming.hours_between(25, 5, 150, 0, loss))
    # A heater that is too strong does not let it cool, and one that is off does not warm it.
    assert math.isinf(warming.hours_between(25, 20, 150, 1000, loss))
    assert math.isinf(warming.hours_between(20, 25, 150, 0, loss))
    assert warming.hours_between(20, 20, 150, 0, loss) == 0
    assert math.isinf(warming.reach_hours(20, 32, 20, 200, 18, 151))  # settles at 31.1
    assert math.isinf(warming.reach_hours(25, 15, 18, 0, 14, 151))  # settles at 18
    assert math.isinf(warming.reach_hours(25, 26, 18, 0, 14, 151))  # cools, never warms
    assert math.isinf(warming.heat_up_hours(150, 5, 0))
    assert warming.heat_up_hours(150, 0, 0) == 0


@given(st.floats(0, 400), rooms, st.booleans())
def test_where_the_water_settles_the_loss_is_the_power(power, room, covered):
    loss = loss_of(room, covered)
    assume(loss(0) < power < loss(40))
    settled = warming.settles_at_c(power, loss, 0, 40)
    assert settled == pytest.approx(brentq(lambda celsius: loss(celsius) - power, 0, 40), abs=0.001)


# --- Refusals ---------------------------------------------------------------------------------------------------

WATER, ROOM = "for water from 0 to 40 degC, not at {}", "for a room from -10 to 40 degC, not at {}"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: heat.losses(90, 45, 36, 40.1, 20), WATER.format("40.1")),
        (lambda: heat.losses(90, 45, 36, -0.1, 20), WATER.format("-0.1")),
        (lambda: heat.losses(90, 45, 36, math.nan, 20), WATER.format("nan")),
        (lambda: heat.losses(90, 45, 36, 25, -10.5), ROOM.format("-10.5")),
        (lambda: heat.losses(90, 45, 36, 25, 41), ROOM.format("41")),
        (lambda: heat.losses(90, 45, 36, 25, math.nan), ROOM.format("nan")),
        (lambda: heat.losses(90, 0, 36, 25, 20), "a length, a width and a depth of water above 0"),
        (lambda: heat.losses(90, 45, 36, 25, 20, cover_share=2), "a share from 0 to 1 of the evaporation out, not 2"),
        (lambda: heat.losses(90, 45, 36, 25, 20, humidity=50), "between 0 and 1, not at 50"),
        (lambda: heat.losses(90, 45, 36, 25, 20, activity=-1), "cannot be below 0"),
        (lambda: heat.losses(90, 45, 36, 25, 20, pane_mm=0), "a thickness, a conductivity and a height above 0"),
        (lambda: heat.side_u(41, 20), WATER.format("41")),
        (lambda: heat.top_w(0.4, 2.7, 25, 50), ROOM.format("50")),
        (lambda: heat.top_w(0.4, 0, 25, 20), "an area and a perimeter above 0"),
        (lambda: heat.cover_w(0, 2.7, 25, 20), "an area and a perimeter above 0"),
        (lambda: heat.cover_w(0.4, 2.7, 60, 20), WATER.format("60")),
        (lambda: heat.evaporation_kg_day(1, 25, 99), ROOM.format("99")),
        (lambda: heat.saturation_kpa(100), "vapour pressure is defined here from -10 to 40 degC, not at 100"),
        (lambda: heat.latent_kj_kg(-5), "heat of evaporation is defined here from 0 to 40 degC, not at -5"),
        (lambda: heat.evaporated_litres_day(28, 50), "from 0 to 40 degC, not at 50"),
        (lambda: warming.hours_between(15, 25, 0, 200, lambda _: 0), "there is no water to warm or cool: 0 kg"),
        (lambda: warming.hours_between(15, 25, 150, -5, lambda _: 0), "0 W or more, not -5"),
        (lambda: warming.heat_up_hours(150, -1, 200), "by 0 K or more, not by -1"),
        (lambda: warming.time_constant_hours(150, 0), "more than 0 W for each K, not 0"),
        (lambda: warming.stuck_c(20, 200, 0), "more than 0 W for each K, not 0"),
        (lambda: warming.drop_after_hours(-1, 25, 18, 14, 151), "from 0 hours on, not from -1"),
        (lambda: warming.settles_at_c(5000, loss_of(20, covered=False), 10, 40), "with 5000 W the water settles above 40 degC"),
        (lambda: warming.settles_at_c(0, loss_of(10, covered=False), 20, 40), "with 0 W the water settles below 20 degC"),
    ],
)  # fmt: skip
def test_what_cannot_be_reckoned_is_refused_in_a_sentence(call, message):
    with pytest.raises(ValueError) as refused:
        call()
    assert message in str(refused.value)
