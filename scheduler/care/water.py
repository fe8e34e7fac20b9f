"""Water: changing it, testing it, topping it up, and keeping the tank itself clean."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import replace

from scheduler.care import asked, cautions, limits, skills
from scheduler.care.case import Case
from scheduler.care.figures.nitrogen import is_measured, longest_allowed
from scheduler.care.job import Amount, Every, Job, Notes, On
from scheduler.care.registry import job
from scheduler.care.watch.alarms import EXTRA, Alarm, alarms
from scheduler.care.watch.food_stop import food_stop
from scheduler.description.site import JobOverride
from scheduler.handbook import lifting, volume
from scheduler.quantities import Span
from scheduler.sources import HOUSE, Source

LARGE_SHARE = 0.3
"""From this share on a change counts as large and is kept days apart from filter service. House value."""

LEAST_SPACED_DAYS = 6
"""Between changes that come more often no day is three days away from both: filter service then falls where it can."""

TESTS_AFTER_RINSE = (2, 4, 7)
"""Days after a rinse of media on which ammonia and nitrite are tested. House value."""

MATCH_K = 2.0
"""New water comes within so many kelvin of the tank. Veterinary convention, 2 to 3 K, from memory; the narrower end."""

MATCHING = Source("new water within 2 °C of the tank: veterinary convention of 2 to 3 °C", "from memory")
LEFTOVERS = Source(
    "New South Wales Department of Education, Animals in Schools: hygiene and filtration", "published"
)


@job("water-test")
def water_test(case: Case) -> Iterator[Job]:
    """Test weekly, on the weekday of the water change and before it, when the values are at their worst.

    Until the biofilter works, the daily cycle test does this.
    """
    e = case.enclosure
    if e.set_up is not None and e.cycled is False:
        return
    anchor = e.cycled if isinstance(e.cycled, dt.date) else case.anchor

    def notes() -> Notes:
        return Notes(
            steps=(
                "Take the sample before any water change: values are at their highest then.",
                "Test ammonia, nitrite, nitrate and pH, and read the water temperature.",
                f"Note for each whether the kit reads as N or as the ion: the figures differ by up to {case.numeral(4.4)} times.",
                f"Record the values, or write them down with the date. {limits.said(case.house)}",
                limits.answer(),
            ),
            amount=Amount("", "before any water change"),
            cautions=(cautions.HANDS,),
            reason="ammonia and nitrite should not be found in a working tank; rising nitrate says that changes are too small or too rare.",
            sources=(
                *limits.sources(case.house),
                LEFTOVERS,
            ),
        )

    yield Job(
        enclosure=case.enclosure,
        title="water test",
        short="Test water",
        cadence=Every(span=Span(7), anchor=anchor),
        window=2,
        minutes=10,
        skills=skills.kit(case),
        eve_of="water-change",
        asks=asked.WATER_TEST,
        notes=notes,
    )
    yield from _follow_ups(case)


def _follow_ups(case: Case) -> Iterator[Job]:
    """Yield the tests that follow an alarm, and those that follow a rinse of media."""
    wanted: dict[str, tuple[tuple[dt.date, ...], str]] = {}
    for alarm in alarms(case).open:
        variant = f"alarm-{alarm.day.isoformat()}"
        days, why = wanted.get(variant, ((), ""))
        said = " ".join(filter(None, (why, alarm.reading, alarm.rule, alarm.first, alarm.pace)))
        wanted[variant] = tuple(sorted({*days, *alarm.tested_on})), said
    rinsed = case.done("media-rinse")
    if rinsed:
        day = rinsed[-1].day
        days = tuple(day + dt.timedelta(days=d) for d in TESTS_AFTER_RINSE)
        wanted[f"rinse-{day.isoformat()}"] = days, f"Half of the media was rinsed on {case.date(day)}."
    for variant, (days, why) in sorted(wanted.items()):

        def notes(why: str = why, order: str = _order_of_test(variant, why)) -> Notes:
            return Notes(
                steps=(
                    f"{why} Test ammonia and nitrite, pH and the temperature of the water.",
                    "Record the values: two clean tests on two days end an alarm, a high one brings another change.",
                ),
                order=order,
                because=why if order else "",
                cautions=(cautions.HANDS,),
                reason="what poisons cannot be seen, and one change does not end it.",
                sources=(EXTRA,),
            )

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
            notes=notes,
        )


def _order_of_test(variant: str, why: str) -> str:
    """Return what is done at once where a test follows an alarm; nothing where it follows a rinse."""
    if not variant.startswith("alarm-"):
        return ""
    return (
        "Bind the ammonia, and test the water again" if "ind the ammonia" in why else "Test the water again"
    )


@job("water-change")
def water_change(case: Case) -> Iterator[Job]:
    """Change water as often as nitrate asks for: by common practice half of it every two weeks at most."""
    own = case.enclosure.job.get("water-change")
    days = math.floor(case.value("water_change_interval") or longest_allowed(case))
    minutes = 30 if case.change_l is None else min(180, 5 * round((20 + case.change_l / 8) / 5))
    yield Job(
        enclosure=case.enclosure,
        title="water change",
        short="Water change",
        cadence=Every(span=Span(max(1, days)), anchor=case.anchor),
        window=min(2 if own is None or own.window is None else own.window.most_days, max(0, days - 1)),
        minutes=minutes,
        skills=("lifting",),
        heavy=case.change_share >= LARGE_SHARE and days >= LEAST_SPACED_DAYS,
        needs_two=_pails_are_heavy(case),
        notes=lambda: _change_notes(case),
    )
    yield from _extra_changes(case, minutes)


def _extra_changes(case: Case, minutes: int) -> Iterator[Job]:
    """Yield the change that an alarm asks for: as large as the worst of them, and one for all that are still to be answered."""
    asking = [alarm for alarm in alarms(case).open if alarm.share]
    last = max((alarm.day for alarm in asking if alarm.left), default=dt.date.min)
    by_day: dict[dt.date, list[Alarm]] = {}
    for alarm in asking:
        by_day.setdefault(last if alarm.left else alarm.day, []).append(alarm)
    for day, some in sorted(by_day.items()):
        worst = max(some, key=lambda a: (a.left, a.share))
        share = worst.left or worst.share

        def notes(worst: Alarm = worst, share: float = share) -> Notes:
            made = _change_notes(_with_share(case, share))
            stop = food_stop(case)
            # Ammonia is bound first also where the change is for nitrite.
            first = next((a.first for a in alarms(case).open if a.first), "")
            return replace(
                made,
                steps=(
                    f"{worst.reading} {worst.rule} Change water today; it counts as the next regular change too.",
                    *filter(None, (first, worst.pace)),
                    *([stop.sentence, stop.then] if stop is not None else []),
                    *made.steps,
                ),
                order=f"{'Bind the ammonia, then change' if first else 'Change'} {made.amount.value} of the water now"
                if made.amount
                else "",
                because=f"{worst.reading} {worst.rule}",
                reason="ammonia and nitrite poison within hours; a change takes them out at once.",
                sources=(worst.source, EXTRA, *([stop.source] if stop is not None else []), *made.sources),
                worked=(),
            )

        yield Job(
            enclosure=case.enclosure,
            variant=f"alarm-{day.isoformat()}",
            title=f"extra water change, {share * 100:.0f} %",
            short="Extra change",
            cadence=On(days=(day,)),
            share=share,
            met_on=worst.changed_on[-1:] if not worst.left else (),
            window=0,
            minutes=minutes,
            skills=("lifting",),
            recorded_as="",
            fixed=True,
            needs_two=_pails_are_heavy(case),
            notes=notes,
        )


def _pails_are_heavy(case: Case) -> bool:
    """Tell whether the water is carried in pails that one person should not lift from the floor (NIOSH 94-110)."""
    if case.change_l is None or case.change_l > case.house.hose_from_l:
        return False
    mass = case.value("pail_mass")
    return mass is not None and lifting.lifting_index(mass, lifting.pail_limit_kg()) > 1.0


def _with_share(case: Case, share: float) -> Case:
    """Return the case with another share of the water at a change: its amounts are those of that share."""
    own = case.enclosure.job.get("water-change", JobOverride()).model_copy(update={"share": share})
    other = case.enclosure.model_copy(update={"job": {**case.enclosure.job, "water-change": own}})
    return Case(case.site, other, case.today, case.history, case.described)


def _change_notes(case: Case) -> Notes:
    steps: list[str] = []
    if case.enclosure.heater:
        steps.append(_heater_off(case))
    steps += _drain(case)
    steps.append(_new_water(case))
    neutralise = _neutralise(case)
    if neutralise:
        steps.append(neutralise)
    steps.append("Pour the new water in slowly, away from the animals, up to the usual line.")
    if case.enclosure.heater or case.enclosure.filter:
        steps.append("Switch the filter on and see it run; switch the heater on once it is under water.")
    steps.append("Pour the old water into the toilet or on the garden.")
    careful = [
        cautions.UNPLUG,
        cautions.HOT_WATER,
        cautions.lift(case.house.pail_l, case.formats),
        cautions.SIPHON,
        cautions.SINK,
        cautions.NATURE,
        cautions.HANDS,
    ]
    if case.enclosure.heater:
        careful.insert(1, cautions.HEATER)
    sources = [case.change_source, MATCHING, case.house.source("pail")]
    if case.change_l is not None:
        sources += [volume.GEOMETRY, *([volume.POROSITY] if case.substrate_cm else [])]
    if case.hot_l is not None:
        sources.append(volume.MIXING)
    if case.chlorine_level:
        sources.append(case.chlorine_source)
    interval = case.known("water_change_interval")
    sources += [figure.source for figure in interval]
    return Notes(
        steps=tuple(steps),
        amount=_change_amount(case),
        cautions=tuple(careful),
        reason=_why_so_often(case),
        sources=tuple(sources),
        worked=case.known(*CHANGE_FIGURES),
    )


def _change_amount(case: Case) -> Amount:
    if case.change_l is None:
        return Amount(f"{case.change_share * 100:.0f} %", "out")
    return Amount(case.litres(case.change_l), "out")


CHANGE_FIGURES = (
    "gross_volume",
    "net_volume",
    "water_change_volume",
    "line_after_change",
    "hot_water_volume",
    "chlorine_to_neutralise",
    "freed_ammonia",
    "pail_mass",
    "lifting_limit",
    "ration",
    "feed_nitrogen",
    "nitrate_rise",
    "water_change_interval",
    "nitrate_peak",
)
"""The figures that a water change rests on, in the order in which one follows from another."""


def _why_so_often(case: Case) -> str:
    reason = "a partial change is what takes nitrate out; topping up does not."
    peak = case.value("nitrate_peak")
    if peak is None:
        return reason
    by = (
        ", by your own readings"
        if is_measured(case)
        else ", if all nitrogen of the food ends in the water"
        if case.house.all_nitrogen
        else ""
    )
    return f"{reason} At this rhythm nitrate stands at about {peak:.0f} mg/L before a change{by}."


def _heater_off(case: Case) -> str:
    line = case.value("line_after_change")
    low = ""
    if line is not None and case.enclosure.water_depth:
        low = f" The line falls by {case.cm(case.enclosure.water_depth - line)}: a heater above it would crack or burn."
    return f"Unplug the heater and let it cool 15 to 30 minutes; unplug the filter.{low}"


def _drain(case: Case) -> list[str]:
    share = f"{case.change_share * 100:.0f} %"
    line = case.value("line_after_change")
    own = case.enclosure.job.get("water-change")
    first = []
    if case.enclosure.outdoors and (own is None or own.share is None):
        # The customary half is custom of tanks; nothing published was found for ponds.
        first = [
            "Half the water is custom for tanks; for a pond let your water tests say how much, and write the share into the description."
        ]
    mass = case.value("pail_mass")
    if case.change_l is None or line is None or mass is None:
        return [
            *first,
            f"Drain {share} of the water. How many litres that is follows once length, width and water depth are "
            "measured and stand in the description.",
        ]
    drained = f"Drain {case.litres(case.change_l)} ({share}): stop when the water stands {case.cm(line)} over the floor."
    count = volume.pails(case.change_l, case.house.pail_l)
    each = case.change_l / count
    by_pail = (
        f"{count} pail{'s' if count > 1 else ''} of {case.litres(each)} (about {case.kilograms(mass)} each)"
    )
    if case.change_l > case.house.hose_from_l:
        return [*first, drained, f"Use a hose or a pump; by hand it would be {by_pail}."]
    return [*first, drained, f"By hand that is {by_pail}; never fill one fuller."]


def _new_water(case: Case) -> str:
    tap = case.site.place.tap_water
    target = case.set_to_c
    step = case.degrees_apart(MATCH_K)
    if target is None:
        return f"Measure the tank's water and mix new water to within {step} of it."
    if case.change_l is None or tap.cold is None or tap.hot is None:
        missing = "the water's volume" if case.change_l is None else "cold and hot tap water"
        return f"Mix new water to {case.degrees(target)}, within {step}. The litres of hot and cold follow once {missing} is measured and stands in the description."
    hot = case.hot_l
    if hot is None:
        return (
            f"Bring the new water to {case.degrees(target)}, within {step}: the taps alone ({case.degrees(tap.cold)} to "
            f"{case.degrees(tap.hot)}) do not give that, let it stand in the room."
        )
    chilled = volume.mixed_temperature(case.change_share, target, tap.cold)
    return (
        f"Mix new water of {case.degrees(target)}: {case.litres(case.change_l - hot)} cold ({case.degrees(tap.cold)}) and "
        f"{case.litres(hot)} hot ({case.degrees(tap.hot)}). Check with a thermometer: within {step}. Cold water alone "
        f"would bring the tank down to {case.degrees(chilled)}."
    )


def _neutralise(case: Case) -> str:
    level = case.chlorine_level
    if not level:
        return ""
    kind = "chloramine" if case.frees_ammonia else "chlorine"
    mg = case.value("chlorine_to_neutralise")
    if mg is None:
        return f"Treat the new water against {kind} ({case.numeral(level)} mg in each litre) with conditioner, dosed by its label."
    text = f"Treat the new water with conditioner by its label: it has to neutralise {case.milligrams(mg)} of {kind} (as Cl2)."
    freed = case.value("freed_ammonia")
    if freed is not None:
        text += f" That frees {case.numeral(freed, '.2g')} mg/L of ammonia nitrogen in the new water: take a conditioner that binds ammonia too."
    return text


@job("top-up")
def top_up(case: Case) -> Iterator[Job]:
    """Replace what evaporated; how much the line tells."""

    fall = _fall_cm_a_day(case)
    days = 7 if not fall else max(1, min(7, math.floor(case.house.top_up_fall_cm / fall)))

    def notes() -> Notes:
        measure = "Mark the full line on the outside once."
        if case.floor is not None:
            step_cm, step = (2.54, "inch") if case.units == "us" else (1.0, "cm")
            litres = case.litres(volume.gross_litres(*case.floor, step_cm))
            measure = f"Read how far the line has fallen: each {step} is {litres}."
        expect = (
            f"About {case.litres(evaporated * days)} will have gone in {days} day{'s' if days > 1 else ''}, less in a warm room."
            if (evaporated := case.value("evaporation"))
            else ""
        )
        treat = (
            "Add treated water of the tank's temperature up to the line."
            if case.chlorine_level
            else "Add water of the tank's temperature up to the line."
        )
        return Notes(
            steps=tuple(
                filter(
                    None, (measure, expect, treat, "See that heater and filter inlet are well under water.")
                )
            ),
            amount=Amount(case.litres(evaporated * days), "or so, up to the line")
            if evaporated
            else Amount("", "up to the line"),
            cautions=(cautions.UNPLUG, cautions.HANDS),
            reason="a heater that falls dry can crack or burn. Topping up takes no nitrate out: it does not replace a change.",
            sources=(
                case.house.source("top_up_fall"),
                *(figure.source for figure in case.known("evaporation")),
                *([volume.GEOMETRY] if case.floor is not None else []),
            ),
            worked=case.known("heat_loss", "evaporation"),
        )

    yield Job(
        enclosure=case.enclosure,
        title="top up",
        short="Top up",
        cadence=Every(span=Span(days), anchor=case.anchor, by_weekdays=True),
        window=min(2, days - 1),
        minutes=5,
        # A pail of water mixed from the hot tap.
        skills=("lifting",),
        notes=notes,
    )


def _fall_cm_a_day(case: Case) -> float | None:
    """Return by how much the water line falls in a day; None where evaporation cannot be computed."""
    evaporated = case.value("evaporation")
    if evaporated is None or case.floor is None:
        return None
    return evaporated / volume.gross_litres(*case.floor, 1.0)


@job("wipe-down")
def wipe_down(case: Case) -> Iterator[Job]:
    """Wipe panes and basking place; a pond has no panes."""
    kind = case.enclosure.kind
    if kind == "pond":
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                f"Wipe the {'panes' if kind == 'tank' else 'walls'} inside with a cloth or a scraper kept for this enclosure alone.",
                "Scrub the basking place in a bucket of tank water, no soap.",
                "Wipe salt and drops off the cover, the cords and the outside.",
            ),
            amount=Amount(
                "", "panes, basking place, cover" if kind == "tank" else "walls, basking place, cover"
            ),
            cautions=(cautions.UNPLUG, cautions.LAMP_OFF, cautions.SINK, cautions.HANDS),
            reason="algae on the panes do no harm, but a slimy basking place does, and deposits on a cover take light.",
            sources=(HOUSE,),
        )

    yield Job(
        enclosure=case.enclosure,
        title="wipe down",
        short="Wipe down",
        cadence=Every(span=Span(7), anchor=case.anchor),
        window=3,
        minutes=10,
        # Plugs are pulled before hands go in, and cords are wiped.
        skills=("adult",),
        notes=notes,
    )
