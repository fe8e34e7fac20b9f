"""Enclosures outdoors: what the plan does in the cold, and who may stay in it."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case, join
from scheduler.care.findings.finding import DESCRIPTION, Finding, rule
from scheduler.care.seasons import COLD, autumn_of, cold_months, named, season_begins
from scheduler.care.watch.outdoors import cold, come_in, staying
from scheduler.sources import Source

VET_FIRST = Source("never brumate a new, thin or sick animal without a vet: practice", "from memory")


@rule
def seasons(case: Case) -> Iterator[Finding]:
    """Say what the plan does in the cold outdoors."""
    if not case.enclosure.outdoors:
        return
    months = cold_months(case)
    if months:
        text = (
            f"It stands outdoors: from {named(months)} the plan changes no water, and weighs nobody who "
            "winters there; without readings of the water it "
            "feeds nobody either. Getting ready, the looks in the cold and the check after it are planned."
        )
        yield Finding("cold-season-check", "fine", text, COLD)
    elif case.site.settings.latitude is None:
        text = (
            "It stands outdoors, and nobody knows its cold months: write latitude into the [site] table. "
            "Until then feeding and water changes go on all year."
        )
        yield Finding(
            "cold-season-check",
            "look",
            text,
            DESCRIPTION,
            gist="outdoors, and its cold months are not known; write latitude",
        )


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
        text = (
            f"brumates = true is written for {names}, but no species sheet says that such animals brumate: "
            f"in water under {limit} they come in like any other, until a reptile vet has said otherwise."
        )
        yield Finding(
            "cold-season-check",
            "act",
            text,
            DESCRIPTION,
            gist="brumates is written for animals that no sheet says it of",
        )
    if inside:
        names = join(tuple(r.name for r in inside))
        if found is not None:
            text = (
                f"The water was {case.reading('temperature', found.celsius)} on {case.date(found.day)}: "
                f"under {limit}, and {names} may not stay in it. Bring in today."
            )
        else:
            text = (
                f"Read the water every day: under {limit} bring {names} in, the same day. Have a warm, "
                "filtered enclosure ready before autumn."
            )
        yield Finding(
            "cold-season-check",
            "look" if found is None else "act",
            text,
            case.house.source("bring_in"),
            gist="animals that come in from the cold"
            if found is None
            else "the water outdoors is too cold; bring animals in today",
        )
    resting = staying(case)
    if resting:
        names = join(tuple(r.name for r in resting))
        text = (
            f"You wrote that {names} brumate{'s' if len(resting) == 1 and resting[0].count == 1 else ''}. "
            "Only after a vet's check of this autumn, and never a new, "
            "thin or sick animal. Do not feed, lift out or weigh outdoors in the cold; the plan cools no "
            "water."
        )
        yield Finding(
            "cold-season-check",
            "look",
            text,
            VET_FIRST,
            gist="animals that brumate; see a vet first, each autumn",
        )
        if _unseen(case):
            text = (
                f"The cold has begun, and no vet check of this autumn is recorded for {names}: have them "
                "seen at once, or bring them in."
            )
            yield Finding(
                "vet-check",
                "act",
                text,
                VET_FIRST,
                gist="the cold has begun without a vet check of this autumn",
            )


def _unseen(case: Case) -> bool:
    """Tell whether the cold season has begun without a vet's check of the autumn before it."""
    begins = season_begins(case, case.today) if case.today is not None else None
    if begins is None or case.today is None or begins > case.today:
        return False
    visits = case.history.variants(case.enclosure.id, "vet-check").values()
    return not any(day >= autumn_of(begins) for day in visits)
