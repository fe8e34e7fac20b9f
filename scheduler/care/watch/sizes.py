"""Weights and lengths that do not fit the animal: slips of the decimal point, and what a vet should see."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care.engine.case import Case
from scheduler.care.watch.registry import Consequence, watch
from scheduler.description.site import Resident
from scheduler.history import Entry
from scheduler.sources import Source

LEAST_G_CM3, MOST_G_CM3 = 0.10 / 1.5, 0.20 * 1.5
"""g for each cubic centimetre of carapace length between which the mass of a turtle is believed.

House values.
"""


FAR, FAR_LATER = 1.5, 3.0
"""A size so many times over or under the one in the description is far from it, and after a long time.

House values.
"""


LONG_DAYS = 180
"""After so many days a young animal may have grown a lot. House value."""

PAST_LONGEST = 1.1
"""A carapace so many times as long as the longest of the species sheet is asked about. House value."""

SLIP = 6.0
"""A value at least so many times over or under what was expected looks like a slip of the decimal point.

House value.
"""


FIT = Source(
    "0.10 to 0.20 g for each cubic centimetre of carapace length, and half as much again either way",
    "house value",
)
AGAINST = Source(
    "a size 1.5 times over or under that of the description, after half a year 3 times", "house value"
)
LONGEST = Source("a tenth past the longest adult of the species sheet", "house value")


@dataclass(frozen=True, slots=True)
class Misfit:
    """A value of an animal that does not fit: what it is held against, in words, and how many times over or
    under it is."""

    rule: str
    times: float
    source: Source

    @property
    def slip(self) -> bool:
        """Tell whether it looks like a slip of the decimal point."""
        return max(self.times, 1.0 / self.times) >= SLIP


def misfit(case: Case, written: Resident, name: str, value: float, day: dt.date) -> Misfit | None:
    """Return why a weight in g or a length in cm of a day does not fit an animal as it is written; None where
    it does, or nothing is known."""
    return _weight(case, written, value, day) if name == "weight" else _length(case, written, value, day)


def _is_far(case: Case, written: Resident, times: float, day: dt.date) -> bool:
    since = case.measured_on(written)
    most = FAR if since is not None and abs((day - since).days) <= LONG_DAYS else FAR_LATER
    return not 1.0 / most <= times <= most


def _weight(case: Case, written: Resident, grams: float, day: dt.date) -> Misfit | None:
    if grams <= 0.0:
        return None
    if written.mass is not None and _is_far(case, written, grams / written.mass, day):
        return Misfit(f"The description has {case.grams(written.mass)}.", grams / written.mass, AGAINST)
    if written.mass is None and written.carapace is not None:
        low, high = (share * written.carapace**3 for share in (LEAST_G_CM3, MOST_G_CM3))
        if not low <= grams <= high:
            rule = (
                f"A carapace of {case.cm(written.carapace)} goes with {case.grams(low)} to "
                f"{case.grams(high)} (house rule)."
            )
            return Misfit(rule, grams / (0.15 * written.carapace**3), FIT)
    return None


def _length(case: Case, written: Resident, cm: float, day: dt.date) -> Misfit | None:
    sheet = case.sheet(written)
    if cm <= 0.0:
        return None
    if sheet is not None:
        known = [
            v
            for s in (sheet.adult_female, sheet.adult_male)
            for v in (s.high, s.plan, s.past, *s.form.values())
            if v is not None
        ]
        longest = max(known, default=None)
        if longest is not None and cm > PAST_LONGEST * longest:
            rule = f"The longest adult {sheet.species} of its sheet has {case.cm(longest)}."
            return Misfit(rule, cm / longest, LONGEST)
    if written.carapace is not None and _is_far(case, written, cm / written.carapace, day):
        rule = f"The description has {case.cm(written.carapace)}."
        return Misfit(rule, cm / written.carapace, AGAINST)
    return None


@watch
def sizes(case: Case) -> Iterator[Consequence]:
    """Say which last weights and lengths do not fit their animals; a weight that was lost has a rule of its
    own."""
    for written in case.described.resident:
        if written.count != 1:
            continue
        for name in ("weight", "length"):
            readings = [e for e in case.readings(name, written.id) if e.value]
            if not readings:
                continue
            last = readings[-1]
            value = last.value or 0.0
            found = misfit(case, written, name, value, last.day)
            grown = name == "weight" and _grew(case, written, value)
            # What changed slowly, from one reading to the next, is growth: the first of them was judged.
            if found is None or grown or _slowly(readings):
                continue
            what = "weighed" if name == "weight" else "measured"
            asked = (
                (
                    "That looks like a slip of the decimal point: "
                    f"{'weigh' if name == 'weight' else 'measure'} again today, and take the wrong reading "
                    "back."
                )
                if found.slip
                else (
                    f"{'Weigh' if name == 'weight' else 'Measure'} again today, on the same scale; mend the "
                    "description where it was wrong."
                )
                if name == "weight"
                else "Measure again today, in a straight line; mend the description where it was wrong."
            )
            vet = " If it is right, call a reptile vet today." if name == "weight" else ""
            yield Consequence(
                key="weigh-measure",
                verdict="act" if name == "weight" else "look",
                reading=f"{written.name} {what} {case.reading(name, value)} on {case.date(last.day)}.",
                rule=found.rule,
                source=found.source,
                plan=f"{asked}{vet}",
                gist=f"a {name} that hardly can be; measure again",
            )


def _grew(case: Case, written: Resident, grams: float) -> bool:
    """Tell whether a weight fits the carapace that was measured since: then the animal has grown."""
    lengths = [e.value for e in case.readings("length", written.id) if e.value]
    if not lengths:
        return False
    return LEAST_G_CM3 <= grams / lengths[-1] ** 3 <= MOST_G_CM3


def _slowly(readings: list[Entry]) -> bool:
    """Tell whether a last reading is near one before it."""
    if len(readings) < 2:
        return False
    last, before = readings[-1].value or 0.0, readings[-2].value or 0.0
    return before > 0.0 and 1.0 / FAR <= last / before <= FAR
