"""Which description a server is asked to serve that is not there yet."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from pathlib import Path

from scheduler.errors import UsageError, clip

USUAL = "enclosures.toml"
"""What a description is called where nobody said otherwise."""

SHEET = ".species.toml"
_NAME = re.compile(r"[^\x00-\x1f\x7f/\\:]{1,95}\.toml")
_TABLES = {"site", "keeper", "enclosure"}


def usual_places() -> tuple[Path, ...]:
    """Return what is served where nobody said what: the usual file, else every description of this folder."""
    usual = Path(USUAL)
    return (usual,) if usual.exists() else (Path(),)


def file_to_describe(places: Sequence[Path]) -> Path | None:
    """Return the file to be written by a set-up: where one place is named, and no description is there.

    None where there is one, also one with mistakes, and where a file could not be written.
    """
    if len(places) != 1:
        return None
    place = places[0].absolute()
    if place.is_dir():
        file = place / USUAL
        is_free = not (file.exists() or file.is_symlink()) and not any(map(_describes, place.glob("*.toml")))
        return file if is_free else None
    is_free = not (place.exists() or place.is_symlink()) and place.parent.is_dir()
    return place if is_free and is_name(place.name) else None


def is_name(text: str) -> bool:
    """Tell whether a text may be the name of a description, inside a folder."""
    return _NAME.fullmatch(text) is not None and not text.startswith(".") and not text.endswith(SHEET)


def file_named(file: Path, name: str) -> Path:
    """Return the file of another name in the same folder. UsageError where that is no name of one."""
    if not is_name(name):
        raise UsageError(
            f"{clip(name)} is no name for the file; write letters and digits, with .toml at the end: {USUAL}"
        )
    return file.with_name(name)


def _describes(file: Path) -> bool:
    """Tell whether a file is a description, or one with mistakes; many folders have other files in TOML."""
    if file.name.endswith(SHEET):
        return False
    try:
        return not _TABLES.isdisjoint(tomllib.loads(file.read_text("utf-8")))
    except (OSError, ValueError, RecursionError):
        return True
