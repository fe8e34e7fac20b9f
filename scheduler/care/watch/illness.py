"""Signs of illness that were recorded: who shows one, since when, and how soon a vet sees it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care import contacts
from scheduler.care.engine.case import Case, join
from scheduler.care.signs import SIGNS, SOON_DAYS
from scheduler.care.verdicts import Verdict
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.description.site import Resident
from scheduler.history import Entry
from scheduler.readings import SIGNS as LISTED


@dataclass(frozen=True, slots=True)
class Ill:
    """An animal with the signs that stand: what they are, the first day, the last, and whether a vet is
    called at once."""

    resident: Resident
    labels: tuple[str, ...]
    since: dt.date
    last: dt.date
    is_urgent: bool
    is_again: bool
    """Whether one of them was seen on two days."""

    @property
    def signs(self) -> str:
        """Return the signs as a phrase."""
        return join(self.labels)

    @property
    def at_once(self) -> bool:
        """Tell whether the vet is not waited for."""
        return self.is_urgent or self.is_again

    @property
    def vet_on(self) -> dt.date:
        """Return the day by which a vet sees it."""
        return self.last if self.at_once else self.since + dt.timedelta(days=SOON_DAYS)


@once
def ill(case: Case) -> tuple[Ill, ...]:
    """Return the animals with signs that stand: seen, and neither gone on a later day nor shown to a vet
    since."""
    found = (_ill(case, resident) for resident in case.enclosure.resident)
    return tuple(one for one in found if one is not None)


def _ill(case: Case, resident: Resident) -> Ill | None:
    standing = {name: days for name in LISTED if (days := _seen_on(case, resident, name))}
    if not standing:
        return None
    days = sorted({day for some in standing.values() for day in some})
    return Ill(
        resident,
        tuple(LISTED[name][0] for name in standing),
        days[0],
        days[-1],
        any(LISTED[name][1] for name in standing),
        any(len(some) > 1 for some in standing.values()),
    )


def _seen_on(case: Case, resident: Resident, name: str) -> list[dt.date]:
    """Return the days on which a sign that stands was seen; none where it does not."""
    seen: list[dt.date] = []
    for reading in case.readings(name, resident.id):
        if reading.value:
            if not _shown_to_a_vet(case, resident, reading):
                seen.append(reading.day)
        elif seen and reading.day > seen[-1]:
            seen = []
    return list(dict.fromkeys(seen))


def _shown_to_a_vet(case: Case, resident: Resident, reading: Entry) -> bool:
    before = case.history.done_before(case.enclosure.id, resident.id, "vet-check")
    later = (
        day > reading.day
        for day in (*case.history.variants(case.enclosure.id, "vet-check").values(), *before)
    )
    return any(later) or any(visit.moment >= reading.moment for visit in case.done("vet-check"))


@watch
def signs_seen(case: Case) -> Iterator[Consequence]:
    """Say who shows a sign, and how soon a vet sees it."""
    for one in ill(case):
        verdict: Verdict = "act" if one.at_once else "look"
        yield Consequence(
            key="vet-check",
            verdict=verdict,
            reading=f"{one.resident.name} showed on {case.date(one.last)}: {one.signs}.",
            rule=_rule(one),
            source=SIGNS,
            plan=plan_of(case, one)
            + ("" if switched_off(case, "vet-check") else " That is due, and its note says how."),
            gist="an animal shows signs of illness",
        )


def _rule(one: Ill) -> str:
    if one.is_urgent:
        return "A vet sees that on the same day."
    return (
        "Seen again, that is not waited for." if one.is_again else f"A vet sees that within {SOON_DAYS} days."
    )


def plan_of(case: Case, one: Ill) -> str:
    """Return whom to call, and when."""
    vet = contacts.whom(case, "vet")
    if one.at_once:
        return f"Call {vet} at once."
    return (
        f"Call {vet} by {case.date(one.vet_on)}, and look again tomorrow: seen again, call at once; gone, "
        "record that too."
    )
