"""Names of many enclosures in a line: all of them where they fit, else the first and how many more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from scheduler.description.site import Enclosure
from scheduler.sheets.terminal import cells, safe, wrapped

Naming = Callable[[Sequence[str], Sequence[str]], str]
"""How names of enclosures are put together: takes some names, and those of all."""

AT_A_GLANCE = 4
"""So many names are read at a glance. House value."""

LEAST_TO_COUNT = 3
"""From so many on `all 3` stands for the names of all."""

LEAST_TO_EXCEPT = 8
MOST_EXCEPTED = 2
"""Of so many at least the names of at most so many that are missing stand for the others."""


def every_name(names: Sequence[str], everyone: Sequence[str] = ()) -> str:
    """Return names written out, whoever there is besides."""
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)


def names_by_id(enclosures: Iterable[Enclosure]) -> dict[str, str]:
    """Return what each enclosure is called in a list of several: its name, with the id where others have the
    name too."""
    there = list(enclosures)
    times = Counter(e.name for e in there)
    return {e.id: e.name if times[e.name] == 1 else f"{e.name} ({e.id})" for e in there}


def told_names(names: Sequence[str], everyone: Sequence[str]) -> str:
    """Return names written out, none left out; "all 24" where they are everyone's, "all but Alder" where few
    are missing."""
    missing = len(everyone) - len(names)
    if not missing and len(everyone) >= LEAST_TO_COUNT:
        return f"all {len(everyone)}"
    if 0 < missing <= MOST_EXCEPTED and len(everyone) >= LEAST_TO_EXCEPT:
        there = set(names)
        return f"all but {every_name([name for name in everyone if name not in there])}"
    return every_name(names)


def few_names(names: Sequence[str], everyone: Sequence[str]) -> str:
    """Return names as `told_names` has them, but of many the first few and how many more there are."""
    whole = told_names(names, everyone)
    return (
        _shortened(names, AT_A_GLANCE)
        if len(names) > AT_A_GLANCE + 1 and whole == every_name(names)
        else whole
    )


def lines_with_names(
    said: str, names: Sequence[str], everyone: Sequence[str], width: int, *, indent: int, first: str = ""
) -> list[str]:
    """Return `said: names` in as few lines as hold what is said and one name; names that do not fit are
    counted.

    As in `wrapped`, `first` stands before the first line.
    """

    def lines(told: str) -> list[str]:
        return list(wrapped(safe(f"{said}: {told}"), width, indent, first))

    whole = told_names(names, everyone)
    least = lines(_shortened(names, 1))
    # What is certainly too long is not laid out.
    if cells(whole) <= width * (len(least) + 1) and len(found := lines(whole)) <= len(least):
        return found
    for count in range(2, len(names)):
        more = lines(_shortened(names, count))
        if len(more) > len(least):
            break
        least = more
    return least


def _shortened(names: Sequence[str], count: int) -> str:
    """Return the first names and how many more there are."""
    rest = len(names) - count
    return f"{', '.join(names[:count])} and {rest} more" if rest > 0 else every_name(names)
