"""Filter service that keeps the biofilter alive."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care import cautions, skills, switching
from scheduler.care.cautions import Caution
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.care.watch.cycling import in_step
from scheduler.quantities import Span
from scheduler.sources import COMMON_PRACTICE, HOUSE, Source

RESTART = Source("nitrifiers suffer within hours without flow; restart within 2 to 4 hours", "from memory")


RINSE_DAYS = 56
"""Days from one half of the media to the other. House value."""


def _where(case: Case) -> str:
    f = case.enclosure.filter
    if f is not None and f.kind == "canister":
        return "Close the stop valves, undo the disconnects and carry the canister to the tub."
    return "Take the filter to the tub."


def _opened(case: Case, *service: str) -> tuple[str, ...]:
    """Return the steps of a service between those that take the filter out of use and those that bring it
    back."""
    f = case.enclosure.filter
    purged = ", valves open, and purge it of air" if f is not None and f.kind == "canister" else ""
    treated = "treated water" if case.chlorine_level else "water"
    return (
        *switching.unplug(case),
        f"Siphon {case.litres(case.house.pail_l)} of tank water into a tub kept for this.",
        _where(case),
        *service,
        f"Put the filter back within 2 hours{purged}. After longer, empty its old water first.",
        (
            f"Pour the tub into the toilet or on the garden. Mix {treated} of the tank's temperature in a "
            "clean pail, and top up."
        ),
        *switching.plug_in_again(case),
    )


def _careful(case: Case) -> tuple[Caution, ...]:
    return (
        *switching.hands_in_water(case),
        *((cautions.HEATER,) if case.enclosure.heater else ()),
        cautions.HOT_WATER,
        cautions.SIPHON,
        cautions.SINK,
        cautions.NATURE,
        cautions.HANDS,
    )


@job("filter-check", where="where there is a filter")
def filter_check(case: Case) -> Iterator[Job]:
    """Open the filter every four weeks: sponges, hoses and impeller, never the biological media."""
    if case.enclosure.filter is None:
        return

    def notes() -> Notes:
        return Notes(
            steps=_opened(
                case,
                "Rinse sponges and floss in it until they are free again; leave the biological media alone.",
                "Look over hoses, seals and the impeller; wipe the impeller clean.",
            ),
            amount=Amount("", "sponges and floss, not the media"),
            cautions=_careful(case),
            reason="clogged sponges starve the biofilter of oxygen; tap water with chlorine would kill it.",
            sources=(COMMON_PRACTICE, RESTART),
        )

    yield Job(
        enclosure=case.enclosure,
        title="filter check",
        short="Filter check",
        cadence=Every(span=Span(28), anchor=case.anchor),
        window=3,
        minutes=30,
        skills=(*skills.plugs(case), "lifting"),
        heavy=True,
        notes=notes,
    )


def next_half(case: Case) -> int:
    """Return the half of the media whose turn it is, 1 or 2: the one that was left alone last time."""
    rinsed = case.done("media-rinse")
    return 2 if rinsed and rinsed[-1].value == 1.0 else 1


def _half(case: Case) -> str:
    trays = case.enclosure.filter.media_trays if case.enclosure.filter is not None else None
    rinsed = case.done("media-rinse")
    if not rinsed:
        half = (
            f"{trays // 2} of the {trays} media trays"
            if trays is not None and trays > 1
            else "half of the biological media"
        )
        return f"Take out {half}: those that were left alone last time. Mark them."
    turn = next_half(case)
    if trays is not None and trays > 1:
        middle = trays // 2
        first, last = (1, middle) if turn == 1 else (middle + 1, trays)
        which = f"tray {first}" if first == last else f"trays {first} to {last}"
        half = f"half {turn}, {which} of {trays}, counted from the top"
    else:
        half = f"half {turn} of the biological media"
    other = "the other half was" if rinsed[-1].value is not None else "a half was"
    return f"Take out {half}: {other} rinsed on {case.date(rinsed[-1].day)}. Leave that one alone."


def _which_half(case: Case) -> str:
    trays = case.enclosure.filter.media_trays if case.enclosure.filter is not None else None
    if not case.done("media-rinse"):
        return f"{trays // 2} of {trays} trays" if trays is not None and trays > 1 else "half of the media"
    return f"half {next_half(case)} of the media"


@job(
    "media-rinse", where="where there is a filter, and `cycled` is not false; one half of the media each time"
)
def media_rinse(case: Case) -> Iterator[Job]:
    """Rinse half of the biological media, the other half at the next turn; never before the filter works."""
    cycled = case.enclosure.cycled
    if case.enclosure.filter is None or cycled is False:
        return
    first = in_step(case.anchor, cycled, RINSE_DAYS) if isinstance(cycled, dt.date) else case.anchor

    def notes() -> Notes:
        return Notes(
            steps=(
                *_opened(
                    case,
                    _half(case),
                    "Swirl them gently in the tub, never under the tap. Leave the rest as it is.",
                ),
                "Test ammonia and nitrite after 2, 4 and 7 days.",
            ),
            amount=Amount("", _which_half(case)),
            cautions=_careful(case),
            reason="the bacteria that remove ammonia live on the media; half of them always stays untouched.",
            sources=(
                Source(
                    "at most half the media at one service, the other half two weeks or more later",
                    "house value",
                ),
                RESTART,
                HOUSE,
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="media rinse, one half",
        short="Rinse media",
        cadence=Every(span=Span(RINSE_DAYS), anchor=first),
        window=7,
        minutes=40,
        skills=(*skills.plugs(case), "lifting"),
        heavy=True,
        notes=notes,
    )
