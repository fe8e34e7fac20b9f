"""What is measured of an animal follows it: each case is a description as it is now and a log as it was written.

That an animal's weights are one series, wherever it lives, is common practice of every collection's records (no
published source); the values are invented.
"""

from __future__ import annotations

import datetime as dt

import pytest
from support.recorded import entry, load

from scheduler import care
from scheduler.care.quarantine import span_of
from scheduler.history import Entry, History

BEGUN = dt.date(2026, 9, 1)
TODAY = dt.date(2026, 12, 20)

PLACE = '[site]\nname = "Fen Lane"\n'


def place(name: str, *residents: str) -> str:
    rows = ",".join(f"{{{r}}}" for r in residents)
    return f'[[enclosure]]\nname = "{name}"\nset_up = 2026-01-01\ncycled = true\nresident = [{rows}]\n'


def record(text: str) -> History:
    """Read lines of an enclosure and what `recorded.entry` reads."""
    entries: list[Entry] = []
    for number, line in enumerate(filter(None, map(str.strip, text.splitlines())), start=1):
        enclosure, rest = line.split(maxsplit=1)
        entries.append(entry(rest, enclosure, number))
    return History(
        BEGUN,
        done=[e for e in entries if e.kind == "done"],
        readings=[e for e in entries if e.kind == "reading"],
    )


def weights(text: str, log: str) -> dict[str, list[int]]:
    """Return the weights of each animal, by enclosure and id as it lives now; `?` before those that are nobody's."""
    site = load(PLACE + text)
    found = care.follow_residents(site, record(log))
    living = {(e.id, r.id) for e in site.enclosures for r in e.resident}
    told: dict[str, list[int]] = {}
    for e in sorted(found.all_readings(), key=lambda e: e.moment):
        name = f"{e.enclosure}.{e.of}"
        told.setdefault(name if (e.enclosure, e.of) in living else f"?{name}", []).append(int(e.value or 0))
    return told


FERN, REED_FERN = 'name = "Fern"', 'name = "Fern", id = "fern-reed"'

