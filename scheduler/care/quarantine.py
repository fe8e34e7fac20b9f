"""Quarantine: which animals are kept apart, since when, for how long, and what that asks of every job."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from scheduler.care import cautions
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import Job, Notes, On
from scheduler.description.site import Resident
from scheduler.sources import Source

QUARANTINE_DAYS = 90
"""Length of quarantine. House value, built on the minimum of 30 days under a vet of the AZA standards
(2007)."""


LEAST_QUARANTINE_DAYS = 30
"""No entry of the keeper's goes below: AZA accreditation standards 2007, quarantine."""

FAECAL = "faecal-test"
FAECAL_DAYS = (14, 42, 70)
"""Days of the three faecal tests, 2 to 4 weeks apart and all inside the quarantine. House value."""

QUARANTINE = Source(
    (
        "90 days is a house rule on the 30-day minimum of the AZA standards 2007; all in, all out: it "
        "restarts when another animal joins"
    ),
    "house value",
)
ALL_IN_ALL_OUT = Source("all in, all out: AZA accreditation standards 2007, quarantine", "published")
PRACTICE = Source("separate tools, tended last, vet exam, repeated faecal tests: Tabaka 2003", "published")


INTAKE_DAYS = 3
"""Day after the arrival on which the vet looks at a new animal; a few days early or late do no harm.

House value.
"""


INTAKE = Source("the vet in the first week after the arrival", "house value")
DISINFECTING = Source(
    "dirt off first, gloves and air, never bleach with ammonia or another cleaner: CDC advice, read as "
    "restated in a county's bulletin of "
    "May 2020; dilution and contact time stand on the label",
    "published",
)


@dataclass(frozen=True, slots=True)
class Group:
    """The animals of a quarantine that came on one day. The tests of each count from its own arrival.

    `variant` tells its jobs apart: none for those that came first.
    """

    day: dt.date
    residents: tuple[Resident, ...]
    variant: str

    @property
    def names(self) -> str:
        """Return who they are, as a phrase."""
        return join(tuple(r.name for r in self.residents))


@dataclass(frozen=True, slots=True)
class Quarantine:
    """First day, day of the last arrival (from which the clock runs) and day of release of an enclosure's
    quarantine."""

    first: dt.date
    restart: dt.date
    release: dt.date
    groups: tuple[Group, ...]


def quarantine(case: Case) -> Quarantine | None:
    """Return the enclosure's quarantine: it ends so many days after the *last* animal joined, whoever that
    was, from outside or from another enclosure, and whether it is still there."""
    first = [r.arrived for r in case.enclosure.resident if r.quarantine and r.arrived]
    if not first:
        return None
    restart = max(day for day in case.arrivals if day >= min(first))
    released = case.history.variants(case.enclosure.id, "quarantine-release").values()
    for day in sorted(_joined(case)):
        # Whoever comes after the end joins no quarantine.
        ends = min((r for r in released if r >= restart), default=restart + dt.timedelta(days=_length(case)))
        if restart < day < ends:
            restart = day
    groups = tuple(
        Group(day, tuple(some), "" if day == min(first) else day.isoformat())
        for day, some in case.arrivals.items()
        if day >= min(first)
    )
    return Quarantine(min(first), restart, restart + dt.timedelta(days=_length(case)), groups)


def _joined(case: Case) -> Iterator[dt.date]:
    """Yield the days on which animals of other enclosures joined those that were there, and those on which
    animals came that have left since.

    Who came together from one enclosure is one group wherever it is, and joins nobody by moving.
    """
    everybody = case.site.whole.get(case.enclosure.id, case.enclosure).resident
    came: dict[tuple[dt.date | None, str], None] = {}
    for r in sorted(everybody, key=lambda r: r.here_since or dt.date.min):
        origin = r.moved_from[-1] if r.here_since is not None and r.moved_from else ""
        came[r.here_since, origin] = None
    # The group that was there first joins nobody.
    yield from [day for day, _ in came if day is not None][0 if (None, "") in came else 1 :]
    yield from (r.arrived for r in everybody if r.departed is not None and r.arrived is not None)


