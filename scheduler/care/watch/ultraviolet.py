"""UVI readings: how far a lamp has faded, and when it is due by that."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.care import lamps
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import NotKnown
from scheduler.care.fading import Fade
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.description.site import Lamp
from scheduler.handbook import ultraviolet
from scheduler.history import Entry
from scheduler.sources import Source

NEARER_SHARE = 1.25
"""A reading over this share of the baseline is more than the scatter of readings. House value."""

NEARER = Source("a reading a quarter over its baseline is looked into", "house value")


@once
def faded(case: Case) -> tuple[tuple[str, Lamp, dt.date, Fade], ...]:
    """Return the dated UV lamps whose readings tell something: variant, lamp, day of installation, and
    what."""
    found = []
    for variant, lamp, installed in lamps.dated(case):
        fade = lamps.fading_of(case, lamp, installed)
        if fade is not None:
            found.append((variant, lamp, installed, fade))
    return tuple(found)


def read_again(case: Case) -> list[tuple[str, Lamp, dt.date]]:
    """Return the lamps whose UVI is to be read again, and when."""
    return [(variant, lamp, f.again_on) for variant, lamp, _, f in faded(case) if f.again_on is not None]


@dataclass(frozen=True, slots=True)
class TooMuch:
    """A last reading under a UV lamp over the most that the residents stand, and the nearest safe distance in
    cm, if known."""

    variant: str
    lamp: Lamp
    entry: Entry
    most: float
    species: str
    nearest_cm: float | None

    @property
    def value(self) -> float:
        """Return the UVI that was read."""
        return self.entry.value or 0.0

    @property
    def source(self) -> Source:
        """Return where the most is from: the ceiling of this project, or the maximum of the zone."""
        return ultraviolet.CEILING_SOURCE if self.most == ultraviolet.CEILING else ultraviolet.ZONES_SOURCE

    def said(self, case: Case) -> str:
        """Return what was read."""
        return (
            f"UVI {case.numeral(self.value, '.2g')} under the {self.lamp.kind} lamp on "
            f"{case.date(self.entry.day)}."
        )

    def rule(self, case: Case) -> str:
        """Return what it is held against."""
        return f"UVI {case.numeral(self.most)} is the most for {self.species}, at any hour."

    def raised(self, case: Case) -> str:
        """Return how far the lamp is to be raised."""
        if self.nearest_cm is None:
            return (
                f"hang it higher, until a meter at the basking place shows UVI {case.numeral(self.most)} or "
                "less"
            )
        return (
            f"hang it {case.cm(math.ceil(self.nearest_cm))} or more from the basking place, where it gives "
            f"UVI {case.numeral(self.most)} at most"
        )


@once
def too_much(case: Case) -> tuple[TooMuch, ...]:
    """Return the UV lamps of which the last reading, also one before burn-in, is over what the residents
    stand."""
    known = [
        (ultraviolet.ceiling(z.zone), name) for name, z in lamps.zones(case).items() if z.zone is not None
    ]
    if not known:
        return ()
    most, species = min(known)
    found = []
    for variant, lamp in lamps.lamps(case):
        read = lamps.readings_of(case, lamp) if lamp.gives_uv else []
        since = [e for e in read if lamp.installed is None or e.day >= lamp.installed]
        if since and since[-1].value is not None and since[-1].value > most:
            near = lamps.nearest_cm(case, lamp, since[-1].value, lamp.basking_distance)
            found.append(TooMuch(variant, lamp, since[-1], most, species, near))
    return tuple(found)


@watch
def too_strong(case: Case) -> Iterator[Consequence]:
    """Say where a lamp gives more than the residents stand, and how far it is to be raised."""
    for found in too_much(case):
        yield Consequence(
            key="uvi-reading",
            verdict="act",
            reading=found.said(case),
            rule=found.rule(case),
            source=found.source,
            plan=(
                f"Switch the lamp off now; unplugged and cold {found.raised(case)}, and read it again "
                "before an animal goes under it."
            ),
            gist="a lamp was read too strong; switch it off",
        )


@watch
def nearer(case: Case) -> Iterator[Consequence]:
    """Say where a lamp reads more than its baseline: no lamp grows stronger, so something came nearer, or it
    is another one."""
    strong = {found.variant for found in too_much(case)}
    for variant, lamp, installed in lamps.dated(case):
        try:
            baseline = lamps.uvi_at_basking(lamp)[0]
        except (NotKnown, ValueError):
            continue
        burned_in = lamps.burned_in_on(case, lamp, installed)
        read = [e for e in lamps.readings_of(case, lamp) if e.day >= burned_in]
        if variant in strong or not read or (read[-1].value or 0.0) <= NEARER_SHARE * baseline:
            continue
        yield Consequence(
            key="uvi-reading",
            verdict="look",
            reading=(
                f"UVI {case.numeral(read[-1].value or 0.0, '.2g')} under the {lamp.kind} lamp on "
                f"{case.date(read[-1].day)}."
            ),
            rule=f"Its baseline there is {case.numeral(baseline, '.2g')}, and no lamp grows stronger.",
            source=NEARER,
            plan=(
                "See whether the lamp hangs lower or the basking place was raised; put it back, or measure "
                "the distance and write it into the description."
            ),
            gist="a lamp was read stronger than its baseline",
        )


@watch
def uvi(case: Case) -> Iterator[Consequence]:
    """Say which lamps fade, and what that does to their replacement."""
    for _, lamp, installed, fade in faded(case):
        said = f"The {lamp.kind} lamp of {case.date(installed)}: {fade.why}."
        if fade.again_on is not None:
            yield Consequence(
                key="uvi-reading",
                verdict="look",
                reading=said,
                rule="One reading alone may be a slip.",
                source=fade.source,
                plan="Read the UVI again soon: if it is as low, the lamp is due."
                if switched_off(case, "uvi-reading")
                else f"Read it again on {case.date(fade.again_on)}: if it is as low, the lamp is due.",
                gist="a lamp was read weak; read it again",
            )
            continue
        life = lamps.life(case, lamp, installed)
        yield Consequence(
            key="uv-lamp-replace",
            verdict="look",
            reading=said,
            rule=_other(fade, life),
            source=life.source,
            plan="Its replacement is switched off: replace it by hand."
            if switched_off(case, "uv-lamp-replace")
            else f"Its replacement is due on {case.date(lamps.replace_on(case, lamp, installed))}.",
            gist="a lamp fades",
        )


def _other(fade: Fade, life: lamps.Life) -> str:
    """Say what the plan goes by where it does not go by the readings."""
    if life.source is fade.source or fade.days is None:
        return ""
    if fade.days < life.days:
        return f"The plan goes by {life.why}, which is longer: replace it now rather than then."
    return f"That is later than {life.why}."
