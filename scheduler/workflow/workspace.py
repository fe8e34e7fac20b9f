"""What every use case is about: a description, the site that it describes, and the day."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from scheduler.description import Site


@dataclass(frozen=True, slots=True)
class Workspace:
    """A description's file, its site, and today there.

    `as_of` is the day that counts as today where the keeper named one: then what is recorded bears its date,
    else now.
    """

    file: Path
    site: Site
    today: dt.date
    as_of: dt.date | None = None
