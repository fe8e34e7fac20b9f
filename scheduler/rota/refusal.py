"""Why a keeper may not take something on a day: a value, and the one sentence for it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from scheduler.description.site import Keeper
from scheduler.locales import PLAIN, Formats

Reason = Literal["job's weekday", "away", "not a day", "skill", "minutes", "rounds", "gone", "over", "window"]

_ANYBODY: frozenset[Reason] = frozenset({"over", "window", "job's weekday"})
"""What forbids a job on a day to whomever."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """A rule that forbids a keeper (None: anybody) a job on a day.

    `needs` and `has` are minutes of the day, or rounds of its week; `lacking` are the skills that the keeper
    has not; `days` are those on which the job could be done.
    """

    kind: Reason
    keeper: Keeper | None
    day: dt.date
    needs: int = 0
    has: int = 0
    lacking: tuple[str, ...] = ()
    days: tuple[dt.date, ...] = ()


def sentence(refusal: Refusal, what: str = "it", formats: Formats = PLAIN) -> str:
    """Return a refusal in words, without a full stop: a hand-over, a move in a calendar and a rota say it
    alike.

    `what` names the job where several are meant, `formats` is how days are written.
    """
    if refusal.keeper is None or refusal.kind in _ANYBODY:
        return _of_anybody(refusal, formats)
    return _of_keeper(refusal, refusal.keeper.name, what, formats)


def _of_anybody(refusal: Refusal, formats: Formats) -> str:
    day, days = formats.date(refusal.day), refusal.days
    match refusal.kind:
        case "over":
            return f"{day} is over"
        case "window" if len(days) == 1:
            return "it has no window: it is for that day alone"
        case "window":
            return f"its window is {formats.date(days[0])} to {formats.date(days[-1])}"
        case "job's weekday":
            return f"it is not for a {refusal.day:%A} ({day})"
    return "it is no longer in the plan"


def _of_keeper(refusal: Refusal, name: str, what: str, formats: Formats) -> str:
    day = formats.date(refusal.day)
    match refusal.kind:
        case "away":
            return f"{name} is away ({day})"
        case "not a day":
            return f"{name} does not come on a {refusal.day:%A} ({day})"
        case "skill":
            return f"{name} cannot take it: {what} asks for {join_words(refusal.lacking)}"
        case "minutes":
            return f"{name} has {refusal.has} min on {day} and would need {refusal.needs}"
        case "rounds":
            return f"{name} has {refusal.needs - 1} of {refusal.has} rounds in the week of {day} already"
    return f"the rota no longer has it for {name}"


def join_words(words: Iterable[str]) -> str:
    """Return words as a list in a sentence."""
    parts = list(words)
    return ", ".join(parts[:-1]) + " and " + parts[-1] if len(parts) > 1 else "".join(parts)
