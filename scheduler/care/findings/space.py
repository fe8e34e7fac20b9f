"""Area, depth, and when the enclosure is outgrown."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.figures.space import CODES, outgrown_on, requirements
from scheduler.care.findings.finding import Finding, rule
from scheduler.care.verdicts import Verdict
from scheduler.handbook import growth
from scheduler.handbook.space import Requirement
from scheduler.sources import Source

FLOORS = "Codes are floors, not goals; your own law decides."


@rule
def codes(case: Case) -> Iterator[Finding]:
    """Hold area and depth against each code, strictest first."""
    area = case.number("water_area")
    found = requirements(case)
    depth = case.enclosure.water_depth
    yield from _judged(case, "least_water_area", area, [(r, r.area_cm2) for r in found if r.kind == "code"])
    if depth is not None:
        yield from _judged(
            case, "least_water_depth", depth, [(r, r.depth_cm) for r in found if r.kind == "code"]
        )


def _judged(
    case: Case, key: str, has: float, asked: list[tuple[Requirement, float | None]]
) -> Iterator[Finding]:
    """Yield one line that holds what there is against every code that says it: area in cm2, or depth in
    cm."""
    said = sorted(((need, r) for r, need in asked if need is not None), key=lambda pair: -pair[0])
    if not said:
        return
    what = "area of water" if key == "least_water_area" else "depth of water"

    def show(value: float) -> str:
        return case.area(value) if key == "least_water_area" else case.cm(value)

    each = "; ".join(
        f"{r.code} {show(need)}{_sides(case, r) if key == 'least_water_area' else ''}" for need, r in said
    )
    missed = [r.code for need, r in said if need > has + 1e-6]
    verdict: Verdict = "fine" if not missed else "act" if len(missed) == len(said) else "look"
    end = (
        "It meets them all."
        if not missed
        else f"It misses {' and '.join(missed)}: plan for {show(said[0][0])} or more."
    )
    text = f"The {what} is {show(has)}. For these animals ask: {each}. {end} {FLOORS}"
    yield Finding(
        key,
        verdict,
        text,
        said[0][1].source,
        gist="" if verdict == "fine" else f"{what} under {'every code' if verdict == 'act' else 'some code'}",
    )


def _sides(case: Case, r: Requirement) -> str:
    if r.length_cm is None or r.width_cm is None:
        return ""
    return f" ({case.cm(r.length_cm)} x {case.cm(r.width_cm)})"


@rule
def advice(case: Case) -> Iterator[Finding]:
    """Report what advisers say, and what the codes leave unsaid."""
    found = requirements(case)
    lines = []
    for r in found:
        if r.kind != "advice":
            continue
        parts = [case.area(r.area_cm2)] if r.area_cm2 is not None else []
        parts += [f"{case.cm(r.depth_cm)} deep"] if r.depth_cm is not None else []
        parts += [case.litres(r.litres)] if r.litres is not None else []
        if parts:
            lines.append(f"{r.code} {', '.join(parts)}")
    if lines:
        source = Source("care sheets and practices, each named in the line", "published")
        yield Finding("space-review", "fine", f"Advice beside the codes: {'; '.join(lines)}.", source)
    unsaid = [f"{r.code}: {r.unsaid}" for r in found if r.unsaid]
    if unsaid:
        yield Finding("space-review", "fine", f"Left unsaid: {'; '.join(unsaid)}.", CODES)


@rule
def outgrown(case: Case) -> Iterator[Finding]:
    """Tell up to which size it lasts, and between which dates that may be reached."""
    limit = case.number("outgrown_at")
    sizes = [r.carapace for r in case.enclosure.resident if r.carapace is not None]
    if not sizes or max(sizes) > limit:
        # The codes' own lines say it.
        return
    said = f"The codes are met up to a carapace of {case.cm(limit)}; the largest is {case.cm(max(sizes))}."
    adults = [
        (size, r.name, case.either_sex(r))
        for r in case.enclosure.resident
        if (size := case.adult_cm(r)) is not None
    ]
    grown = max(adults, default=None)
    verdict: Verdict = "fine"
    if grown is not None and grown[0] > limit:
        verdict = "look"
        said += f" {grown[1]} is expected to reach about {case.cm(grown[0])}{grown[2]}: plan the next size."
    try:
        early, late, resident = outgrown_on(case)
    except NotKnown:
        if verdict == "look":
            said += " When, no published growth curve of the carapace tells: measure monthly."
        yield Finding(
            "outgrown_at",
            verdict,
            said,
            CODES,
            gist="" if verdict == "fine" else "will be outgrown; plan the next size",
        )
        return
    by = f" and {case.date(late)}" if late is not None else " and never"
    text = (
        f"{said} {resident.name} passes it between {case.date(early)}{by}: wild animals' curve at the "
        "latest, three times as fast in captivity at the earliest."
    )
    yield Finding(
        "outgrown_at",
        verdict,
        text,
        growth.CAPTIVE,
        gist="" if verdict == "fine" else "will be outgrown; plan the next size",
    )
