"""Changing water: as often as nitrate asks for, and extra where an alarm does."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from scheduler.care import cautions, skills, switching
from scheduler.care.change_interval import longest_allowed
from scheduler.care.engine.case import Case
from scheduler.care.engine.job import Amount, Job, Notes, On
from scheduler.care.engine.registry import job
from scheduler.care.figures.change import fills_by_hose
from scheduler.care.figures.nitrogen import is_measured
from scheduler.care.new_water import MATCHING, drain, new_water_by_hose, new_water_by_pail
from scheduler.care.seasons import outside_the_cold
from scheduler.care.watch.alarms import EXTRA, Alarm, alarms
from scheduler.care.watch.cycling import has_animals, in_step, worth_changing_from
from scheduler.care.watch.food_stop import food_stop
from scheduler.description.site import JobOverride
from scheduler.handbook import lifting, volume

LARGE_SHARE = 0.3
"""From this share on a change counts as large and is kept days apart from filter service. House value."""

BEFORE_ANIMALS_SHARE = 0.75
"""Share of the water that is changed once, when a filter that was started without animals works.

House value.
"""


LEAST_SPACED_DAYS = 6
"""Between changes that come more often no day is three days away from both: filter service then falls where
it can."""


@job(
    "water-change",
    where=(
        "always; while a new filter runs without animals, from the first of them on, or from `cycled` on; "
        "also at once after an alarm"
    ),
)
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
    """Return what an entry of a change says of how much it was, where nobody said it; None where that is
    always the same.

    What the water needs moves; and while a change for an alarm is open, that is the one that is made.
    """
    left = max((alarm.left for alarm in alarms(case).open if alarm.share), default=0.0)
    if left:
        return left
    return case.change_share if case.change_source.status == "computed" else None


def _before_animals(case: Case, minutes: int) -> Iterator[Job]:
    """Yield the one large change after a filter was started without animals, which takes out what its doses
    became."""
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
    """Yield the change that an alarm asks for: as large as the worst of them, and one for all that are still
    to be answered."""
    asking = [alarm for alarm in alarms(case).open if alarm.share]
    last = max((alarm.day for alarm in asking if alarm.left), default=dt.date.min)
    by_day: dict[dt.date, list[Alarm]] = {}
    for alarm in asking:
        by_day.setdefault(last if alarm.left else alarm.day, []).append(alarm)
    for day, some in sorted(by_day.items()):
        worst = max(some, key=lambda a: (a.left, a.share))
        share = worst.left or worst.share

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
            notes=partial(_extra_change_notes, case, worst, share),
        )


def _extra_change_notes(case: Case, worst: Alarm, share: float) -> Notes:
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
        reason=(
            f"{worst.reading} {worst.rule} "
            f"{'A change takes it out at once.' if worst.what == 'nitrate' else 'It poisons within hours; a change takes it out at once.'}"  # noqa: E501
        ),
        sources=(worst.source, EXTRA, *([stop.source] if stop is not None else []), *made.sources),
        worked=(),
    )


def _pails_are_heavy(case: Case) -> bool:
    """Tell whether the water is carried in pails that one person should not lift in one hand (ISO
    11228-1)."""
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
        *drain(case),
        *(new_water_by_hose(case) if fills_by_hose(case) else new_water_by_pail(case)),
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
        return (
            "nothing turns ammonia into nitrate here: only changes take it out. At this rhythm it stands "
            f"at about {case.numeral(poison, '.2g')} mg/L before a change."
        )
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
