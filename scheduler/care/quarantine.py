"""Quarantine: watching, weighing, testing and releasing new animals."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from scheduler.care import asked, cautions, contacts, signs, switching
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import Amount, ByRule, Job, Notes, On
from scheduler.care.engine.registry import Rule as CareRule
from scheduler.care.engine.registry import job
from scheduler.description.site import Resident
from scheduler.rules import Rule
from scheduler.sources import Source

QUARANTINE_DAYS = 90
"""Length of quarantine. House value, built on the minimum of 30 days under a vet of the AZA standards
(2007)."""


LEAST_QUARANTINE_DAYS = 30
"""No entry of the keeper's goes below: AZA accreditation standards 2007, quarantine."""

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
    was."""

    first = [r.arrived for r in case.enclosure.resident if r.quarantine and r.arrived]
    if not first:
        return None
    restart = max(day for day in case.arrivals if day >= min(first))
    groups = tuple(
        Group(day, tuple(some), "" if day == min(first) else day.isoformat())
        for day, some in case.arrivals.items()
        if day >= min(first)
    )
    return Quarantine(min(first), restart, restart + dt.timedelta(days=_length(case)), groups)


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
    return len(here | set(_tested_before(case, group)))


def _tested_before(case: Case, group: Group) -> list[dt.date]:
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


def while_quarantined(rule: Callable[[Case, Quarantine], Iterable[Job]]) -> CareRule:
    """Make a care rule of one that is about a quarantine: without a quarantine there is no job."""

    @functools.wraps(rule)
    def with_quarantine(case: Case) -> Iterator[Job]:
        q = quarantine(case)
        if q is not None:
            yield from rule(case, q)

    return with_quarantine


@job(
    "quarantine-watch",
    where="while an animal with `quarantine` and a day `arrived` is kept apart",
    routine=True,
)
@while_quarantined
def quarantine_watch(case: Case, q: Quarantine) -> Iterator[Job]:
    """Watch quarantined animals daily, after all others."""

    def notes() -> Notes:
        return Notes(
            steps=(
                "Come here last, after every other enclosure. Use this enclosure's own net, tub and cloths.",
                (
                    "Look closely at each animal: eyes, nose, mouth, shell, skin, droppings; write down "
                    "what is new."
                ),
                *_signs(case),
                (
                    "Wash the dirt off the tools, disinfect them by the label, rinse them and hang them up "
                    "to dry, here. Wash hands and arms before going anywhere else."
                ),
            ),
            amount=_animals(case),
            cautions=(cautions.HANDS, cautions.VET),
            reason=f"quarantine runs to {case.date(q.release)}, and starts again when another animal joins.",
            sources=(QUARANTINE, PRACTICE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="quarantine watch",
        short="Quarantine look",
        cadence=ByRule(rule=Rule(freq="DAILY"), start=q.first + dt.timedelta(days=1), until=q.release),
        part="evening",
        minutes=10,
        skills=("adult",),
        notes=notes,
    )


def _signs(case: Case) -> tuple[str, ...]:
    """Return the signs of illness, where the daily look does not have them already."""
    own = case.enclosure.job.get("daily-look")
    if own is not None and own.off:
        return (signs.soon(case), signs.today(case))
    return (
        (
            f"A sign of the daily look's list, or anything new: call {contacts.whom(case, 'vet')}, and say "
            "that the animal is in quarantine."
        ),
    )


def _animals(case: Case) -> Amount:
    count = sum(r.count for r in case.enclosure.resident)
    return Amount("", f"{count} animals, one by one" if count > 1 else "1 animal")


@job("quarantine-weigh", where="while an animal with `quarantine` and a day `arrived` is kept apart")
@while_quarantined
def quarantine_weigh(case: Case, q: Quarantine) -> Iterator[Job]:
    """Weigh quarantined animals on arrival and every week."""

    def notes() -> Notes:
        return Notes(
            steps=(
                *switching.unplug(case),
                (
                    "Weigh each animal in a dry tub of its own, on the same scale, before feeding. Write "
                    "the grams down."
                ),
                (
                    f"More than {case.numeral(case.house.weight_loss * 100)} % under the first weight (a "
                    f"hatchling {case.numeral(case.house.weight_loss_young * 100)} %): call "
                    f"{contacts.whom(case, 'vet')}."
                ),
                *switching.plug_in_again(case),
                (
                    "Wash scale and tub, disinfect them by the label, rinse and dry them before an animal "
                    "goes in again."
                ),
            ),
            amount=_animals(case),
            cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET),
            reason="weight falls before other signs of illness show.",
            sources=(
                Source("weekly weights in quarantine", "house value"),
                *dict.fromkeys(case.house.source(name) for name in ("weight_loss", "weight_loss_young")),
                PRACTICE,
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="quarantine weighing",
        short="Weigh",
        asks=asked.weights(case.enclosure),
        cadence=ByRule(rule=Rule(freq="WEEKLY"), start=q.first, until=q.release),
        part="evening",
        minutes=10,
        skills=("adult",),
        notes=notes,
    )


FAECAL = "faecal-test"


@job(FAECAL, where="while an animal with `quarantine` and a day `arrived` is kept apart")
@while_quarantined
def faecal_test(case: Case, q: Quarantine) -> Iterator[Job]:
    """Have droppings of each animal tested on days 14, 42 and 70 after its own arrival."""
    for group in q.groups:
        days = test_days(case, group)[len(_tested_before(case, group)) :]
        if not days:
            continue

        def notes(group: Group = group) -> Notes:
            whose = f" of {group.names}" if len(q.groups) > 1 else ""
            return Notes(
                steps=(
                    (
                        f"Collect fresh droppings{whose} with the net into a clean, closed, labelled pot, "
                        "of each animal by itself where you can tell; keep it cool, away from food."
                    ),
                    (
                        f"Bring them to {contacts.whom(case, 'vet')} the same day, for a direct and a "
                        "flotation test."
                    ),
                    "Write the result down. A find is treated first, and the vet says when to test again.",
                ),
                cautions=(cautions.HANDS, cautions.SINK, cautions.VET),
                reason="one test misses parasites: three clean ones are wanted before release.",
                sources=(
                    Source(
                        "three tests 2 to 4 weeks apart, days 14, 42 and 70 of each animal", "house value"
                    ),
                    PRACTICE,
                ),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=group.variant,
            title=f"faecal test, {group.names}" if group.variant else "faecal test",
            short="Faecal test",
            cadence=On(days=days),
            window=3,
            minutes=30,
            skills=("adult",),
            notes=notes,
        )


@job("quarantine-release", where="while an animal with `quarantine` and a day `arrived` is kept apart")
@while_quarantined
def quarantine_release(case: Case, q: Quarantine) -> Iterator[Job]:
    """Decide on release at the end of the quarantine, 90 days after the last arrival unless you chose
    otherwise."""

    def notes() -> Notes:
        days = (q.release - q.restart).days
        missing = untested(case, q)
        first = (
            (f"Not yet: the record has {'; '.join(missing)}. Have the rest done and recorded first.",)
            if missing
            else ()
        )
        return Notes(
            steps=(
                *first,
                (
                    f"Check the record: {days} days since the last arrival ({case.date(q.restart)}), weight "
                    f"steady, {len(test_days(case, q.groups[0]))} faecal tests of each animal recorded and "
                    "clean."
                ),
                f"Have the vet agree{contacts.in_brackets(case, 'vet')}.",
                "Anything open: stay in quarantine. All well: write quarantine = false into the description.",
                *switching.unplug(case),
                (
                    "Before the enclosure serves others: animals out, water out. Scrub off all dirt with "
                    "soap, disinfect by the label, rinse until no smell is left, let dry. Its filter has no "
                    "bacteria after that: cycle it anew."
                ),
                *switching.plug_in_again(case, lead="Filled again, plug in again, and see"),
            ),
            cautions=(*switching.hands_in_water(case), cautions.HANDS, cautions.VET, cautions.LAW),
            reason="one animal let out too early can infect the whole collection.",
            sources=(QUARANTINE, PRACTICE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="end of quarantine",
        short="End quarantine",
        cadence=On(days=(q.release,)),
        window=7,
        minutes=30,
        skills=("adult",),
        notes=notes,
    )


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
