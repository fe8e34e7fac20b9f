"""`pondround swap`: rounds and jobs change hands, the next rota keeps to it, and what a rule forbids changes nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import pytest
from support.rota.fen import FEN, SITE, WEEK, assigned
from support.rota.shared_out import conversation, found, ok, run, stand

from scheduler.log import Published, open_log
from scheduler.rota import Assigned

MONDAY = "2026-12-07"


def listed(rota: Iterable[Assigned]) -> str:
    """Return a rota as lines of the form of WEEK."""
    rounds: dict[tuple[dt.date, str], list[str]] = {}
    for a in rota:
        rounds.setdefault((a.day, a.keeper), []).append(f"{a.enclosure}/{a.job}")
    return "".join(
        f"{day} {who:<8} {' '.join(sorted(jobs))}\n" for (day, who), jobs in sorted(rounds.items())
    )


def published() -> Published | None:
    with open_log("sqlite:///enclosures.db", create=False) as log:
        return log.published(SITE)


@pytest.fixture
def fen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a site whose rota of a week is published."""
    stand(tmp_path, FEN, monkeypatch)
    day = dt.date.fromisoformat(MONDAY)
    recorded = dt.datetime.combine(day, dt.time(6))
    with open_log("sqlite:///enclosures.db") as log:
        log.publish(SITE, Published(day, day + dt.timedelta(days=6), recorded, assigned(WEEK)))
    assert sorted(listed(assigned(WEEK)).split()) == sorted(WEEK.split())
    return tmp_path


def changed() -> list[str]:
    """Return what stands in the published rota and not in WEEK (+), and the other way round (-)."""
    rota = published()
    assert rota is not None
    was, now = set(listed(assigned(WEEK)).splitlines()), set(listed(rota.assigned).splitlines())
    return sorted(f"- {line}" for line in was - now) + sorted(f"+ {line}" for line in now - was)


# --- what changes hands ---


def test_swaps_as_they_read(fen: Path, golden: Callable[[str, str], None]) -> None:
    golden(
        "rota-swap.txt",
        conversation(
            "2026-12-07 swap enclosures.toml 2026-12-09 noor ben",
            "2026-12-07 swap enclosures.toml 2026-12-08 ines noor sedge",
            "2026-12-07 swap enclosures.toml 2026-12-11 ben noor",
            "2026-12-07 swap enclosures.toml 2026-12-12 olu ines --for 2026-12-13",
            "2026-12-07 rota --weeks 1",
        ),
    )


