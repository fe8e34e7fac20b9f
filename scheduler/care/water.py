"""Water: changing it, testing it, topping it up, and keeping the tank itself clean."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import replace

from scheduler.care import asked, cautions, limits, skills, switching
from scheduler.care.change_interval import longest_allowed
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Every, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.figures.change import fills_by_hose, taps_cannot_warm
from scheduler.care.figures.nitrogen import is_measured
from scheduler.care.nitrifying import nitrifies
from scheduler.care.seasons import outside_the_cold
from scheduler.care.watch.alarms import EXTRA, Alarm, alarms
from scheduler.care.watch.cycling import has_animals, in_step, worth_changing_from
from scheduler.care.watch.food_stop import food_stop
from scheduler.description.site import JobOverride
from scheduler.handbook import lifting, volume
from scheduler.quantities import Span
from scheduler.sources import HOUSE, Source

LARGE_SHARE = 0.3
"""From this share on a change counts as large and is kept days apart from filter service. House value."""

BEFORE_ANIMALS_SHARE = 0.75
"""Share of the water that is changed once, when a filter that was started without animals works. House value."""

LEAST_SPACED_DAYS = 6
"""Between changes that come more often no day is three days away from both: filter service then falls where it can."""

TESTS_AFTER_RINSE = (2, 4, 7)
"""Days after a rinse of media on which ammonia and nitrite are tested. House value."""

BIND_AND_TEST = (
    "Bind the ammonia with a conditioner that binds ammonia, by its label, and test the water again"
)

MATCH_K = 2.0
"""New water comes within so many kelvin of the tank. Veterinary convention, 2 to 3 K, from memory; the narrower end."""

MATCHING = Source("new water within 2 °C of the tank: veterinary convention of 2 to 3 °C", "from memory")
LEFTOVERS = Source(
    "New South Wales Department of Education, Animals in Schools: hygiene and filtration", "published"
)


@job("water-test")
def water_test(case: Case) -> Iterator[Job]:
    """Test weekly, on the weekday of the water change and before it, when the values are at their worst.

    Until the biofilter works, the daily cycle test does this; where none can, and animals are in, this test comes daily.
    """
    e = case.enclosure
    if e.set_up is not None and e.cycled is False:
        return
    anchor = e.cycled if isinstance(e.cycled, dt.date) else case.anchor
    days = 1 if e.resident and not nitrifies(case) else 7

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
        cadence=Every(span=Span(days), anchor=anchor),
        window=2 if days == 7 else 0,
        minutes=10,
        skills=skills.kit(case),
        eve_of="water-change" if days == 7 else "",
        asks=asked.WATER_TEST,
        notes=notes,
    )
    yield from _follow_ups(case)


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

        def notes(why: str = why, order: str = order) -> Notes:
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


def _order_of_test(variant: str, *, binds: bool) -> str:
    """Return what is done at once where a test follows an alarm; nothing where it follows a rinse."""
    if not variant.startswith("alarm-"):
        return ""
    return BIND_AND_TEST if binds else "Test the water again"


@job("water-change")
def water_change(case: Case) -> Iterator[Job]:
    """Change water as often as nitrate asks for: by common practice half of it every two weeks at most."""
    own = case.enclosure.job.get("water-change")
    first = worth_changing_from(case)
    if first == dt.date.max:
        return
    days = math.floor(case.value("water_change_interval") or longest_allowed(case))
    minutes = 30 if case.change_l is None else min(180, 5 * round((20 + case.change_l / 8) / 5))
    yield Job(
        enclosure=case.enclosure,
        title="water change",
        short="Water change",
        # A pond is not drained in the cold: what it needs then stands in its own looks.
        cadence=outside_the_cold(case, max(1, days), first and in_step(case.anchor, first, max(1, days))),
        window=min(2 if own is None or own.window is None else own.window.most_days, max(0, days - 1)),
        minutes=minutes,
        skills=(*skills.plugs(case), "lifting"),
        heavy=case.change_share >= LARGE_SHARE and days >= LEAST_SPACED_DAYS,
        needs_two=_pails_are_heavy(case),
        share=_share_on_record(case),
        notes=lambda: _change_notes(case),
    )
    yield from _extra_changes(case, minutes)
    yield from _before_animals(case, minutes)


def _share_on_record(case: Case) -> float | None:
    """Return what an entry of a change says of how much it was, where nobody said it; None where that is always the same.

    What the water needs moves; and while a change for an alarm is open, that is the one that is made.
    """
    left = max((alarm.left for alarm in alarms(case).open if alarm.share), default=0.0)
    if left:
        return left
    return case.change_share if case.change_source.status == "computed" else None


def _before_animals(case: Case, minutes: int) -> Iterator[Job]:
    """Yield the one large change after a filter was started without animals, which takes out what its doses became."""
    worked = case.enclosure.cycled
    if not isinstance(worked, dt.date) or has_animals(case.enclosure, worked):
        return
    yield Job(
        enclosure=case.enclosure,
        variant="before-animals",
        title=f"water change before animals come, {BEFORE_ANIMALS_SHARE * 100:.0f} %",
        short="Change: start",
        cadence=On(days=(worked,)),
        share=BEFORE_ANIMALS_SHARE,
        window=7,
        minutes=minutes,
        skills=(*skills.plugs(case), "lifting"),
        recorded_as="",
        fixed=True,
        needs_two=_pails_are_heavy(case),
        notes=lambda: _change_notes(_with_share(case, BEFORE_ANIMALS_SHARE)),
    )


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
                    *filter(None, (first, worst.pace)),
                    f"Change {share * 100:.0f} % of the water today; it counts as the next regular change too.",
                    *filter(None, (worst.asks,)),
                    *([stop.sentence, stop.then] if stop is not None else []),
                    *made.steps,
                ),
                order=f"{'Bind the ammonia, then change' if first else 'Change'} {made.amount.value} of the water now"
                if made.amount
                else "",
                because=f"{worst.reading} {worst.rule}",
                reason=f"{worst.reading} {worst.rule} {'A change takes it out at once.' if worst.what == 'nitrate' else 'It poisons within hours; a change takes it out at once.'}",
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
            skills=(*skills.plugs(case), "lifting"),
            recorded_as="",
            fixed=True,
            needs_two=_pails_are_heavy(case),
            notes=notes,
        )


def _pails_are_heavy(case: Case) -> bool:
    """Tell whether the water is carried in pails that one person should not lift in one hand (ISO 11228-1)."""
    if case.change_l is None or case.change_l > case.house.hose_from_l:
        return False
    mass = case.value("pail_mass")
    return (
        mass is not None and lifting.lifting_index(mass, lifting.pail_limit_kg(case.house.reference_kg)) > 1.0
    )


def _with_share(case: Case, share: float) -> Case:
    """Return the case with another share of the water at a change: its amounts are those of that share."""
    own = case.enclosure.job.get("water-change", JobOverride()).model_copy(update={"share": share})
    other = case.enclosure.model_copy(update={"job": {**case.enclosure.job, "water-change": own}})
    return Case(case.site, other, case.today, case.history, case.described)


def _change_notes(case: Case) -> Notes:
    drained_by_hose = case.change_l is not None and case.change_l > case.house.hose_from_l
    steps = [
        "Lay the waste hose to the toilet or the garden, and tie its end down there."
        if drained_by_hose
        else "Clear the way to the toilet or the garden, where each pail of old water goes.",
        *switching.unplug(case),
        *_drain(case),
        *(_new_water_by_hose(case) if fills_by_hose(case) else _new_water_by_pail(case)),
        *switching.plug_in_again(case),
    ]
    careful = [
        *switching.hands_in_water(case),
        *((cautions.HEATER,) if case.enclosure.heater else ()),
        cautions.HOT_WATER,
        cautions.lift(case.house.pail_l, case.formats),
        cautions.SIPHON,
        cautions.SINK,
        cautions.NATURE,
        cautions.HANDS,
    ]
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
    "water_change_share",
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
    "ammonia_rise",
    "ammonia_limit",
    "water_change_interval",
    "nitrate_peak",
    "ammonia_peak",
)
"""The figures that a water change rests on, in the order in which one follows from another."""


def _why_so_often(case: Case) -> str:
    poison = case.value("ammonia_peak")
    if poison is not None:
        return f"nothing turns ammonia into nitrate here: only changes take it out. At this rhythm it stands at about {case.numeral(poison, '.2g')} mg/L before a change."
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
    low = ""
    if case.enclosure.heater and case.enclosure.water_depth:
        low = f", {case.cm(case.enclosure.water_depth - line)} lower: a hot heater above it cracks or burns"
    drained = f"Drain {case.litres(case.change_l)} ({share}): stop when the water stands {case.cm(line)} over the floor{low}."
    count = volume.pails(case.change_l, case.house.pail_l)
    each = case.change_l / count
    by_pail = (
        f"{count} pail{'s' if count > 1 else ''} of {case.litres(each)} (about {case.kilograms(mass)} each)"
    )
    if case.change_l > case.house.hose_from_l:
        return [*first, drained, f"Use a hose or a pump; by hand it would be {by_pail}."]
    return [*first, drained, f"By hand that is {by_pail}; never fill one fuller."]


def _new_water_by_hose(case: Case) -> Iterator[str]:
    """Yield the steps of new water from the tap: what treats it is in the tank before it runs, for all of the tank's water."""
    if case.chlorine_level:
        yield _treated(
            case,
            f"Put conditioner for the whole tank{_whole(case)} into it before any water runs, by its label",
            case.water_l,
        )
    step = case.degrees_apart(MATCH_K)
    target = case.set_to_c
    warm = (
        f"at {case.degrees(target)}, within {step}"
        if target is not None
        else f"as warm as the tank, within {step}"
    )
    parts, chills = _parts(case)
    mixed = f": {parts}. {chills}" if parts else "."
    yield f"Set the mixer tap so that the hose runs {warm}, by a thermometer in the stream{mixed}"
    yield (
        "Tie the hose's end above the water, so that none is drawn back. Run the water in slowly, away from the animals, up to "
        "the usual line; stay with it."
    )


