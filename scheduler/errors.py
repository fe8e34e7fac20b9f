"""Two channels for what goes wrong: problems of the keeper's text are data, failures of the world are
exceptions."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One mistake in a description: where it stands, what was found and expected, what to write instead.

    `involves` names further places that the message rests on: when one of them is itself wrong, the problem
    is a consequence and is not reported.
    """

    path: Path
    message: str
    hint: str = ""
    line: int | None = None
    involves: tuple[Path, ...] = ()

    @property
    def where(self) -> str:
        """Return the key path as text, `enclosure[0].water_depth`."""
        return show_path(self.path)


class SchedulerError(Exception):
    """The base of all failures that a command reports in one line, without a traceback."""


class DescriptionError(SchedulerError):
    """A description that cannot be used; it carries every problem found in one run."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems in the order in which they stand in the file."""
        self.problems = tuple(problems)
        super().__init__(f"{len(self.problems)} problem(s) in the description")


class UsageError(SchedulerError):
    """A command or a form asked for something that does not exist or cannot be combined: nothing of it was
    done.

    That nothing was recorded or changed is said by the class. Whoever tells the error puts it into words; the
    message itself gives the reason alone.
    """


class DoubtError(UsageError):
    """A value looks mistyped, and nobody was there to ask: `doubts` say why."""

    def __init__(self, doubts: Iterable[str]) -> None:
        """Keep the doubts, which are the message, each on a line."""
        self.doubts = tuple(doubts)
        super().__init__("\n".join(self.doubts))


class ReadingError(UsageError):
    """A value that is no reading of its quantity."""

    def __init__(self, told: str, in_field: str = "") -> None:
        """Take what is wrong where readings are written NAME=VALUE, and where the value has a field of its
        own, on a page."""
        # What is typed on a keyboard is printed with its signs.
        self.in_field = (in_field or told).replace("degC", "°C").replace("degF", "°F")
        super().__init__(told)


class WriteError(SchedulerError):
    """The world refused: no space, no permission, or a feed that did not pass its own check."""


class LogError(SchedulerError):
    """The log cannot be read or written; the message names it (without its password) and says what to do."""


class UncertainError(LogError):
    """The log was asked to keep something and did not answer: nobody knows whether it is there."""


def show_path(path: Path) -> str:
    """Return a key path as a keeper reads it: `enclosure[0].lamp[1].power`; the top of the file is
    `(file)`."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            text += f".{part}" if text else str(part)
    return text or "(file)"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the closest of the known words, whatever its case, or nothing when none is close."""
    by_lower = {k.lower(): k for k in known}
    found = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[found[0]] if found else ""


def as_words(text: str) -> str:
    """Return a title or a key as it is compared: in small letters, with spaces in the place of hyphens."""
    return " ".join(text.lower().replace("-", " ").split())


def clip(value: object, limit: int = 60) -> str:
    """Return a value as it may stand in a message: on one line, without controls, and short.

    The depth and length limits keep a hostile value (nested tables, megabytes of text) from flooding the
    terminal.
    """
    import reprlib

    short = reprlib.Repr()
    short.maxstring = short.maxother = short.maxlong = limit
    short.maxlevel, short.maxdict, short.maxlist = 2, 3, 3
    if isinstance(value, str):
        body = value if len(value) <= limit else value[: limit - 1] + "…"
        text = '"' + body + '"'
    elif hasattr(value, "isoformat"):
        text = str(value.isoformat())
    elif isinstance(value, bool):
        text = str(value).lower()
    else:
        try:
            text = short.repr(value)
        except ValueError:
            # Python writes out no whole number of more than 4300 digits, which hexadecimal may have.
            text = "a number of thousands of digits"
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)
