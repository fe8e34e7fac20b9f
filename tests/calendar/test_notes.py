"""The notes of entries: everything that is done, its amounts and its cautions; short what only explains them."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from support.samples import EVERY_SAMPLE

from scheduler import care, workflow
from scheduler.calendar.notes import (
    JOB_LIMIT,
    ROUND_LIMIT,
    ROUTINE_LIMIT,
    Work,
    group_note,
    job_note,
)
from scheduler.care import Job, Notes, On, cautions
from scheduler.care.cautions import HANDS, HEATER, SINK, UNPLUG, Caution
from scheduler.description.site import Enclosure
from scheduler.history import History
from scheduler.plan import occurrences, schedule
from scheduler.rota import Round
from scheduler.sources import HOUSE, KEEPER
from scheduler.workflow.rota.site_rota import quarantined_in
from scheduler.workflow.workspace import Workspace

SAMPLES = Path(__file__).parents[2] / "sample_configs"
TODAY = dt.date(2026, 12, 1)
DAYS = 400
LINK = "https://turtles.example/p/secret"

Part = tuple[dt.date, str]


@cache
def parts(name: str) -> dict[Part, list[Work]]:
    """Return what is done in each part of each day of 400 days."""
    site = workflow.read_site(SAMPLES / f"{name}.toml")
    last = TODAY + dt.timedelta(days=DAYS - 1)
    apart = quarantined_in(site, History())
    found: dict[Part, list[Work]] = defaultdict(list)
    # Texts are asked for on each of the days: they are written out once.
    jobs = [replace(job, notes=cache(job.notes)) for job in care.jobs(site)]
    for one in occurrences(site, schedule(site, jobs, TODAY, last), TODAY, last):
        found[one.day, one.job.part].append(Work(one.job, quarantine=apart(one.job.enclosure.id, one.day)))
    return found


def routines(name: str) -> Iterator[list[Work]]:
    """Yield the routine of each part of each day."""
    for works in parts(name).values():
        found = [work for work in works if work.job.routine]
        if found:
            yield found


@cache
def rounds() -> tuple[Round, ...]:
    """Return the rounds of four weeks of a rescue."""
    site = workflow.read_site(SAMPLES / "rescue.toml")
    made = workflow.make_rota(Workspace(SAMPLES / "rescue.toml", site, TODAY), TODAY, 4)
    assert len(made.rota.rounds) > 100
    return made.rota.rounds


def of_round(one: Round, part: str) -> list[Work]:
    """Return what a keeper does of a round in a part of the day."""
    own = [
        Work(t.item.job, with_name=t.helper.name if t.helper else "", quarantine=t.item.quarantine)
        for t in one.tasks
    ]
    helps = [Work(t.item.job, lent_to=t.keeper.name) for t in one.helps]
    return [work for work in (*own, *helps) if work.job.part == part]


def all_rounds() -> Iterator[list[Work]]:
    for one in rounds():
        for part in ("morning", "evening"):
            works = of_round(one, part)
            if works:
                yield works


# --- whole notes ---


def test_the_note_of_a_water_change(golden: Callable[[str, str], None]) -> None:
    (change,) = {
        w.job.ref: w.job for works in parts("one-tank").values() for w in works if w.job.key == "water-change"
    }.values()
    golden("note-water-change.txt", job_note(change, link=f"{LINK}#tank-tejo") + "\n")


def test_the_note_of_a_households_routine(golden: Callable[[str, str], None]) -> None:
    works = [work for work in parts("household")[dt.date(2026, 12, 25), "morning"] if work.job.routine]
    done = ("Done: 18 Dec, Ines: all of it", "Done: 11 Dec, Des")
    golden("note-household-routine.txt", group_note(works, limit=ROUTINE_LIMIT, done=done) + "\n")


def test_the_note_of_a_volunteers_round(golden: Callable[[str, str], None]) -> None:
    works = next(w for w in all_rounds() if {work.quarantine for work in w} == {True, False})
    golden("note-rescue-round.txt", group_note(works, limit=ROUND_LIMIT, link=LINK) + "\n")


# --- nothing is lost ---


def own_part(text: str, work: Work) -> str:
    """Return what stands under the job at its enclosure: to the next box, or the next blank line."""
    place = work.job.enclosure
    _, _, here = text.rpartition(f"\n{place.name}" + (f" ({place.room})\n" if place.room else "\n"))
    _, _, under = here.partition(f"{work.line}\n")
    return under.partition("\n\n")[0].partition("\n[ ]")[0]


def assert_whole(text: str, works: list[Work]) -> None:
    lines = text.splitlines()
    for work in works:
        assert any(line.removeprefix("[ ] ") == work.line for line in lines)
        notes = work.job.notes()
        for caution in notes.cautions:
            assert any(line == f"- {caution.short}" for line in lines), caution.short
        if not work.lent_to:
            assert all(step in text for step in notes.steps), work.job.word
            assert notes.amount is None or notes.amount.value in own_part(text, work)


@pytest.mark.parametrize("name", EVERY_SAMPLE)
def test_the_note_of_a_job_has_its_steps_its_amount_and_its_cautions(name: str) -> None:
    jobs = {work.job.ref: work.job for works in parts(name).values() for work in works}
    assert len(jobs) > 20
    for job in jobs.values():
        text = job_note(job, link=LINK)
        assert text.startswith(Work(job).line + "\n")
        assert_whole(text, [Work(job)])
        assert len(text) <= JOB_LIMIT
        for source in job.notes().sources:
            assert str(source) not in text


@pytest.mark.parametrize("name", EVERY_SAMPLE)
def test_so_has_the_note_of_a_routine_and_of_a_whole_part_of_the_day(name: str) -> None:
    for works in parts(name).values():
        assert_whole(group_note(works, limit=ROUND_LIMIT), works)
    for works in routines(name):
        assert_whole(group_note(works, limit=ROUTINE_LIMIT), works)


def test_so_has_the_note_of_a_round() -> None:
    for works in all_rounds():
        assert_whole(group_note(works, limit=ROUND_LIMIT, link=LINK), works)


@pytest.mark.parametrize(
    ("name", "most"), [("one-tank", ROUTINE_LIMIT), ("household", ROUTINE_LIMIT), ("rescue", ROUND_LIMIT)]
)
def test_a_routine_of_the_samples_is_within_its_length(name: str, most: int) -> None:
    assert max(len(group_note(works, limit=most, link=LINK)) for works in routines(name)) <= most


def test_a_round_of_the_samples_is_within_its_length() -> None:
    lengths = [len(group_note(works, limit=ROUND_LIMIT, link=LINK)) for works in all_rounds()]
    assert max(lengths) <= ROUND_LIMIT


@pytest.mark.parametrize("name", EVERY_SAMPLE)
def test_no_step_stands_twice_but_the_one_with_the_amount(name: str) -> None:
    for works in [*routines(name)][:28]:
        notes = [work.job.notes() for work in works]
        own = {
            step
            for one in notes
            for step in one.steps
            if one.amount and one.amount.value and one.amount.value in step
        }
        lines = group_note(works, limit=0).splitlines()
        steps = [line.partition(". ")[2] for line in lines if line[:1].isdigit() and " as at " not in line]
        steps = [step for step in steps if step and step not in own]
        assert len(steps) == len({*steps})


# --- what is said once, and how ---


def job(
    tank: str,
    key: str,
    *steps: str,
    room: str | None = None,
    reason: str = "",
    careful: tuple[Caution, ...] = (),
    rank: int = 0,
) -> Job:
    enclosure = Enclosure(name=tank, id=tank.lower(), kind="tank", room=room)
    sources = (HOUSE,) if careful or reason else (KEEPER,)
    return Job(
        enclosure=enclosure,
        key=key,
        title=key.replace("-", " "),
        short=key.replace("-", " ").capitalize(),
        cadence=On(days=(TODAY,)),
        minutes=10,
        rank=rank,
        notes=lambda: Notes(steps=steps, cautions=careful, reason=reason, sources=sources),
    )


def test_a_step_that_stands_above_is_there_by_its_number() -> None:
    works = [
        Work(job("Den", "feed", "Read the water.", "Give 3 g.", "Take leftovers out.", "Look who ate.")),
        Work(job("Elm", "feed", "Read the water.", "Give 7 g.", "Take leftovers out.", "Look who ate.")),
        Work(job("Fir", "feed", "Feed nothing.", "Read the water.", "Give 7 g.", "Take leftovers out.")),
        Work(job("Gum", "feed", "Read the water.", "Give 3 g.", "Take leftovers out.", "Look who ate.")),
    ]
    assert (
        group_note(works, limit=ROUTINE_LIMIT)
        == """\
