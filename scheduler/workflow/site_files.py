"""Descriptions and species sheets from files."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Mapping
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

_HANDED = ("/dev/stdin", "/dev/fd/", "/proc/self/fd/")
"""Pipes that somebody has handed over with the command; whoever did so writes into them."""


def read_site(file: Path) -> Site:
    """Return the site that a file describes, with the species sheets that lie beside it.

    DescriptionError if it is wrong.
    """
    return site_of(read_text(file), file)


def read_text(file: Path) -> str:
    """Return the text of a description. DescriptionError when it cannot be read."""
    return _read(file, MOST_BYTES, "description")


def site_of(text: str, file: Path) -> Site:
    """Return the site that a text describes, with the species sheets that lie beside a file."""
    return load(text, sheets_beside(file), (care.check,))


def _read(file: Path, most: int, what: str) -> str:
    try:
        raw = _bytes(file, most, what)
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


def _bytes(file: Path, most: int, what: str) -> bytes:
    """Return the bytes of a file, one more than allowed where there are more.

    What was named as a file and is none is not waited for: nobody may ever write into a pipe.
    """
    if file.is_dir():
        raise _unreadable(f"{clip(str(file))} is a folder, not a {what}", "name the TOML file inside it")
    with open(file, "rb", opener=lambda name, flags: os.open(name, flags | os.O_NONBLOCK)) as stream:
        if stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
            return stream.read(most + 1)
        if not str(file).startswith(_HANDED):
            raise _unreadable(
                f"{clip(str(file))} is no file but a pipe or a device; that is no {what}",
                "put a file in its place",
            )
        os.set_blocking(stream.fileno(), True)
        return stream.read(most + 1)


def _unreadable(message: str, hint: str) -> DescriptionError:
    return DescriptionError([Problem(path=(), message=message, hint=hint)])


def sheets_beside(file: Path) -> Sheets:
    """Return the package's species sheets, and the keeper's own `*.species.toml` beside the description."""
    texts, problems = _texts_beside(file)
    return _sheets(texts, problems)


def texts_beside(file: Path) -> dict[str, str]:
    """Return the texts of the keeper's own species sheets by their names.

    DescriptionError where one cannot be read.
    """
    texts, problems = _texts_beside(file)
    if problems:
        raise DescriptionError(problems)
    return texts


def site_of_texts(text: str, sheets: Mapping[str, str]) -> Site:
    """Return the site that a text describes, with the texts of the keeper's own species sheets by their
    names."""
    return load(text, _sheets(sheets, []), (care.check,))


def _texts_beside(file: Path) -> tuple[dict[str, str], list[Problem]]:
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for beside in sorted(file.parent.glob("*.species.toml")):
        try:
            texts[beside.name] = _read(beside, MOST_SHEET_BYTES, "species sheet")
        except DescriptionError as error:
            problems += error.problems
    return texts, problems


def _sheets(texts: Mapping[str, str], problems: list[Problem]) -> Sheets:
    found: dict[str, Sheet] = {}
    for name, text in texts.items():
        try:
            if refused := hostile_line(text):
                raise DescriptionError([replace(refused, path=(name,), line=None)])
            sheet = read_sheet(text)
            found[sheet.species] = sheet
        except DescriptionError as error:
            problems += error.problems
        except (ValueError, RecursionError) as error:
            problems += _sheet_problems(name, error)
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