def _whole(case: Case) -> str:
    return f", {case.litres(case.water_l)}," if case.water_l is not None else ""


def _parts(case: Case) -> tuple[str, str]:
    """Return how much cold and hot water make the new water, and what cold water alone would do; both "" where it is not known."""
    tap, hot, target = case.site.place.tap_water, case.hot_l, case.set_to_c
    if case.change_l is None or hot is None or tap.cold is None or tap.hot is None or target is None:
        return "", ""
    chilled = volume.mixed_temperature(case.change_share, target, tap.cold)
    return (
        f"{case.litres(case.change_l - hot)} cold ({case.degrees(tap.cold)}) and {case.litres(hot)} hot ({case.degrees(tap.hot)})",
        f"Cold water alone would bring the tank down to {case.degrees(chilled)}.",
    )


def _new_water_by_pail(case: Case) -> Iterator[str]:
    """Yield the steps of new water in pails: mixed there, treated there, and only then poured in."""
    yield _mixed(case)
    if case.chlorine_level:
        yield _treated(case, "Treat it in the pails, with conditioner by its label", case.change_l)
    yield "Pour the new water in slowly, away from the animals, up to the usual line."


def _mixed(case: Case) -> str:
    tap = case.site.place.tap_water
    target = case.set_to_c
    step = case.degrees_apart(MATCH_K)
    if target is None:
        return f"Measure the tank's water, and mix new water in clean pails to within {step} of it, by thermometer."
    if taps_cannot_warm(case):
        assert tap.cold is not None and tap.hot is not None
        return (
            f"Bring the new water to {case.degrees(target)}, within {step}: the taps alone ({case.degrees(tap.cold)} to "
            f"{case.degrees(tap.hot)}) do not give that, so let it stand in clean, covered pails or tubs in the room."
        )
    parts, chills = _parts(case)
    if parts:
        return f"Mix {parts} in clean pails: {case.degrees(target)} by thermometer, within {step}. {chills}"
    missing = "the water's volume" if case.change_l is None else "cold and hot tap water"
    return (
        f"Mix new water of {case.degrees(target)} in clean pails, by thermometer, within {step}. The litres of hot and cold "
        f"follow once {missing} is measured and stands in the description."
    )


