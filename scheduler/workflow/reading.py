"""Descriptions and species sheets from files."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from scheduler import care
from scheduler.description import Site, load
from scheduler.description.loader import hostile_line
from scheduler.errors import DescriptionError, Problem, clip
from scheduler.species import Sheet, Sheets, load_sheets, read_sheet

MOST_BYTES = 32_000_000
"""Largest description that is read: some 25,000 enclosures. A larger file is not a description."""

MOST_SHEET_BYTES = 200_000


def read_site(file: Path) -> Site:
    """Return the site that a file describes, with the species sheets that lie beside it. DescriptionError if it is wrong."""
    return site_of(read_text(file), file)


def read_text(file: Path) -> str:
    """Return the text of a description. DescriptionError when it cannot be read."""
    return _read(file, MOST_BYTES, "description")


def site_of(text: str, file: Path) -> Site:
    """Return the site that a text describes, with the species sheets that lie beside a file."""
    return load(text, sheets_beside(file), (care.check,))


def _read(file: Path, most: int, what: str) -> str:
    try:
        if file.is_dir():
            raise _unreadable(f"{clip(str(file))} is a folder, not a {what}", "name the TOML file inside it")
        with file.open("rb") as stream:
            raw = stream.read(most + 1)
    except FileNotFoundError:
        raise _unreadable(
            f"there is no file {clip(str(file))}", "`pondround new FILE` writes one to start from"
        ) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "the name is not valid"
        raise _unreadable(f"{clip(str(file))} cannot be read: {reason}", "") from None
    if len(raw) > most:
        raise _unreadable(
            f"{clip(str(file))} is larger than {most // 1000} kB; that is no {what}", "split the site"
        )
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise _unreadable(
            f"line {line} is not UTF-8 text (byte {raw[error.start]:#04x})", "save the file as UTF-8"
        ) from None


def _unreadable(message: str, hint: str) -> DescriptionError:
    return DescriptionError([Problem(path=(), message=message, hint=hint)])


def sheets_beside(file: Path) -> Sheets:
    """Return the package's species sheets, and the keeper's own `*.species.toml` beside the description."""
    found: dict[str, Sheet] = {}
    problems: list[Problem] = []
    for beside in sorted(file.parent.glob("*.species.toml")):
        try:
            text = _read(beside, MOST_SHEET_BYTES, "species sheet")
            if refused := hostile_line(text):
                raise DescriptionError([replace(refused, path=(beside.name,), line=None)])
            sheet = read_sheet(text)
            found[sheet.species] = sheet
        except DescriptionError as error:
            problems += error.problems
        except (ValueError, RecursionError) as error:
            problems += _sheet_problems(beside.name, error)
    if problems:
        raise DescriptionError(problems)
    return load_sheets().adding(found) if found else load_sheets()


def _sheet_problems(name: str, error: Exception) -> Iterator[Problem]:
    from pydantic import ValidationError

    hint = "a sheet that comes with the program shows the form"
    if isinstance(error, ValidationError):
        for detail in error.errors(include_url=False):
            yield Problem(
                path=(name, *detail["loc"]),
                message=f"found {clip(detail['input'])}: {detail['msg']}",
                hint=hint,
            )
    else:
        yield Problem(
            path=(name,), message=f"this species sheet cannot be read: {clip(str(error), 120)}", hint=hint
        )
