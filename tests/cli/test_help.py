"""Help, the version, and completion: the same words by `help`, `-h` and `--help`."""

from __future__ import annotations

from importlib.metadata import version

import pytest
from typer.testing import CliRunner

from scheduler.cli.main import app


def ran(*words: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, list(words), prog_name="pondround")
    return result.exit_code, result.stdout, result.stderr


def test_the_version_is_that_of_the_package() -> None:
    assert ran("--version") == (0, f"pondround {version('pondround')}\n", "")


@pytest.mark.parametrize("command", ["check", "jobs", "rota", "links"])
def test_help_is_the_same_in_three_ways(command: str) -> None:
    by_word = ran("help", command)
    assert by_word[0] == 0 and f"Usage: pondround {command}" in by_word[1]
    assert ran(command, "-h") == ran(command, "--help") == by_word


def test_help_without_a_command_lists_them_all() -> None:
    code, out, _ = ran("help")
    assert code == 0 and all(name in out for name in ("check", "jobs", "export", "rota", "serve"))
    assert out == ran("-h")[1]


def test_a_command_that_is_not_there_is_told_with_those_that_are() -> None:
    code, _, err = ran("help", "chekc")
    assert code == 2 and 'there is no command "chekc"; there are: ' in err and "check" in err


def test_links_go_by_their_first_name_too() -> None:
    """Scripts have `feeds`; no list of commands shows it."""
    assert ran("feeds", "-h")[1].replace("pondround feeds", "pondround links") == ran("links", "-h")[1]
    listed = [
        line.split()[0] for line in ran("help")[1].splitlines() if line.startswith("  ") and line.split()
    ]
    assert "links" in listed and "feeds" not in listed


def test_a_shell_can_complete() -> None:
    assert "--install-completion" in ran("--help")[1]
