"""Checks across values: what a careful colleague would catch on reading a description whose every line is valid."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from scheduler.clocks import unsure_times
from scheduler.description.fields import WEEKDAY_NAMES
from scheduler.description.site import (
    Description,
    Enclosure,
    ExtraJob,
    Feed,
    JobOverride,
    Keeper,
    Lamp,
    Place,
    Resident,
    TapWater,
)
from scheduler.errors import Path, Problem, clip, nearest
from scheduler.species import Sheets

# House limits: they catch slips of the pen, such as degrees of the other scale; they are not husbandry.
_HEATER_C, _COLD_TAP_C, _ROOM_MOST_C = (5.0, 40.0), (0.0, 40.0), 40.0
FIRST_SURE_START = dt.time(4)
_SOME_DAY = dt.date(2024, 1, 1)
_LAMP_DISTANCE_CM, _CARAPACE_CM = (5.0, 300.0), (1.5, 100.0)


def check(description: Description, sheets: Sheets) -> Iterator[Problem]:
    """Yield the problems of a description in which every single value is valid."""
    yield from _place(description.site)
    yield from _same_ids(description.keeper, ("keeper",))
    yield from _same_ids(description.enclosure, ("enclosure",))
    for i, keeper in enumerate(description.keeper):
        yield from _keeper(keeper, ("keeper", i))
    if description.keeper and not any(keeper.share for keeper in description.keeper):
        yield Problem(
            path=("keeper", 0, "share"),
            involves=tuple(("keeper", i, "share") for i in range(len(description.keeper))),
            message="no keeper has a share above 0: nobody would do anything",
            hint="write share = 1, or leave it out",
        )
    if not description.enclosure:
        yield Problem(
            path=("enclosure",), message="there is no enclosure", hint="add [[enclosure]] with a name"
        )
    for i, enclosure in enumerate(description.enclosure):
        yield from _enclosure(enclosure, ("enclosure", i), description, sheets)


def _same_ids(things: Iterable[Keeper | Enclosure | Resident], path: Path) -> Iterator[Problem]:
    first: dict[str, int] = {}
    for i, thing in enumerate(things):
        if thing.id in first:
            message = (
                f'{clip(thing.name)} has the id "{thing.id}", which {path[-1]}[{first[thing.id]}] has already'
            )
            yield Problem(
                path=(*path, i, "name"),
                involves=((*path, first[thing.id], "name"),),
                message=message,
                hint=f'add id = "{thing.id}-2", or another name',
            )
        first.setdefault(thing.id, i)


def _place(place: Place) -> Iterator[Problem]:
    yield from _starts(place)
    if place.times.evening <= place.times.morning:
        yield Problem(
            path=("site", "times", "evening"),
            involves=(("site", "times", "morning"),),
            message=f"the evening ({place.times.evening:%H:%M}) is not after the morning ({place.times.morning:%H:%M})",
            hint='write for example morning = "07:30", evening = "18:30"',
        )
    if place.room_low is not None and place.room_low > _ROOM_MOST_C:
        yield Problem(
            path=("site", "room_low"),
            message=f"the room is at {place.room_low:.3g} degC when it is coldest",
            hint=f"expected at most {_degrees(_ROOM_MOST_C)}",
        )
    yield from _tap(place.tap_water)


def _degrees(*celsius: float) -> str:
    """Return limits in both scales: a wrong one is how most temperatures come to be unbelievable."""
    in_c, in_f = (
        " to ".join(f"{d:g}" for d in scale) for scale in (celsius, [c * 1.8 + 32 for c in celsius])
    )
    return f"{in_c} degC, {in_f} degF"


def _tap(tap: TapWater) -> Iterator[Problem]:
    if tap.cold is not None and not _COLD_TAP_C[0] <= tap.cold <= _COLD_TAP_C[1]:
        yield Problem(
            path=("site", "tap_water", "cold"),
            message=f"cold tap water of {tap.cold:.3g} degC is not believable",
            hint=f"expected {_degrees(*_COLD_TAP_C)}",
        )
    if tap.cold is not None and tap.hot is not None and tap.hot <= tap.cold:
        yield Problem(
            path=("site", "tap_water", "hot"),
            involves=(("site", "tap_water", "cold"),),
            message=f"hot water of {tap.hot:g} degC is not warmer than cold water of {tap.cold:g} degC",
            hint="measure both at the tap after a minute of running",
        )
    if tap.disinfectant == "none" and tap.disinfectant_level:
        yield Problem(
            path=("site", "tap_water", "disinfectant_level"),
            involves=(("site", "tap_water", "disinfectant"),),
            message='a level is given although the disinfectant is "none"',
            hint="name the disinfectant, or leave the level out",
        )
    if tap.disinfectant != "none" and tap.disinfectant_level == 0:
        yield Problem(
            path=("site", "tap_water", "disinfectant_level"),
            involves=(("site", "tap_water", "disinfectant"),),
            message="a level of 0 although there is a disinfectant: nothing would be neutralised",
            hint='write disinfectant = "none", or leave the level out to reckon with the legal ceiling',
        )
    if tap.disinfectant_level is not None and tap.disinfectant_level > 10:
        yield Problem(
            path=("site", "tap_water", "disinfectant_level"),
            message=f"found {tap.disinfectant_level:g} mg/L, far above the 4.0 mg/L that drinking water may carry (40 CFR 141.65)",
            hint="read the utility's report again; write the level as Cl2",
        )


def _starts(place: Place) -> Iterator[Problem]:
    """Refuse starts at hours on which calendar programs do not agree: the night's, and those a change skips or repeats."""
    # Rules of the coming years; a decade holds every hour that a zone with tabulated changes uses.
    unsure = unsure_times(place.zone, 2026, 10)
    for part in ("morning", "evening"):
        start = place.time_of(part)
        path = ("site", "times", part)
        said = f"found {start:%H:%M}: in {place.time_zone} the clocks change, and calendar programs do not agree on"
        if unsure and start < FIRST_SURE_START:
            yield Problem(
                path=path,
                involves=(("site", "time_zone"),),
                message=f"{said} times from 00:00 to 03:59",
                hint='write "04:00" or later',
            )
        elif hit := next((span for span in sorted(unsure) if span[0] <= start < span[1]), None):
            end = "midnight" if hit[1] == dt.time.max else f"{hit[1]:%H:%M}"
            yield Problem(
                path=path,
                involves=(("site", "time_zone"),),
                message=f"{said} the hour that is skipped or repeated",
                hint=f"write a time before {hit[0]:%H:%M} or from {end} on",
            )


