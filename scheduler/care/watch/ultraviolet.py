"""UVI readings: how far a lamp has faded, and when it is due by that."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care import lamps
from scheduler.care.case import Case
from scheduler.care.fading import Fade
from scheduler.care.watch.registry import Consequence, once, switched_off, watch
from scheduler.description.site import Lamp


@once
def faded(case: Case) -> tuple[tuple[str, Lamp, dt.date, Fade], ...]:
    """Return the dated UV lamps whose readings tell something: variant, lamp, day of installation, and what."""
    found = []
    for variant, lamp, installed in lamps.dated(case):
        fade = lamps.fading_of(case, lamp, installed)
        if fade is not None:
            found.append((variant, lamp, installed, fade))
    return tuple(found)


def read_again(case: Case) -> list[tuple[str, Lamp, dt.date]]:
    """Return the lamps whose UVI is to be read again, and when."""
    return [(variant, lamp, f.again_on) for variant, lamp, _, f in faded(case) if f.again_on is not None]


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
                plan="Read it again soon: if it is as low, the lamp is due."
                if switched_off(case, "uvi-reading")
                else f"Read it again on {case.date(fade.again_on)}: if it is as low, the lamp is due.",
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
        )


def _other(fade: Fade, life: lamps.Life) -> str:
    """Say what the plan goes by where it does not go by the readings."""
    if life.source is fade.source or fade.days is None:
        return ""
    if fade.days < life.days:
        return f"The plan goes by {life.why}, which is longer: replace it now rather than then."
    return f"That is later than {life.why}."
