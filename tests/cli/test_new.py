"""`pondround new`: asks on a terminal, asks nothing with --yes, and never touches a file that is there."""

from __future__ import annotations

import errno
import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler import workflow
from scheduler.cli.main import app
from scheduler.errors import WriteError
from scheduler.workflow import new

HANG_SECONDS = 180
"""What has not ended after so long hangs."""


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder, on a machine in Lisbon."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TZ", "Europe/Lisbon")
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("PYTHONUTF8", "1")
    return tmp_path


def run(*arguments: str):
    return CliRunner().invoke(app, ["new", *arguments])


def test_yes_asks_nothing_and_says_how_to_go_on(place):
    result = run("tank.toml", "--yes")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr == (
        "tank.toml is written. Look it over, then:\n"
        "  pondround check tank.toml\n"
        "  pondround export tank.toml --to calendars\n"
    )
    site = workflow.read_site(place / "tank.toml")
    assert site.settings.time_zone == "Europe/Lisbon"
    assert [e.name for e in site.enclosures] == ["Tank"]


SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.mark.parametrize("name", ["household", "one-tank", "rescue"])
def test_a_sample_is_written_as_it_is_but_for_the_path_of_its_schema(place, name):
    result = run("home.toml", "--sample", name)
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr.splitlines()[1] == "  pondround check home.toml"
    schema, _, text = (SAMPLES / f"{name}.toml").read_text("utf-8").partition("\n")
    assert schema.startswith("#:schema ../scheduler/")
    assert (place / "home.toml").read_text("utf-8") == text
    assert workflow.read_site(place / "home.toml").enclosures


def test_a_sample_that_is_not_there_is_told_with_those_that_are(place):
    result = run("home.toml", "--sample", "houshold")
    assert (result.exit_code, list(place.iterdir())) == (2, [])
    assert result.stderr == 'there is no sample "houshold"; there are: household, one-tank, rescue\n'
    assert {f"{name}.toml" for name in new.sample_names()} == {file.name for file in SAMPLES.iterdir()}


def test_a_sample_is_not_changed_by_options_and_changes_no_file(place):
    result = run("home.toml", "--sample", "household", "--name", "Mill Lane", "--set-up", "2026-12-01")
    assert (result.exit_code, list(place.iterdir())) == (2, [])
    assert result.stderr == "a sample is written as it is; leave out --name, --set-up\n"
    (place / "home.toml").write_text("mine", "utf-8")
    result = run("home.toml", "--sample", "household")
    assert result.exit_code == 1 and "it exists already and stays as it is" in result.stderr
    assert (place / "home.toml").read_text("utf-8") == "mine"


def test_the_two_commands_that_it_names_work(place):
    assert run("my tank.toml", "--yes", "--length", "36 in", "--width", "18 in").exit_code == 0
    said = run("other tank.toml", "--yes").stderr.splitlines()
    assert said[1:] == [
        "  pondround check 'other tank.toml'",
        "  pondround export 'other tank.toml' --to calendars",
    ]
    assert CliRunner().invoke(app, ["check", "my tank.toml"]).exit_code == 0
    assert CliRunner().invoke(app, ["export", "my tank.toml", "--to", "calendars"]).exit_code == 0
    assert sorted(p.name for p in (place / "calendars").iterdir()) == ["home-tank.ics", "home.ics"]


def test_every_option_goes_into_the_description(place):
    options = {
        "--name": 'The "Old" Dairy', "--time-zone": "America/Halifax", "--units": "us", "--enclosure": "Reed 🐢",
        "--kind": "tub", "--length": "60 in", "--width": "30 in", "--height": "24 in", "--water-depth": "18 in",
        "--set-up": "2026-11-07", "--animal": "C:\\Pippin", "--species": "musk turtle", "--carapace": "3.5 in",
        "--arrived": "2026-12-05",
    }  # fmt: skip
    result = run("tank.toml", "--yes", *(word for pair in options.items() for word in pair))
    assert result.exit_code == 0, result.stderr
    site = workflow.read_site(place / "tank.toml")
    (tub,) = site.enclosures
    (animal,) = tub.resident
    assert (site.settings.name, site.settings.time_zone, site.settings.units) == (
        'The "Old" Dairy',
        "America/Halifax",
        "us",
    )
    assert (tub.name, tub.kind, tub.set_up.isoformat()) == ("Reed 🐢", "tub", "2026-11-07")
    assert [round(cm / 2.54, 6) for cm in (tub.length, tub.width, tub.height, tub.water_depth)] == [
        60,
        30,
        24,
        18,
    ]
    assert (animal.name, animal.species, animal.arrived.isoformat()) == (
        "C:\\Pippin",
        "musk turtle",
        "2026-12-05",
    )


