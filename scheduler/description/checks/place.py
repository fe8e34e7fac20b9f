"""The `[site]` table: times, tap water, temperatures."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.clocks import unsure_times
from scheduler.description.checks.common import degrees
from scheduler.description.site import (
    HouseValues,
    SiteSettings,
    TapWater,
)
from scheduler.errors import Problem
from scheduler.handbook import ammonia, nitrogen

# House limits: they catch slips of the pen, such as degrees of the other scale; they are not husbandry.
_COLD_TAP_C, _ROOM_MOST_C, _WARM_ROOM_MOST_C = (0.0, 40.0), 40.0, 50.0
MOST_DOSE = 5.0
"""mg/L of ammonia, as N, over which a starting filter is hindered more than helped: trade's rule, from
memory. House value."""


_PAIL_L = (1.0, 25.0)
_REFERENCE_G = (5000.0, 25000.0)
FIRST_SURE_START = dt.time(4)


def place(place: SiteSettings) -> Iterator[Problem]:
    """Yield the problems of the site."""
    yield from _starts(place)
    if place.times.evening <= place.times.morning:
        yield Problem(
            path=("site", "times", "evening"),
            involves=(("site", "times", "morning"),),
            message=(
                f"the evening ({place.times.evening:%H:%M}) is not after the morning "
                f"({place.times.morning:%H:%M})"
            ),
            hint='write for example morning = "07:30", evening = "18:30"',
        )
    if place.times.remind is not None and place.times.remind >= place.times.evening:
        yield Problem(
            path=("site", "times", "remind"),
            involves=(("site", "times", "evening"),),
            message=(
                f"mails of the day's rounds would go from {place.times.remind:%H:%M} on, and the evening "
                f"begins at {place.times.evening:%H:%M}"
            ),
            hint='write a time before the morning\'s work, as "05:30"',
        )
    if place.room_low is not None and place.room_low > _ROOM_MOST_C:
        yield Problem(
            path=("site", "room_low"),
            message=f"the room is at {place.room_low:.3g} degC when it is coldest",
            hint=f"expected at most {degrees(_ROOM_MOST_C)}",
        )
    if place.room_high is not None and place.room_high > _WARM_ROOM_MOST_C:
        yield Problem(
            path=("site", "room_high"),
            message=f"the room is at {place.room_high:.3g} degC when it is warmest",
            hint=f"expected at most {degrees(_WARM_ROOM_MOST_C)}",
        )
    elif place.room_low is not None and place.room_high is not None and place.room_high < place.room_low:
        yield Problem(
            path=("site", "room_high"),
            involves=(("site", "room_low"),),
            message=(
                f"the room is at {place.room_high:.3g} degC when it is warmest, and at {place.room_low:.3g} "
                "degC when it is coldest"
            ),
            hint="swap the two, or mend the unit",
        )
    yield from _tap(place.tap_water)
    yield from _house(place.house_values)


def _house(house: HouseValues) -> Iterator[Problem]:
    for look, act, look_by_default, act_by_default in (
        ("nitrate_look", "nitrate_act", nitrogen.NITRATE_LOOK, nitrogen.NITRATE_ACT),
        ("ammonia_look", "ammonia_act", ammonia.AMMONIA_LOOK, ammonia.AMMONIA_ACT),
        ("nitrite_look", "nitrite_act", nitrogen.NITRITE_LOOK, nitrogen.NITRITE_ACT),
    ):
        own_look, own_act = getattr(house, look), getattr(house, act)
        lower = look_by_default if own_look is None else own_look
        upper = act_by_default if own_act is None else own_act
        if lower <= upper:
            continue
        # The one that is not given is the project's choice: the keeper may not know that there is one.
        given, other = (act, look) if own_look is None else (look, act)
        said = [
            f"{key} ({value:g} mg/L{', the house value' if own is None else ''})"
            for key, value, own in ((look, lower, own_look), (act, upper, own_act))
        ]
        yield Problem(
            path=("site", "house_values", given),
            involves=(("site", "house_values", other),),
            message=f"{said[0]} is above {said[1]}: what is to be acted on would not even be looked at",
            hint="swap the two" if None not in (own_look, own_act) else f"write {other} as well",
        )
    clean = ammonia.AMMONIA_CLEAN if house.ammonia_clean is None else house.ammonia_clean
    if house.ammonia_dose is not None and not clean < house.ammonia_dose <= MOST_DOSE:
        yield Problem(
            path=("site", "house_values", "ammonia_dose"),
            message=f"a dose of {house.ammonia_dose:g} mg/L does not start a filter",
            hint=(
                f"expected more than {clean:g} mg/L, which counts as clean, and at most {MOST_DOSE:g}: more "
                "hinders the bacteria"
            ),
        )
    if house.pail is not None and not _PAIL_L[0] <= house.pail <= _PAIL_L[1]:
        yield Problem(
            path=("site", "house_values", "pail"),
            message=f"a pail of {house.pail:.3g} L is not one to carry water in",
            hint=f"expected {_PAIL_L[0]:g} to {_PAIL_L[1]:g} L, as full as it is carried",
        )
    reference = house.reference_mass
    if reference is not None and not _REFERENCE_G[0] <= reference <= _REFERENCE_G[1]:
        yield Problem(
            path=("site", "house_values", "reference_mass"),
            message=f"{reference / 1000:.3g} kg is not a reference mass of ISO 11228-1",
            hint=(
                "expected 5 to 25 kg: 25 kg for men from 18 to 45, 20 kg for women to 45 and men over 45, "
                "15 kg for women over 45"
            ),
        )


def _tap(tap: TapWater) -> Iterator[Problem]:
    if tap.cold is not None and not _COLD_TAP_C[0] <= tap.cold <= _COLD_TAP_C[1]:
        yield Problem(
            path=("site", "tap_water", "cold"),
            message=f"cold tap water of {tap.cold:.3g} degC is not believable",
            hint=f"expected {degrees(*_COLD_TAP_C)}",
        )
    if tap.cold is not None and tap.hot is not None and tap.hot <= tap.cold:
        yield Problem(
            path=("site", "tap_water", "hot"),
            involves=(("site", "tap_water", "cold"),),
            message=f"hot water of {tap.hot:g} degC is not warmer than cold water of {tap.cold:g} degC",
            hint="measure both at the tap after a minute of running",
        )
    if tap.disinfectant == "none" and tap.disinfectant_level:
        yield Problem(
            path=("site", "tap_water", "disinfectant_level"),
            involves=(("site", "tap_water", "disinfectant"),),
            message='a level is given although the disinfectant is "none"',
            hint="name the disinfectant, or leave the level out",
        )
    if tap.disinfectant != "none" and tap.disinfectant_level == 0:
        yield Problem(
            path=("site", "tap_water", "disinfectant_level"),
            involves=(("site", "tap_water", "disinfectant"),),
            message="a level of 0 although there is a disinfectant: nothing would be neutralised",
            hint='write disinfectant = "none", or leave the level out to reckon with the legal ceiling',
        )
    if tap.disinfectant_level is not None and tap.disinfectant_level > 10:
        yield Problem(
            path=("site", "tap_water", "disinfectant_level"),
            message=(
                f"found {tap.disinfectant_level:g} mg/L, far above the 4.0 mg/L that drinking water may "
                "carry (40 CFR 141.65)"
            ),
            hint="read the utility's report again; write the level as Cl2",
        )


def _starts(place: SiteSettings) -> Iterator[Problem]:
    """Refuse starts at hours on which calendar programs do not agree: the night's, and those a change skips
    or repeats."""
    # Rules of the coming years; a decade holds every hour that a zone with tabulated changes uses.
    unsure = unsure_times(place.zone, 2026, 10)
    for part in ("morning", "evening"):
        start = place.time_of(part)
        path = ("site", "times", part)
        said = (
            f"found {start:%H:%M}: in {place.time_zone} the clocks change, and calendar programs do not "
            "agree on"
        )
        if unsure and start < FIRST_SURE_START:
            yield Problem(
                path=path,
                involves=(("site", "time_zone"),),
                message=f"{said} times from 00:00 to 03:59",
                hint='write "04:00" or later',
            )
        elif hit := next((span for span in sorted(unsure) if span[0] <= start < span[1]), None):
            end = "midnight" if hit[1] == dt.time.max else f"{hit[1]:%H:%M}"
            yield Problem(
                path=path,
                involves=(("site", "time_zone"),),
                message=f"{said} the hour that is skipped or repeated",
                hint=f"write a time before {hit[0]:%H:%M} or from {end} on",
            )
