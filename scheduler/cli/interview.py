"""The questions of a new description on a terminal: one after the other, and back."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import typer

from scheduler import workflow
from scheduler.cli.shared import talk
from scheduler.description.common_sizes import common_size_of
from scheduler.description.questions import (
    EQUIPMENT,
    FOOD,
    MOST_ANIMALS,
    PLACE,
    SPECIES,
    TANK,
    UNITS,
    Question,
    of_animal,
)
from scheduler.description.starter import starter_problems
from scheduler.errors import Problem
from scheduler.quantities import QuantityError, parse
from scheduler.species import Sheets

BACK, HELP = "back", "?"
LENGTH = "length"

ANOTHER = "another"
"""What the keys of questions begin with that ask for one more animal; they stand in no description."""


class Interview:
    """Asks what no option has said. Each answer is kept beside the file until that is written."""

    def __init__(self, file: Path, given: Mapping[str, str], zone: str, sheets: Sheets) -> None:
        """Take the file to be written, what the options said, the machine's time zone and the species."""
        self._file, self._given, self._zone, self._sheets = file, given, zone, sheets
        self._answers: dict[str, str] = {}
        self._before: dict[str, str] = {}

    def ask(self) -> dict[str, str]:
        """Ask until all is answered, and return the answers with those of the options.

        Abort where somebody stops; what was answered is kept.
        """
        if isinstance(sys.stdin, io.TextIOWrapper):
            # A stray byte becomes a character that the description refuses in its own words.
            sys.stdin.reconfigure(errors="surrogateescape")
        try:
            self._go_on_from_before()
            talk("Enter takes what stands in brackets, or leaves out what you do not know.")
            talk(f'"{BACK}" goes one question back; "{HELP}" says what a question is for.')
            while (question := self._next()) is not None:
                self._ask(question)
        except typer.Abort:
            if self._answers and workflow.kept_answers(self._file):
                talk("")
                talk("What you answered is kept, and asked about when you begin again.")
            raise
        return self._all()

    def _go_on_from_before(self) -> None:
        """Take what was answered before somebody stopped, where they want to go on from it."""
        kept = workflow.kept_answers(self._file)
        if not kept:
            return
        if not typer.confirm("Go on from the answers of last time?", default=True, err=True):
            workflow.forget_answers(self._file)
            return
        # In the order of the questions, up to the first that does not fit any more.
        while (question := self._next()) is not None and question.key in kept:
            self._answers[question.key] = kept[question.key]
            if self._problems():
                del self._answers[question.key]
                break
        self._before = kept

    def _order(self) -> Iterator[Question]:
        yield from (*PLACE, *UNITS, *TANK, *EQUIPMENT)
        for number in range(1, MOST_ANIMALS + 1):
            yield from of_animal(number)
            if number == MOST_ANIMALS:
                break
            key = f"{ANOTHER}-{number}"
            yield Question(
                key,
                (),
                "Another animal",
                "One more in the same enclosure.",
                default="no",
                choices=("yes", "no"),
            )
            if self._answers.get(key, "no") != "yes":
                break
        yield from FOOD

    def _next(self) -> Question | None:
        """Return the first question that is open; None where there is none."""
        known = {**self._given, **self._answers}
        return next(
            (q for q in self._order() if q.key not in known and (not q.after or known.get(q.after))), None
        )

    def _ask(self, question: Question) -> None:
        """Put one question, and take its answer where it is right."""
        key = question.key
        default = self._before.get(key) or (self._zone if key == "time_zone" else question.default)
        if key == SPECIES.key:
            talk(
                "Species with a sheet: " + ", ".join(sheet.names[0] for sheet in self._sheets.values()) + "."
            )
        if key == LENGTH:
            talk('If you only know how much it holds, write that: "240 L" or "40 gal".')
        text = f"{question.prompt} [{default}]" if default else question.prompt
        answer = str(typer.prompt(text, default=default, show_default=False, err=True))
        word = answer.strip().lower()
        if word == BACK:
            self._back()
        elif word == HELP:
            talk(f"  {question.help}")
        elif key.startswith(ANOTHER) and word not in question.choices:
            talk('  write "yes" or "no"')
        elif key == "time_zone" and not word:
            talk("  the machine's own is not known; write for example Europe/Dublin")
        elif key != LENGTH or not self._is_volume(answer):
            self._take(key, word if key.startswith(ANOTHER) else answer)

    def _is_volume(self, answer: str) -> bool:
        """Tell whether a volume was given for a length; then the sizes of the nearest common tank stand in
        brackets from now on."""
        try:
            litres = parse(answer, "volume")
        except QuantityError:
            return False
        size = common_size_of(litres, "us" if self._all().get("units") == "us" else "metric")
        if size is None:
            talk("  no common tank holds about so much; measure it, inside")
            return True
        talk(f"  commonly {size.text} to the rim: hold a tape against it, and mend what differs")
        for key, number in ((LENGTH, size.length), ("width", size.width), ("height", size.height)):
            self._before[key] = f"{number} {size.unit}"
        return True

    def _take(self, key: str, answer: str) -> None:
        self._answers[key] = answer
        problems = self._problems()
        if problems:
            del self._answers[key]
            for problem in problems:
                talk(f"  {said(problem)}")
            return
        workflow.keep_answers(self._file, self._answers)

    def _back(self) -> None:
        """Take the last answer back; it stands in brackets when it is asked for again."""
        if not self._answers:
            talk("  this is the first question")
            return
        key, answer = self._answers.popitem()
        self._before[key] = answer
        workflow.keep_answers(self._file, self._answers)

    def _all(self) -> dict[str, str]:
        found = {**self._given, **self._answers}
        return {key: answer for key, answer in found.items() if not key.startswith(ANOTHER)}

    def _problems(self) -> list[Problem]:
        return [problem for _, problem in starter_problems(self._all(), self._sheets)]


def said(problem: Problem) -> str:
    """Return a problem with what to write instead, on one line."""
    return f"{problem.message}; {problem.hint}" if problem.hint else problem.message
