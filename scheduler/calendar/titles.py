"""Titles of calendar entries: the work first, then the place where it tells something, then how much more
there is.

A month's view shows some 5 characters of an entry, a telephone's list some 20: a title tells the work by its
first word. All functions are pure. Places are those of `place_names`; an empty one is left out.
"""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.care import KEYS, Job
from scheduler.care.leading import leading
from scheduler.care.vet import VET
from scheduler.description.site import Site
from scheduler.graphemes import cut, graphemes
from scheduler.quantities import show_minutes

MOST_ROUTINE = 20
"""Longest title of routine, in characters: what a telephone's list shows whole."""

MANY = 20
"""More jobs than these beside the leading ones are told by their minutes too."""

WHOLE_NAME, LEAST_NAME = 5, 3
"""A keeper's name of so many characters is not shortened; a shortened one has at least so many letters."""

LATE, DONE = "Late: ", "Done: "

_KINDS = ("tank", "tub", "pond")


def place_names(site: Site) -> dict[str, str]:
    """Return how each enclosure is called in a title, by id: nothing where there is only one.

    A last word tank, tub or pond falls away where the rest is no other enclosure's name, whole or shortened.
    """
    if len(site.enclosures) == 1:
        return {site.enclosures[0].id: ""}
    names = {e.id: e.name for e in site.enclosures}
    rests = {own: _without_kind(name) for own, name in names.items()}
    taken = Counter(spelt for own, name in names.items() for spelt in {_folded(name), _folded(rests[own])})
    return {own: rest if taken[_folded(rest)] == 1 else names[own] for own, rest in rests.items()}


def _without_kind(name: str) -> str:
    rest, _, last = name.rpartition(" ")
    return rest if rest and last.casefold() in _KINDS else name


def _folded(text: str) -> str:
    return unicodedata.normalize("NFC", text).casefold()


def keeper_names(site: Site) -> dict[str, str]:
    """Return how each keeper is called in a title, by id: short names whole, others by a beginning that is
    nobody else's."""
    names = {k.id: k.name for k in site.keepers}
    return {
        own: _beginning(name, [other for key, other in names.items() if key != own])
        for own, name in names.items()
    }


def _beginning(name: str, others: Iterable[str]) -> str:
    pieces = graphemes(name)
    if len(pieces) <= WHOLE_NAME:
        return name
    folded = [_folded(other) for other in others]
    for length in range(LEAST_NAME, len(pieces)):
        short = "".join(pieces[:length])
        if not pieces[length - 1].isspace() and not any(o.startswith(_folded(short)) for o in folded):
            return short
    return name


# --- one job ---


def job_title(job: Job, place: str) -> str:
    """Return the title of one job: `Water change: Den`, `Too cold: heater, Den`; `Vet: Biscuit`, which names
    its place."""
    if not place or _names_animal(job):
        return job.short
    return f"{job.short}{', ' if ': ' in job.short else ': '}{place}"


def late_title(job: Job, place: str) -> str:
    """Return the title of one that is overdue: `Late: water change Den`."""
    return LATE + _within(job, place)


def done_title(job: Job, place: str) -> str:
    """Return the title of one that was done: `Done: water change Den`."""
    return DONE + _within(job, place)


def _within(job: Job, place: str) -> str:
    return _placed(_lowered(job), "" if _names_animal(job) else place)


def _placed(work: str, place: str) -> str:
    return f"{work} {place}" if place else work


def _names_animal(job: Job) -> bool:
    return job.key in KEYS and job.short.startswith(VET)


def _lowered(job: Job) -> str:
    """Return the work inside a title.

    Acronyms and what an animal's name follows stay; so do the keeper's own words.
    """
    work = job.short
    first = work.split(maxsplit=1)[0]
    if job.key not in KEYS or _names_animal(job) or first[1:] != first[1:].lower():
        return work
    return work[:1].lower() + work[1:]


# --- several jobs ---


def routine_title(jobs: Iterable[Job], *, within: bool = False) -> str:
    """Return the works of a routine, each once: `Feed, look in`; what does not fit is left out from the end.

    What is not daily comes first, so that a month shows on which days animals are fed. Of the daily work, and
    of what is not, feeding is first; a feed with a note to read is before all. At least one job has to be
    given. `within` a title it begins with a small letter.
    """
    held = list(jobs)
    works = {job.short: job for job in held}
    # Of a site's many tanks most keep the same rhythm, which is looked at once.
    seldom = {
        job.short for job in {(job.short, job.cadence): job for job in held}.values() if not job.is_daily
    }

    def order(job: Job) -> tuple[object, ...]:
        return not job.read_first, job.short not in seldom, leading(job)

    first, *rest = sorted(works.values(), key=order)
    title = _whole_words(_lowered(first) if within else first.short)
    for job in rest:
        longer = f"{title}, {_lowered(job)}"
        if len(longer) > MOST_ROUTINE:
            break
        title = longer
    return title


def _whole_words(text: str) -> str:
    """Return what fits of a text in whole words; of one long word, what fits of it."""
    if len(text) <= MOST_ROUTINE:
        return text
    words = text[: MOST_ROUTINE + 1].rpartition(" ")[0].rstrip()
    return words or cut(text, MOST_ROUTINE) or text


def round_title(
    jobs: Iterable[tuple[Job, bool]],
    minutes: int,
    places: Mapping[str, str],
    name: str = "",
    *,
    beside: int = 0,
    done: bool = False,
) -> str:
    """Return the title of what is done together: `Water change Den, 6 more`, `Water change x 2, 5 more`.

    `beside` them are so many jobs of others in which a hand is lent. What was `done` says so: `Done: water
    change Den, 6 more`.

    Each job comes with whether it is late; `minutes` are those of all, told where more than `MANY` are not
    named: `RCD test x 2 +29, 2 h 20`. What leads is sorted by `leading`, in the order given where that leaves
    a choice. `name` is whose round it is, where that has to be told. At least one job has to be given.
    """
    held = list(jobs)
    whose = f"{name}: " if name else ""
    if all(job.routine and not late for job, late in held):
        tanks = {job.enclosure.id for job, _ in held}
        place = places[tanks.pop()] if len(tanks) == 1 else ""
        works = routine_title((job for job, _ in held), within=done)
        return f"{whose}{DONE if done else ''}{_placed(works, place)}{''.join(_told_more(beside, minutes))}"
    lead, late = min(held, key=lambda one: leading(one[0], late=one[1]))
    alike = sum(job.short == lead.short and its_late is late for job, its_late in held)
    more = len(held) - alike + beside
    state = LATE if late else DONE if done else ""
    work = _lowered(lead) if state else lead.short
    if alike > 1:
        work = f"{work} x {alike}"
    elif not _names_animal(lead):
        work = _placed(work, places[lead.enclosure.id])
    rest = "".join(_told_more(more, minutes))
    return f"{whose}{state}{work}{rest}"


def help_title(jobs: Sequence[Job], other: str, places: Mapping[str, str], name: str = "") -> str:
    """Return the title of lending a hand to another keeper: `Help Desmond: filter check Den, 1 more`.

    Never without a job.
    """
    whose = f"{name}: " if name else ""
    work = _within(jobs[0], places[jobs[0].enclosure.id])
    return (
        f"{whose}Help {other}: {work}{''.join(_told_more(len(jobs) - 1, sum(job.minutes for job in jobs)))}"
    )


def _told_more(more: int, minutes: int) -> Iterator[str]:
    if more > MANY:
        spelt = show_minutes(minutes)
        yield f" +{more}, {spelt.removesuffix(' min') if ' h ' in spelt else spelt}"
    elif more:
        yield f", {more} more"
