"""Commands as one types them, and what stands on the screen after several."""

from __future__ import annotations

import shlex

from typer.testing import CliRunner

from scheduler.cli.main import app


def run(line: str, *more: str, today: str | None) -> tuple[int, str, str]:
    """Return exit code, standard output and standard error of a line as one types it; a traceback is no answer."""
    words = [*shlex.split(line), *more]
    if today is not None and words[0] != "history":
        words += ["--today", today]
    result = CliRunner().invoke(app, words)
    assert result.exception is None or isinstance(result.exception, SystemExit), (words, result.exception)
    assert "Traceback" not in result.output
    return result.exit_code, result.stdout, result.stderr


def ok(line: str, *more: str, today: str | None) -> str:
    """Return what a line prints that has to succeed."""
    code, out, err = run(line, *more, today=today)
    assert code == 0, err
    return out


def conversation(*lines: str) -> str:
    """Return what stands on the screen after some commands: what is typed, what is said, and the code if it is not 0."""
    shown = []
    for line in lines:
        today, _, typed = line.partition(" ")
        code, out, err = run(typed, today=today)
        shown.append(f"{today} $ pondround {typed}\n{out}{err}" + (f"[exit {code}]\n" if code else ""))
    return "\n".join(shown)
