"""A change of the description and the log, carried out whole whatever happens in between."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.description.patches import reverse
from scheduler.errors import UsageError, WriteError, clip
from scheduler.history import Entry

if TYPE_CHECKING:
    from collections.abc import Callable

    from scheduler.log import Log


@dataclass(frozen=True, slots=True, kw_only=True)
class DescriptionChange:
    """A change of a description's text, with the entries that say so, or with what takes entries back.

    `entries` are whole, with their turns, the main one first; `voids` are uids that are taken back by the one
    entry that `entries` then has, of the kind void.
    """

    site: str
    before: str
    after: str
    entries: tuple[Entry, ...]
    patch: str = ""
    voids: tuple[str, ...] = ()


def journal_of(file: Path) -> Path:
    """Return where a change of a description is written down while it is carried out."""
    target = Path(os.path.realpath(file))
    return target.with_name(f".{target.name}.change")


def carry_out(file: Path, change: DescriptionChange, log: Log) -> list[tuple[Entry, bool]]:
    """Change a description and the log; return what was recorded, each with whether it is new.

    UsageError where the text is not what it was, or somebody else changes it; WriteError and LogError where
    the world refuses: then both are as they were.
    """
    target = Path(os.path.realpath(file))
    with (
        _written_down(target, change),
        _beside(target, change.after, "new") as new,
        _beside(target, change.before, "old") as old,
    ):
        if _read(target) != change.before:
            raise UsageError(
                f"{clip(file.name)} was changed meanwhile in another program; look at it, and say it again"
            )
        _replace(new, target)
        try:
            return _record(log, change)
        except BaseException:
            _replace(old, target)
            raise


def finish(file: Path, open_log: Callable[[], Log]) -> None:
    """Carry out the rest of a change over which somebody was killed. Nothing where there is none.

    SchedulerError where the world refuses; it is tried again by whoever comes next.
    """
    path = journal_of(file)
    try:
        stream = path.open("r+b")
    except OSError:
        return
    target = Path(os.path.realpath(file))
    with stream:
        if not _is_ours(stream.fileno(), path):
            return
        change = _parsed(stream.read())
        if change is not None:
            there = _read(target)
            if there == change.before:
                with _beside(target, change.after, "new") as new:
                    _replace(new, target)
            # Somebody may have written on in the text after that.
            elif there != change.after and reverse(there, change.patch) is None:
                change = None
        if change is not None:
            with open_log() as log:
                _record(log, change)
        for left in (*(target.with_name(f".{target.name}.{suffix}") for suffix in ("new", "old")), path):
            left.unlink(missing_ok=True)


def _record(log: Log, change: DescriptionChange) -> list[tuple[Entry, bool]]:
    from scheduler.log.edits import record_edit, take_back

    if not change.voids:
        return [(e, True) for e in record_edit(log, change.site, change.entries, change.patch)]
    taking = change.entries[0]
    return take_back(
        log, change.site, change.voids, keeper=taking.keeper, note=taking.note, recorded=taking.recorded
    )


# --- the file of a change ---


@contextmanager
def _written_down(target: Path, change: DescriptionChange) -> Iterator[None]:
    """Keep a change written down beside a description while it is carried out."""
    path = journal_of(target)
    told = _failure(target)
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)
    except FileExistsError:
        raise UsageError(f"{clip(target.name)} is being changed by somebody else; say it again") from None
    except OSError as error:
        raise told(error) from None
    with os.fdopen(handle, "wb") as stream:
        try:
            if not _is_ours(stream.fileno(), path):
                raise UsageError(f"{clip(target.name)} is being changed by somebody else; say it again")
            try:
                stream.write(_as_text(change))
                stream.flush()
                os.fsync(stream.fileno())
            except OSError as error:
                raise told(error) from None
            yield
        finally:
            path.unlink(missing_ok=True)


def _is_ours(handle: int, path: Path) -> bool:
    """Take the lock of an open journal; tell whether it is free, and still the one of that name."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return os.fstat(handle).st_ino == path.stat().st_ino
    except OSError:
        return False


def _as_text(change: DescriptionChange) -> bytes:
    from scheduler.sheets.entries import record_of

    body: dict[str, Any] = {
        "site": change.site,
        "before": change.before,
        "after": change.after,
        "entries": [record_of(change.site, entry) for entry in change.entries],
        "patch": change.patch,
        "voids": list(change.voids),
    }
    text = json.dumps(body)
    return f"{sha256(text.encode()).hexdigest()}\n{text}".encode()


def _parsed(raw: bytes) -> DescriptionChange | None:
    """Return the change of a journal; None where it was not written to its end: then nothing was done."""
    from scheduler.sheets.entries import entry_of

    digest, _, text = raw.partition(b"\n")
    if sha256(text).hexdigest().encode() != digest:
        return None
    body: Mapping[str, Any] = json.loads(text)
    entries = [entry_of(body["site"], record) for record in body["entries"]]
    return DescriptionChange(
        site=body["site"],
        before=body["before"],
        after=body["after"],
        entries=tuple(entry for entry in entries if isinstance(entry, Entry)),
        patch=body["patch"],
        voids=tuple(body["voids"]),
    )


# --- the text ---


def _read(target: Path) -> str:
    try:
        return target.read_bytes().decode()
    except (OSError, UnicodeDecodeError) as error:
        raise _failure(target)(error) from None


@contextmanager
def _beside(target: Path, text: str, suffix: str) -> Iterator[Path]:
    """Give a whole file with a text beside a description, readable as it is; it is gone at the end.

    Whoever has the journal is alone with it.
    """
    path = target.with_name(f".{target.name}.{suffix}")
    try:
        try:
            # It may hold the password of a log: nobody else reads it before it has the file's rights.
            with open(path, "wb", opener=lambda name, flags: os.open(name, flags, 0o600)) as stream:
                stream.write(text.encode())
                stream.flush()
                os.fsync(stream.fileno())
            shutil.copymode(target, path)
        except OSError as error:
            raise _failure(target)(error) from None
        yield path
    finally:
        path.unlink(missing_ok=True)


def _replace(new: Path, target: Path) -> None:
    try:
        new.replace(target)
        with suppress(OSError):
            folder = os.open(target.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    except OSError as error:
        raise _failure(target)(error) from None


def _failure(target: Path) -> Callable[[Exception], WriteError]:
    def told(error: Exception) -> WriteError:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        return WriteError(f"{clip(str(target), 200)} was not changed: {reason}")

    return told
