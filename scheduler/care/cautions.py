"""The cautions that stand under a note: whole, each with the source it is taken from, and in short."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.locales import PLAIN, Formats
from scheduler.quantities import show_volume


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt somebody at a job, in two lengths: `text`, whole, with whose advice it is, and `short`
    for an entry's note.

    The short one is written for itself, not cut from the whole: it names the danger and what to do.
    """

    text: str
    short: str

    def __str__(self) -> str:
        """Return the whole of it."""
        return self.text


HANDS = Caution(
    "wash hands with soap for 20 seconds straight after; turtles of any size can carry Salmonella. Children "
    "under 5, "
    "people of 65 and over and people with weak immunity leave this to others (CDC advice).",
    "Salmonella: wash hands with soap after. Not if under 5, 65+ or immune-weak.",
)
SINK = Caution(
    "keep water, pails and filter parts away from the kitchen and from food (CDC advice).",
    "Germs: tank water, pails and filter parts stay out of the kitchen.",
)
UNPLUG = Caution(
    "switch off and unplug everything electric before hands go into the water; dry hands at plugs, drip "
    "loops in the "
    "cords. Faults are for a licensed electrician.",
    "Current: unplug all before hands go in; dry hands; faults: electrician.",
)
HEATER = Caution(
    (
        "let the heater cool 15 to 30 minutes before the water falls below it; switch it on again only "
        "under water."
    ),
    "Heater: cool for 15 to 30 minutes before draining; on only under water.",
)
HOT_WATER = Caution(
    (
        "hot tap water scalds: at 60 °C (140 °F) in under 5 seconds. Pour cold first, then hot; no children "
        "near."
    ),
    "Hot tap water scalds in seconds: cold first, then hot, no children near.",
)
SIPHON = Caution(
    "start a siphon with its bulb or by filling the hose, never by mouth.",
    "Siphon: start it by bulb or filled hose, never by mouth.",
)
FAULT = Caution(
    (
        "what does not trip, is cracked, damp or bitten is not used again: faults are for a licensed "
        "electrician, by local codes."
    ),
    "Faults: out of use at once; a licensed electrician mends them.",
)
LAMP_OFF = Caution(
    "unplug UV and heat lamps and let them cool before reaching in; never look into a UV lamp.",
    "Lamps: off and cool before you reach in; never look into a UV lamp.",
)
LAMP_ON = Caution(
    (
        "the lamp burns while you read it: hold the meter on a rod, keep hands and face out from under the "
        "lamp, and never look into a UV lamp."
    ),
    "Lamp on: meter on a rod, hands out from under; never look into a UV lamp.",
)
MERCURY = Caution(
    "these lamps hold mercury. If one breaks: people and animals out, air the room 5 to 10 minutes, no "
    "vacuum cleaner, "
    "scoop up with stiff card and tape into a closed jar (EPA advice). Old lamps go to the collection point.",
    "Mercury: if a lamp breaks, all out, air 10 minutes, no vacuum cleaner.",
)
MONOXIDE = Caution(
    "carbon monoxide has no smell: no flame, grill or gas stove for warmth indoors, no generator indoors or "
    "near windows and "
    "doors (CDC advice).",
    "Carbon monoxide: indoors no flame, grill or gas stove, no generator near.",
)
NATURE = Caution(
    "no tank water, plants or animals into ponds, streams or drains that lead there.",
    "Nature: no tank water, plants, animals into ponds, streams, their drains.",
)
QUARANTINE = Caution(
    "in quarantine: come here last. Use this enclosure's own net, tub, pail, hose and cloths, which stay "
    "here; clean and disinfect "
    "them after use, and wash hands and arms before you touch anything else.",
    "Quarantine: come last, its own tools, disinfect them, wash hands and arms.",
)
DISINFECTANT = Caution(
    "disinfectant: wash off all dirt first; dilution and contact time by the label. Never in water with an "
    "animal in it, nor in "
    "a filter that runs; rinse until no smell is left, and let dry before anything goes back. Gloves, an "
    "open window, no children. Never mix "
    "bleach with acid, vinegar, ammonia or another cleaner: the gas is poisonous (CDC advice). Not down a "
    "drain that leads to open water.",
    "Bleach: never mixed, never near an animal; gloves, air; rinse, dry; by label.",
)
AMMONIA = Caution(
    "ammonia burns eyes, skin and lungs: gloves, glasses and an open window, no children near. Never mix it "
    "with bleach or another "
    "cleaner: the gas is poisonous (CDC advice). Follow the label; never in water with an animal in it.",
    "Ammonia burns: gloves, glasses, air; never with bleach, nor near an animal.",
)
OUTDOOR_POWER = Caution(
    "outdoors only equipment that is made for outdoors, behind a ground-fault device (RCD, GFCI), plugs dry "
    "and off the ground; fixed "
    "wiring is for a licensed electrician, by local codes.",
    "Current outdoors: outdoor-rated, RCD or GFCI, dry plugs; else electrician.",
)
VET = Caution(
    "this is a reminder, not a diagnosis: a vet who knows reptiles decides.",
    "No diagnosis: a vet who knows reptiles decides.",
)
LAW = Caution(
    "rules on keeping, moving and giving away turtles differ: ask your authority.",
    "Law: ask your authority before you keep, move or give away turtles.",
)


def lift(pail_l: float, formats: Formats = PLAIN) -> Caution:
    """Return the caution about pails, which are filled with so many litres at most."""
    most = f"{show_volume(pail_l, 'metric', formats)} ({show_volume(pail_l, 'us', formats)})"
    return Caution(
        f"carry pails of at most {most}, close to the body, without twisting, and set them down every 10 m "
        "(30 ft) (HSE advice); "
        "use a hose or a pump for more.",
        f"Back: pails of at most {most}, close, no twisting; else a hose.",
    )


_HEADLINES = {
    UNPLUG: "Unplug first",
    OUTDOOR_POWER: "Outdoors: dry plugs, ground-fault device",
    MONOXIDE: "No flame, no generator indoors",
    HOT_WATER: "Hot water scalds",
    HEATER: "Let the heater cool",
    FAULT: "Faults: out of use",
    LAMP_OFF: "Lamps off first",
    AMMONIA: "Ammonia burns eyes and lungs",
    LAMP_ON: "Never look into the lamp",
    MERCURY: "Mercury in the lamps",
    HANDS: "Wash your hands after",
}
"""What can hurt most, first, each in a few words: current and water, heat, what is breathed in, what is
caught. House order."""


def worst_first(some: Iterable[Caution]) -> list[Caution]:
    """Return cautions, each once, with the worst first; others stay in their order."""
    ranks = {caution: rank for rank, caution in enumerate(_HEADLINES)}
    return sorted(dict.fromkeys(some), key=lambda caution: ranks.get(caution, len(ranks)))


def headline(caution: Caution) -> str:
    """Return a caution in a few words."""
    return _HEADLINES.get(caution, "Take care")