def test_wrong_options_are_told_together_and_nothing_is_written(place):
    result = run(
        "tank.toml", "--yes", "--length", "36", "--time-zone", "Dublin", "--species", "painted turtel"
    )
    assert result.exit_code == 2
    assert result.stderr == (
        '--time-zone: found "Dublin"; expected the name of an IANA time zone; write "Europe/Dublin"\n'
        '--length: found "36" without a unit, expected a length with its unit; write "91 cm" or "36 in"\n'
        '--species: no species sheet for "painted turtel"; nearest: "painted turtle"; sheets: Chrysemys picta, Emys '
        "orbicularis, Graptemys geographica, Pelusios castaneus, Sternotherus odoratus, Trachemys scripta; put your "
        "own beside the description, or leave species out\n"
    )
    assert list(place.iterdir()) == []


def test_without_a_terminal_and_without_yes_nothing_is_asked(place):
    result = run("tank.toml")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "standard input is no terminal, so nothing can be asked; add --yes, and options for what you know\n"
    )
    assert list(place.iterdir()) == []


# --- never overwrites -------------------------------------------------------------------------------------------


def test_a_file_that_is_there_stays_as_it_is(place):
    (place / "tank.toml").write_bytes(b"mine\r\n")
    result = run("tank.toml", "--yes")
    assert result.exit_code == 1
    assert result.stderr == (
        '"tank.toml" was not written: it exists already and stays as it is; name another file\n'
    )
    assert (place / "tank.toml").read_bytes() == b"mine\r\n"


def test_a_link_that_leads_nowhere_is_not_followed(place):
    (place / "tank.toml").symlink_to(place / "elsewhere.toml")
    assert run("tank.toml", "--yes").exit_code == 1
    assert not (place / "elsewhere.toml").exists()


def test_a_folder_that_is_missing_is_not_made(place):
    result = run("shed/tank.toml", "--yes")
    assert (result.exit_code, result.stderr) == (
        1,
        '"shed/tank.toml" was not written: there is no folder "shed"; make it first\n',
    )
    assert list(place.iterdir()) == []


def test_a_file_that_appears_in_between_wins(place, monkeypatch):
    """Two runs at once: the second one to open the file is refused, whatever it saw before."""
    monkeypatch.setattr(new, "refuse_taken", lambda file: (place / "tank.toml").write_text("mine"))
    with pytest.raises(WriteError, match="File exists"):
        workflow.write_starter(place / "tank.toml", "ours")
    assert (place / "tank.toml").read_text() == "mine"


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
def test_no_half_written_file_remains(place, monkeypatch, failure):
    def fail(_):
        raise failure

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(WriteError if isinstance(failure, OSError) else KeyboardInterrupt) as told:
        workflow.write_starter(place / "tank.toml", "text")
    if isinstance(failure, OSError):
        assert str(told.value).endswith('tank.toml" was not written: No space left on device')
    assert list(place.iterdir()) == []


@pytest.mark.parametrize("name", ["n" * 300, "a\0b"], ids=["too long", "with a null"])
def test_a_name_that_no_file_can_have_is_refused(place, name):
    with pytest.raises(WriteError, match="was not written: "):
        workflow.write_starter(place / name, "text")
    assert list(place.iterdir()) == []


# --- the machine's time zone ------------------------------------------------------------------------------------

ZONES = [
    # TZ, where /etc/localtime leads, the zone. Forms of TZ: POSIX.1-2017, section 8.3, and tzset(3).
    ("Asia/Kolkata", "/usr/share/zoneinfo/Europe/Dublin", "Asia/Kolkata"),
    (":Asia/Kolkata", None, "Asia/Kolkata"),
    (":/usr/share/zoneinfo/Asia/Kolkata", None, "Asia/Kolkata"),
    ("CET-1CEST,M3.5.0,M10.5.0/3", "/usr/share/zoneinfo/Europe/Dublin", "Europe/Dublin"),
    ("../../etc/passwd", "/usr/share/zoneinfo/Europe/Dublin", "Europe/Dublin"),
    ("", "../usr/share/zoneinfo/America/Argentina/Ushuaia", "America/Argentina/Ushuaia"),
    ("", "/var/db/timezone/zoneinfo/Europe/Dublin", "Europe/Dublin"),
    ("", None, ""),
]


@pytest.mark.parametrize(("tz", "link", "zone"), ZONES)
def test_the_zone_of_the_machine(monkeypatch, tz, link, zone):
    def readlink(path):
        assert str(path) == "/etc/localtime"
        if link is None:
            raise OSError(errno.EINVAL, "Invalid argument")
        return Path(link)

    monkeypatch.setenv("TZ", tz)
    monkeypatch.setattr(Path, "readlink", readlink)
    assert workflow.machine_zone() == zone


def test_a_zone_that_nobody_knows_has_to_be_given(place, monkeypatch):
    monkeypatch.setattr(workflow, "machine_zone", lambda: "")
    result = run("tank.toml", "--yes")
    assert (result.exit_code, result.stderr) == (
        2,
        "the machine's time zone is not known; add --time-zone Europe/Dublin or the like\n",
    )
    assert run("tank.toml", "--yes", "--time-zone", "Europe/Dublin").exit_code == 0


# --- on a terminal ----------------------------------------------------------------------------------------------


