"""A new description as a file: the starter, or one of the samples that ship."""

from __future__ import annotations

import errno
import os
import tempfile
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from scheduler.errors import UsageError, WriteError, clip

SCHEMA_LINE = "#:schema "
"""How a description begins that names its JSON Schema for editors, by a path of its own."""


def sample_names() -> list[str]:
    """Return the names of the samples that ship."""
    found = (file.name for file in _samples().iterdir())
    return sorted(name.removesuffix(".toml") for name in found if name.endswith(".toml"))


def sample_text(name: str) -> str:
    """Return a sample as it is written for somebody: without the path of a schema, which lies elsewhere then.

    UsageError lists the names where there is none of that name.
    """
    names = sample_names()
    if name not in names:
        raise UsageError(f"there is no sample {clip(name)}; there are: {', '.join(names)}")
    lines = (_samples() / f"{name}.toml").read_text("utf-8").splitlines(keepends=True)
    return "".join(lines[1:] if lines[0].startswith(SCHEMA_LINE) else lines)


def _samples() -> Traversable:
    """Return where the samples lie: in the package as it is installed, beside it in a clone."""
    package = files("scheduler")
    installed = package / "samples"
    return installed if installed.is_dir() else Path(str(package)).parent / "sample_configs"


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
    """Write a new description, whole or not at all; an existing file is never touched.

    WriteError when it is not possible.
    """
    refuse_taken(file)
    try:
        _place(file, text.encode("utf-8"))
    except (OSError, ValueError) as error:
        raise _not_written(file, _reason(error)) from None


def _place(file: Path, raw: bytes) -> None:
    """Put a file in its place at once: a server that looks for new descriptions never reads half of one."""
    handle, name = tempfile.mkstemp(prefix=".pondround-", suffix=".tmp", dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(raw)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(0o666 & ~_umask())
        _link(Path(name), file)
    finally:
        Path(name).unlink()


NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS}
"""What a file system says that knows no second name of a file, as those of memory sticks."""


def _link(made: Path, file: Path) -> None:
    """Name a file. A link, unlike a renaming, never takes the place of one that has just appeared."""
    try:
        os.link(made, file)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        with file.open("xb") as stream:
            stream.write(made.read_bytes())


def _umask() -> int:
    """Return what this process keeps from others in the files that it makes: told only by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _not_written(file: Path, reason: str) -> WriteError:
    return WriteError(f"{clip(str(file), 200)} was not written: {reason}")


def _reason(error: OSError | ValueError) -> str:
    return error.strerror if isinstance(error, OSError) and error.strerror else "the name is not valid"
