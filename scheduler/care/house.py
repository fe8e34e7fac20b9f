"""The house values in force at a site: the project's own choices, and where the keeper chose otherwise, the
keeper's."""

from __future__ import annotations

from scheduler.description.site import HouseValues
from scheduler.handbook import ammonia, feeding, heat, lifting, nitrogen
from scheduler.locales import PLAIN, Formats
from scheduler.sources import KEEPER, Source

TOP_UP_FALL_CM = 2.0
WEIGHT_LOSS, WEIGHT_LOSS_YOUNG = 0.10, 0.05
"""Share of its best weight that an animal, and a hatchling, may lose before the vet is asked."""

WEIGHT_LOSS_SOURCE = Source(
    "limits of lost weight, 10 % (hatchling 5 %) of the best one in a year", "house value"
)
NO_FOOD_DAYS, NO_FOOD_YOUNG_DAYS = 5, 2
"""Days that animals, and hatchlings among them, go without food at most while the water is poisonous."""

NO_FOOD_SOURCE = Source(
    "no food while ammonia or nitrite is high: 5 days at most, 2 where a hatchling lives", "house value"
)
SIZE_RATIO_LOOK, SIZE_RATIO_ACT = 1.5, 2.0
"""How many times as long as the shortest animal of an enclosure the longest is, when it is looked at and
acted on."""


SIZE_RATIO_SOURCE = Source(
    (
        "animals of one enclosure: the longest from 1.5 times as long as the shortest on look, from 2 times "
        "on act"
    ),
    "house value",
)
FEMALES_PER_MALE = 2.0
FREE_RIM_CM = 5.0
"""Rim over the water of an open enclosure with animals, under which it is as good as full."""

BRING_IN_C = 15.0
"""Water of an outdoor enclosure under which an animal that does not brumate is brought in."""

FEED_LESS_C = 20.0
"""Water outdoors under which animals get half of a meal."""

PH_LOW, PH_HIGH, PH_STEP = 6.0, 9.0, 1.0
"""pH of the water that is acted on, and the change from one reading to the next that is."""

PH_SOURCE = Source(
    "pH from 6 down, from 9 up, or changed by 1: acted on; no published limits for turtles were found",
    "house value",
)

LAMPS_AHEAD_DAYS = 28
WARM_UP_MIN, FEED_AFTER_MIN = 30, 60
"""Minutes after which a lamp gives its light, warmth and ultraviolet, and after which the animals are warm
enough to eat."""


CHANGE_LEAST_DAYS = 7
"""Days between changes of a tank whose filter works, under which the food alone does not bring them; readings
may."""


_SOURCES = {
    "nitrate_look": nitrogen.NITRATE_LIMITS,
    "nitrate_act": nitrogen.NITRATE_LIMITS,
    "nitrate_over_tap": nitrogen.NITRATE_OVER_TAP_SOURCE,
    "change_least_days": Source(
        "where the filter works no change comes more often than weekly on the food alone", "house value"
    ),
    "ammonia_clean": ammonia.CLEAN_SOURCE,
    "ammonia_dose": ammonia.DOSE_SOURCE,
    "ammonia_look": ammonia.AMMONIA_LIMITS,
    "ammonia_act": ammonia.AMMONIA_LIMITS,
    "nitrite_look": nitrogen.NITRITE_LIMITS,
    "nitrite_act": nitrogen.NITRITE_LIMITS,
    "weight_loss": WEIGHT_LOSS_SOURCE,
    "weight_loss_young": WEIGHT_LOSS_SOURCE,
    "no_food": NO_FOOD_SOURCE,
    "no_food_young": NO_FOOD_SOURCE,
    "nitrogen": nitrogen.UPPER_BOUND,
    "humidity": Source("air of 50 % humidity", "house value"),
    "evaporation_activity": heat.ACTIVITY_SOURCE,
    "top_up_fall": Source("the water line falls by at most 2 cm between top-ups", "house value"),
    "size_ratio_look": SIZE_RATIO_SOURCE,
    "size_ratio_act": SIZE_RATIO_SOURCE,
    "females_per_male": Source(
        "at least 2 females to a male, where they live together: custom", "house value"
    ),
    "free_rim": Source(
        "an open enclosure needs a rim of 5 cm over the water, or half the longest carapace", "house value"
    ),
    "bring_in": Source("animals that do not brumate come in from water under 15 °C", "house value"),
    "feed_less": Source("outdoors half a meal in water under 20 °C", "house value"),
    "ph_low": PH_SOURCE,
    "ph_high": PH_SOURCE,
    "ph_step": PH_SOURCE,
    "pail": lifting.SOURCE,
    "reference_mass": lifting.REFERENCE,
    "hose_from": lifting.SOURCE,
    "warm_up": Source("lamps count 30 minutes after they go on", "house value"),
    "feed_after": Source("no meal before the lamps have been on for 60 minutes", "house value"),
    "lamps_ahead": Source("lamps are ordered 4 weeks ahead", "house value"),
    "supplies_ahead": feeding.ORDER_AHEAD,
}


