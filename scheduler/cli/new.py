"""`pondround new`: a description to start from."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, talk, told
from scheduler.errors import UsageError

if TYPE_CHECKING:
    from scheduler.description.starter import Problems


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
    keeper: Annotated[Text, _option("--keeper", "TEXT", "Your name.")] = None,
    locale: Annotated[Text, _option("--locale", "TAG", "How dates and numbers are written, en-IE.")] = None,
    covered: Annotated[Text, _option("--covered", "yes|no", "Whether there is a lid.")] = None,
    filter_: Annotated[Text, _option("--filter", "KIND", "Kind of its filter, such as canister.")] = None,
    flow: Annotated[Text, _option("--flow", "FLOW", "Flow of the filter, as on its label.")] = None,
    heater: Annotated[Text, _option("--heater", "POWER", 'Power of its heater, "200 W".')] = None,
    set_to: Annotated[Text, _option("--set-to", "TEMPERATURE", "What the heater is set to.")] = None,
    lamp: Annotated[Text, _option("--lamp", "KIND", 'Kind of its lamp, such as "T5 HO tube".')] = None,
    lamp_power: Annotated[Text, _option("--lamp-power", "POWER", "Power of the lamp.")] = None,
    lamp_installed: Annotated[Text, _option("--lamp-installed", "DATE", "Day on which it was new.")] = None,
    lamp_hours: Annotated[Text, _option("--lamp-hours", "N", "Hours that it burns in a day.")] = None,
    grams: Annotated[Text, _option("--grams", "N", "Grams of one meal, for all animals.")] = None,
    protein: Annotated[Text, _option("--protein", "N", "Crude protein of the food in percent.")] = None,
) -> None:
    """Write a commented description to start from. On a terminal it asks; it never overwrites."""
    given = {
        "name": name, "time_zone": time_zone, "units": units, "enclosure": enclosure, "kind": kind, "length": length,  # noqa: E501
        "width": width, "height": height, "water_depth": water_depth, "set_up": set_up, "animal": animal,
        "species": species, "carapace": carapace, "arrived": arrived, "keeper": keeper, "locale": locale,
        "covered": covered, "filter": filter_, "flow": flow, "heater": heater, "set_to": set_to, "lamp": lamp,
        "lamp_power": lamp_power, "lamp_installed": lamp_installed, "lamp_hours": lamp_hours, "grams": grams,
        "protein": protein,
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
            from scheduler.cli.interview import Interview

            answers = Interview(file, answers, zone, sheets).ask()
        elif not (answers.get("time_zone") or zone):
            raise UsageError(
                "the machine's time zone is not known; add --time-zone Europe/Dublin or the like"
            )
        answers["time_zone"] = answers.get("time_zone") or zone
        _write(file, starter_text(answers))
        workflow.forget_answers(file)


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
        from scheduler.cli.interview import said

        lines = (f"{_option_of(key) if key else p.where}: {said(p)}" for key, p in problems)
        raise UsageError("\n".join(lines))


def _option_of(key: str) -> str:
    return "--" + key.replace("_", "-")