def dose(case: Case, litres: float | None) -> str:
    """Return how much conditioner so many litres take, as a sentence; "" where the description does not say what a bottle holds and treats.

    To half a mL, from 10 mL on to a whole one: what a syringe or a measuring cap shows.
    """
    c = case.enclosure.conditioner
    if litres is None or c.treats is None or c.bottle is None:
        return ""
    ml = c.bottle * 1000.0 * litres / c.treats
    step = 0.5 if ml < 10.0 else 1.0
    return f" By what the bottle holds and treats that is {case.numeral(max(step, math.ceil(ml / step - 1e-9) * step))} mL; its label comes first."


def _treated(case: Case, how: str, litres: float | None) -> str:
    """Return how new water is treated, and with how much; `litres` are those that the dose is for."""
    kind = "chloramine" if case.frees_ammonia else "chlorine"
    mg = case.value("chlorine_to_neutralise")
    if mg is None:
        return f"{how}: there are {case.numeral(case.chlorine_level)} mg of {kind} in each litre."
    text = f"{how}: it has to neutralise {case.milligrams(mg)} of {kind} (as Cl2).{dose(case, litres)}"
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
        treated = "treated water" if case.chlorine_level else "water"
        heater = bool(case.enclosure.heater)
        wet = " and ".join(
            filter(None, ("heater" if heater else "", "filter inlet" if case.enclosure.filter else ""))
        )
        steps = (
            measure,
            expect,
            "Heater partly out of the water: unplug it, and come back after "
            f"{switching.COOLING_MINUTES} minutes."
            if heater
            else "",
            f"Mix {treated} of the tank's temperature in a clean pail, and pour it in slowly up to the line{f': {wet} well under water' if wet else ''}.",
            *switching.plug_in_again(case, "heater", lead="If it was unplugged, plug in again, and see"),
        )
        return Notes(
            steps=tuple(filter(None, steps)),
            amount=Amount(case.litres(evaporated * days), "or so, up to the line")
            if evaporated
            else Amount("", "up to the line"),
            cautions=(
                *((cautions.HEATER,) if heater else ()),
                cautions.HOT_WATER,
                cautions.HANDS,
            ),
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
        skills=(*skills.plugs(case, "heater"), "lifting"),
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
                *switching.unplug(case),
                f"Wipe the {'panes' if kind == 'tank' else 'walls'} inside with a cloth or a scraper kept for this enclosure alone.",
                f"Scrub the basking place in a bucket with {case.litres(2.0)} of tank water, no soap; empty it into the toilet or garden.",
                "Set it back firmly. Wipe salt and drops off the cover, the cords and the outside.",
                *switching.plug_in_again(case),
            ),
            amount=Amount(
                "", "panes, basking place, cover" if kind == "tank" else "walls, basking place, cover"
            ),
            cautions=(
                *switching.hands_in_water(case),
                cautions.SINK,
                cautions.NATURE,
                cautions.HANDS,
            ),
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
        skills=skills.PLUGS,
        notes=notes,
    )
