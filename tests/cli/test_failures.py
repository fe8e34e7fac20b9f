"""When the world refuses: the old calendars stay whole, a sentence says what happened, nothing is left lying about."""

import errno
import os
import re
import resource
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from icalendar import Calendar
from support.cut_short import HANG_SECONDS, MOST_STEPS, cut_short
from typer.testing import CliRunner

from scheduler.cli.main import app

# A compiled module that does not fit would be cut short, and others would load it.
ENV = {"COLUMNS": "80", "PYTHONUTF8": "1", "PYTHONDONTWRITEBYTECODE": "1"}


def description(room, tanks=2):
    """Return a site whose every calendar entry names the room."""
    tables = "".join(
        f'[[enclosure]]\nname = "Tank {n}"\nroom = "{room}"\nset_up = 2026-11-20\n' for n in range(tanks)
    )
    return f'[site]\nname = "Fen Lane"\ntime_zone = "Europe/Dublin"\n{tables}'


def export_args(folder):
    return ["export", str(folder / "site.toml"), "--to", str(folder / "out"), "--today", "2026-12-01"]


def command(*args):
    return [sys.executable, "-m", "scheduler", *args]


def run(*args, **more):
    return subprocess.run(
        command(*args),
        env=ENV,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=HANG_SECONDS,
        check=False,
        **more,
    )


def in_process(folder):
    return CliRunner().invoke(app, export_args(folder))


@pytest.fixture
def site(tmp_path):
    """A folder with a description and its calendars; the description has changed since, so that all would be written."""
    (tmp_path / "site.toml").write_text(description("kitchen"))
    assert in_process(tmp_path).exit_code == 0
    (tmp_path / "site.toml").write_text(description("annexe"))
    return tmp_path


def files(folder):
    return {path.name: path.read_bytes() for path in sorted((folder / "out").iterdir())}


def rooms(raw):
    """Return the rooms that the entries of a calendar name; icalendar has to read all of it."""
    calendar = Calendar.from_ical(raw)
    events = calendar.walk("VEVENT")
    assert events
    assert not any(component.errors for component in calendar.walk())
    return {str(event["LOCATION"]).split(", ")[0] for event in events}


# --- No room ----------------------------------------------------------------------------------------------------


def small_files(octets):
    def limit():
        # Writing more fails with "File too large" instead of ending the program.
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (octets, octets))

    return limit


@pytest.mark.parametrize("octets", [4096, *(pytest.param(n, marks=pytest.mark.slow) for n in (0, 1, 10_000))])
def test_a_disk_that_fills_up_leaves_the_old_calendars(site, octets):
    before = files(site)
    done = run(*export_args(site), preexec_fn=small_files(octets))
    assert (done.returncode, done.stdout) == (1, "")
    assert (
        done.stderr == f"nothing was written to {site / 'out'}: File too large. The old files are untouched\n"
    )
    assert files(site) == before


def test_a_first_export_without_room_leaves_an_empty_folder(tmp_path):
    (tmp_path / "site.toml").write_text(description("kitchen"))
    done = run(*export_args(tmp_path), preexec_fn=small_files(1000))
    assert (done.returncode, done.stdout) == (1, "")
    assert files(tmp_path) == {}


def test_what_does_not_fit_into_memory_fails_no_worse(tmp_path):
    # The entries of so many enclosures go through a temporary file: that one cannot grow here.
    (tmp_path / "site.toml").write_text(description("kitchen", tanks=220))
    done = run(*export_args(tmp_path), preexec_fn=small_files(900_000))
    assert (done.returncode, done.stdout) == (1, "")
    assert "File too large" in done.stderr
    assert files(tmp_path) == {}


@pytest.mark.parametrize(
    "args",
    [
        ["jobs"],
        *(
            pytest.param(args, marks=pytest.mark.slow)
            for args in (["check"], ["schema"], ["jobs", "--days", "3000", "--format", "json"])
        ),
    ],
)
def test_output_that_finds_no_room_is_told_in_a_sentence(site, args):
    file = [str(site / "site.toml")] if args[0] != "schema" else []
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            command(args[0], *file, *args[1:]),
            env=ENV,
            stdout=full,
            stderr=subprocess.PIPE,
            timeout=HANG_SECONDS,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr.decode() == "the output cannot be written: No space left on device; make room\n"


# --- No permission, no such place -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("to", "reason"),
    [
        ("site.toml/out", "Not a directory"),
        ("site.toml", "File exists"),
        ("x" * 300, "File name too long"),
        ("/proc/nowhere", "No such file or directory"),
    ],
)
def test_a_place_that_cannot_be_a_folder_is_told(tmp_path, monkeypatch, to, reason):
    monkeypatch.chdir(tmp_path)
    Path("site.toml").write_text(description("kitchen"))
    done = CliRunner().invoke(app, ["export", "site.toml", "--to", to])
    assert (done.exit_code, done.stdout) == (1, "")
    assert done.stderr == f"nothing was written to {to}: {reason}. The old files are untouched\n"
    assert [path.name for path in tmp_path.iterdir()] == ["site.toml"]


