"""Why nobody takes an item, of what forbids it to each who could do it; and what would mend it."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.description.site import Keeper
from scheduler.quantities import show_date
from scheduler.rota.availability import Availability
from scheduler.rota.capacity import Capacity
from scheduler.rota.model import Item, Unfilled
from scheduler.rota.refusal import Refusal, join_words

MOST_NAMES = 4


def explain(capacity: Capacity, item: Item) -> Unfilled:
    """Return an unfilled item with the reason, by what each keeper has otherwise."""
    availability = capacity.availability
    able = availability.able(item.job.skills)
    if not able:
        return _no_skill(availability, item)
    slots = [(day, number) for day in item.days for number in able]
    answers = {slot: capacity.refusal(item, slot) for slot in slots}
    refusals = [refusal for refusal in answers.values() if refusal is not None]
    there = [
        slot for slot, refusal in answers.items() if refusal is None or refusal.kind in ("minutes", "rounds")
    ]
    if not there:
        return _not_there(item, [availability.keepers[n] for n in able], refusals)
    free = [slot for slot in there if answers[slot] is None]
    if free:
        spare, day, keeper = max(
            (
                (availability.minutes(k, day) - capacity.used.get((day, n), 0), day, k)
                for day, n in free
                for k in [availability.keepers[n]]
            ),
            key=lambda one: (one[0], -one[1].toordinal()),
        )
        return Unfilled(
            item,
            (
                f"{keeper.name} has {spare} min on {show_date(day)}, but no place for it was found beside "
                "the rest"
            ),
            "more time for the search (--seconds), or --afresh where a rota is published",
        )
    too_many = [
        refusal.keeper for refusal in refusals if refusal.kind == "rounds" and refusal.keeper is not None
    ]
    if too_many:
        one = "has" if len({k.id for k in too_many}) == 1 else "have"
        return Unfilled(
            item,
            (
                f"{_names(too_many)} {one} as many rounds in that week as rounds_a_week allows, and nobody "
                "else the minutes"
            ),
            f"rounds_a_week of {too_many[0].name} one higher",
        )
    near = min((r for r in refusals if r.kind == "minutes"), key=lambda r: (r.needs - r.has, r.day))
    assert near.keeper is not None
    names = _names([availability.keepers[n] for _, n in there])
    limits = f"the minutes of all who can do it and are there are used up ({names})"
    more = f"{near.needs - near.has} more minutes of {near.keeper.name} on {show_date(near.day)}"
    return Unfilled(item, limits, more)


def _no_skill(availability: Availability, item: Item) -> Unfilled:
    lacking = [s for s in item.job.skills if not any(s in (k.can or ()) for k in availability.keepers)]
    words = ", ".join(f'"{skill}"' for skill in (lacking or item.job.skills))
    why = f"no keeper lists {words}" if lacking else f"no single keeper lists all of {words}"
    here = [k for k in availability.keepers if any(availability.comes(k, day) for day in item.days)]
    whom = f" of {_names(here[:1])}" if here else ""
    return Unfilled(
        item, why, f"add it to can{whom}, if that is so, or ask somebody from outside who is fit for it"
    )


def _not_there(item: Item, able: Sequence[Keeper], refusals: Sequence[Refusal]) -> Unfilled:
    when = (
        show_date(item.days[0])
        if len(item.days) == 1
        else f"{show_date(item.days[0])} to {show_date(item.days[-1])}"
    )
    # Who is not away on some day has other weekdays.
    others = [r.keeper for r in refusals if r.kind != "away" and r.keeper is not None]
    if not others:
        why = f"all who can do it are away ({_names(able)}), {when}"
        return Unfilled(
            item, why, f"somebody to stand in on {show_date(item.days[0])}: `pondround rota --sitter NAME`"
        )
    why = f"nobody who can do it comes ({_names(able)}), {when}"
    first = min(others, key=lambda k: [other.id for other in able].index(k.id))
    return Unfilled(item, why, f"{first.name} on {item.days[0]:%A}, {show_date(item.days[0])}")


def _names(keepers: Sequence[Keeper]) -> str:
    names = list(dict.fromkeys(k.name for k in keepers))
    if len(names) > MOST_NAMES:
        return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"
    return join_words(names)