def _keeper(keeper: Keeper, path: Path) -> Iterator[Problem]:
    spans = sorted(enumerate(keeper.away), key=lambda pair: (pair[1].first, pair[1].last))
    for (_, before), (i, after) in pairwise(spans):
        if after.first <= before.last:
            yield Problem(
                path=(*path, "away", i),
                message=f"{after.first}/{after.last} overlaps {before.first}/{before.last}",
                hint="write them as one span",
            )
    if keeper.weekdays and len(set(keeper.weekdays)) < len(keeper.weekdays):
        yield Problem(path=(*path, "weekdays"), message="a weekday is named twice", hint="name each day once")


def _enclosure(e: Enclosure, path: Path, description: Description, sheets: Sheets) -> Iterator[Problem]:
    start = description.site.start
    yield from _same_ids(e.resident, (*path, "resident"))
    yield from _sizes(e, path)
    for i, heater in enumerate(e.heater):
        if heater.set_to is not None and not _HEATER_C[0] <= heater.set_to <= _HEATER_C[1]:
            yield Problem(
                path=(*path, "heater", i, "set_to"),
                message=f"a heater set to {heater.set_to:.3g} degC is not believable",
                hint=f"expected {_degrees(*_HEATER_C)}",
            )
    for i, lamp in enumerate(e.lamp):
        yield from _lamp(lamp, (*path, "lamp", i))
    for i, resident in enumerate(e.resident):
        yield from _resident(resident, e, (*path, "resident", i), path, sheets)
    if e.set_up and isinstance(e.cycled, dt.date) and e.cycled < e.set_up:
        yield Problem(
            path=(*path, "cycled"),
            involves=((*path, "set_up"),),
            message=f"cycled on {e.cycled}, before it was set up on {e.set_up}",
            hint="write the later date",
        )
    if e.cycled is False and e.set_up is None:
        yield Problem(
            path=(*path, "cycled"),
            involves=((*path, "set_up"),),
            message="not cycled, and no day of set-up from which the tests count",
            hint="add set_up = 2026-11-20",
        )
    if e.feed != Feed():
        yield from _feed(e.feed, e, path)
    for key, override in e.job.items():
        yield from _cadence(override, (*path, "job", key), start, required=False)
        if override.share is not None and key != "water-change":
            yield Problem(
                path=(*path, "job", key, "share"),
                message="only water-change has a share",
                hint="leave it out",
            )
    keys: dict[str, int] = {}
    for i, extra in enumerate(e.extra_job):
        here = (*path, "extra_job", i)
        yield from _cadence(extra, here, start, required=True)
        if extra.key in keys:
            yield Problem(
                path=(*here, "key"),
                message=f'the key "{extra.key}" stands twice in this enclosure',
                hint=f'write "{extra.key}-2"',
            )
        keys.setdefault(extra.key, i)
        yield from _skills(extra, here, description.keeper)


