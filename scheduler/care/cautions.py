"""The cautions that stand under a note, each with the source it is taken from."""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.quantities import show_volume

HANDS = (
    "wash hands with soap for 20 seconds straight after; turtles of any size can carry Salmonella. Children under 5, "
    "people of 65 and over and people with weak immunity leave this to others (CDC advice)."
)
SINK = "keep water, pails and filter parts away from the kitchen and from food (CDC advice)."
UNPLUG = (
    "switch off and unplug everything electric before hands go into the water; dry hands at plugs, drip loops in the "
    "cords. Faults are for a licensed electrician."
)
HEATER = "let the heater cool 15 to 30 minutes before the water falls below it; switch it on again only under water."
HOT_WATER = (
    "hot tap water scalds: at 60 °C (140 °F) in under 5 seconds. Pour cold first, then hot; no children near."
)
SIPHON = "start a siphon with its bulb or by filling the hose, never by mouth."
LAMP_OFF = "switch UV and heat lamps off and let them cool before reaching in; never look into a UV lamp."
MERCURY = (
    "these lamps hold mercury. If one breaks: people and animals out, air the room 5 to 10 minutes, no vacuum cleaner, "
    "scoop up with stiff card and tape into a closed jar (EPA advice). Old lamps go to the collection point."
)
NATURE = "no tank water, plants or animals into ponds, streams or drains that lead there."
VET = "this is a reminder, not a diagnosis: a vet who knows reptiles decides."
LAW = "rules on keeping, moving and giving away turtles differ: ask your authority."


def lift(pail_l: float) -> str:
    """Return the caution about pails, which are filled with so many litres at most."""
    return (
        f"carry pails of at most {show_volume(pail_l, 'metric')} ({show_volume(pail_l, 'us')}), close to the body, without twisting; "
        "use a hose or a pump for more."
    )


_HEADLINES = {
    UNPLUG: "Unplug first",
    HOT_WATER: "Hot water scalds",
    HEATER: "Let the heater cool",
    LAMP_OFF: "Lamps off first",
    MERCURY: "Mercury in the lamps",
    HANDS: "Wash your hands after",
}
"""What can hurt most, first, each in a few words: current and water, heat, what is breathed in, what is caught. House order."""


def worst_first(some: Iterable[str]) -> list[str]:
    """Return cautions, each once, with the worst first; others stay in their order."""
    ranks = {caution: rank for rank, caution in enumerate(_HEADLINES)}
    return sorted(dict.fromkeys(some), key=lambda caution: ranks.get(caution, len(ranks)))


def headline(caution: str) -> str:
    """Return a caution in a few words."""
    return _HEADLINES.get(caution, "Take care")
