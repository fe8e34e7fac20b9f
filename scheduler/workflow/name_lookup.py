"""What a word on the command line means: a day, an enclosure, a keeper."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from typing import Protocol, TypeVar

from scheduler.description.dates import written
from scheduler.description.fields import FIRST_DAY, LAST_DAY
from scheduler.errors import UsageError, clip, nearest

Thing = TypeVar("Thing")


class Named(Protocol):
    """What a description calls by a name and an id."""

    @property
    def id(self) -> str:
        """What the record knows it by."""

    @property
    def name(self) -> str:
        """What people call it."""


Called = TypeVar("Called", bound=Named)


def parse_day(text: str) -> dt.date:
    """Return a day given on the command line. UsageError when it is none."""
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        meant = written(text, "it as 2026-12-01")
        raise UsageError(f"{clip(text)} is not a date; write {meant}") from None
    if not FIRST_DAY <= day <= LAST_DAY:
        raise UsageError(f"{clip(text)} is not believable; expected {FIRST_DAY} to {LAST_DAY}")
    return day


def day_named(text: str, today: dt.date, *, past: bool = False) -> dt.date:
    """Return a day given as a date, as "today", "tomorrow" or "yesterday", or as a weekday.

    A weekday is the next one after today; of what is `past` the last one, today included. UsageError for
    anything else.
    """
    word = text.strip().lower()
    if word in _NEAR:
        return today + dt.timedelta(days=_NEAR[word])
    if word in _WEEKDAYS:
        ahead = (_WEEKDAYS[word] - today.weekday()) % 7
        return today + dt.timedelta(days=(ahead - 7 if ahead else 0) if past else ahead or 7)
    return parse_day(text)


_NEAR = {"yesterday": -1, "today": 0, "tomorrow": 1}
_LONG = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_WEEKDAYS = {name: n for n, name in enumerate(_LONG)} | {name[:3]: n for n, name in enumerate(_LONG)}


def parse_span(text: str) -> tuple[dt.date, dt.date]:
    """Return the first and the last day of a span given on the command line, or a day as both.

    UsageError when it is none.
    """
    begin, _, end = text.partition("/")
    first = parse_day(begin)
    last = parse_day(end) if end else first
    if last < first:
        raise UsageError(f"{clip(text)} ends before it begins; write the earlier day first")
    return first, last


def span_named(text: str, today: dt.date) -> tuple[dt.date, dt.date]:
    """Return a span whose days are given as `day_named` takes them, or a day as both. UsageError when it is
    none."""
    begin, _, end = text.partition("/")
    first = day_named(begin, today)
    last = day_named(end, first) if end else first
    if last < first:
        raise UsageError(f"{clip(text)} ends before it begins; write the earlier day first")
    return first, last


def pick(word: str, things: Mapping[str, Thing], what: str) -> Thing:
    """Return the thing that a word addresses: by name or id, or by a unique beginning of one.

    UsageError otherwise.

    `things` maps every name and id to its thing.
    """
    lowered = {name.lower(): thing for name, thing in things.items()}
    if word.lower() in lowered:
        return lowered[word.lower()]
    matches = {id(thing): thing for name, thing in lowered.items() if name.startswith(word.lower())}
    if len(matches) == 1:
        return next(iter(matches.values()))
    if matches:
        found = sorted(name for name in things if name.lower().startswith(word.lower()))
        raise UsageError(f"{clip(word)} may mean any {what} of {', '.join(found)}; write more of it")
    close = nearest(word, things)
    hint = (
        f"; nearest: {close}"
        if close
        else f"; there are: {', '.join(sorted(things))}"
        if things
        else "; there are none"
    )
    raise UsageError(f"there is no {what} {clip(word)}{hint}")


def pick_named(
    word: str, things: Iterable[Called], what: str, where: Callable[[Called], str] | None = None
) -> Called:
    """Return the thing that a word addresses as `pick` does, by name or id. UsageError otherwise.

    An id as it is written comes first: pages and messages name by it, and another thing may have it as its
    name. `where` tells things of one name apart in a message.
    """
    things = tuple(things)
    exact = next((one for one in things if one.id == word), None)
    if exact is not None:
        return exact
    alike = sorted((one for one in things if one.name.lower() == word.lower()), key=lambda one: one.id)
    if len(alike) > 1:
        ids = ", ".join(one.id if where is None else f"{one.id} ({where(one)})" for one in alike)
        raise UsageError(f"{clip(word)} may be any {what} of {ids}; write its id")
    return pick(word, by_names(things), what)


def by_names(things: Iterable[Called]) -> dict[str, Called]:
    """Return things with a name and an id by both; where one's name is another's id, the name wins."""
    things = tuple(things)
    return {**{t.id: t for t in things}, **{t.name: t for t in things}}
