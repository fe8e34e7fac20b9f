"""Enclosures outdoors: what the plan does not know of the cold, and who may stay in it."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.case import Case, join
from scheduler.care.findings.finding import DESCRIPTION, Finding, rule
from scheduler.care.watch.outdoors import brumates_by_nature, cold, come_in
from scheduler.sources import Source

NO_SEASONS = Source("what this plan leaves out outdoors", "house value")
VET_FIRST = Source("never brumate a new, thin or sick animal without a vet: practice", "from memory")


@rule
def seasons(case: Case) -> Iterator[Finding]:
    """Say that nothing is planned for the cold outdoors."""
    if not case.enclosure.outdoors:
        return
    text = (
        "It stands outdoors, and the plan knows no seasons: feeding, water changes and filter service go on as in summer, and nothing is planned for ice, "
        "overflow, predators or the spring. In the cold let a reptile vet say what is fed, changed and drained, and switch off what does not fit: "
        "[enclosure.job.KEY] with off = true."
    )
    yield Finding("cold-season-check", "look", text, NO_SEASONS)


@rule
def wintering(case: Case) -> Iterator[Finding]:
    """Say who comes in from the cold, and what those that brumate need first."""
    if not case.enclosure.outdoors or not case.enclosure.resident:
        return
    limit, found = case.degrees(case.house.bring_in_c), cold(case)
    inside = come_in(case)
    against = [r for r in inside if r.brumates]
    if against:
        names = join(tuple(r.name for r in against))
        text = f"brumates = true is written for {names}, but no species sheet says that such animals brumate: in water under {limit} they come in like any other, until a reptile vet has said otherwise."
        yield Finding("cold-season-check", "act", text, DESCRIPTION)
    if inside:
        names = join(tuple(r.name for r in inside))
        if found is not None:
            text = f"The water was {case.reading('temperature', found.celsius)} on {case.date(found.day)}: under {limit}, and {names} may not stay in it. Bring in today."
        else:
            text = f"Read the water every day: under {limit} bring {names} in, the same day. Have a warm, filtered enclosure ready before autumn."
        yield Finding(
            "cold-season-check", "look" if found is None else "act", text, case.house.source("bring_in")
        )
    staying = [r for r in case.enclosure.resident if r.brumates and brumates_by_nature(case, r)]
    if staying:
        names = join(tuple(r.name for r in staying))
        text = (
            f"You wrote that {names} brumate{'s' if len(staying) == 1 and staying[0].count == 1 else ''}. Only after a vet's check of this autumn, and never a new, "
            "thin or sick animal. Do not feed, lift out or weigh outdoors in the cold; the plan cools no water."
        )
        yield Finding("cold-season-check", "look", text, VET_FIRST)
