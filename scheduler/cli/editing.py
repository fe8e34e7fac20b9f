"""`pondround move`, `arrived`, `departed`, `residents`, `set-up`, `retire`, `merge` and `rename`: animals and
enclosures that change, in the description and in the log."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.amending import SayerOption
from scheduler.cli.recording import file_of, show_recorded, who_of
from scheduler.cli.shared import (
    FILE,
    FileArgument,
    Format,
    FormatOption,
    TodayOption,
    may_ask,
    talk,
    told,
    width,
)
from scheduler.description.enclosure import DepartureReason
from scheduler.errors import UsageError

DayOption = Annotated[
    str | None,
    typer.Option("--on", metavar="DATE", help="The day; the default is today. Yesterday, or Saturday, do."),
]
NoteOption = Annotated[str, typer.Option("--note", metavar="TEXT", help="A note to it.")]
YesOption = Annotated[bool, typer.Option("--yes", help="Do it without asking.")]
DryOption = Annotated[bool, typer.Option("--dry-run", help="Say what would change, and change nothing.")]


class Sex(StrEnum):
    """The sex of an animal."""

    FEMALE = "female"
    MALE = "male"
    UNKNOWN = "unknown"


class Kind(StrEnum):
    """What an enclosure is."""

    TANK = "tank"
    TUB = "tub"
    POND = "pond"


class Named(StrEnum):
    """What can be called otherwise."""

    KEEPER = "keeper"
    ENCLOSURE = "enclosure"
    RESIDENT = "resident"


def move(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="[FILE] ANIMAL ENCLOSURE", help="The description, the animal, and where it lives now."
        ),
    ],
    on: DayOption = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Move an animal to another enclosure, in the description and in the log. Its record goes with it."""
    file, (animal, to) = _words(words, "the animal, and the enclosure")
    _edit(
        _Options(file, on, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_move(space, animal, to, who),
    )


def arrived(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="[FILE] ENCLOSURE NAME", help="The description, where it lives, and what it is called."
        ),
    ],
    species: Annotated[str | None, typer.Option("--species", metavar="NAME", help="Its species.")] = None,
    sex: Annotated[Sex | None, typer.Option("--sex", help="Its sex.")] = None,
    carapace: Annotated[
        str | None, typer.Option("--carapace", metavar="LENGTH", help='Straight length: "14 cm".')
    ] = None,
    mass: Annotated[str | None, typer.Option("--mass", metavar="MASS", help='"480 g".')] = None,
    born: Annotated[
        str | None, typer.Option("--born", metavar="DATE", help="Day of hatching, or nearly.")
    ] = None,
    count: Annotated[
        int, typer.Option("--count", metavar="N", min=1, help="Of a group of like animals, how many.")
    ] = 1,
    quarantine: Annotated[bool, typer.Option("--quarantine", help="It is kept apart as a newcomer.")] = False,
    on: DayOption = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Write a new animal into the description, today's or one that comes on a day of the next weeks."""
    file, (place, name) = _words(words, "the enclosure, and the animal's name")
    known: dict[str, str | int | bool | dt.date | list[str] | None] = {
        "name": name,
        "species": species,
        "count": count if count > 1 else None,
        "sex": sex.value if sex is not None else None,
        "carapace": carapace,
        "mass": mass,
        "born": workflow.parse_day(born) if born else None,
        "quarantine": True if quarantine else None,
    }
    table = {key: value for key, value in known.items() if value is not None}
    _edit(
        _Options(file, on, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_arrival(space, place, table, who),
    )


def departed(
    words: Annotated[
        list[str], typer.Argument(metavar="[FILE] ANIMAL", help="The description, and who has left.")
    ],
    reason: Annotated[DepartureReason, typer.Option("--reason", help="How it left.")],
    on: DayOption = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Say that an animal has left. It keeps its place in the description, and its record."""
    file, (animal,) = _words(words, "the animal")
    _edit(
        _Options(file, on, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_departure(space, animal, reason, who),
    )


def set_up(
    words: Annotated[
        list[str], typer.Argument(metavar="[FILE] NAME", help="The description, and what it is called.")
    ],
    kind: Annotated[Kind, typer.Option("--kind", help="What it is.")] = Kind.TANK,
    room: Annotated[str | None, typer.Option("--room", metavar="NAME", help="Where it stands.")] = None,
    length: Annotated[
        str | None, typer.Option("--length", metavar="LENGTH", help='Inside: "120 cm" or "48 in".')
    ] = None,
    width_: Annotated[str | None, typer.Option("--width", metavar="LENGTH", help="Inside.")] = None,
    height: Annotated[str | None, typer.Option("--height", metavar="LENGTH", help="Inside.")] = None,
    water_depth: Annotated[
        str | None, typer.Option("--water-depth", metavar="LENGTH", help="From the floor to the water line.")
    ] = None,
    on: DayOption = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Write a new enclosure into the description; its equipment is added there."""
    file, (name,) = _words(words, "the enclosure's name")
    known = {
        "name": name,
        "kind": kind.value,
        "room": room,
        "length": length,
        "width": width_,
        "height": height,
        "water_depth": water_depth,
    }
    table = {key: value for key, value in known.items() if value is not None}
    _edit(
        _Options(file, on, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_set_up(space, table, who),
    )


def retire(
    words: Annotated[
        list[str], typer.Argument(metavar="[FILE] ENCLOSURE", help="The description, and the enclosure.")
    ],
    on: DayOption = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Take an empty enclosure out of use. It keeps its place in the description, and its record."""
    file, (name,) = _words(words, "the enclosure")
    _edit(
        _Options(file, on, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_retirement(space, name, who),
    )


def merge(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="[FILE] ENCLOSURE ENCLOSURE", help="The description, the one that ends, and the other."
        ),
    ],
    on: DayOption = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Move all animals of an enclosure to another one, and take it out of use."""
    file, (name, into) = _words(words, "the enclosure that ends, and the other")
    _edit(
        _Options(file, on, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_merger(space, name, into, who),
    )


def rename(
    words: Annotated[
        list[str], typer.Argument(metavar="[FILE] OLD NEW", help="The description, and both names.")
    ],
    kind: Annotated[
        Named | None, typer.Option("--kind", help="What it is, where several are called so.")
    ] = None,
    by: SayerOption = None,
    note: NoteOption = "",
    yes: YesOption = False,
    dry_run: DryOption = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Call a keeper, an enclosure or an animal otherwise; record, calendars and links go on."""
    file, (old, new) = _words(words, "the old name, and the new one")
    _edit(
        _Options(file, None, by, note, yes, dry_run, today, output),
        lambda space, who: workflow.plan_renaming(space, old, new, who, kind.value if kind else None),
    )


def residents(
    file: FileArgument = FILE,
    on: DayOption = None,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Show who lives where, or who lived where on a day, and since when."""
    with told(file, output):
        from scheduler.sheets.residents import resident_lines, resident_records

        site = workflow.read_site(file).in_plain_formats()
        space = workflow.open_workspace(file, today)
        day = workflow.day_named(on, space.today, past=True) if on else space.today
        stays = [one for one in workflow.residences(file, site) if one.holds(day)]
        if output is Format.JSON:
            print(json.dumps({"date": day.isoformat(), "residents": resident_records(site, stays)}))
            return
        for line in resident_lines(site, stays, width()):
            print(line)


@dataclass(frozen=True, slots=True)
class _Options:
    """What the options of a command say beside what changes."""

    file: Path
    on: str | None
    by: str | None
    note: str
    yes: bool
    dry: bool
    today: str | None
    output: Format


def _words(words: list[str], what: str) -> tuple[Path, list[str]]:
    """Return the description and the words after it, of which there are as many as parts in `what`."""
    file, rest = file_of(words)
    if len(rest) != what.count(", and ") + 1:
        raise typer.BadParameter(f"write {what}, names of several words in quotes")
    return file, rest


def _edit(options: _Options, plan: Callable[[workflow.Workspace, workflow.Who], workflow.Edit]) -> None:
    with told(options.file, options.output, writes=True):
        space = workflow.open_workspace(options.file, options.today).in_plain_formats()
        # A day may lie ahead where something is expected; each command says whether it may.
        on_day = _day(options.on, space.today)
        edit = plan(space, who_of(space, options.by, options.note, on_day))
        asks = may_ask(options.output) and not (options.yes or options.dry)
        if asks or options.dry:
            show_recorded(workflow.perform(space, edit, dry=True), options.output)
        if options.dry:
            talk("Nothing was changed: this is what would be.")
            return
        if asks:
            if not typer.confirm("Change the description and record this?", err=True):
                raise UsageError("nothing was changed")
            workflow.perform(space, edit)
            talk("Changed and recorded.")
            return
        show_recorded(workflow.perform(space, edit), options.output)


def _day(text: str | None, today: dt.date) -> dt.date | None:
    """Return a day of the past or to come: a weekday is the last one."""
    return workflow.day_named(text, today, past=True) if text else None