def _skills(extra: ExtraJob, path: Path, keepers: tuple[Keeper, ...]) -> Iterator[Problem]:
    known = {skill for keeper in keepers for skill in keeper.can or ()}
    # As long as no keeper lists what he can, everybody can do everything.
    for skill in extra.can if any(keeper.can is not None for keeper in keepers) else ():
        if skill not in known:
            close = nearest(skill, known)
            hint = f'nearest: "{close}"' if close else f'add "{skill}" to the `can` of a keeper'
            yield Problem(
                path=(*path, "can"), involves=(("keeper",),), message=f'no keeper can "{skill}"', hint=hint
            )


def _sizes(e: Enclosure, path: Path) -> Iterator[Problem]:
    if e.height is not None and e.water_depth is not None and e.water_depth > e.height:
        yield Problem(
            path=(*path, "water_depth"),
            involves=((*path, "height"),),
            message=f"the water ({e.water_depth:g} cm) is deeper than the enclosure is high ({e.height:g} cm)",
            hint="measure from the floor to the water line",
        )
    if e.length is not None and e.width is not None and e.width > e.length:
        yield Problem(
            path=(*path, "width"),
            involves=((*path, "length"),),
            message=f"the width ({e.width:g} cm) is larger than the length ({e.length:g} cm)",
            hint="swap the two",
        )
    s = e.substrate
    if s is None:
        return
    if s.depth is not None and e.water_depth is not None and s.depth >= e.water_depth:
        yield Problem(
            path=(*path, "substrate", "depth"),
            involves=((*path, "water_depth"),),
            message=f"the substrate ({s.depth:g} cm) reaches the water line ({e.water_depth:g} cm)",
            hint="measure both from the floor",
        )
    elif s.depth is not None and e.height is not None and s.depth >= e.height:
        yield Problem(
            path=(*path, "substrate", "depth"),
            involves=((*path, "height"), (*path, "water_depth")),
            message=f"the substrate ({s.depth:g} cm) fills the enclosure ({e.height:g} cm high)",
            hint="measure both from the floor",
        )
    if s.kind == "bare" and (s.depth is not None or s.smallest_stone is not None):
        yield Problem(
            path=(*path, "substrate"),
            message="a bare floor has no depth and no stones",
            hint='leave them out, or write kind = "sand"',
        )
    if s.kind == "sand" and s.smallest_stone is not None:
        yield Problem(
            path=(*path, "substrate", "smallest_stone"),
            message="sand has no stones",
            hint='leave it out, or write kind = "river stones"',
        )


