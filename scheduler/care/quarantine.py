"""Quarantine: watching, weighing, testing and releasing new animals."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from scheduler.care import asked, cautions, contacts, signs, switching
from scheduler.care.case import Case
from scheduler.care.job import Amount, ByRule, Job, Notes, On
from scheduler.care.registry import Rule as CareRule
from scheduler.care.registry import job
from scheduler.rules import Rule
from scheduler.sources import Source

QUARANTINE_DAYS = 90
"""Length of quarantine. House value, built on the minimum of 30 days under a vet of the AZA standards (2007)."""

LEAST_QUARANTINE_DAYS = 30
"""No entry of the keeper's goes below: AZA accreditation standards 2007, quarantine."""

FAECAL_DAYS = (14, 42, 70)
"""Days of the three faecal tests, 2 to 4 weeks apart and all inside the quarantine. House value."""

QUARANTINE = Source(
    "90 days is a house rule on the 30-day minimum of the AZA standards 2007; all in, all out: it restarts when another animal joins",
    "house value",
)
ALL_IN_ALL_OUT = Source("all in, all out: AZA accreditation standards 2007, quarantine", "published")
PRACTICE = Source("separate tools, tended last, vet exam, repeated faecal tests: Tabaka 2003", "published")


@dataclass(frozen=True, slots=True)
class Quarantine:
    """First day, day of the last arrival (from which the clock runs) and day of release of an enclosure's quarantine."""

    first: dt.date
    restart: dt.date
    release: dt.date


def quarantine(case: Case) -> Quarantine | None:
    """Return the enclosure's quarantine: it ends so many days after the *last* animal joined, whoever that was."""
    first = [r.arrived for r in case.enclosure.resident if r.quarantine and r.arrived]
    if not first:
        return None
    restart = max(day for day in case.arrivals if day >= min(first))
    return Quarantine(min(first), restart, restart + dt.timedelta(days=_length(case)))


def _length(case: Case) -> int:
    own = case.enclosure.job.get("quarantine-release")
    return own.every.most_days if own is not None and own.every is not None else QUARANTINE_DAYS


def _before(case: Case, q: Quarantine, key: str) -> list[dt.date]:
    """Return the days on which a job of this quarantine was done for all its animals where they lived before."""
    here = case.enclosure.id
    quarantined = [r for r in case.enclosure.resident if r.quarantine and r.arrived]
    days = [{d for d in case.history.done_before(here, r.id, key) if d >= q.restart} for r in quarantined]
    return sorted(set.intersection(*days)) if days else []


def while_quarantined(rule: Callable[[Case, Quarantine], Iterable[Job]]) -> CareRule:
    """Make a care rule of one that is about a quarantine: without a quarantine there is no job."""

    @functools.wraps(rule)
    def with_quarantine(case: Case) -> Iterator[Job]:
        q = quarantine(case)
        if q is not None:
            yield from rule(case, q)

    return with_quarantine


@job("quarantine-watch", routine=True)
@while_quarantined
def quarantine_watch(case: Case, q: Quarantine) -> Iterator[Job]:
    """Watch quarantined animals daily, after all others."""

    def notes() -> Notes:
        return Notes(
            steps=(
                "Come here last, after every other enclosure. Use this enclosure's own net, tub and cloths.",
                "Look at eyes, nose, breathing, shell, skin and droppings; write down what is new.",
                signs.soon(case),
                signs.today(case),
                "Disinfect the tools, and wash hands and arms before going anywhere else.",
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


def _animals(case: Case) -> Amount:
    count = sum(r.count for r in case.enclosure.resident)
    return Amount("", f"{count} animals, one by one" if count > 1 else "1 animal")


@job("quarantine-weigh")
@while_quarantined
def quarantine_weigh(case: Case, q: Quarantine) -> Iterator[Job]:
    """Weigh quarantined animals on arrival and every week."""

    def notes() -> Notes:
        return Notes(
            steps=(
                *switching.unplug(case),
                "Weigh each animal in a dry tub of its own, on the same scale, before feeding. Write the grams down.",
                f"More than {case.numeral(case.house.weight_loss * 100)} % under the first weight (a hatchling {case.numeral(case.house.weight_loss_young * 100)} %): call {contacts.whom(case, 'vet')}.",
                *switching.plug_in_again(case),
                "Disinfect scale and tub.",
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


@job("faecal-test")
@while_quarantined
def faecal_test(case: Case, q: Quarantine) -> Iterator[Job]:
    """Have droppings tested three times, two to four weeks apart."""
    length = (q.release - q.restart).days
    offsets = FAECAL_DAYS if length > FAECAL_DAYS[-1] else tuple(range(14, length, 14))[:3]
    # An animal that moves takes its tests along.
    offsets = offsets[len(_before(case, q, "faecal-test")) :]
    if not offsets:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                "Collect fresh droppings with the net into a clean, closed, labelled pot; keep it cool, away from food.",
                f"Bring them to {contacts.whom(case, 'vet')} the same day, for a direct and a flotation test.",
                "Write the result down. A find is treated first, and the vet says when to test again.",
            ),
            cautions=(cautions.HANDS, cautions.SINK, cautions.VET),
            reason="one test misses parasites: three clean ones are wanted before release.",
            sources=(Source("three tests 2 to 4 weeks apart, days 14, 42 and 70", "house value"), PRACTICE),
        )

    yield Job(
        enclosure=case.enclosure,
        title="faecal test",
        short="Faecal test",
        cadence=On(days=tuple(q.restart + dt.timedelta(days=d) for d in offsets)),
        window=3,
        minutes=30,
        skills=("adult",),
        notes=notes,
    )


@job("quarantine-release")
@while_quarantined
def quarantine_release(case: Case, q: Quarantine) -> Iterator[Job]:
    """Decide on release at the end of the quarantine."""

    def notes() -> Notes:
        days = (q.release - q.restart).days
        return Notes(
            steps=(
                f"Check the record: {days} days since the last arrival ({case.date(q.restart)}), weight steady, every faecal test clean.",
                f"Have the vet agree{contacts.in_brackets(case, 'vet')}.",
                "Anything open: stay in quarantine. All well: write quarantine = false into the description.",
                "Disinfect the enclosure and its tools before they serve others.",
            ),
            cautions=(cautions.HANDS, cautions.VET, cautions.LAW),
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
