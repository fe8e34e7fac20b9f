"""What the words of `did` mean: which jobs of which enclosures."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from scheduler import care
from scheduler.care import ByRule, Job, On
from scheduler.description import Enclosure, Site
from scheduler.errors import UsageError, as_words, clip, nearest
from scheduler.history import NO_HISTORY, History, JobRef
from scheduler.plan import Next
from scheduler.quantities import show_date
from scheduler.workflow.name_lookup import by_names, pick

NEAR = dt.timedelta(days=28)
"""A job of single days, or of a span of days, may be meant by its key alone when it is so near."""


@dataclass(slots=True)
class _Group:
    """Enclosures, and the words of the jobs that were done in each of them."""

    enclosures: list[Enclosure] = field(default_factory=list)
    jobs: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meant:
    """What tells which of several jobs of one key is meant: the day on which it was done, today, what is
    planned and what was done."""

    day: dt.date
    today: dt.date
    next: Mapping[JobRef, Next] = field(default_factory=dict)
    history: History = NO_HISTORY

    def fell_due(self, job: Job) -> dt.date | None:
        """Return since when a job was open on the day, as far back as its window reaches; None where it was
        not."""
        coming = self.next.get(job.ref)
        if coming is None:
            return None
        due = coming.since or coming.day
        return due if due <= min(self.today, self.day + dt.timedelta(days=job.window)) else None

    def is_done(self, job: Job) -> bool:
        """Tell whether a job is recorded for the day."""
        return self.history.variants(job.enclosure.id, job.key).get(job.log_name.variant) == self.day


def jobs_named(site: Site, jobs: Sequence[Job], words: Sequence[str], meant: Meant) -> list[Job]:
    """Return the jobs that words name, done on a day: one enclosure or several, then one job or several, and
    so on.

    With a single enclosure its name may be left out. A job is named by its key or its title, or by a
    beginning of one. Where a key has several jobs (two lamps, supplies and what is to be ordered) it means
    the one that is open; `KEY/WHICH` names any of them, `KEY/` the one without a variant. UsageError says
    what a word could have meant.
    """
    own: dict[str, dict[str, list[Job]]] = {}
    for job in jobs:
        own.setdefault(job.enclosure.id, {}).setdefault(job.key, []).append(job)
    titles = {as_words(job.title) for job in jobs}
    found: list[Job] = []
    for group in _groups(site, {job.key for job in jobs}, titles, words):
        for enclosure in group.enclosures:
            there = own.get(enclosure.id, {})
            found += [_job(enclosure, there, word, meant) for word in group.jobs]
    return list({id(job): job for job in found}.values())


def is_meant(word: str, jobs: Iterable[Job], keys: Iterable[str]) -> Callable[[Job], bool]:
    """Return what tells which jobs a word narrows to: a key (one of `keys`), KEY/WHICH, or a title of the
    `jobs`.

    A key means all its variants. UsageError where it names nothing.
    """
    key, stroke, which = word.lower().partition("/")
    known = {name: name for name in keys}
    if key not in known:
        there: dict[str, list[Job]] = {name: [] for name in known}
        for job in jobs:
            there.setdefault(job.key, []).append(job)
        titled = {job.ref[1:] for job in _titled(there, word)}
        if titled:
            return lambda job: job.ref[1:] in titled
    named = pick(key, known, "job")
    if not stroke:
        return lambda job: job.key == named
    variants = {job.variant: job.variant for job in jobs if job.key == named}
    one = pick(which, variants, named) if which or "" not in variants else ""
    return lambda job: job.ref[1:] == (named, one)


def _groups(site: Site, keys: set[str], titles: set[str], words: Sequence[str]) -> list[_Group]:
    places = by_names(site.enclosures)
    groups = [_Group()]
    for word in words:
        if _kind(word, places, keys, titles, first=not groups[-1].enclosures) == "job":
            if not groups[-1].enclosures:
                if len(site.enclosures) != 1:
                    raise UsageError(
                        f"{clip(word)} is a job; name its enclosure first: "
                        f"{', '.join(e.name for e in site.enclosures)}"
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


def _kind(
    word: str, places: Mapping[str, Enclosure], keys: set[str], titles: set[str], *, first: bool
) -> str:
    """Return whether a word is an enclosure or a job.

    A whole name goes before a beginning; at the start, an enclosure.
    """
    low = word.lower()
    key = low.partition("/")[0]
    names = {name.lower() for name in places}
    whole = [
        kind
        for kind, known in (("enclosure", low in names), ("job", key in keys or as_words(low) in titles))
        if known
    ]
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
    if low and any(title.startswith(as_words(low)) for title in titles):
        return "job"
    close = nearest(word, [*places, *keys])
    called = sorted({enclosure.name for enclosure in places.values()})
    hint = (
        f"nearest: {close}"
        if close
        else f"enclosures: {', '.join(called) or 'none'}; jobs: {', '.join(sorted(keys)) or 'none'}"
    )
    raise UsageError(f"there is no enclosure and no job {clip(word)}; {hint}")


def _job(enclosure: Enclosure, there: Mapping[str, list[Job]], word: str, meant: Meant) -> Job:
    key, stroke, which = word.lower().partition("/")
    titled = [] if key in there else _titled(there, word)
    if titled:
        return _recorded(there, _one_of(enclosure, titled, meant))
    if key not in there and key in care.KEYS:
        raise UsageError(f"{enclosure.name} has no job {key}; it has: {', '.join(there)}")
    variants = pick(key, dict(there), f"job in {enclosure.name}")
    if which:
        # What another name records is known by its own name too: `jobs` shows it.
        by_variant = {job.variant: job for job in variants if job.variant}
        return _recorded(there, pick(which, by_variant, f"{variants[0].key} in {enclosure.name}"))
    own = [job for job in variants if job.recorded_as is None] or variants
    plain = next((job for job in own if not job.variant), None)
    return plain if stroke and plain is not None else _one_of(enclosure, own, meant)


def _titled(there: Mapping[str, list[Job]], word: str) -> list[Job]:
    """Return the jobs that a title names, or a beginning of titles where no key begins so."""
    asked = as_words(word)
    jobs = [job for some in there.values() for job in some]
    whole = [job for job in jobs if as_words(job.title) == asked]
    if whole or not asked or any(key.startswith(word.lower().partition("/")[0]) for key in there):
        return whole
    begun = [job for job in jobs if as_words(job.title).startswith(asked)]
    titles = sorted({job.title for job in begun})
    if len(titles) > 1:
        raise UsageError(f"{clip(word)} may mean {', '.join(titles)}; write more of it")
    return begun


def _recorded(there: Mapping[str, list[Job]], job: Job) -> Job:
    """Return the job under which the log knows one: an extra water change is done as a water change."""
    if job.recorded_as is None:
        return job
    return next((own for own in there[job.key] if own.ref == job.log_name), job)


def _one_of(enclosure: Enclosure, jobs: Sequence[Job], meant: Meant) -> Job:
    """Return the one of several jobs that is meant: what is open, else what is recorded for the day already.

    Else the one without a variant, else the one that is near.
    """
    if len(jobs) == 1:
        return jobs[0]
    open_ = [job for job in jobs if meant.fell_due(job)]
    # Said twice it is the same again, and not the next thing of that name.
    told = open_ or [job for job in jobs if meant.is_done(job)] or [job for job in jobs if not job.variant]
    told = told or [job for job in jobs if _near(job, meant.day)] or list(jobs)
    if len(told) == 1:
        return told[0]
    listed = "; ".join(_listed(job, meant) for job in told)
    several = "several open" if open_ else "several"
    raise UsageError(f"{enclosure.name} has {several}: {listed}. Write which; its beginning is enough")


def _listed(job: Job, meant: Meant) -> str:
    since = meant.fell_due(job)
    due = f", due since {show_date(since)}" if since is not None and since < meant.day else ""
    return f"{job.key}/{job.variant} ({job.title}{due})"


def _near(job: Job, day: dt.date) -> bool:
    cadence = job.cadence
    if isinstance(cadence, On):
        return any(abs(day - d) <= NEAR for d in cadence.days)
    if isinstance(cadence, ByRule):
        begun = cadence.start is None or cadence.start <= day
        return begun and (cadence.until is None or day <= cadence.until + NEAR)
    return True
