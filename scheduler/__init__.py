"""pondround: the care of freshwater turtles, planned and put on people's calendars.

The library's face; the guide's page `library` shows how it is used. Names are looked up when they are used,
so that a command that plans does not load what exports.

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
    from scheduler.errors import DescriptionError, UsageError, WriteError
    from scheduler.plan import occurrences, schedule
    from scheduler.workflow.library import assign, load, loads, write_calendars

_HOMES = {
    "scheduler.care": ("jobs",),
    "scheduler.errors": ("DescriptionError", "UsageError", "WriteError"),
    "scheduler.plan": ("occurrences", "schedule"),
    "scheduler.workflow.library": ("assign", "load", "loads", "write_calendars"),
}

__all__ = [
    "DescriptionError",
    "UsageError",
    "WriteError",
    "assign",
    "jobs",
    "load",
    "loads",
    "occurrences",
    "schedule",
    "write_calendars",
]


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(importlib.import_module(home), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
