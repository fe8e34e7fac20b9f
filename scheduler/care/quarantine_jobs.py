"""The jobs of a quarantine: watching, weighing, testing and releasing new animals."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable, Iterable, Iterator

from scheduler.care import asked, cautions, contacts, signs, switching
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, ByRule, Job, Notes, On
from scheduler.care.engine.registry import Rule as CareRule
from scheduler.care.engine.registry import job
from scheduler.care.quarantine import (
    FAECAL,
    PRACTICE,
    QUARANTINE,
    Group,
    Quarantine,
    quarantine,
    test_days,
    tested_before,
    untested,
)
from scheduler.rules import Rule
from scheduler.sources import Source


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


@job(FAECAL, where="while an animal with `quarantine` and a day `arrived` is kept apart")
@while_quarantined
def faecal_test(case: Case, q: Quarantine) -> Iterator[Job]:
    """Have droppings of each animal tested on days 14, 42 and 70 after its own arrival."""
    for group in q.groups:
        days = test_days(case, group)[len(tested_before(case, group)) :]
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
