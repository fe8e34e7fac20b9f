"""A new description as a file."""

from __future__ import annotations

import os
from pathlib import Path

from scheduler.errors import WriteError, clip


def refuse_taken(file: Path) -> None:
    """Raise WriteError when a starter cannot be written there: before anything is asked."""
    try:
        if file.is_symlink() or file.exists():
            raise _not_written(file, "it exists already and stays as it is; name another file")
        if not file.parent.is_dir():
            raise _not_written(file, f"there is no folder {clip(str(file.parent))}; make it first")
    except (OSError, ValueError) as error:
        raise _not_written(file, _reason(error)) from None


def write_starter(file: Path, text: str) -> None:
    """Write a new description, whole or not at all; an existing file is never touched. WriteError when it is not possible."""
    refuse_taken(file)
    try:
        stream = file.open("xb")
    except (OSError, ValueError) as error:
        raise _not_written(file, _reason(error)) from None
    try:
        with stream:
            stream.write(text.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException as error:
        file.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _not_written(file, _reason(error)) from None
        raise


def _not_written(file: Path, reason: str) -> WriteError:
    return WriteError(f"{clip(str(file), 200)} was not written: {reason}")


def _reason(error: OSError | ValueError) -> str:
    return error.strerror if isinstance(error, OSError) and error.strerror else "the name is not valid"
