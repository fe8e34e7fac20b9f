"""The page of commands: what each does and can be told, from the command line itself."""

from __future__ import annotations

from enum import Enum
from typing import Any

import typer
from tables import table

from scheduler.cli.main import app


def commands_section() -> str:
    """Return all commands, in the order of `pondround help`."""
    commands: dict[str, Any] = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    entries = (command_entry(name, command) for name, command in commands.items() if not command.hidden)
    return "\n\n".join(["## All commands", *entries]) + "\n"


def command_entry(name: str, command: Any) -> str:
    """Return a command: how it is called, what it does, its arguments and options."""
    shown = [p for p in command.params if not p.hidden and p.name != "help"]
    arguments = [p for p in shown if p.param_type_name == "argument"]
    options = [p for p in shown if p.param_type_name == "option"]
    usage = [f"pondround {name}", *(["[OPTIONS]"] if options else []), *map(in_usage, arguments)]
    parts = [f"### `pondround {name}`", unbroken(command.help), "    " + " ".join(usage)]
    if shown:
        rows = [(f"`{called(p)}`", p.help or "", default(p)) for p in arguments + options]
        parts.append(table(("argument or option", "what it is", "by default"), rows))
    return "\n\n".join(parts)


def unbroken(text: str) -> str:
    """Return the paragraphs of a docstring, each on one line."""
    return "\n\n".join(" ".join(part.split()) for part in text.strip().split("\n\n"))


def in_usage(argument: Any) -> str:
    name = called(argument)
    return name if argument.required or name.startswith("[") else f"[{name}]"


def called(parameter: Any) -> str:
    """Return how an argument or an option is written."""
    if parameter.param_type_name == "argument":
        return str(parameter.metavar or parameter.name.upper())
    names = ", ".join([*parameter.opts, *parameter.secondary_opts])
    if parameter.is_flag:
        return names
    if isinstance(parameter.default, Enum):
        return f"{names} {'|'.join(type(parameter.default))}"
    return f"{names} {parameter.metavar}"


def default(parameter: Any) -> str:
    """Return what holds where nothing is said, with the bounds of a number and the variable of the environment."""
    said = []
    if parameter.required:
        said.append("has to be there")
    elif parameter.show_default is not False and parameter.default not in (None, False, "", [], ()):
        value = parameter.default
        said.append(f"`{value.value if isinstance(value, Enum) else value}`")
    if parameter.min is not None:
        said.append(f"from {parameter.min}" + (f" to {parameter.max}" if parameter.max is not None else ""))
    if parameter.envvar:
        said.append(f"`{parameter.envvar}` of the environment")
    return "; ".join(said)