def _lamp(lamp: Lamp, path: Path) -> Iterator[Problem]:
    if lamp.uvi is not None and not lamp.gives_uv:
        yield Problem(
            path=(*path, "uvi"),
            involves=((*path, "kind"),),
            message=f'a lamp of kind "{lamp.kind}" is not there for ultraviolet, yet has a UVI',
            hint="name the lamp's real kind, or leave the UVI out",
        )
    if lamp.uvi is not None and lamp.uvi_at is None:
        yield Problem(
            path=(*path, "uvi"),
            involves=((*path, "uvi_at"),),
            message="a UVI without the distance at which it was read says nothing",
            hint='add uvi_at = "30 cm"',
        )
    if lamp.uvi_at is not None and lamp.uvi is None:
        yield Problem(
            path=(*path, "uvi_at"),
            involves=((*path, "uvi"),),
            message="a distance without the UVI that was read there",
            hint="add uvi = 3.4",
        )
    for key, distance in (("uvi_at", lamp.uvi_at), ("basking_distance", lamp.basking_distance)):
        if distance is not None and not _LAMP_DISTANCE_CM[0] <= distance <= _LAMP_DISTANCE_CM[1]:
            yield Problem(
                path=(*path, key),
                message=f"{distance:g} cm from a lamp is not believable",
                hint=f"expected {_LAMP_DISTANCE_CM[0]:g} to {_LAMP_DISTANCE_CM[1]:g} cm, from the lamp to the shell",
            )


def _resident(r: Resident, e: Enclosure, path: Path, around: Path, sheets: Sheets) -> Iterator[Problem]:
    if r.species is not None:
        try:
            sheets[r.species]
        except KeyError:
            known = [name for sheet in sheets.values() for name in (sheet.species, *sheet.names)]
            close = nearest(r.species, known)
            hint = f'nearest: "{close}"; ' if close else ""
            yield Problem(
                path=(*path, "species"),
                message=f"no species sheet for {clip(r.species)}",
                hint=f"{hint}sheets: {', '.join(sheets)}; or put your own beside the description",
            )
    if r.born and r.arrived and r.arrived < r.born:
        yield Problem(
            path=(*path, "arrived"),
            involves=((*path, "born"),),
            message=f"arrived on {r.arrived}, before it was born on {r.born}",
            hint="swap the two, or mend the year",
        )
    if r.arrived and e.set_up and r.arrived < e.set_up:
        yield Problem(
            path=(*path, "arrived"),
            involves=((*around, "set_up"),),
            message=f"arrived on {r.arrived}, before the enclosure was set up on {e.set_up}",
            hint="write when it came into this enclosure",
        )
    if r.quarantine and r.arrived is None:
        yield Problem(
            path=(*path, "quarantine"),
            involves=((*path, "arrived"),),
            message="quarantine without the day of arrival",
            hint="add arrived = 2026-11-28",
        )
    if r.carapace is not None and not _CARAPACE_CM[0] <= r.carapace <= _CARAPACE_CM[1]:
        yield Problem(
            path=(*path, "carapace"),
            message=f"a carapace of {r.carapace:g} cm is not believable",
            hint=f"expected {_CARAPACE_CM[0]:g} to {_CARAPACE_CM[1]:g} cm, in a straight line",
        )
    elif r.carapace is not None and e.length is not None and r.carapace >= e.length:
        yield Problem(
            path=(*path, "carapace"),
            involves=((*around, "length"),),
            message=f"the carapace ({r.carapace:g} cm) is as long as the enclosure ({e.length:g} cm) or longer",
            hint="measure again; lengths of the enclosure are inside lengths",
        )
    elif r.carapace is not None and r.mass is not None and r.count == 1:
        # House limit: a turtle weighs about 0.15 g a cubic centimetre of carapace length, 0.10 to 0.20 leaves room.
        low, high = 0.10 * r.carapace**3, 0.20 * r.carapace**3
        if not low / 1.5 <= r.mass <= high * 1.5:
            yield Problem(
                path=(*path, "mass"),
                involves=((*path, "carapace"),),
                message=f"{r.mass:g} g does not fit a carapace of {r.carapace:g} cm, which goes with {low:.0f} to {high:.0f} g (house rule)",
                hint="measure again; write the carapace in a straight line, and the mass of one animal",
            )