Feed x 4, 40 min
Den
[ ] Feed, 10 min
1. Read the water.
2. Give 3 g.
3. Take leftovers out.
4. Look who ate.

Elm
[ ] Feed, 10 min
1, 3, 4 as at Den.
2. Give 7 g.

Fir
[ ] Feed, 10 min
1. Feed nothing.
2, 4 as 1, 3 at Den; 3 as 2 at Elm.

Gum
[ ] Feed, 10 min
As at Den."""
    )


def test_it_may_be_a_step_of_another_job() -> None:
    works = [
        Work(job("Den", "check", "Unplug the filter.", "Rinse the sponges.")),
        Work(job("Den", "rinse", "Unplug the filter.", "Rinse half of the media.", rank=1)),
        Work(job("Elm", "rinse", "Unplug the filter.", "Swirl half of the media.")),
        Work(job("Elm", "look", "Rinse the sponges.", rank=1)),
    ]
    assert (
        group_note(works, limit=ROUTINE_LIMIT)
        == """\
Check, Rinse x 2, Look, 40 min
Den
[ ] Check, 10 min
1. Unplug the filter.
2. Rinse the sponges.
[ ] Rinse, 10 min
1 as 1 of Check above.
2. Rinse half of the media.

Elm
[ ] Rinse, 10 min
1 as 1 of Check at Den.
2. Swirl half of the media.
[ ] Look, 10 min
1 as 2 of Check at Den."""
    )


def test_quarantine_comes_last_with_all_that_is_done_there() -> None:
    works = [
        Work(job("Ark", "weigh", "Weigh it.", room="shed", rank=1), quarantine=True),
        Work(job("Ark", "feed", "Give 1 g.", room="shed")),
        Work(job("Den", "feed", "Give 3 g.", room="hall")),
    ]
    assert (
        group_note(works, limit=ROUND_LIMIT)
        == """\
