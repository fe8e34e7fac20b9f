"""`pondround new`: a description to start from."""

from __future__ import annotations

import io
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, talk, told
from scheduler.errors import Problem, UsageError

if TYPE_CHECKING:
    from scheduler.description.starter import Problems
    from scheduler.species import Sheets


def _option(name: str, metavar: str, text: str) -> typer.models.OptionInfo:
    return typer.Option(name, metavar=metavar, help=text, show_default=False)  # type: ignore[no-any-return]


Text = str | None


def new(
    file: FileArgument = FILE,
    yes: Annotated[bool, typer.Option("--yes", help="Ask nothing: options and defaults say it all.")] = False,
    sample: Annotated[
        Text,
        _option("--sample", "NAME", "Write a copy of a sample instead: household, one-tank or rescue."),
    ] = None,
    name: Annotated[Text, _option("--name", "TEXT", "Name of the place; Home.")] = None,
    time_zone: Annotated[
        Text, _option("--time-zone", "ZONE", "Such as Europe/Dublin; the machine's own.")
    ] = None,
    units: Annotated[Text, _option("--units", "metric|us", "How amounts are printed; metric.")] = None,
    enclosure: Annotated[Text, _option("--enclosure", "TEXT", "Name of the enclosure; Tank.")] = None,
    kind: Annotated[Text, _option("--kind", "tank|tub|pond", "Kind of the enclosure; tank.")] = None,
    length: Annotated[Text, _option("--length", "SIZE", 'Inside length, "91 cm" or "36 in".')] = None,
    width: Annotated[Text, _option("--width", "SIZE", "Inside width.")] = None,
    height: Annotated[Text, _option("--height", "SIZE", "Inside height.")] = None,
    water_depth: Annotated[Text, _option("--water-depth", "SIZE", "Depth of the water.")] = None,
    set_up: Annotated[Text, _option("--set-up", "DATE", "Day it is or was set up.")] = None,
    animal: Annotated[Text, _option("--animal", "TEXT", "Name of the animal; Turtle.")] = None,
    species: Annotated[Text, _option("--species", "TEXT", "Its species, by any usual name.")] = None,
    carapace: Annotated[Text, _option("--carapace", "SIZE", "Length of its carapace.")] = None,
    arrived: Annotated[Text, _option("--arrived", "DATE", "Day it comes or came.")] = None,
) -> None:
    """Write a commented description to start from. On a terminal it asks; it never overwrites."""
    given = {
        "name": name, "time_zone": time_zone, "units": units, "enclosure": enclosure, "kind": kind, "length": length,  # noqa: E501
        "width": width, "height": height, "water_depth": water_depth, "set_up": set_up, "animal": animal,
        "species": species, "carapace": carapace, "arrived": arrived,
    }  # fmt: skip
    from scheduler.description.starter import starter_problems, starter_text

    answers = {key: answer for key, answer in given.items() if answer is not None}
    with told(file, writes=True):
        if sample is not None:
            if answers:
                options = ", ".join(_option_of(key) for key in answers)
                raise UsageError(f"a sample is written as it is; leave out {options}")
            text = workflow.sample_text(sample)
            workflow.refuse_taken(file)
            _write(file, text)
            return
        if not yes and not (sys.stdin is not None and sys.stdin.isatty()):
            raise UsageError(
                "standard input is no terminal, so nothing can be asked; add --yes, and options for "
                "what you know"
            )
        workflow.refuse_taken(file)
        sheets = workflow.sheets_beside(file)
        _refuse(starter_problems(answers, sheets))
        zone = workflow.machine_zone()
        if not yes:
            _ask(answers, zone, sheets)
        elif not (answers.get("time_zone") or zone):
            raise UsageError(
                "the machine's time zone is not known; add --time-zone Europe/Dublin or the like"
            )
        answers["time_zone"] = answers.get("time_zone") or zone
        _write(file, starter_text(answers))


def _write(file: Path, text: str) -> None:
    """Write the description, and say how to go on."""
    from scheduler.sheets.terminal import safe

    workflow.write_starter(file, text)
    shown = safe(shlex.quote(str(file)))
    talk(f"{safe(str(file))} is written. Look it over, then:")
    talk(f"  pondround check {shown}")
    talk(f"  pondround export {shown} --to calendars")


def _refuse(problems: Problems) -> None:
    """End with the problems of the options, if there are any."""
    if problems:
        lines = (f"{_option_of(key) if key else p.where}: {_said(p)}" for key, p in problems)
        raise UsageError("\n".join(lines))


def _ask(answers: dict[str, str], zone: str, sheets: Sheets) -> None:
    """Ask what no option has said, each question until its answer is right."""
    from scheduler.description.starter import QUESTIONS, starter_problems

    if isinstance(sys.stdin, io.TextIOWrapper):
        # A stray byte becomes a character that the description refuses in its own words.
        sys.stdin.reconfigure(errors="surrogateescape")
    talk("Enter takes what stands in brackets, or leaves out what you do not know.")
    for question in QUESTIONS:
        default = zone if question.key == "time_zone" else question.default
        if question.key == "species":
            talk("Species with a sheet: " + ", ".join(sheet.names[0] for sheet in sheets.values()) + ".")
        text = f"{question.text} [{default}]" if default else question.text
        while question.key not in answers:
            answer = str(typer.prompt(text, default=default, show_default=False, err=True))
            problems = starter_problems({**answers, question.key: answer}, sheets)
            for _, problem in problems:
                talk(f"  {_said(problem)}")
            if question.key == "time_zone" and not answer.strip():
                talk("  the machine's own is not known; write for example Europe/Dublin")
            elif not problems:
                answers[question.key] = answer


def _option_of(key: str) -> str:
    return "--" + key.replace("_", "-")


def _said(problem: Problem) -> str:
    return f"{problem.message}; {problem.hint}" if problem.hint else problem.message
