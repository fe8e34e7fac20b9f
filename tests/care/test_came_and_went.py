"""What it means for the care of a tank that an animal came from another one of the site, or has left."""

from __future__ import annotations

import datetime as dt

import pytest
from support.recorded import entry, load

from scheduler import care, description
from scheduler.care import ByRule, Case, On
from scheduler.care.quarantine import quarantine
from scheduler.errors import DescriptionError
from scheduler.history import NO_HISTORY, History
from scheduler.species import load_sheets

PLACE = '[site]\nname = "Fen Lane"\nstart = 2026-01-01\n'
TODAY = dt.date(2027, 1, 20)
Q = 'species = "painted turtle", quarantine = true'


def place(name: str, *residents: str, more: str = "") -> str:
    rows = ",".join(f"{{{r}}}" for r in residents)
    return f'[[enclosure]]\nname = "{name}"\nset_up = 2026-01-01\ncycled = true\nresident = [{rows}]\n{more}'


def case(text: str, history: History = NO_HISTORY, enclosure: str = "nook") -> Case:
    site = load(PLACE + text).on(TODAY)
    return next(c for c in care.cases(site, TODAY, history) if c.enclosure.id == enclosure)


WREN = f'name = "Wren", arrived = 2026-10-20, {Q}'

JOINED = [
    # who is there besides Wren, from which day the 90 days count, why
    ([], "2026-10-20", "alone"),
    ([f'name = "Dove", arrived = 2026-11-09, {Q}'], "2026-11-09", "a newcomer from outside"),
    (
        ['name = "Moss", here_since = 2026-12-01, moved_from = ["reed"]'],
        "2026-12-01",
        "one of the house that joins is in it, and brings it",
    ),
    (
        ['name = "Moss", here_since = 2027-01-19, moved_from = ["reed"]'],
        "2026-10-20",
        "after its end nobody joins it",
    ),
    (
        ['name = "Moss", here_since = 2026-10-01, moved_from = ["reed"]'],
        "2026-10-20",
        "who was there before it began does not begin it anew",
    ),
    (
        [f'name = "Dove", arrived = 2026-11-09, departed = 2026-11-20, {Q}'],
        "2026-11-09",
        "who has left since was there, and may have left something",
    ),
]


@pytest.mark.parametrize(("others", "restart", "why"), JOINED, ids=[why for *_, why in JOINED])
def test_quarantine_counts_from_whoever_joined_last(others: list[str], restart: str, why: str) -> None:
    """All in, all out: AZA accreditation standards 2007, quarantine; 90 days: house value."""
    found = quarantine(case(place("Nook", WREN, *others) + place("Reed")))
    assert found is not None
    assert (str(found.restart), found.release) == (restart, found.restart + dt.timedelta(days=90))


@pytest.mark.parametrize(
    ("origins", "restart"),
    [
        (("reed", "reed"), "2026-11-09"),
        (("reed", "quay"), "2026-12-01"),
    ],
    ids=["together from one tank", "from two tanks"],
)
def test_who_comes_together_is_one_group_wherever_it_is(origins: tuple[str, str], restart: str) -> None:
    two = [
        f'name = "{name}", arrived = {day}, here_since = 2026-12-01, moved_from = ["{origin}"], {Q}'
        for name, day, origin in zip(("Wren", "Dove"), ("2026-10-20", "2026-11-09"), origins, strict=True)
    ]
    found = quarantine(case(place("Nook", *two) + place("Reed") + place("Quay")))
    assert found is not None and str(found.restart) == restart


def test_a_release_on_record_ends_it_for_whoever_comes_later() -> None:
    moss = 'name = "Moss", here_since = 2026-12-20, moved_from = ["reed"]'
    released = History(dt.date(2026, 10, 1), done=[entry("2026-12-10 did quarantine-release", "nook", 1)])
    found = quarantine(case(place("Nook", WREN, moss) + place("Reed"), released))
    assert found is not None and str(found.restart) == "2026-10-20"


def jobs(text: str, history: History = NO_HISTORY) -> dict[str, list[str]]:
    """Return the jobs that an arrival brings, by key and variant, with their days or their first and last one."""
    found = {}
    for job in care.jobs_of(case(text, history)):
        if job.key in ("pre-arrival-check", "basking-watch", "basking-review") or "intake" in job.variant:
            cadence = job.cadence
            days = cadence.days if isinstance(cadence, On) else ()
            if isinstance(cadence, ByRule):
                assert cadence.start is not None and cadence.until is not None
                days = (cadence.start, cadence.until)
            found[f"{job.key}/{job.variant}"] = [str(day) for day in days]
    return found