Weigh, Feed x 2, 30 min
Den (hall)
[ ] Feed, 10 min
- Give 3 g.

Quarantine, last: tools of its own; wash your hands before and after.
Ark (shed)
[ ] Feed, 10 min
- Give 1 g.
[ ] Weigh, 10 min
- Weigh it."""
    )


def test_late_work_and_a_second_person_are_named() -> None:
    change = job("Den", "water-change", "Drain 114 L.", careful=(cautions.lift(10.0), HANDS))
    works = [
        Work(change, late_since=dt.date(2026, 11, 28), with_name="Des"),
        Work(job("Elm", "water-change", "Drain 90 L.", careful=(cautions.lift(10.0),)), lent_to="Ines"),
    ]
    assert (
        group_note(works, limit=ROUND_LIMIT, link=LINK, heading="Water change Den, 1 more")
        == """\
Water change Den, 1 more
Den
[ ] Water change, 10 min, with Des, late since 28 November 2026
- Drain 114 L.

Elm
[ ] Lend a hand to Ines: Water change, 10 min

Take care:
- Back: pails of at most 10 L (2.6 gal), close, no twisting; else a hose.
- Salmonella: wash hands with soap after. Not if under 5, 65+ or immune-weak.

All of it: https://turtles.example/p/secret"""
    )
    assert job_note(change, late_since=dt.date(2026, 11, 28), with_name="Des").startswith(
        "Water change, 10 min, with Des, late since 28 November 2026\nDrain 114 L.\n\nTake care:\n"
    )


def test_cautions_come_once_with_current_and_hands_last() -> None:
    works = [
        Work(job("Den", "check", "Unplug it.", careful=(HANDS, UNPLUG, SINK))),
        Work(job("Elm", "check", "Unplug both.", careful=(UNPLUG, HEATER, HANDS))),
    ]
    text = group_note(works, limit=ROUTINE_LIMIT, beside=(cautions.lift(8.0),))
    assert (
        text.partition("Take care:\n")[2]
        == """\
- Heater: cool for 15 to 30 minutes before draining; on only under water.
- Germs: tank water, pails and filter parts stay out of the kitchen.
- Back: pails of at most 8 L (2.1 gal), close, no twisting; else a hose.
- Current: unplug all before hands go in; dry hands; faults: electrician.
- Salmonella: wash hands with soap after. Not if under 5, 65+ or immune-weak.

All of it: pondround jobs --explain"""
    )


def test_a_reason_is_one_sentence_and_goes_first_where_there_is_no_room() -> None:
    why = "it takes nitrate out. At this rhythm nitrate stands at about 40 mg/L."
    change = job("Den", "water-change", "Drain 114 L.", reason=why)
    feeds = [Work(job(tank, "feed", f"Give {tank}.", reason="it is hungry.")) for tank in ("Den", "Elm")]
    whole = group_note([Work(change), *feeds], limit=ROUTINE_LIMIT)
    assert "\n- Drain 114 L.\nWhy: it takes nitrate out.\n" in whole
    # What many share is not worth its lines, and a note that is too long has no reasons at all.
    assert whole.count("Why:") == 1
    assert group_note([Work(change), *feeds], limit=len(whole) - 1) == whole.replace(
        "\nWhy: it takes nitrate out.", ""
    )
    assert job_note(change) == (
        "Water change, 10 min\nDrain 114 L.\n\nWhy: it takes nitrate out.\n\nAll of it: pondround jobs --explain"
    )
    long = job("Den", "water-change", "Drain. " * 285, reason=why)
    assert job_note(long) == f"Water change, 10 min\n{'Drain. ' * 285}\n\nAll of it: pondround jobs --explain"


def test_steps_amounts_and_cautions_are_not_cut_above_the_limit() -> None:
    works = [
        Work(job("Den", f"job-{n}", f"Step {n}: " + "carry the water slowly. " * 30, careful=(HANDS,)))
        for n in range(20)
    ]
    text = group_note(works, limit=ROUTINE_LIMIT)
    assert len(text) > ROUTINE_LIMIT
    assert_whole(text, works)


def test_a_keepers_own_words_are_the_whole_of_it() -> None:
    own = job("Den", "photo", "Take a picture from above.")
    assert job_note(own, link=LINK) == "Photo, 10 min\nTake a picture from above."


def test_what_was_done_stands_below() -> None:
    text = group_note(
        [Work(job("Den", "feed", "Give 3 g.", careful=(HANDS,)))],
        limit=ROUTINE_LIMIT,
        done=("Done: 23 Nov, Ines: left half", "Done: 16 Nov, Des"),
        link=LINK,
    )
    assert text.endswith(f"\n\nDone: 23 Nov, Ines: left half\nDone: 16 Nov, Des\n\nAll of it: {LINK}")