HANDED = [
    # what is typed after FILE, and what is then otherwise in the published rota
    ("2026-12-09 noor ben", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  reed/brush sedge/brush sedge/pump"]),
    ("2026-12-09 noor ines brush", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ines     reed/brush sedge/brush", "+ 2026-12-09 noor     sedge/pump"]),
    ("2026-12-09 noor ben sedge", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  sedge/brush sedge/pump", "+ 2026-12-09 noor     reed/brush"]),
    ("2026-12-09 noor ben 'Sedge/rinse the pump'", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  sedge/pump", "+ 2026-12-09 noor     reed/brush sedge/brush"]),
    ("2026-12-09 noor ben pump/", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  sedge/pump", "+ 2026-12-09 noor     reed/brush sedge/brush"]),
    ("2026-12-09 noor ben Sedge/pu", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  sedge/pump", "+ 2026-12-09 noor     reed/brush sedge/brush"]),
    ("2026-12-09 noor ben reed sedge/pump", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  reed/brush sedge/pump", "+ 2026-12-09 noor     sedge/brush"]),
    # named twice it is handed over once
    ("2026-12-09 noor ben reed reed/brush REED", ["- 2026-12-09 noor     reed/brush sedge/brush sedge/pump", "+ 2026-12-09 ben-ash  reed/brush", "+ 2026-12-09 noor     sedge/brush sedge/pump"]),
    # to somebody who is there anyway
    ("2026-12-07 ines noor", ["- 2026-12-07 ines     sedge/brush", "- 2026-12-07 noor     landing/look reed/brush", "+ 2026-12-07 noor     landing/look reed/brush sedge/brush"]),
    ("2026-12-12 olu ines --for 2026-12-13", ["- 2026-12-12 olu      reed/brush sedge/brush", "- 2026-12-13 ines     reed/brush sedge/brush", "+ 2026-12-12 ines     reed/brush sedge/brush", "+ 2026-12-13 olu      reed/brush sedge/brush"]),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "differs"), HANDED, ids=[row[0] for row in HANDED])
def test_what_is_handed_over_and_nothing_else(fen: Path, typed: str, differs: list[str]) -> None:
    before = published()
    ok(f"swap enclosures.toml {typed}")
    assert changed() == differs
    after = published()
    assert before is not None and after is not None
    assert (after.first, after.last) == (before.first, before.last)

    def jobs(rota: Published) -> list[Assigned]:
        return sorted((replace(a, keeper="") for a in rota.assigned), key=str)

    assert jobs(after) == jobs(before)


def test_what_is_named_twice_is_told_once(fen: Path) -> None:
    out = ok("swap enclosures.toml 2026-12-09 noor ben reed reed/brush REED brush")
    assert out.splitlines() == [
        "Wednesday 9 December 2026: Noor -> Ben Ash",
        "    Reed: brush the pane",
        "    Sedge: brush the pane",
    ]


def test_the_next_rota_keeps_to_it(fen: Path) -> None:
    ok("swap enclosures.toml 2026-12-09 noor ben")
    ok("swap enclosures.toml 2026-12-12 olu ines --for 2026-12-13")
    for today in (MONDAY, "2026-12-08", "2026-12-09"):
        made = found("rota --weeks 1", today=today)
        assert made["changes"] == []
        rounds = {
            (one["date"], one["keeper"]): sorted(f"{j['enclosure']}/{j['job']}" for j in one["jobs"])
            for one in made["rounds"]
            if one["date"] <= "2026-12-13"
        }
        rota = published()
        assert rota is not None
        names = {"noor": "Noor", "ben-ash": "Ben Ash", "ines": "Ines", "olu": "Olu"}
        assert rounds == {
            (date, names[who]): jobs
            for date, who, *jobs in map(str.split, listed(rota.assigned).splitlines())
            if date >= today
        }


def test_swapped_back_it_is_as_it_was(fen: Path) -> None:
    for line in ("2026-12-09 noor ben pump", "2026-12-09 ben noor"):
        ok(f"swap enclosures.toml {line}")
    assert changed() == []


def test_what_is_left_of_an_earlier_day_is_in_the_round_of_today(fen: Path) -> None:
    """Noor did not rinse the pump on Wednesday: on Friday it is hers still, and Ben can take it."""
    for today in ("2026-12-07", "2026-12-08"):
        ok("did enclosures.toml sedge brush --by noor", today=today)
        ok("did enclosures.toml reed brush --by noor", today=today)
    assert ok("swap enclosures.toml 2026-12-11 noor ben pump", today="2026-12-11").splitlines() == [
        "Friday 11 December 2026: Noor -> Ben Ash",
        "    Sedge: rinse the pump",
    ]
    # It is of Friday now, and so is Monday's look, which was left too and with which Friday's own is done; Wednesday has it
    # no more.
    lines = changed()
    assert "- 2026-12-09 noor     reed/brush sedge/brush sedge/pump" in lines
    assert "+ 2026-12-11 ben-ash  sedge/pump" in lines
    assert "+ 2026-12-11 noor     landing/look reed/brush sedge/brush" in lines
    assert "+ 2026-12-07 noor     reed/brush" in lines


def test_a_job_that_is_left_and_comes_again_takes_its_minutes_once(fen: Path) -> None:
    """Noor's Friday: two brushes of 10 that are left of Wednesday and Thursday too, the pump of 25, Monday's look of 15.

    The look comes again on Friday, in Ben's round.
    """
    for today in ("2026-12-07", "2026-12-08"):
        ok("did enclosures.toml sedge brush --by noor", today=today)
        ok("did enclosures.toml reed brush --by noor", today=today)
    said = "Ben Ash has 45 min on 11 December 2026 and would need 60; hand over fewer jobs: "
    jobs = "Landing: look and listen, Reed: brush the pane, Sedge: brush the pane, Sedge: rinse the pump"
    out = run("swap enclosures.toml 2026-12-11 noor ben", today="2026-12-11")
    assert out == (2, "", f"{said}{jobs}\n")
    assert changed() == []


def test_quarantine_beside_others_is_said(fen: Path) -> None:
    code, out, err = run("swap enclosures.toml 2026-12-11 ben noor")
    assert (code, out) == (0, "Friday 11 December 2026: Ben Ash -> Noor\n    Landing: look and listen\n")
    assert err == "Noor tends quarantine and others on 11 December 2026: quarantine last.\n"
    assert run("swap enclosures.toml 2026-12-09 noor ben")[2] == ""


# --- what a rule forbids ---

REFUSED = [
    ("no round that day", "2026-12-08 noor ben", "Noor has no round on 8 December 2026 in the published rota"),
    ("after the rota", "2026-12-14 noor ben", "Noor has no round on 14 December 2026 in the published rota"),
    ("over", "2026-12-06 noor ben", "2026-12-06 is over; today is 2026-12-07"),
    ("in exchange for a day that is over", "2026-12-12 olu ines --for 2026-12-01", "2026-12-01 is over; today is 2026-12-07"),
    ("no such day", "2026-12-32 noor ben", '"2026-12-32" is not a date; write it as 2026-12-01'),
    ("no such day in exchange", "2026-12-12 olu ines --for someday", '"someday" is not a date; write it as 2026-12-01'),
    ("one and the same", "2026-12-09 noor NOOR", "the two keepers are the same; another day of theirs is named by --to DATE"),
    ("unknown giver", "2026-12-09 zoe ben", 'there is no keeper "zoe"; there are: Ben Ash, Ines, Noor, Olu, ben-ash, ines, noor, olu'),
    ("unknown taker", "2026-12-09 noor Inse", 'there is no keeper "Inse"; nearest: Ines'),
    ("away", "2026-12-10 noor ines", "Ines is away (10 December 2026); change the description if that is not so"),
    ("a day that is not the taker's", "2026-12-10 noor ben", "Ben Ash does not come on a Thursday (10 December 2026); change the description if that is not so"),
    ("without the skill", "2026-12-09 noor ines", "Ines cannot take it: Sedge: rinse the pump asks for lifting"),
    ("without the skill for one job", "2026-12-11 ben olu look", "Olu cannot take it: Landing: look and listen asks for adult"),
    ("unknown job", "2026-12-09 noor ben comb", '"comb" is neither a job nor an enclosure of that round; it has: Reed: brush the pane, Sedge: brush the pane, Sedge: rinse the pump'),
    ("a job of another round", "2026-12-09 noor ben look", '"look" is neither a job nor an enclosure of that round; it has: Reed: brush the pane, Sedge: brush the pane, Sedge: rinse the pump'),
    ("an enclosure of another round", "2026-12-09 noor ben landing", '"landing" is neither a job nor an enclosure of that round; it has: Reed: brush the pane, Sedge: brush the pane, Sedge: rinse the pump'),
    ("unknown enclosure", "2026-12-09 noor ben pond/brush", 'there is no enclosure "pond"; there are: Reed, Sedge, reed, sedge'),
    ("unknown job of an enclosure", "2026-12-09 noor ben reed/pump", 'there is no job "pump"; there are: brush'),
    ("one of several words is unknown", "2026-12-09 noor ben reed comb", '"comb" is neither a job nor an enclosure of that round; it has: Reed: brush the pane, Sedge: brush the pane, Sedge: rinse the pump'),
    ("an exchange within one day", "2026-12-11 noor ben --for 2026-12-11", "an exchange is of two days; on one day hand over jobs by name"),
    ("no round in exchange", "2026-12-09 noor ben --for 2026-12-08", "Ben Ash has no round on 8 December 2026 in the published rota"),
    ("away in exchange", "2026-12-13 ines noor --for 2026-12-11", "Ines is away (11 December 2026); change the description if that is not so"),
]  # fmt: skip


@pytest.mark.parametrize(("_", "typed", "said"), REFUSED, ids=[row[0] for row in REFUSED])
def test_what_is_refused_says_why_and_changes_nothing(fen: Path, _: str, typed: str, said: str) -> None:
    before, stored = published(), (fen / "enclosures.db").read_bytes()
    assert run(f"swap enclosures.toml {typed}") == (2, "", said + "\n")
    assert published() == before
    assert (fen / "enclosures.db").read_bytes() == stored


def test_more_minutes_than_there_are(fen: Path) -> None:
    """Ben has 45 min, just what the round of the 9th takes: with 44 it is too long, and without one brush of 10 it fits."""
    (fen / "enclosures.toml").write_text(FEN.replace("minutes = 45", "minutes = 44"), "utf-8")
    said = (
        "Ben Ash has 44 min on 9 December 2026 and would need 45; hand over fewer jobs: "
        "Reed: brush the pane, Sedge: brush the pane, Sedge: rinse the pump\n"
    )
    assert run("swap enclosures.toml 2026-12-09 noor ben") == (2, "", said)
    assert changed() == []
    ok("swap enclosures.toml 2026-12-09 noor ben reed sedge/pump")
    # What the taker has already counts too.
    said = "Ben Ash has 44 min on 9 December 2026 and would need 45; hand over fewer jobs: Sedge: brush the pane\n"
    assert run("swap enclosures.toml 2026-12-09 noor ben") == (2, "", said)
    (fen / "enclosures.toml").write_text(FEN, "utf-8")
    ok("swap enclosures.toml 2026-12-09 noor ben")


def test_minutes_that_are_done_today_are_used_up(fen: Path) -> None:
    """Ben has 45, and recorded 15 this morning: the round of 45 is too much for today."""
    ok("did enclosures.toml landing look --by ben", today="2026-12-09")
    code, out, err = run("swap enclosures.toml 2026-12-09 noor ben", today="2026-12-09")
    assert (code, out) == (2, "")
    assert err.startswith("Ben Ash has ")


def test_no_more_rounds_than_agreed(fen: Path) -> None:
    """Olu comes once a week, and does so on Saturday: the round of Sunday would be the second."""
    code, out, err = run("swap enclosures.toml 2026-12-13 ines olu")
    assert (code, out, changed()) == (2, "", [])
    assert "Olu" in err and "round" in err
    # In exchange for the other it is one again.
    ok("swap enclosures.toml 2026-12-12 olu ines --for 2026-12-13")


def test_an_exchange_may_be_asked_for_from_either_side(fen: Path) -> None:
    """What counts is how many rounds Olu has in the end, not between the two halves."""
    ok("swap enclosures.toml 2026-12-13 ines olu --for 2026-12-12")
    assert [line for line in changed() if line[0] == "+"] == [
        "+ 2026-12-12 ines     reed/brush sedge/brush",
        "+ 2026-12-13 olu      reed/brush sedge/brush",
    ]


def test_a_round_that_is_over_counts_once(fen: Path) -> None:
    """Ines may come four times: Monday and Tuesday, which are published and recorded, Sunday, and now Wednesday."""
    four = FEN.replace('name = "Ines"', 'name = "Ines"\nrounds_a_week = 4')
    (fen / "enclosures.toml").write_text(four, "utf-8")
    ok("did enclosures.toml sedge brush --by ines", today="2026-12-07")
    ok("did enclosures.toml sedge brush reed brush --by ines", today="2026-12-08")
    ok("swap enclosures.toml 2026-12-09 noor ines reed", today="2026-12-09")
    code, _, err = run("swap enclosures.toml 2026-12-12 olu ines", today="2026-12-09")
    assert (code, "round" in err) == (2, True)


def test_an_exchange_is_all_or_nothing(fen: Path) -> None:
    """The first half is possible, the second is not: Ines is away on the 11th."""
    code, _, _ = run("swap enclosures.toml 2026-12-13 ines noor --for 2026-12-11")
    assert (code, changed()) == (2, [])


def test_before_anything_is_published(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand(tmp_path, FEN, monkeypatch)
    said = "no rota is published yet; `pondround rota --publish` does it\n"
    assert run("swap enclosures.toml 2026-12-09 noor ben") == (2, "", said)
    assert [path.name for path in tmp_path.iterdir()] == ["enclosures.toml"]


def test_a_job_that_left_the_description_is_in_nobodys_round(fen: Path) -> None:
    """The published rota names it; no page and no calendar shows it any more."""
    (fen / "enclosures.toml").write_text(FEN.replace('key = "pump"', 'key = "gone"'), "utf-8")
    code, out, err = run("swap enclosures.toml 2026-12-09 noor ben pump")
    assert (code, out) == (2, "")
    assert err.startswith('"pump" is neither a job nor an enclosure of that round; it has: ')


@pytest.mark.parametrize("typed", ["a\x1b[2J", "a\nb", "'; DROP TABLE rota; --", "🐢", "x" * 5000, "%s{}"])
def test_words_are_text(fen: Path, typed: str) -> None:
    """What is typed is told back on one line, without what would move the cursor."""
    for words in (
        [typed, "noor"],
        ["noor", typed],
        ["noor", "ben", typed],
        ["noor", "ben", f"{typed}/brush"],
    ):
        code, out, err = run("swap enclosures.toml 2026-12-09", *words)
        assert (code, out, err.count("\n")) == (2, "", 1)
        assert "\x1b" not in err and len(err) < 300
    assert changed() == []