class House:
    """The house values of a site: numbers in cm, L, mg/L and days, and whose each of them is."""

    def __init__(self, given: HouseValues, formats: Formats = PLAIN) -> None:
        """Take the keeper's values where there are any, else the project's; `formats` is how they are
        written."""
        self.formats = formats
        g = given
        self.nitrate_look = nitrogen.NITRATE_LOOK if g.nitrate_look is None else g.nitrate_look
        self.nitrate_act = nitrogen.NITRATE_ACT if g.nitrate_act is None else g.nitrate_act
        self.nitrate_over_tap = (
            nitrogen.NITRATE_OVER_TAP if g.nitrate_over_tap is None else g.nitrate_over_tap
        )
        self.change_least_days = CHANGE_LEAST_DAYS if g.change_least_days is None else g.change_least_days
        self.ammonia_clean = ammonia.AMMONIA_CLEAN if g.ammonia_clean is None else g.ammonia_clean
        self.ammonia_dose = ammonia.DOSE if g.ammonia_dose is None else g.ammonia_dose
        self.ammonia_look = ammonia.AMMONIA_LOOK if g.ammonia_look is None else g.ammonia_look
        self.ammonia_act = ammonia.AMMONIA_ACT if g.ammonia_act is None else g.ammonia_act
        self.nitrite_look = nitrogen.NITRITE_LOOK if g.nitrite_look is None else g.nitrite_look
        self.nitrite_act = nitrogen.NITRITE_ACT if g.nitrite_act is None else g.nitrite_act
        self.weight_loss = WEIGHT_LOSS if g.weight_loss is None else g.weight_loss
        self.weight_loss_young = WEIGHT_LOSS_YOUNG if g.weight_loss_young is None else g.weight_loss_young
        self.no_food_days = NO_FOOD_DAYS if g.no_food is None else g.no_food.interval_days
        self.no_food_young_days = (
            NO_FOOD_YOUNG_DAYS if g.no_food_young is None else g.no_food_young.interval_days
        )
        self.all_nitrogen = g.nitrogen != "fish"
        self.humidity = heat.HUMIDITY if g.humidity is None else g.humidity
        self.activity = heat.ACTIVITY if g.evaporation_activity is None else g.evaporation_activity
        self.top_up_fall_cm = TOP_UP_FALL_CM if g.top_up_fall is None else g.top_up_fall
        self.size_ratio_look = SIZE_RATIO_LOOK if g.size_ratio_look is None else g.size_ratio_look
        self.size_ratio_act = SIZE_RATIO_ACT if g.size_ratio_act is None else g.size_ratio_act
        self.females_per_male = FEMALES_PER_MALE if g.females_per_male is None else g.females_per_male
        self.free_rim_cm = FREE_RIM_CM if g.free_rim is None else g.free_rim
        self.bring_in_c = BRING_IN_C if g.bring_in is None else g.bring_in
        self.feed_less_c = FEED_LESS_C if g.feed_less is None else g.feed_less
        self.ph_low = PH_LOW if g.ph_low is None else g.ph_low
        self.ph_high = PH_HIGH if g.ph_high is None else g.ph_high
        self.ph_step = PH_STEP if g.ph_step is None else g.ph_step
        self.pail_l = lifting.LARGEST_PAIL_L if g.pail is None else g.pail
        self.reference_kg = lifting.REFERENCE_KG if g.reference_mass is None else g.reference_mass / 1000.0
        self.hose_from_l = lifting.HOSE_FROM_L if g.hose_from is None else g.hose_from
        self.warm_up = WARM_UP_MIN if g.warm_up is None else g.warm_up
        self.feed_after = FEED_AFTER_MIN if g.feed_after is None else g.feed_after
        self.lamps_ahead_days = LAMPS_AHEAD_DAYS if g.lamps_ahead is None else g.lamps_ahead.interval_days
        self.supplies_ahead_days = (
            feeding.ORDER_AHEAD_DAYS if g.supplies_ahead is None else g.supplies_ahead.interval_days
        )
        self._own = g.model_fields_set

    def limit(self, name: str) -> str:
        """Return a limit with whose it is, as a sentence: `The house limit is 0.02.`"""
        return (
            f"{'Your' if self.own(name) else 'The house'} limit is "
            f"{self.formats.number(getattr(self, name))}."
        )

    def source(self, name: str) -> Source:
        """Return whose a value is: the keeper's where it stands in the description, else the project's."""
        return KEEPER if self.own(name) else _SOURCES[name]

    def own(self, name: str) -> bool:
        """Tell whether a value is the keeper's."""
        return name in self._own
