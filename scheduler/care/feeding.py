"""Feeding by life stage, and calcium."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

from scheduler.care import cautions, lamp_hours
from scheduler.care.engine.case import Case, join
from scheduler.care.engine.job import Amount, ByRule, Job, Notes
from scheduler.care.engine.registry import job
from scheduler.care.first_aid import NO_FOOD_UNDER_C
from scheduler.care.seasons import outside_the_cold, warm_months
from scheduler.care.stages import stage_at, stages
from scheduler.care.watch.food_stop import food_stop
from scheduler.description.site import Resident
from scheduler.handbook import feeding
from scheduler.rules import WEEKDAYS, Rule
from scheduler.sources import COMMON_PRACTICE, KEEPER, Source

FIRST_MEAL_DAYS = 2
"""A new animal is offered food from the second day on. Practice, from memory; no published figure."""


@dataclass(frozen=True, slots=True)
class Diet:
    """How the enclosure is fed from a day on: by the stage that eats most often."""

    day: dt.date | None
    stage: int
    meals: int


def diets(case: Case) -> list[Diet]:
    """Return the enclosure's feeding in time: meals a week of the residents' most demanding stage."""
    residents = case.enclosure.resident
    timelines = [stages(case, resident) for resident in residents]
    days = sorted({change.day for timeline in timelines for change in timeline if change.day is not None})
    found: list[Diet] = []
    for day in (None, *days):
        now = [stage_at(timeline, day) for timeline in timelines]
        options = [(_meals(case, r, stage), stage) for r, stage in zip(residents, now, strict=True)]
        meals, stage = max(options, key=lambda pair: (pair[0], -pair[1]))
        if case.enclosure.feed.meals_a_week is not None:
            meals = case.enclosure.feed.meals_a_week
        if not found or (found[-1].meals, found[-1].stage) != (meals, stage):
            found.append(Diet(day, stage, meals))
    return found


def meals_a_week(case: Case) -> int:
    """Return the meals a week that amounts are reckoned with: those on the day from which the animals are
    there.

    Without any date the most demanding stage counts, so that food and nitrogen are not understated.
    """
    timeline, day = diets(case), case.inhabited_from
    if day is None:
        return max(diet.meals for diet in timeline)
    return [d for d in timeline if d.day is None or d.day <= day][-1].meals


def _meals(case: Case, resident: Resident, stage: int) -> int:
    name = feeding.STAGES[stage]
    sheet = case.sheet(resident)
    found: dict[str, int] = {s.name: s.meals_a_week for s in sheet.stage} if sheet is not None else {}
    return found.get(name, feeding.MEALS_A_WEEK[name])


@job("feed", where="where animals live", routine=True)
def feed(case: Case) -> Iterator[Job]:
    """Feed on the days of the life stage; the stage changes on its date."""
    if not case.enclosure.resident:
        return
    timeline = diets(case)
    first = case.inhabited_from
    # Whoever moved inside the site is no newcomer.
    if first is not None and any(
        r.arrived == first and r.here_since is None for r in case.enclosure.resident
    ):
        first += dt.timedelta(days=FIRST_MEAL_DAYS)
    for i, diet in enumerate(timeline):
        until = timeline[i + 1].day if i + 1 < len(timeline) else None
        start = max(filter(None, (diet.day, first)), default=None)
        last = until - dt.timedelta(days=1) if until else None
        if start is not None and last is not None and last < start:
            continue
        twice = diet.meals > 7
        days = feeding.MEAL_DAYS[7 if twice else diet.meals]
        rule = (
            Rule(freq="DAILY")
            if len(days) == 7
            else Rule(freq="WEEKLY", byday=tuple(WEEKDAYS[d] for d in days))
        )
        if not case.readings("temperature"):
            # Where the water is read it says when nobody is fed; else the months do.
            rule = replace(rule, bymonth=warm_months(case))
        once = lamp_hours.part_with(case, lamp_hours.warm_lamps(case), case.house.feed_after) or "morning"
        for part in ("morning", "evening") if twice else (once,):
            yield Job(
                enclosure=case.enclosure,
                variant=feeding.STAGES[diet.stage] + ("-evening" if twice and part == "evening" else ""),
                title="feed" if food_stop(case) is None else "feed (read the note first)",
                short="Feed" if food_stop(case) is None else "Feed: see note",
                read_first=food_stop(case) is not None,
                cadence=ByRule(rule=rule, start=start, until=last),
                minutes=10,
                part="evening" if part == "evening" else "morning",
                notes=partial(_feed_notes, case, diet),
            )


def _feed_notes(case: Case, diet: Diet) -> Notes:
    own, stop = case.enclosure.feed, food_stop(case)
    amount = (
        "Give what they eat in 5 minutes: weigh it once, and write grams into the [enclosure.feed] table."
    )
    if own.grams is not None:
        several = sum(r.count for r in case.enclosure.resident) > 1
        amount = f"Give {case.grams(own.grams)} of pellets for {case.names}{' together' if several else ''}."
    if stop is not None:
        amount = f"Once a test is clean: {amount[:1].lower()}{amount[1:]}"
    steps = [
        *([stop.sentence, stop.then] if stop is not None else []),
        *(
            _by_the_water(case)
            if case.enclosure.outdoors
            else ["Read the water temperature: under 15 °C (59 °F) do not feed, find out why it is cold."]
        ),
        amount,
        *_diet_lines(case, diet),
        # Here and not with the grams, which differ from tank to tank: this is the same in all of them, and
        # read once.
        (
            "Take leftovers out with a net after 5 minutes, hands dry, and look at who ate; where any were "
            "left, give less next time."
        ),
    ]
    if own.meals_a_week is None and _unsure(case):
        steps.append(
            f"Measure the carapace of {_unsure(case)} in a straight line: with it (or a birthday) in "
            "the description the meals follow its life stage."
        )
    stage = feeding.STAGES[diet.stage]
    meals = "twice a day" if diet.meals > 7 else "daily" if diet.meals == 7 else f"{diet.meals} days a week"
    return Notes(
        steps=tuple(steps),
        amount=_meal(case),
        cautions=(cautions.HANDS, cautions.SINK),
        reason=(
            f"{'your own entry' if own.meals_a_week else f'stage {stage}'}: {meals}. Overfeeding fouls the "
            "water and fattens."
        ),
        sources=(
            *([KEEPER] if own.meals_a_week else _meals_sources(case, diet)),
            feeding.AMOUNT_SOURCE,
            feeding.STAGE_SOURCE,
            *([stop.source] if stop is not None else []),
            Source("no food under about 15 °C: Parmenter 1980", "from memory"),
            *([case.house.source("feed_less")] if case.enclosure.outdoors else []),
        ),
        worked=case.known("ration", "feed_nitrogen"),
    )


def _by_the_water(case: Case) -> Iterator[str]:
    """Yield what the temperature of water outdoors says of a meal."""
    least, less = case.degrees(NO_FOOD_UNDER_C), case.degrees(case.house.feed_less_c)
    yield (
        f"Read the water temperature: under {least} feed nobody; under {less} half of the meal, and only "
        "where they come for it."
    )
    last = next((e for e in reversed(case.readings("temperature")) if e.value is not None), None)
    if last is not None and last.value is not None and last.value < NO_FOOD_UNDER_C:
        yield (
            f"On {case.date(last.day)} it was {case.degrees(last.value)}: nothing until it is over {least} "
            "again."
        )


def _meal(case: Case) -> Amount:
    """Return what is given: nothing while the water is poisonous, said so that it holds on whatever day it is
    read."""
    stop, grams = food_stop(case), case.enclosure.feed.grams
    if stop is not None:
        last = case.date(stop.last)
        return Amount(
            "", f"nothing until a test is clean, to {last} at most; then a third, and call {stop.vet}"
        )
    return (
        Amount(case.grams(grams), "of pellets")
        if grams is not None
        else Amount("", "what they eat in 5 minutes")
    )


def _meals_sources(case: Case, diet: Diet) -> list[Source]:
    """Return where the meals of the stage are from: the sheets of the residents that are in it, else the
    handbook."""
    name = feeding.STAGES[diet.stage]
    sheets = [
        case.sheet(r) for r in case.enclosure.resident if stage_at(stages(case, r), diet.day) == diet.stage
    ]
    cited = {str(s.cited): s.cited for sheet in sheets if sheet for s in sheet.stage if s.name == name}
    return [cited[key] for key in sorted(cited)] or [feeding.MEALS_SOURCES[name]]


def _diet_lines(case: Case, diet: Diet) -> list[str]:
    lines: dict[str, None] = {}
    for resident in case.enclosure.resident:
        sheet = case.sheet(resident)
        if sheet is not None:
            stage = stage_at(stages(case, resident), diet.day)
            lines |= {s.diet: None for s in sheet.stage if s.name == feeding.STAGES[stage]}
    return sorted(lines) or ["Pellets are the staple; leafy plants with them; fish only as a snack."]


def _unsure(case: Case) -> str:
    unknown = [
        r.name
        for r in case.enclosure.resident
        if case.stage_by_size(r) is None and (r.born is None or r.species is None)
    ]
    return join(tuple(sorted(unknown)))


@job("cuttlebone", where="where animals live")
def cuttlebone(case: Case) -> Iterator[Job]:
    """Give cuttlebone every four weeks."""
    if not case.enclosure.resident:
        return

    def notes() -> Notes:
        return Notes(
            steps=(
                (
                    "Scrape the hard backing off a cuttlebone and float a piece of about 5 cm (2 in) in the "
                    "tank."
                ),
                (
                    "Take the old piece out with the net. Growing animals and laying females may need one "
                    "sooner."
                ),
            ),
            amount=Amount("", "a piece of about 5 cm (2 in)"),
            cautions=(cautions.HANDS,),
            reason="it gives calcium as an extra; it does not replace ultraviolet and a good pellet.",
            sources=(COMMON_PRACTICE,),
        )

    yield Job(
        enclosure=case.enclosure,
        title="cuttlebone",
        short="Cuttlebone",
        cadence=outside_the_cold(case, 28, case.inhabited_from),
        window=7,
        minutes=5,
        notes=notes,
    )
