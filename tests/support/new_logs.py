"""A log with its tables made, to be copied: making them by their migrations takes ten times as long."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from uuid import uuid4

from scheduler.log import schema
from scheduler.log.location import LogLocation, read_url


def copying(folder: Path) -> Callable[[LogLocation], None]:
    """Return what stands in for `bring_up_to_date`: a new SQLite log is a copy of one that it made in the folder."""
    template = folder / "empty.db"

    def bring_up_to_date(place: LogLocation) -> None:
        # Who may not read the template makes tables as anybody does.
        with suppress(PermissionError):
            if place.file is not None and not place.file.exists():
                if not template.exists():
                    schema.bring_up_to_date(read_url(f"sqlite:///{template}"))
                _copy(template, place.file)
        schema.bring_up_to_date(place)

    return bring_up_to_date


def _copy(template: Path, file: Path) -> None:
    whole = file.with_name(f"{file.name}-{uuid4().hex}")
    try:
        shutil.copy(template, whole)
        # Whole at once, and never in the place of one that somebody else has just made.
        os.link(whole, file)
    except OSError:
        # The program itself says why nothing can be made here.
        pass
    finally:
        whole.unlink(missing_ok=True)
