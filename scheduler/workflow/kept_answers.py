"""Answers to the questions of a new description, kept beside it until it is written: what somebody stopped in
the middle goes on from there."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

MOST_BYTES = 100_000
MOST_ANSWER = 1000


def keep_answers(file: Path, answers: Mapping[str, str]) -> bool:
    """Keep the answers to a description that is not written yet, in place of those before; tell whether that
    could be done."""
    place = _place(file)
    try:
        handle, name = tempfile.mkstemp(prefix=".pondround-", suffix=".tmp", dir=place.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as stream:
                json.dump(dict(answers), stream)
                stream.flush()
                os.fsync(stream.fileno())
            Path(name).replace(place)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError:
        return False
    return True


def kept_answers(file: Path) -> dict[str, str]:
    """Return the answers that are kept; none where there are none, or the file holds something else."""
    try:
        with _place(file).open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
        found = json.loads(raw) if len(raw) <= MOST_BYTES else {}
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {k: v for k, v in found.items() if isinstance(v, str) and len(v) <= MOST_ANSWER}


def forget_answers(file: Path) -> None:
    """Forget the answers: the description is written, or somebody begins anew."""
    with suppress(OSError):
        _place(file).unlink(missing_ok=True)


def _place(file: Path) -> Path:
    return file.with_name(f".{file.name}.answers")
