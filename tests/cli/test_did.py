"""`did` as a keeper types it: whole outputs, short names, notes, and wrong words."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.typed import SITE, TODAY, entries, fen, ok, refused, run

__all__ = ["fen"]


def test_did_says_when_it_comes_next(fen):
    assert ok(f"did fen.toml Sedge water-change --on 2026-12-17 --by noor {TODAY}") == (
        "Sedge: water change, done by Noor on 17 December 2026.\n  next on Thursday 31 December 2026\n"
        "    Sedge: media rinse, one half: 29 December 2026 -> Monday 28 December 2026\n"
    )
    days = [
        json.loads(line)
        for line in ok(
            f"jobs fen.toml --job water-change --enclosure Sedge --days 30 --format json {TODAY}"
        ).splitlines()
    ]
    assert [(d["date"], d["state"]) for d in days] == [("2026-12-31", "due"), ("2027-01-14", "due")]
    earlier = ok(
        "jobs fen.toml --job water-change --from 2026-12-15 --days 5 --format json", "--today", "2026-12-19"
    )
    (row,) = [json.loads(line) for line in earlier.splitlines()]
    assert (row["date"], row["state"], row["keeper"]) == ("2026-12-17", "done", "Noor")


def test_the_same_twice_is_harmless_and_again_is_another(fen):
    ok(f"did fen.toml Reed wipe-down {TODAY}")
    said = ok(f"did fen.toml Reed wipe-down {TODAY}")
    assert said.startswith("Reed: wipe down was recorded for 19 December 2026 already; nothing changes.")
    assert len(entries()) == 1
    ok(f"did fen.toml Reed wipe-down --again {TODAY}")
    assert [e["turn"] for e in entries()] == [0, 1]


def test_a_note_on_what_is_recorded_already_is_kept_with_it(fen):
    """As on the page: with the name of who says it where somebody else did the job, and once."""
    ok(f"did fen.toml Reed wipe-down --by noor {TODAY}", "--note", "a scratch")
    for _ in range(2):
        said = ok(f"did fen.toml Reed wipe-down Sedge wipe-down --by ben {TODAY}", "--note", "swollen eye")
        assert said.startswith(
            "Reed: wipe down was recorded for 19 December 2026 already; the note is kept with\n"
            "it: a scratch | Ben Ash: swollen eye\n"
        ), said
    stands = [(e["keeper"], e["note"]) for e in entries() if e["kind"] == "done" and not e["voided"]]
    assert stands == [("ben-ash", "swollen eye"), ("noor", "a scratch | Ben Ash: swollen eye")]
    # The entry of before is there still, as taken back; without a note nothing changes.
    assert [e["kind"] for e in entries()] == ["done", "done", "void", "done"]
    said = ok(f"did fen.toml Reed wipe-down --by ben {TODAY}")
    assert said.startswith("Reed: wipe down was recorded for 19 December 2026 already; nothing changes.")
    assert len(entries()) == 4


@pytest.mark.parametrize(
    ("words", "recorded"),
    [
        ("Sedge water-change", ["sedge/water-change"]),
        ("sed water-c", ["sedge/water-change"]),
        ("Sedge feed wipe-down Reed wipe-down", ["sedge/feed/juvenile", "sedge/wipe-down", "reed/wipe-down"]),
        ("Sedge Reed daily-look", ["sedge/daily-look", "reed/daily-look"]),
        # An enclosure may begin like a job: at the start it is the enclosure, and a whole name goes first.
        ("Sedge feed", ["sedge/feed/juvenile"]),
        ("feed-store wipe-down", ["feed-store/wipe-down"]),
        ("Sedge uv-lamp-replace/t5", ["sedge/uv-lamp-replace/t5-ho-tube-2026-10-03"]),
    ],
)
def test_names_may_be_shortened_and_follow_each_other(fen, words, recorded):
    ok(f"did fen.toml {words} {TODAY}")
    assert ["/".join(filter(None, (e["enclosure"], e["name"], e["of"]))) for e in entries()] == recorded


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("Sedge watr-change", 'there is no enclosure and no job "watr-change"; nearest: water-change'),
        ("Segde water-change", 'there is no enclosure and no job "Segde"; nearest: Sedge'),
        ("Sedge w", '"w" may mean any job in Sedge of water-change, water-test, weigh-measure, wipe-down; write more of it'),
        ("Reed heater-check", "Reed has no job heater-check; it has: "),
        ("Sedge", 'name what was done in Sedge: pondround did "Sedge" water-change'),
        ("water-change", '"water-change" is a job; name its enclosure first: Feed store, Reed, Sedge'),
        ("Sedge uv-lamp-replace", "Sedge has several: uv-lamp-replace/t5-ho-tube-2026-10-03 (replace the T5 HO tube lamp); uv-lamp-replace/compact-2026-11-01 (replace the compact lamp). Write which; its beginning is enough"),
        ("Sedge water-change --on 2026-12-20", "2026-12-20 lies in the future: today is 2026-12-19."),
        ("Reed water-change --on 2026-10-31", "Reed was set up on 2026-11-01, after 2026-10-31: mend --on, or set_up in the description"),
        ("Sedge feed --share 0.3", "--share says how much of the water was changed; it goes with water-change alone"),
        ("Sedge water-change --share 130%", '"130%" is no share of the water; write 0.3 or 30%'),
        ("Sedge feed --half 1", "--half says which half of the media was rinsed; it goes with media-rinse alone"),

        ("Sedge feed --by Zed", 'there is no keeper "Zed"; there are: Ben Ash, Noor, ben-ash, noor'),
        ("Sedge feed --at 25:00", '"25:00" is no hour of the day; write it as 18:30'),
    ],
)  # fmt: skip
def test_a_wrong_word_is_told_and_nothing_is_recorded(fen, words, said):
    line = f"did fen.toml {words} {TODAY}"
    assert refused(line).startswith(said)
    assert not (fen / "fen.db").exists()


def test_the_description_may_be_left_out(fen):
    (fen / "fen.toml").rename(fen / "enclosures.toml")
    ok(f"did Sedge water-change {TODAY}")
    ok(f"reading Sedge ph=7.4 {TODAY}")
    assert (fen / "enclosures.db").exists()


def test_with_one_enclosure_its_name_may_be_left_out(fen):
    one = SITE[: SITE.index('[[enclosure]]\nname = "Reed"')]
    (fen / "fen.toml").write_text(one, "utf-8")
    assert ok(f"did fen.toml wipe-down {TODAY}").startswith("Sedge: wipe down, done")
    assert ok(f"reading fen.toml ph=7.4 {TODAY}").startswith("Sedge: pH 7.4 on 19 December 2026.")


words = st.lists(st.sampled_from(["Sedge", "Reed", "feed", "water-change", "fen.toml", "ph=7", "=", "x/y", "uv/", "--on", "2026-12-01", "--by", "noor", "🐢", "-", "", "w"]) | st.text(max_size=8), max_size=6)  # fmt: skip


@settings(max_examples=examples(40), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(["did", "reading", "undo", "history"]), words)
def test_whatever_is_typed_there_is_an_answer(fen, command, typed):
    code, _, err = run(command, *typed)
    assert code in (0, 1, 2) and "Traceback" not in err