def on_terminal(
    arguments: list[str], typed: bytes, folder: Path, interrupt_at: bytes = b"never"
) -> tuple[int, str]:
    """Run the command on a terminal of its own, type, and return its exit code and all that the terminal showed.

    It is interrupted, as by Ctrl-C, once the terminal shows `interrupt_at`; and again where that came the moment before it
    began to wait, in which Python does not see it.
    """
    ours, its = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "scheduler", "new", *arguments],
        cwd=folder, stdin=its, stdout=its, stderr=its, start_new_session=True,
        # Whoever runs the tests in the background has SIGINT ignored, and children take that over.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509 - no threads here
    ) as process:  # fmt: skip
        try:
            os.write(ours, typed)
            # The other end stays open here until all is read: with the last one that is closed, what was written goes.
            shown, interrupted, begun = b"", 0.0, time.monotonic()
            while True:
                has_ended, now = process.poll() is not None, time.monotonic()
                if select.select([ours], [], [], 0.1)[0]:
                    shown += os.read(ours, 4096)
                elif has_ended:
                    break
                assert now < begun + HANG_SECONDS, shown
                if interrupt_at in shown and now > interrupted + 5 and not has_ended:
                    process.send_signal(signal.SIGINT)
                    interrupted = now
            return process.returncode, shown.decode("utf-8", "replace").replace("\r\n", "\n")
        finally:
            process.kill()
            os.close(ours)
            os.close(its)


def test_on_a_terminal_it_asks_and_asks_again_what_was_wrong(place):
    typed = [
        "Alder Yard", "", "", "us", "", "Reed 🐢", "tnak", "tub",
        "36", "60 in", "70 in", "30 in", "24 in", "18 in", "",
        "2026-11-07", "", "", "", 'Pip "the" pin', "painted turtel", "painted turtle", "", "", "", "", "",
    ]  # fmt: skip
    code, shown = on_terminal(["tank.toml"], "".join(line + "\n" for line in typed).encode(), place)
    assert code == 0, shown
    site = workflow.read_site(place / "tank.toml")
    (tub,) = site.enclosures
    assert (site.settings.name, site.settings.time_zone, site.settings.units) == (
        "Alder Yard",
        "Europe/Lisbon",
        "us",
    )
    assert (tub.name, tub.kind, tub.resident[0].name) == ("Reed 🐢", "tub", 'Pip "the" pin')
    assert tub.length == pytest.approx(60 * 2.54)
    assert tub.resident[0].species == "painted turtle"
    assert tub.resident[0].carapace is None and tub.resident[0].arrived is None
    for line in (
        "Name of the place [Home]: ",
        "Time zone [Europe/Lisbon]: ",
        '  found "tnak"; expected "tank", "tub" or "pond"; nearest: "tank"\n',
        '  found "36" without a unit, expected a length with its unit; write "91 cm" or "36 in"\n',
        "  the width (177.8 cm) is larger than the length (152.4 cm); swap the two\n",
        'Inside length, such as "91 cm" or "36 in": ',
        "Species with a sheet: painted turtle, european pond turtle, northern map turtle, ",
        '  no species sheet for "painted turtel"; nearest: "painted turtle"; ',
        "  pondround check tank.toml\n",
    ):
        assert line in shown


def test_what_an_option_says_is_not_asked(place):
    options = ["--name", "Alder Yard", "--animal", "Pippin", "--kind", "tank", "--time-zone", "Europe/Dublin"]
    code, shown = on_terminal(["tank.toml", *options], b"\n" * 20, place)
    assert code == 0, shown
    assert "Name of the place" not in shown and "Name of the animal" not in shown and "Time zone" not in shown
    assert "Name of the enclosure [Tank]: " in shown
    assert workflow.read_site(place / "tank.toml").enclosures[0].resident[0].name == "Pippin"


@pytest.mark.parametrize(
    ("typed", "interrupt_at"),
    [(b"Alder Yard\n\x04", b"never"), (b"Alder Yard\n", b"Time zone")],
    ids=["end of input", "interrupt"],
)
def test_stopping_in_the_middle_writes_nothing(place, typed, interrupt_at):
    code, shown = on_terminal(["tank.toml"], typed, place, interrupt_at)
    assert code == 1
    assert shown.endswith("Aborted!\n")
    assert "Traceback" not in shown
    # What was answered is kept for next time (test_interview.py).
    assert [file.name for file in place.iterdir()] == [".tank.toml.answers"]


def test_a_byte_that_is_no_text_is_asked_again(place):
    code, shown = on_terminal(["tank.toml"], b"caf\xe9\nCafe\n" + b"\n" * 22, place)
    assert code == 0, shown
    assert "a name with a line break or control character" in shown
    assert workflow.read_site(place / "tank.toml").settings.name == "Cafe"


def test_a_file_that_is_there_ends_it_before_the_first_question(place):
    (place / "tank.toml").write_text("mine")
    code, shown = on_terminal(["tank.toml"], b"", place)
    assert code == 1
    assert shown == '"tank.toml" was not written: it exists already and stays as it is; name another file\n'
