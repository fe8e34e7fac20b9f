"""UVI readings: how far a lamp has faded, and when it is due by that."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from scheduler.care import lamps
from scheduler.care.case import Case
from scheduler.care.fading import Fade
from scheduler.care.watch.registry import Consequence, once, watch
from scheduler.description.site import Lamp
from scheduler.quantities import show_date


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
        said = f"The {lamp.kind} lamp of {show_date(installed)}: {fade.why}."
        if fade.again_on is not None:
            yield Consequence(
                key="uvi-reading",
                verdict="look",
                reading=said,
                rule="One reading alone may be a slip.",
                source=fade.source,
                plan=f"Read it again on {show_date(fade.again_on)}: if it is as low, the lamp is due.",
            )
            continue
        day = lamps.replace_on(case, lamp, installed)
        life = lamps.life(case, lamp, installed)
        yield Consequence(
            key="uv-lamp-replace",
            verdict="look",
            reading=said,
            rule="" if life.source is fade.source else f"That is later than {life.why}.",
            source=fade.source if life.source is fade.source else life.source,
            plan=f"Its replacement is due on {show_date(day)}.",
        )