def _length(case: Case) -> int:
    own = case.enclosure.job.get("quarantine-release")
    return own.every.most_days if own is not None and own.every is not None else QUARANTINE_DAYS


def _before(case: Case, q: Quarantine, key: str) -> list[dt.date]:
    """Return the days on which a job of this quarantine was done for all its animals where they lived
    before."""
    here = case.enclosure.id
    quarantined = [r for r in case.enclosure.resident if r.quarantine and r.arrived]
    days = [{d for d in case.history.done_before(here, r.id, key) if d >= q.restart} for r in quarantined]
    return sorted(set.intersection(*days)) if days else []


def test_days(case: Case, group: Group) -> tuple[dt.date, ...]:
    """Return the days on which droppings of a group are to be tested, counted from its own arrival."""
    length = _length(case)
    offsets = FAECAL_DAYS if length > FAECAL_DAYS[-1] else tuple(range(14, length, 14))[:3]
    return tuple(group.day + dt.timedelta(days=d) for d in offsets)


def tests_recorded(case: Case, group: Group) -> int:
    """Return how many tests of a group the record knows, here and where its animals lived before."""
    here = {e.day for e in case.done(FAECAL) if e.of == group.variant and e.day >= group.day}
    return len(here | set(tested_before(case, group)))


def tested_before(case: Case, group: Group) -> list[dt.date]:
    """Return the days on which all animals of a group were tested where they lived before: they take their
    tests along."""
    variants, here = ("", group.day.isoformat()), case.enclosure.id
    days = [
        {d for d in case.history.done_before(here, r.id, FAECAL, variants) if d >= group.day}
        for r in group.residents
    ]
    return sorted(set.intersection(*days)) if days else []


def untested(case: Case, q: Quarantine) -> list[str]:
    """Return what the record lacks before the release, a phrase for each group: `Fern: 1 of 3 tests`.

    Nothing without a record, and nothing of a group whose tests began before the record did.
    """
    begun = case.history.begun
    if begun is None:
        return []
    counted = [
        (g, tests_recorded(case, g), len(test_days(case, g)))
        for g in q.groups
        if begun <= test_days(case, g)[0]
    ]
    return [f"{g.names}: {has} of {needs} tests" for g, has, needs in counted if has < needs]


def kept_apart(case: Case, jobs: Iterable[Job]) -> Iterator[Job]:
    """Yield the jobs of an enclosure, in quarantine each with how tools, hands and disinfectant are handled
    there."""
    q = quarantine(case)
    for one in jobs:
        before = isinstance(one.cadence, On) and q is not None and max(one.cadence.days) < q.first
        yield one if q is None or before else replace(one, notes=_apart(one.notes))


def _apart(made: Callable[[], Notes]) -> Callable[[], Notes]:
    def notes() -> Notes:
        plain = made()
        careful = (cautions.QUARANTINE, cautions.DISINFECTANT)
        return replace(
            plain,
            cautions=tuple(dict.fromkeys((*careful, *plain.cautions))),
            sources=(*plain.sources, PRACTICE, DISINFECTING),
        )

    return notes


def span_of(case: Case) -> tuple[dt.date, dt.date] | None:
    """Return the first and the last day on which an enclosure is in quarantine; None where it never is.

    Where a record is kept, it lasts until the release is recorded.
    """
    found = quarantine(case)
    if found is None:
        return None
    history = case.history
    if history.begun is not None and found.release >= history.begun:
        done = history.variants(case.enclosure.id, "quarantine-release").values()
        released = [day for day in done if day >= found.restart]
        released += _before(case, found, "quarantine-release")
        return found.first, max(released) if released else dt.date.max
    return found.first, found.release