CASES = [
    (
        "who lives where it was measured",
        place("Sedge", FERN) + place("Reed"),
        "sedge 2026-10-01 weight.fern 300",
        {"sedge.fern": [300]},
    ),
    (
        "who moved takes its weights along",
        place("Sedge") + place("Reed", FERN),
        "sedge 2026-10-01 weight.fern 300\nsedge 2026-11-01 weight.fern 310\nreed 2026-12-01 weight.fern 305",
        {"reed.fern": [300, 310, 305]},
    ),
    (
        "before anything is measured at the new place too",
        place("Sedge") + place("Reed", FERN),
        "sedge 2026-10-01 weight.fern 300",
        {"reed.fern": [300]},
    ),
    (
        "over several places, also those that are gone",
        place("Reed", FERN),
        "quay 2026-09-10 weight.fern 280\nsedge 2026-10-01 weight.fern 300\nreed 2026-12-01 weight.fern 305",
        {"reed.fern": [280, 300, 305]},
    ),
    (
        "two of one name, of before ids had to be unique: by the enclosure of the entries",
        place("Sedge", FERN) + place("Reed", REED_FERN),
        "sedge 2026-10-01 weight.fern 300\nreed 2026-10-02 weight.fern 90\nsedge 2026-11-01 weight.fern 310\nreed 2026-11-02 weight.fern 95",
        {"sedge.fern": [300, 310], "reed.fern-reed": [90, 95]},
    ),
    (
        "and what is recorded since goes on with it",
        place("Sedge", FERN) + place("Reed", REED_FERN),
        "reed 2026-10-02 weight.fern 90\nreed 2026-12-02 weight.fern-reed 99",
        {"reed.fern-reed": [90, 99]},
    ),
    (
        "measured here and there in turn: nobody's, until the description says so",
        place("Sedge", FERN) + place("Reed"),
        "sedge 2026-10-01 weight.fern 300\nreed 2026-10-02 weight.fern 90\nsedge 2026-11-01 weight.fern 310",
        {"sedge.fern": [300, 310], "?reed.fern": [90]},
    ),
    (
        "on one day in two places: nobody's",
        place("Sedge", FERN) + place("Reed"),
        "reed 2026-10-01 weight.fern 90\nsedge 2026-10-01 weight.fern 300",
        {"sedge.fern": [300], "?reed.fern": [90]},
    ),
    (
        "the description says that it came back",
        place("Sedge", FERN + ', moved_from = ["Reed"]') + place("Reed"),
        "sedge 2026-10-01 weight.fern 300\nreed 2026-10-02 weight.fern 301\nsedge 2026-11-01 weight.fern 310",
        {"sedge.fern": [300, 301, 310]},
    ),
    (
        "the description says that it never lived there",
        place("Sedge", FERN + ", moved_from = []") + place("Reed"),
        "reed 2026-10-02 weight.fern 90\nsedge 2026-11-01 weight.fern 310",
        {"sedge.fern": [310], "?reed.fern": [90]},
    ),
    (
        "two could have had the id where neither lives: nobody's",
        place("Sedge", FERN) + place("Reed", REED_FERN),
        "quay 2026-09-02 weight.fern 90",
        {"?quay.fern": [90]},
    ),
    (
        "a new one of the name came into the old one's place: not merged",
        place("Sedge", FERN) + place("Reed", REED_FERN + ", arrived = 2026-12-01"),
        "reed 2026-10-02 weight.fern 300\nsedge 2026-11-01 weight.fern 310\nreed 2026-12-02 weight.fern-reed 20",
        {"sedge.fern": [310], "?reed.fern": [300], "reed.fern-reed": [20]},
    ),
    (
        "an animal that nobody keeps any more",
        place("Sedge", FERN),
        "sedge 2026-10-01 weight.moss 200",
        {"?sedge.moss": [200]},
    ),
    (
        "before it was born it was another",
        place("Sedge") + place("Reed", FERN + ", born = 2026-10-15"),
        "sedge 2026-10-01 weight.fern 300",
        {"?sedge.fern": [300]},
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "log", "told"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_whose_a_weight_is(text: str, log: str, told: dict[str, list[int]]) -> None:
    assert weights(text, log) == told


def test_what_is_not_clear_is_asked_about() -> None:
    site = load(PLACE + place("Sedge", FERN) + place("Reed"))
    log = "sedge 2026-10-01 weight.fern 300\nreed 2026-10-02 weight.fern 90\nsedge 2026-11-01 weight.fern 310"
    (one,) = care.unclear(site, care.follow_residents(site, record(log)))
    assert (one.enclosure, one.of, one.first, one.last) == (
        "reed",
        "fern",
        dt.date(2026, 10, 2),
        dt.date(2026, 10, 2),
    )
    assert [(e.name, r.name) for e, r in one.candidates] == [("Sedge", "Fern")]


# --- what follows from weights ---

QUAY = (
    'name = "Fern", species = "painted turtle", carapace = "12 cm", arrived = 2026-09-20, quarantine = true'
)


def case(text: str, log: str, enclosure: str) -> care.Case:
    site = load(PLACE + text)
    found = care.with_implied(site, care.follow_residents(site, record(log)))
    return next(c for c in care.cases(site, TODAY, found) if c.enclosure.id == enclosure)


LOSS = "quay 2026-10-01 weight.fern 300\nquay 2026-11-01 weight.fern 300\nreed 2026-12-01 weight.fern 260\nreed 2026-12-02 weight.fern 259\n"


def test_a_loss_over_a_move_is_an_alarm() -> None:
    moved = place("Reed", FERN + ', carapace = "12 cm", species = "painted turtle"') + place("Quay")
    (told,) = care.consequences(case(moved, LOSS, "reed"))
    assert f"{told.verdict}: {told.reading} {told.rule} {told.plan}" == (
        "act: Fern weighed 259 g on 2 December 2026, 14 % under its best of 300 g (1 November 2026). "
        "The limit is 10 %. A visit to the vet is due at once."
    )
    assert [j.title for j in care.jobs_of(case(moved, LOSS, "reed")) if j.key == "vet-check"] == [
        "vet check",
        "vet: Fern has lost weight",
    ]
    assert care.consequences(case(moved, LOSS, "quay")) == []


def test_the_vet_who_saw_it_before_it_moved_has_seen_it() -> None:
    moved = place("Reed", FERN + ', carapace = "12 cm", species = "painted turtle"') + place("Quay")
    log = (
        "quay 2026-10-01 weight.fern 300\nquay 2026-11-01 weight.fern 260\n"
        "quay 2026-11-03 did vet-check\nreed 2026-12-01 weight.fern 259"
    )
    assert [f"{c.reading} {c.rule} {c.plan}" for c in care.consequences(case(moved, log, "reed"))] == [
        "Fern weighed 259 g on 1 December 2026, 14 % under its best of 300 g (1 October 2026). "
        "The limit is 10 %. The vet saw it on 3 November 2026. Fern is weighed again on 8 December 2026."
    ]
    # Once it had left, a visit from there was of others.
    late = log.replace("2026-11-03", "2026-12-01")
    assert any(c.verdict == "act" for c in care.consequences(case(moved, late, "reed")))


def test_sizes_go_along_also_where_the_day_of_the_move_is_written_down() -> None:
    moved = place("Reed", FERN + ", arrived = 2026-11-20") + place("Quay")
    log = "quay 2026-10-01 weight.fern 300\nquay 2026-10-01 length.fern 12"
    (fern,) = case(moved, log, "reed").enclosure.resident
    assert (fern.mass, fern.carapace, fern.measured) == (300.0, 12.0, dt.date(2026, 10, 1))


# --- quarantine ---


def faecal_tests(text: str, log: str, enclosure: str) -> list[str]:
    jobs = care.jobs_of(case(text, log, enclosure))
    return [d.isoformat() for j in jobs if j.key == "faecal-test" for d in j.cadence.days]  # type: ignore[union-attr]


def test_tests_of_a_quarantine_go_along() -> None:
    """20 September and 14, 42, 70 days: the first two are done in the first tub, the third is left for the second."""
    tests = "quay 2026-10-04 did faecal-test\nquay 2026-11-01 did faecal-test\n"
    log = (
        tests
        + "quay 2026-10-01 weight.fern 300\nquay 2026-11-02 weight.fern 300\nslip 2026-11-09 weight.fern 301"
    )
    there = place("Quay", QUAY) + place("Slip")
    here = place("Quay") + place("Slip", QUAY)
    assert faecal_tests(there, log.replace("slip", "quay"), "quay") == [
        "2026-10-04",
        "2026-11-01",
        "2026-11-29",
    ]
    assert faecal_tests(here, log, "slip") == ["2026-11-29"]


def test_who_was_released_before_it_moved_is_released() -> None:
    log = "quay 2026-10-01 weight.fern 300\nquay 2026-12-19 did quarantine-release\nquay 2026-12-19 weight.fern 301"
    moved = place("Reed", QUAY) + place("Quay")
    assert span_of(case(moved, log, "reed")) == (dt.date(2026, 9, 20), dt.date(2026, 12, 19))
    # Another one that was never released keeps the place in quarantine.
    other = place("Reed", QUAY, QUAY.replace("Fern", "Moss")) + place("Quay")
    assert span_of(case(other, log, "reed")) == (dt.date(2026, 9, 20), dt.date.max)
