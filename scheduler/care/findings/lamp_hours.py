"""What falls where the lamps are off, or have not burned long enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.care import lamp_hours, lamps
from scheduler.care.engine.case import Case, join
from scheduler.care.feeding import diets
from scheduler.care.findings.finding import Finding, rule
from scheduler.description.fields import Part
from scheduler.description.site import JobOverride, Lamp


@rule
def dark(case: Case) -> Iterator[Finding]:
    """Say which work finds the lamps off in every part of the day that it may stand in, with the hour to
    write."""
    if not case.enclosure.resident:
        return
    warm, shining = lamp_hours.warm_lamps(case), lamps.uv_lamps(case)
    bask = not all(case.basks_rarely(resident) for resident in case.enclosure.resident)
    for key, what, found, value in (
        ("basking-watch", "Nobody can be seen basking", warm if bask else [], "warm_up"),
        ("uvi-reading", "No UVI can be read", shining, "warm_up"),
        ("feed", "Food lies cold", warm, "feed_after"),
    ):
        own = case.enclosure.job.get(key, JobOverride())
        parts = (own.part,) if own.part else lamp_hours.PARTS
        minutes: int = getattr(case.house, value)
        off = [p for p in parts if not lamp_hours.is_on(case, found, minutes, p, case.today)]
        # The second meal of a day has no other part to go to.
        twice = key == "feed" and any(diet.meals > 7 for diet in diets(case))
        if off and not own.off and (twice or len(off) == len(parts)):
            yield _off(case, key, f"{what} {_at(case, off)}", found, value)


def _at(case: Case, parts: Sequence[Part]) -> str:
    return f"at {' or '.join(case.formats.time(case.site.settings.time_of(part)) for part in parts)}"


def _off(case: Case, key: str, what: str, found: Sequence[Lamp], value: str) -> Finding:
    """Return that something finds lamps off, by the house value that says how long they have to have
    burned."""
    minutes: int = getattr(case.house, value)
    told = tuple(
        f"{lamp.kind} {case.formats.time(burns.on_at)} to {case.formats.time(burns.off_at)}"
        for lamp in found
        if (burns := lamp_hours.lit(case, lamp, case.today)) is not None
    )
    return Finding(
        key,
        "look",
        f"{what}: lamps count {minutes} minutes after they go on, and {join(told)} are their hours. Set the "
        "timer, and write "
        f'on_at = "{lamp_hours.latest_on(case, minutes):%H:%M}" or earlier with hours that reach it, or '
        "change site.times.",
        case.house.source(value),
        gist="the lamps are off when they are needed",
    )
