"""Testing the water: weekly, and after alarms and rinses."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import partial

from scheduler.care import asked, cautions, limits, skills
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.nitrifying import nitrifies
from scheduler.care.watch.alarms import EXTRA, alarms
from scheduler.quantities import Span
from scheduler.sources import Source

TESTS_AFTER_RINSE = (2, 4, 7)
"""Days after a rinse of media on which ammonia and nitrite are tested. House value."""

BIND_AND_TEST = (
    "Bind the ammonia with a conditioner that binds ammonia, by its label, and test the water again"
)
LEFTOVERS = Source(
    "New South Wales Department of Education, Animals in Schools: hygiene and filtration", "published"
)


@job(
    "water-test",
    where=(
        "once the filter works, cycle-test being there until then; also on the days after an alarm, or a "
        "rinse of media"
    ),
)
def water_test(case: Case) -> Iterator[Job]:
    """Test weekly, on the weekday of the water change and before it, when the values are at their worst.

    Until the biofilter works, the daily cycle test does this; where none can, and animals are in, this test
    comes daily.
    """
    e = case.enclosure
    if e.set_up is not None and e.cycled is False:
        return
    anchor = e.cycled if isinstance(e.cycled, dt.date) else case.anchor
    days = 1 if e.resident and not nitrifies(case) else 7

    yield Job(
        enclosure=case.enclosure,
        title="water test",
        short="Test water",
        cadence=Every(span=Span(days), anchor=anchor),
        window=2 if days == 7 else 0,
        minutes=10,
        skills=skills.kit(case),
        eve_of="water-change" if days == 7 else "",
        asks=asked.WATER_TEST,
        notes=partial(_test_notes, case),
    )
    yield from _follow_ups(case)


def _test_notes(case: Case) -> Notes:
    return Notes(
        steps=(
            "Take the sample before any water change: values are at their highest then.",
            "Test ammonia, nitrite, nitrate and pH, and read the water temperature.",
            (
                "Note for each whether the kit reads as N or as the ion: the figures differ by up to "
                f"{case.numeral(4.4)} times."
            ),
            f"Record the values, or write them down with the date. {limits.said(case.house)}",
            limits.answer(),
        ),
        amount=Amount("", "before any water change"),
        cautions=(cautions.HANDS,),
        reason=(
            "ammonia and nitrite should not be found in a working tank; rising nitrate says that changes "
            "are too small or too rare."
        ),
        sources=(
            *limits.sources(case.house),
            LEFTOVERS,
        ),
    )


def _follow_ups(case: Case) -> Iterator[Job]:
    """Yield the tests that follow an alarm, and those that follow a rinse of media."""
    wanted: dict[str, tuple[tuple[dt.date, ...], str]] = {}
    bound: set[str] = set()
    for alarm in alarms(case).open:
        variant = f"alarm-{alarm.day.isoformat()}"
        days, why = wanted.get(variant, ((), ""))
        if not alarm.tests:
            continue
        said = " ".join(filter(None, (why, alarm.reading, alarm.rule)))
        if alarm.first:
            bound.add(variant)
        wanted[variant] = tuple(sorted({*days, *alarm.tested_on})), said
    rinsed = case.done("media-rinse")
    if rinsed:
        day = rinsed[-1].day
        days = tuple(day + dt.timedelta(days=d) for d in TESTS_AFTER_RINSE)
        wanted[f"rinse-{day.isoformat()}"] = days, f"Half of the media was rinsed on {case.date(day)}."
    for variant, (days, why) in sorted(wanted.items()):
        order = _order_of_test(variant, binds=variant in bound)

        yield Job(
            enclosure=case.enclosure,
            variant=variant,
            title="water test, follow-up",
            short="Retest water",
            asks=asked.FOLLOW_UP,
            cadence=On(days=days),
            window=0,
            minutes=10,
            skills=skills.kit(case),
            recorded_as="",
            fixed=True,
            notes=partial(_follow_up_notes, why, order),
        )


def _follow_up_notes(why: str, order: str) -> Notes:
    first = f"{order}. " if order.startswith("Bind") else ""
    return Notes(
        steps=(
            f"{first}Test ammonia and nitrite, pH and the temperature of the water.",
            "Record the values: two clean tests on two days end an alarm, a high one brings another change.",
        ),
        order=order,
        because=why if order else "",
        cautions=(cautions.HANDS,),
        reason=f"{why} What poisons cannot be seen, and one change does not end it.",
        sources=(EXTRA,),
    )


def _order_of_test(variant: str, *, binds: bool) -> str:
    """Return what is done at once where a test follows an alarm; nothing where it follows a rinse."""
    if not variant.startswith("alarm-"):
        return ""
    return BIND_AND_TEST if binds else "Test the water again"