def test_a_folder_in_the_place_of_a_calendar_is_told(site):
    (site / "out" / "fen-lane-tank-1.ics").unlink()
    (site / "out" / "fen-lane-tank-1.ics").mkdir()
    done = in_process(site)
    assert (done.exit_code, done.stdout) == (1, "")
    assert "Is a directory" in done.stderr
    assert rooms((site / "out" / "fen-lane.ics").read_bytes()) == {"kitchen"}


def failing(error, after=0):
    """Return a function that refuses as the system would, from its call number `after` on."""
    calls = []

    def wrap(real):
        def refuse(*args, **options):
            calls.append(args)
            if len(calls) > after:
                raise OSError(error, os.strerror(error))
            return real(*args, **options)

        return refuse

    return wrap


@pytest.mark.parametrize(
    ("owner", "name", "after", "error", "says"),
    [
        # At the first file, or when one was prepared already.
        (Path, "mkdir", 0, errno.EACCES, "Permission denied; choose a folder that you may write to"),
        (tempfile, "mkstemp", 0, errno.EACCES, "Permission denied; choose a folder that you may write to"),
        (tempfile, "mkstemp", 1, errno.EROFS, "Read-only file system"),
        (tempfile, "mkstemp", 2, errno.ENOSPC, "No space left on device; make room"),
        (os, "fsync", 0, errno.EIO, "Input/output error"),
        (os, "fsync", 1, errno.ENOSPC, "No space left on device; make room"),
        (Path, "chmod", 1, errno.EPERM, "Operation not permitted"),
        (Path, "replace", 0, errno.EACCES, "Permission denied; choose a folder that you may write to"),
    ],
)
def test_whatever_the_system_refuses_the_old_calendars_stay(
    site, monkeypatch, owner, name, after, error, says
):
    before = files(site)
    monkeypatch.setattr(owner, name, failing(error, after)(getattr(owner, name)))
    done = in_process(site)
    monkeypatch.undo()
    assert (done.exit_code, done.stdout) == (1, "")
    assert done.stderr == f"nothing was written to {site / 'out'}: {says}. The old files are untouched\n"
    assert files(site) == before


def test_where_only_some_calendars_find_their_place_the_message_says_so(site, monkeypatch):
    before = files(site)
    monkeypatch.setattr(Path, "replace", failing(errno.EIO, after=1)(Path.replace))
    done = in_process(site)
    monkeypatch.undo()
    assert (done.exit_code, done.stdout) == (1, "")
    assert re.fullmatch(
        r".*\.ics: Input/output error\. Each file is whole, but only the first 1 of 3 are new; export again\n",
        done.stderr,
    )
    now = files(site)
    assert set(now) == set(before)
    assert sorted(str(rooms(raw)) for raw in now.values()) == ["{'annexe'}", "{'kitchen'}", "{'kitchen'}"]
    # The next export puts it right.
    assert in_process(site).exit_code == 0
    assert all(rooms(raw) == {"annexe"} for raw in files(site).values())


# --- Cut short --------------------------------------------------------------------------------------------------

WRITES = ((tempfile, "mkstemp"), (os, "fsync"), (Path, "chmod"), (Path, "replace"))
"""The steps by which an export changes anything in a folder."""


def cut_short_export(folder, how, step):
    return cut_short(export_args(folder), how, step, WRITES, folder / "said")


def test_a_killed_export_leaves_each_calendar_wholly_old_or_wholly_new(tmp_path):
    """At each step in turn, from before the first to after the last of them."""
    (tmp_path / "site.toml").write_text(description("room 0"))
    assert in_process(tmp_path).exit_code == 0
    names = set(files(tmp_path))
    for step in range(MOST_STEPS):
        (tmp_path / "site.toml").write_text(description(f"room {step + 1}"))
        before = files(tmp_path)
        stopped = cut_short_export(tmp_path, signal.SIGKILL, step)
        now = files(tmp_path)
        for name in names:
            assert now[name] == before[name] or rooms(now[name]) == {f"room {step + 1}"}, (step, name)
        # What a killed program cannot clear away has names that no web host serves and no calendar reads.
        assert all(re.fullmatch(r"\.pondround-\w+\.tmp", name) for name in set(now) - names)
        if not stopped:
            break
    # Each calendar is begun, written out and put in its place.
    assert not stopped and step >= 3 * len(names)
    assert all(rooms(raw) == {f"room {step + 1}"} for name, raw in now.items() if name in names)


@pytest.mark.slow
def test_an_interrupted_export_clears_up(site):
    before = files(site)
    for step in range(MOST_STEPS):
        stopped = cut_short_export(site, signal.SIGINT, step)
        now = files(site)
        assert set(now) == set(before), step
        assert all(now[name] == before[name] or rooms(now[name]) == {"annexe"} for name in now)
        if not stopped:
            break
    assert not stopped and step >= 3 * len(before)
