"""The steps of the program for other programs: what `import scheduler` offers beside the pure parts
themselves.

None of them looks into a log: they plan what the description alone says, and the same input gives the same
result.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.description import Site
from scheduler.workflow.feeds.composition import export
from scheduler.workflow.plan import make_plan
from scheduler.workflow.site_files import read_site

if TYPE_CHECKING:
    from scheduler.rota import Rota


def load(file: str | Path) -> Site:
    """Return the site that a file describes, with the species sheets beside it.

    DescriptionError lists all mistakes.
    """
    return read_site(Path(file))


def loads(text: str) -> Site:
    """Return the site that a TOML text describes, with the species that ship.

    DescriptionError lists all mistakes.
    """
    from scheduler import description
    from scheduler.species import load_sheets

    return description.load(text, load_sheets(), (care.check,))


def assign(site: Site, first: dt.date, last: dt.date, *, seconds: float = 60.0) -> Rota:
    """Return who does what from a day to another, both included.

    UsageError where the description has no keepers.

    After `seconds` the search takes each week as far as it has come.
    """
    from scheduler.workflow.rota.site_rota import RotaContext, rota_of

    return rota_of(site, RotaContext(), first, first, last, seconds=seconds).rota


def write_calendars(
    site: Site, to: str | Path, today: dt.date, *, days: int = 728, rota: Rota | None = None
) -> list[Path]:
    """Write the calendars of a site into a folder, all or none, and return the files.

    What is regular has no end; single dates reach so many days. With a rota there is one for each keeper too.
    WriteError when writing is not possible.
    """
    from scheduler.calendar import Options

    planned = make_plan(site, today, today, days)
    written = export(planned, Path(to), Options(), keep_starts=True, rota=rota)
    return [file for file, _, _ in written.files]
