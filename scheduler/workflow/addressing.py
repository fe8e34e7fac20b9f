"""What the words of `did` mean: which jobs of which enclosures."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from scheduler import care
from scheduler.care import ByRule, Job, On
from scheduler.description import Enclosure, Site
from scheduler.errors import UsageError, clip, nearest
from scheduler.workflow.naming import by_names, pick

NEAR = dt.timedelta(days=28)
"""A job of single days, or of a span of days, may be meant by its key alone when it is so near."""


@dataclass(slots=True)
class _Group:
    """Enclosures, and the words of the jobs that were done in each of them."""

    enclosures: list[Enclosure] = field(default_factory=list)
    jobs: list[str] = field(default_factory=list)


def jobs_named(site: Site, jobs: Sequence[Job], words: Sequence[str], day: dt.date) -> list[Job]:
    """Return the jobs that words name, done on a day: one enclosure or several, then one job or several, and so on.

    With a single enclosure its name may be left out. A job that there is several times (for two lamps, two arrivals) is
    named `KEY/WHICH`, unless only one of them can be meant on that day. UsageError says what a word could have meant.
    """
    groups = _groups(site, {job.key for job in jobs}, words)
    own: dict[str, dict[str, list[Job]]] = {}
    for job in jobs:
        # What another name records is not named itself: an extra water change is a water change.
        if job.recorded_as is None:
            own.setdefault(job.enclosure.id, {}).setdefault(job.key, []).append(job)
    found: list[Job] = []
    for group in groups:
        for enclosure in group.enclosures:
            there = own.get(enclosure.id, {})
            found += [_job(enclosure, there, word, day) for word in group.jobs]
    return list({id(job): job for job in found}.values())


def _groups(site: Site, keys: set[str], words: Sequence[str]) -> list[_Group]:
    places = by_names(site.enclosures)
    groups = [_Group()]
    for word in words:
        meant = _kind(word, places, keys, first=not groups[-1].enclosures)
        if meant == "job":
            if not groups[-1].enclosures:
                if len(site.enclosures) != 1:
                    raise UsageError(
                        f"{clip(word)} is a job; name its enclosure first: {', '.join(e.name for e in site.enclosures[:8])}"
                    )
                groups[-1].enclosures.append(site.enclosures[0])
            groups[-1].jobs.append(word)
            continue
        if groups[-1].jobs:
            groups.append(_Group())
        groups[-1].enclosures.append(pick(word, places, "enclosure"))
    if not groups[-1].jobs:
        named = groups[-1].enclosures
        where = (named or site.enclosures)[-1].name
        what = f"name what was done in {where}" if named else "name an enclosure and what was done there"
        raise UsageError(f'{what}: pondround did "{where}" water-change')
    return groups


def _kind(word: str, places: Mapping[str, Enclosure], keys: set[str], *, first: bool) -> str:
    """Return whether a word is an enclosure or a job. A whole name goes before a beginning; at the start, an enclosure."""
    low = word.lower()
    key = low.partition("/")[0]
    names = {name.lower() for name in places}
    whole = [kind for kind, known in (("enclosure", low in names), ("job", key in keys)) if known]
    if whole:
        return whole[0] if first else whole[-1]
    begun = [
        kind
        for kind, known in (
            ("enclosure", any(name.startswith(low) for name in names)),
            ("job", any(k.startswith(key) for k in keys)),
        )
        if known
    ]
    if len(begun) == 2:
        raise UsageError(f"{clip(word)} may be an enclosure or a job; write more of it")
    if begun:
        return begun[0]
    close = nearest(word, [*places, *keys])
    called = sorted({enclosure.name for enclosure in places.values()})
    hint = f"nearest: {close}" if close else f"enclosures: {_some(called)}; jobs: {_some(sorted(keys))}"
    raise UsageError(f"there is no enclosure and no job {clip(word)}; {hint}")


def _some(words: Sequence[str]) -> str:
    return ", ".join(words[:12]) + (", ..." if len(words) > 12 else "") if words else "none"


def _job(enclosure: Enclosure, there: Mapping[str, list[Job]], word: str, day: dt.date) -> Job:
    key, _, which = word.lower().partition("/")
    if key not in there and key in care.KEYS:
        raise UsageError(f"{enclosure.name} has no job {key}; it has: {', '.join(there)}")
    variants = pick(key, dict(there), f"job in {enclosure.name}")
    by_variant = {job.variant: job for job in variants}
    if which:
        return pick(
            which, {name: job for name, job in by_variant.items() if name}, f"{key} in {enclosure.name}"
        )
    if "" in by_variant:
        return by_variant[""]
    near = [job for job in variants if _near(job, day)]
    if len(near) == 1 or len(variants) == 1:
        return near[0] if near else variants[0]
    listed = "; ".join(f"{job.key}/{job.variant} ({job.title})" for job in (near or variants)[:8])
    raise UsageError(f"{enclosure.name} has several: {listed}. Write which; its beginning is enough")


def _near(job: Job, day: dt.date) -> bool:
    cadence = job.cadence
    if isinstance(cadence, On):
        return any(abs(day - d) <= NEAR for d in cadence.days)
    if isinstance(cadence, ByRule):
        begun = cadence.start is None or cadence.start <= day
        return begun and (cadence.until is None or day <= cadence.until + NEAR)
    return True
