"""The sheets that the package ships: the one place of the core that reads files, and they are the package's
own."""

from __future__ import annotations

import functools
from importlib import resources
from importlib.resources.abc import Traversable

from scheduler.species.sheet import Reader, Sheets, read_sheet


@functools.cache
def load_sheets() -> Sheets:
    """Return the sheets that the package ships; each file is named after its species."""
    folder = resources.files(__package__) / "sheets"
    files = (entry for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return Sheets(
        {file.name.removesuffix(".toml").replace("-", " ").capitalize(): _reader(file) for file in files}
    )


def _reader(file: Traversable) -> Reader:
    return functools.cache(lambda: read_sheet(file.read_text("utf-8")))