def _feed(feed: Feed, e: Enclosure, path: Path) -> Iterator[Problem]:
    if not e.resident:
        yield Problem(
            path=(*path, "feed"),
            involves=((*path, "resident"),),
            message="food for an enclosure without residents",
            hint="add [[enclosure.resident]], or leave the feed out",
        )
    if feed.meals_a_week is not None and 7 < feed.meals_a_week < 14:
        yield Problem(
            path=(*path, "feed", "meals_a_week"),
            message=f"found {feed.meals_a_week} meals a week",
            hint="write 1 to 7, or 14 for twice a day",
        )
    heavy = sum((r.mass or 0.0) * r.count for r in e.resident)
    if feed.grams is not None and heavy and all(r.mass for r in e.resident) and feed.grams > 0.25 * heavy:
        yield Problem(
            path=(*path, "feed", "grams"),
            message=f"{feed.grams:g} g a meal is a quarter or more of what the residents weigh together ({heavy:g} g)",
            hint="write grams of one meal as fed",
        )


def _cadence(
    job: JobOverride | ExtraJob, path: Path, start: dt.date | None, *, required: bool
) -> Iterator[Problem]:
    given = [name for name in ("every", "rule", "on") if getattr(job, name) is not None]
    if len(given) > 1:
        yield Problem(
            path=(*path, given[1]), message=f"found {' and '.join(given)} together", hint="keep one of them"
        )
    if required and not given:
        yield Problem(path=path, message="says neither every, rule nor on", hint='add every = "6 weeks"')
    if job.every is not None and job.weekdays is not None:
        window = job.window.most_days if job.window is not None else 0
        if job.every.days and job.every.days % 7 and job.every.days + window < _longest_wait(job.weekdays):
            yield Problem(
                path=(*path, "weekdays"),
                message=f"every {job.every} cannot be kept on {', '.join(job.weekdays)} alone, even {window} day(s) late",
                hint="name more days, or a longer interval",
            )
    if job.weekdays is not None and (job.rule is not None or job.on is not None):
        yield Problem(
            path=(*path, "weekdays"),
            message="weekdays go with `every`, not with rule or on",
            hint="put the days into the rule: BYDAY=SA",
        )
    if job.every is not None and job.window is not None and job.window.most_days >= job.every.most_days:
        yield Problem(
            path=(*path, "window"),
            message=f"the window ({job.window}) is not shorter than the interval ({job.every})",
            hint="write how many days early or late do no harm",
        )
    # Whether an interval meets the other parts depends on the job's first day, which the care rules know.
    if job.rule is not None and not replace(job.rule, interval=1).happens(_SOME_DAY):
        yield Problem(path=(*path, "rule"), message="the rule never happens", hint="mend its BY parts")
    if job.on is not None and start is not None and max(job.on) < start:
        yield Problem(
            path=(*path, "on"),
            involves=(("site", "start"),),
            message=f"every day is before {start}, when the plan starts",
            hint="mend the year, or leave site.start out",
        )


def _longest_wait(weekdays: tuple[str, ...]) -> int:
    days = sorted({WEEKDAY_NAMES.index(d) for d in weekdays})
    return max((b - a for a, b in zip(days, [*days[1:], days[0] + 7], strict=True)), default=7)
