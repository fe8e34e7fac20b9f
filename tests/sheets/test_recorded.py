"""What a command says that recorded something: the lines for a terminal, and the same for programs."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import scheduler
from scheduler import care
from scheduler.care import Consequence, Job
from scheduler.description import Enclosure, Site
from scheduler.history import NO_HISTORY, Entry, JobRef
from scheduler.plan import Move, Next
from scheduler.sheets.recorded import recorded_lines, recorded_object
from scheduler.sheets.terminal import cells
from scheduler.sources import Source

DAY = dt.date(2026, 12, 5)
NOW = dt.datetime(2026, 12, 5, 18, 30)  # noqa: DTZ001 - UTC, as the log keeps it

REED = """
[[enclosure]]
name = "Reed"
set_up = 2026-06-01
cycled = true
filter = {kind = "canister"}
lamp = [{kind = "T5 HO tube", installed = 2026-06-01, hours_a_day = 10}]
resident = [{name = "Fern", species = "painted turtle"}]
"""


def load(units: str = "metric", keepers: Iterable[str] = (), more: str = REED) -> Site:
    text = f'[site]\nname = "Fen Lane"\nunits = "{units}"\n'
    text += "".join(f'[[keeper]]\nname = "{name}"\n' for name in keepers)
    return scheduler.loads(text + more)


SITE = load()


def done(name: str = "wipe-down", title: str = "wipe down", **more: object) -> Entry:
    return Entry(kind="done", enclosure="reed", name=name, title=title, day=DAY, recorded=NOW, **more)  # type: ignore[arg-type]


def reading(name: str, value: float, title: str, **more: object) -> Entry:
    return Entry(kind="reading", enclosure="reed", name=name, title=title, value=value, day=DAY, recorded=NOW, **more)  # type: ignore[arg-type]  # fmt: skip


def said(
    *entries: Entry,
    site: Site = SITE,
    new: bool = True,
    next_days: dict[JobRef, Next] | None = None,
    moves: Iterable[Move] = (),
    consequences: Iterable[tuple[Enclosure, Consequence]] = (),
    width: int = 80,
) -> str:
    lines = recorded_lines(
        site, [(entry, new) for entry in entries], next_days or {}, moves, consequences, width=width
    )
    return "\n".join(lines)


def job(key: str) -> Job:
    return next(found for found in care.jobs(SITE, NO_HISTORY) if found.key == key)


# --- entries ---

ENTRIES = [
    (done(), "Reed: wipe down, done on 5 December 2026."),
    (done(time=dt.time(18, 5)), "Reed: wipe down, done on 5 December 2026, 18:05."),
    (done("water-change", "water change"), "Reed: water change, done on 5 December 2026."),
    (done("water-change", "water change", value=0.3), "Reed: water change, 30 %, done on 5 December 2026."),
    (done("water-change", "water change", value=1.0), "Reed: water change, 100 %, done on 5 December 2026."),
    (done("media-rinse", "media rinse, one half", value=2.0), "Reed: media rinse, half 2, done on 5 December 2026."),
    # what is no job and no enclosure of the description any more
    (done("sump", ""), "Reed: sump, done on 5 December 2026."),
    (Entry(kind="done", enclosure="old-tub", name="feed", title="feed", day=DAY, recorded=NOW), "old-tub: feed, done on 5 December 2026."),
    (reading("nitrate", 35.0, "nitrate"), "Reed: nitrate: 35 mg/L on 5 December 2026."),
    (reading("ammonia", 0.25, "total ammonia"), "Reed: total ammonia: 0.25 mg/L (as N) on 5 December 2026."),
    (reading("ammonia", 0.0, "total ammonia"), "Reed: total ammonia: 0 mg/L (as N) on 5 December 2026."),
    (reading("ph", 7.4, "pH"), "Reed: pH 7.4 on 5 December 2026."),
    (reading("temperature", 25.0, "water temperature", time=dt.time(7, 30)), "Reed: water temperature: 25 °C on 5 December 2026, 07:30."),
    (reading("weight", 480.0, "weight", of="fern"), "Reed: weight of Fern: 480 g on 5 December 2026."),
    (reading("weight", 480.0, "weight", of="gone"), "Reed: weight of gone: 480 g on 5 December 2026."),
    (reading("length", 12.74, "length of the carapace", of="fern"), "Reed: length of the carapace of Fern: 12.7 cm on 5 December 2026."),
    (reading("uvi", 2.7, "UV Index", of="t5-ho-tube-2026-06-01"), "Reed: UV Index of the T5 HO tube lamp: UVI 2.7 on 5 December 2026."),
    (reading("uvi", 2.7, "UV Index"), "Reed: UV Index: UVI 2.7 on 5 December 2026."),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "line"), ENTRIES)
def test_what_was_recorded(entry: Entry, line: str) -> None:
    assert said(entry) == line


# Of the international pound (453.59237 g) and inch (2.54 cm) of 1959; degrees Fahrenheit by their definition.
US = [
    (reading("temperature", 25.0, "water temperature"), "water temperature: 77 °F"),
    (reading("weight", 453.59237 * 2, "weight", of="fern"), "weight of Fern: 907 g (2 lb)"),
    (reading("weight", 453.59237 / 2, "weight", of="fern"), "weight of Fern: 227 g (8 oz)"),
    (reading("length", 12.7, "length", of="fern"), "length of Fern: 5 in"),
    (reading("nitrate", 35.0, "nitrate"), "nitrate: 35 mg/L"),
]


@pytest.mark.parametrize(("entry", "line"), US)
def test_amounts_are_in_the_units_of_the_site(entry: Entry, line: str) -> None:
    assert said(entry, site=load("us")) == f"Reed: {line} on 5 December 2026."


@pytest.mark.parametrize(
    ("keepers", "who"), [((), ""), (("Noor",), ""), (("Noor", "Ines"), " by Noor"), (("Ines", "Hal"), "")]
)
def test_among_several_keepers_it_says_who(keepers: tuple[str, ...], who: str) -> None:
    site = load(keepers=keepers)
    assert said(done(keeper="noor"), site=site) == f"Reed: wipe down, done{who} on 5 December 2026."
    assert said(reading("ph", 7.4, "pH", keeper="noor"), site=site) == f"Reed: pH 7.4{who} on 5 December 2026."  # fmt: skip


def test_what_was_there_already() -> None:
    assert said(done(), new=False) == (
        "Reed: wipe down was recorded for 5 December 2026 already; nothing changes. For a\n"
        "second time that day: --again."
    )
    assert said(reading("ph", 7.4, "pH"), new=False) == (
        "Reed: pH 7.4 was recorded for 5 December 2026 already; nothing changes."
    )


def test_what_is_taken_back() -> None:
    void = Entry(
        kind="void", enclosure="reed", name="ph", title="pH", value=7.4, day=DAY, recorded=NOW, voids="x"
    )
    assert said(void) == "Reed: pH 7.4 of 5 December 2026 is taken back."
    assert said(void, new=False) == "Reed: pH 7.4 of 5 December 2026 is taken back already; nothing changes."


# --- what comes next, what follows, what moved ---


def test_a_job_is_followed_by_its_next_day_and_not_told_again_as_moved() -> None:
    wipe = job("wipe-down")
    name = ("reed", "wipe-down", "")
    moves = [Move(wipe, DAY, dt.date(2026, 12, 12)), Move(job("feed"), DAY, dt.date(2026, 12, 7))]
    assert said(done(), next_days={name: Next(wipe, dt.date(2026, 12, 12), None)}, moves=moves) == (
        "Reed: wipe down, done on 5 December 2026.\n"
        "  next on Saturday 12 December 2026\n"
        "    Reed: feed: 5 December 2026 -> Monday 7 December 2026"
    )


def test_what_is_due_again_already_says_since_when() -> None:
    wipe = job("wipe-down")
    late = Next(wipe, DAY, dt.date(2026, 12, 1))
    assert said(done(), next_days={("reed", "wipe-down", ""): late}) == (
        "Reed: wipe down, done on 5 December 2026.\n  next today, due since 1 December 2026"
    )


def test_what_is_taken_back_has_no_next_day_but_a_move() -> None:
    wipe = job("wipe-down")
    void = Entry(
        kind="void", enclosure="reed", name="wipe-down", title="wipe down", day=DAY, recorded=NOW, voids="x"
    )
    nexts = {("reed", "wipe-down", ""): Next(wipe, DAY, None)}
    assert said(void, next_days=nexts, moves=[Move(wipe, dt.date(2026, 12, 12), DAY)]) == (
        "Reed: wipe down of 5 December 2026 is taken back.\n"
        "    Reed: wipe down: 12 December 2026 -> Saturday 5 December 2026"
    )


LATER = dt.date(2027, 1, 4)
MOVES = [
    (Move(job("feed"), DAY, LATER), "feed: 5 December 2026 -> Monday 4 January 2027"),
    (Move(job("feed"), LATER, DAY, open=True), "feed: 4 January 2027 -> today, due since 5 December 2026"),
    (Move(job("feed"), None, LATER), "feed: planned for Monday 4 January 2027"),
    (Move(job("feed"), None, DAY, open=True), "feed: planned for today, due since 5 December 2026"),
    (Move(job("feed"), DAY, None), "feed: no longer planned"),
]


@pytest.mark.parametrize(("move", "line"), MOVES)
def test_moves(move: Move, line: str) -> None:
    assert said(moves=[move]) == f"    Reed: {line}"


def other(variant: str, title: str = "feed") -> Job:
    """Return the job of another variant: of another stage of life, for another alarm."""
    return replace(job("feed"), variant=variant, title=title)


GIVES_WAY = [
    ("one for one moves", [Move(other("b"), None, LATER), Move(other("a"), DAY, None)], ["feed: 5 December 2026 -> Monday 4 January 2027"]),
    ("to today", [Move(other("b"), None, DAY, open=True), Move(other("a"), LATER, None)], ["feed: 4 January 2027 -> today, due since 5 December 2026"]),
    ("on the same day nothing moves", [Move(other("b"), None, DAY), Move(other("a"), DAY, None)], []),
    ("by another name", [Move(other("b", "feed twice"), None, LATER), Move(other("a"), DAY, None)], ["feed twice: planned for Monday 4 January 2027", "feed: no longer planned"]),
    ("two for one", [Move(other("b"), None, DAY), Move(other("c"), None, LATER), Move(other("a"), DAY, None)],
     ["feed: planned for Saturday 5 December 2026", "feed: planned for Monday 4 January 2027", "feed: no longer planned"]),
    ("beside one that moves", [Move(other("b"), None, LATER), Move(other("c"), DAY, LATER)],
     ["feed: planned for Monday 4 January 2027", "feed: 5 December 2026 -> Monday 4 January 2027"]),
]  # fmt: skip


@pytest.mark.parametrize(("_", "moves", "lines"), GIVES_WAY, ids=[row[0] for row in GIVES_WAY])
def test_a_job_that_gives_way_to_one_of_the_same_name(_: str, moves: list[Move], lines: list[str]) -> None:
    assert said(moves=moves) == "\n".join(f"    Reed: {line}" for line in lines)


def test_what_is_done_with_a_job_is_not_mixed_up_with_what_comes_anew() -> None:
    """A change of water ends the alarm of one day, while another reading asks for the next."""
    ended = replace(other("alarm-a", "extra"), key="water-change", recorded_as="")
    anew = replace(ended, variant="alarm-b")
    change = done("water-change", "water change")
    assert said(change, moves=[Move(anew, None, LATER), Move(ended, DAY, None)]) == (
        "Reed: water change, done on 5 December 2026.\n"
        "    Reed: extra: planned for Monday 4 January 2027\n"
        "    Reed: extra: done with it"
    )


FINDING = Consequence(
    key="ammonia",
    verdict="act",
    reading="Ammonia was 2 mg/L (as N) on 5 December 2026.",
    rule="A working filter leaves at most 0.25 mg/L.",
    source=Source("a hobby kit shows 0.25 mg/L", "house value"),
    plan="Change 50 % of the water now.",
)


def test_a_consequence_says_first_what_to_do_then_why() -> None:
    assert said(consequences=[(SITE.enclosures[0], FINDING)]) == (
        "  act   Reed: Change 50 % of the water now. Ammonia was 2 mg/L (as N) on 5\n"
        "        December 2026. A working filter leaves at most 0.25 mg/L. [a hobby kit\n"
        "        shows 0.25 mg/L (house value)]"
    )


def test_the_same_as_json() -> None:
    found = json.loads(
        recorded_object(
            [{"uid": "u"}],
            [Move(job("feed"), DAY, LATER), Move(job("feed"), None, DAY, open=True), Move(job("feed"), DAY, None)],
            [(SITE.enclosures[0], FINDING)],
        )
    )  # fmt: skip
    feed = {"enclosure": "reed", "job": "feed", "title": "feed"}
    assert found == {
        "recorded": [{"uid": "u"}],
        "consequences": [
            {
                "enclosure": "reed",
                "key": "ammonia",
                "verdict": "act",
                "reading": "Ammonia was 2 mg/L (as N) on 5 December 2026.",
                "rule": "A working filter leaves at most 0.25 mg/L.",
                "source": "a hobby kit shows 0.25 mg/L",
                "status": "house value",
                "plan": "Change 50 % of the water now.",
            }
        ],
        "moved": [
            {**feed, "from": "2026-12-05", "to": "2027-01-04"},
            {**feed, "from": None, "to": "2026-12-05"},
            {**feed, "from": "2026-12-05", "to": None},
        ],
    }
    assert list(found["consequences"][0]) == ["enclosure", "key", "verdict", "reading", "rule", "source", "status", "plan"]  # fmt: skip


# --- whatever was written ---

NASTY = ["\x1b[2J\x1b[31m", "\u202eback", "\u2066x", "a\nb\r\tc", "\x07\x9b1m", "\ud800", "{0} %s [bold]x[/]"]


@pytest.mark.parametrize("text", NASTY)
def test_nothing_that_was_written_moves_the_cursor(text: str) -> None:
    found = said(done(title=text, of=text), reading("weight", 3.0, text, of=text), width=60)
    assert found.replace("\n", "").isprintable()
    assert "\u202e" not in found and "\u2066" not in found
    assert ("{0} %s [bold]x[/]" in found) == text.startswith("{")


@given(st.text(max_size=200), st.text(max_size=40), st.integers(1, 120))
def test_no_line_is_wider_than_asked(title: str, of: str, width: int) -> None:
    moves = [Move(job("feed"), DAY, LATER)]
    found = said(
        done(title=title), reading("weight", 3.0, title, of=of), moves=moves, consequences=[(SITE.enclosures[0], FINDING)], width=width,
    )  # fmt: skip
    assert max(map(cells, found.split("\n"))) <= max(width, 40)
