"""Sites for a rule of the rota in a line or two, and the whole rota as text, which the checker has passed."""

from __future__ import annotations

from textwrap import dedent
from typing import Any

from scheduler.rota import Rota
from support.rota.checker import check
from support.rota.small_sites import Case, duties, shown

SEDGE = '[[enclosure]]\nname = "Sedge"\n'
POND = '[[enclosure]]\nname = "Alder"\nroom = "yard"\n'


def job(key: str, *due: int, minutes: int = 20, window: int = 0, can: str = "") -> str:
    """Return a duty due on days of December 2026; the 7th is a Monday."""
    days = ", ".join(f"2026-12-{day:02}" for day in due)
    skills = f'can = ["{can}"]\n' if can else ""
    return (
        f'[[enclosure.extra_job]]\nkey = "{key}"\ntitle = "Duty"\non = [{days}]\nminutes = {minutes}\n'
        f'window = "{window} days"\n{skills}'
    )


def keeper(name: str, **what: object) -> str:
    lines = "".join(f"{key} = {_toml(value)}\n" for key, value in what.items())
    return f'[[keeper]]\nname = "{name}"\n{lines}'


def _toml(value: object) -> str:
    return str(value).replace("'", '"')


def made(some: Case) -> Rota:
    """Return the rota of a case, in which the checker finds nothing that is wrong."""
    found = some.rota()
    complaints = check(
        found, some.site, some.occurrences, quarantined=some.quarantined, absent=some.absent, past=some.past
    )
    assert complaints == []
    return found


def rota(*parts: str, **changes: Any) -> str:
    return shown(made(duties("".join(parts), **changes)))


def text(expected: str) -> str:
    return dedent(expected).strip()