def test_settling_in_goes_on_where_an_animal_moves_to_and_does_not_begin_again() -> None:
    moved = 'name = "Wren", species = "painted turtle", arrived = 2026-12-01'
    assert jobs(place("Nook", moved)) == {
        "pre-arrival-check/2026-12-01": ["2026-11-30"],
        "basking-watch/2026-12-01": ["2026-12-02", "2026-12-15"],
        "basking-review/2026-12-01": ["2026-12-15"],
    }
    # On day 8 in another tank: the rest of the watch, and nothing to get ready for.
    assert jobs(place("Nook", f"{moved}, here_since = 2026-12-09")) == {
        "basking-watch/2026-12-01": ["2026-12-09", "2026-12-15"],
        "basking-review/2026-12-01": ["2026-12-15"],
    }
    assert jobs(place("Nook", f"{moved}, here_since = 2026-12-16")) == {}


def test_the_vets_first_look_is_not_asked_for_again() -> None:
    wren = f'name = "Wren", arrived = 2026-12-01, here_since = 2026-12-20, moved_from = ["reed"], {Q}'
    lines = [
        "reed 2026-12-02 weight.wren 300",
        "reed 2026-12-03 did vet-check/intake-2026-12-01",
        "nook 2026-12-21 weight.wren 301",
    ]
    entries = [entry(*line.split(" ", 1)[::-1], n) for n, line in enumerate(lines, start=1)]
    history = History(
        dt.date(2026, 11, 1),
        done=[e for e in entries if e.kind == "done"],
        readings=[e for e in entries if e.kind == "reading"],
    )
    text = place("Nook", wren) + place("Reed")
    assert "vet-check/intake-2026-12-01" in jobs(text)
    followed = care.follow_residents(load(PLACE + text), history)
    assert "vet-check/intake-2026-12-01" not in jobs(text, followed)


def test_nobody_is_fed_and_weighed_in_an_empty_tank() -> None:
    gone = 'name = "Wren", species = "painted turtle", departed = 2027-01-10'
    keys = {job.key for job in care.jobs_of(case(place("Nook", gone, more="feed = {grams = 3}\n")))}
    assert not keys & {"feed", "weigh-measure", "cuttlebone", "space-review", "vet-check"}
    assert {"daily-look", "water-change"} <= keys


def test_a_site_is_as_it_is_on_a_day() -> None:
    text = place("Nook", 'name = "Wren", departed = 2027-01-10') + place(
        "Reed", more="retired = 2027-01-15\n"
    )
    site = load(PLACE + text)

    def here(day: str) -> dict[str, list[str]]:
        on = site.on(dt.date.fromisoformat(day))
        assert [e.id for e in on.all_enclosures] == ["nook", "reed"]
        return {e.id: [r.id for r in e.resident] for e in on.enclosures}

    assert here("2027-01-09") == {"nook": ["wren"], "reed": []}
    assert here("2027-01-10") == {"nook": [], "reed": []}
    assert here("2027-01-15") == {"nook": []}
    assert site.on(dt.date(2027, 1, 9)) is site


WRONG = [
    ('here_since = 2025-12-01', "here since 2025-12-01, before the enclosure was set up on 2026-01-01"),
    ("arrived = 2026-12-01, here_since = 2026-11-01", "here since 2026-11-01, before it arrived on 2026-12-01"),
    ("arrived = 2026-12-01, departed = 2026-11-01", "departed on 2026-11-01, before arrived = 2026-12-01"),
    ('departed_as = "adopted"', "how it left, without the day"),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "said"), WRONG)
def test_days_that_contradict_each_other(keys: str, said: str) -> None:
    with pytest.raises(DescriptionError) as found:
        description.load(PLACE + place("Nook", f'name = "Wren", {keys}'), load_sheets())
    assert [problem.message for problem in found.value.problems] == [said]


def test_nobody_lives_in_a_tank_that_is_retired() -> None:
    with pytest.raises(DescriptionError) as found:
        description.load(PLACE + place("Nook", 'name = "Wren"', more="retired = 2027-01-10\n"), load_sheets())
    (problem,) = found.value.problems
    assert problem.message == '"Wren" lives in "Nook", which is retired since 2027-01-10'
    assert problem.hint == "move it to another enclosure first, or write departed = YYYY-MM-DD"
