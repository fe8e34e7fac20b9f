"""pondround: the care of freshwater turtles, planned and put on people's calendars.

The library's face. Names are looked up when they are used, so that a command that plans does not load what exports.

Decisions
---------

Modules are not named after the function they hold
    Modules are not named after the function they hold (`loader.load`, `planner.schedule`): a package that
    exports both confuses readers and the type checker.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scheduler.care import jobs
    from scheduler.description import load
    from scheduler.plan import occurrences, schedule
    from scheduler.workflow import export as write_calendars

_HOMES = {
    "load": ("scheduler.description", "load"),
    "jobs": ("scheduler.care", "jobs"),
    "schedule": ("scheduler.plan", "schedule"),
    "occurrences": ("scheduler.plan", "occurrences"),
    "write_calendars": ("scheduler.workflow", "export"),
}

__all__ = ["jobs", "load", "occurrences", "schedule", "write_calendars"]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _HOMES[name]
    return getattr(importlib.import_module(module), attribute)
