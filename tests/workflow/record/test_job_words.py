"""What the words of `did` mean: each row is what a keeper writes, and the jobs it stands for or what he is told."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

import scheduler
from scheduler import care
from scheduler.description import Site
from scheduler.errors import UsageError
from scheduler.history import NO_HISTORY, History, JobRef
from scheduler.plan import Next
from scheduler.workflow.record.job_words import Meant, jobs_named

DAY = dt.date(2026, 12, 5)


def load(text: str) -> Site:
    return scheduler.loads(f'[site]\nname = "Fen Lane"\n{text}')


def tank(name: str, more: str = "") -> str:
    return f'[[enclosure]]\nname = "{name}"\nset_up = 2026-06-01\ncycled = true\n{more}'


UV = '[[enclosure.lamp]]\nkind = "{}"\ninstalled = 2026-06-01\nhours_a_day = 10\n'
TWO_LAMPS = UV.format("T5 HO tube") + UV.format("mercury vapour")
LIKE_LAMPS = UV.format("T5 HO tube") * 2
ARRIVALS = "".join(
    f'[[enclosure.resident]]\nname = "{name}"\nspecies = "painted turtle"\narrived = {day}\n'
    for name, day in (("Fern", "2026-12-10"), ("Moss", "2027-03-20"))
)

ONE = load(tank("Sedge"))
THREE = load(tank("Sedge") + tank("Sedge annexe") + tank("Reed", TWO_LAMPS))
# Enclosures that bear the names of jobs, and names that differ in nothing but what follows.
MISNAMED = load(tank("Feed") + tank("Water") + tank("Wipe-down"))
LAMPS = load(tank("Sedge", LIKE_LAMPS + TWO_LAMPS.replace("2026-06-01", "2026-07-01")))
COMING = load(tank("Sedge", ARRIVALS + '[[enclosure.extra_job]]\nkey = "pump"\ntitle = "try the pump"\nevery = "30 days"\n'))  # fmt: skip


def named(site: Site, words: str, day: dt.date = DAY) -> str:
    """Return the jobs that words stand for, the words parted by commas."""
    jobs = jobs_named(site, list(care.jobs(site, NO_HISTORY)), words.split(", "), Meant(day=day, today=day))
    return ", ".join(f"{j.enclosure.name} {j.key}{'/' + j.variant if j.variant else ''}" for j in jobs)


UNDERSTOOD = [
    # a single enclosure may be left out
    (ONE, "daily-look", "Sedge daily-look"),
    (ONE, "daily-look, top-up", "Sedge daily-look, Sedge top-up"),
    (ONE, "Sedge, daily-look", "Sedge daily-look"),
    # several jobs, several enclosures, and again; in the order in which they were written
    (THREE, "reed, top-up, daily-look", "Reed top-up, Reed daily-look"),
    (THREE, "reed, sedge, daily-look", "Reed daily-look, Sedge daily-look"),
    (THREE, "reed, sedge, daily-look, top-up", "Reed daily-look, Reed top-up, Sedge daily-look, Sedge top-up"),
    (THREE, "reed, top-up, sedge, daily-look", "Reed top-up, Sedge daily-look"),
    (THREE, "reed, top-up, reed, daily-look", "Reed top-up, Reed daily-look"),
    # what is written twice was done once
    (THREE, "reed, top-up, top-up", "Reed top-up"),
    (THREE, "reed, top-up, reed, top-up", "Reed top-up"),
    # names in any case, ids, beginnings; a whole name goes before the beginning of another
    (THREE, "REED, Daily-Look", "Reed daily-look"),
    (THREE, "sedge-annexe, top-up", "Sedge annexe top-up"),
    (THREE, "re, daily", "Reed daily-look"),
    (THREE, "sedge, daily", "Sedge daily-look"),
    (THREE, "sedge a, wipe", "Sedge annexe wipe-down"),
    (ONE, "water-c", "Sedge water-change"),
    # an enclosure with the name of a job: the first word is the enclosure, what follows it the job
    (MISNAMED, "feed, top-up", "Feed top-up"),
    (MISNAMED, "wipe-down, wipe-down", "Wipe-down wipe-down"),
    (MISNAMED, "feed, wipe-down", "Feed wipe-down"),
    (MISNAMED, "feed, top-up, water, wipe-down", "Feed top-up, Water wipe-down"),
    # one of several lamps, by a beginning of what follows the stroke
    (THREE, "reed, uv-lamp-replace/t5", "Reed uv-lamp-replace/t5-ho-tube-2026-06-01"),
    (THREE, "reed, uv-lamp-r/MERC", "Reed uv-lamp-replace/mercury-vapour-2026-06-01"),
    (LAMPS, "uv-lamp-replace/t5-ho-tube-2026-06-01", "Sedge uv-lamp-replace/t5-ho-tube-2026-06-01"),
    (LAMPS, "uv-lamp-replace/t5-ho-tube-2026-06-01--2", "Sedge uv-lamp-replace/t5-ho-tube-2026-06-01--2"),
    (LAMPS, "uv-lamp-replace/merc", "Sedge uv-lamp-replace/mercury-vapour-2026-07-01"),
    # of two arrivals the one that is near needs no more
    (COMING, "pre-arrival-check", "Sedge pre-arrival-check/2026-12-10"),
    (COMING, "pre-arrival-check/2027", "Sedge pre-arrival-check/2027-03-20"),
    # a duty of the keeper's own
    (COMING, "pump", "Sedge pump"),
    # titles, whole or begun, with hyphens or spaces, in any case
    (COMING, "try the pump", "Sedge pump"),
    (COMING, "Try the", "Sedge pump"),
    (ONE, "Water change", "Sedge water-change"),
    (THREE, "reed, clean lamps, daily look", "Reed lamp-clean, Reed daily-look"),
    (THREE, "reed, replace the mercury vapour lamp", "Reed uv-lamp-replace/mercury-vapour-2026-06-01"),
]  # fmt: skip


@pytest.mark.parametrize(("site", "words", "meant"), UNDERSTOOD)
def test_words_that_are_understood(site: Site, words: str, meant: str) -> None:
    assert named(site, words) == meant


@pytest.mark.parametrize(("day", "meant"), [("2026-12-01", "2026-12-10"), ("2027-03-15", "2027-03-20")])
def test_which_arrival_is_meant_hangs_on_the_day(day: str, meant: str) -> None:
    assert (
        named(COMING, "pre-arrival-check", dt.date.fromisoformat(day)) == f"Sedge pre-arrival-check/{meant}"
    )


TOLD = [
    (THREE, "daily-look", '"daily-look" is a job; name its enclosure first: Reed, Sedge, Sedge annexe'),
    (THREE, "sedge", 'name what was done in Sedge: pondround did "Sedge" water-change'),
    (THREE, "reed, top-up, sedge", 'name what was done in Sedge: pondround did "Sedge" water-change'),
    (ONE, "sedge, dayly-look", 'there is no enclosure and no job "dayly-look"; nearest: daily-look'),
    (THREE, "read, daily-look", 'there is no enclosure and no job "read"; nearest: Reed'),
    (THREE, "se, daily-look", '"se" may mean any enclosure of Sedge, Sedge annexe, sedge, sedge-annexe; write more of it'),
    (ONE, "water", '"water" may mean any job in Sedge of water-change, water-test; write more of it'),
    (MISNAMED, "w, top-up", '"w" may be an enclosure or a job; write more of it'),
    (MISNAMED, "feed, wi", '"wi" may be an enclosure or a job; write more of it'),
    (ONE, "uv-lamp-replace", 'there is no enclosure and no job "uv-lamp-replace"; enclosures: Sedge; jobs: cold-season-check, daily-look, fit-out, supplies, top-up, treat-driftwood, water-change, water-test, wipe-down'),
    (ONE, "zebra", 'there is no enclosure and no job "zebra"; enclosures: Sedge; jobs: cold-season-check, daily-look, fit-out, supplies, top-up, treat-driftwood, water-change, water-test, wipe-down'),
    (ONE, "", '"" may be an enclosure or a job; write more of it'),
    (ONE, "\x1b[2J", 'there is no enclosure and no job "\\u001b[2J"; enclosures: Sedge; jobs: cold-season-check, daily-look, fit-out, supplies, top-up, treat-driftwood, water-change, water-test, wipe-down'),
    # jobs that this enclosure does not have, though another one does
    (THREE, "sedge, lamp-clean", "Sedge has no job lamp-clean; it has: treat-driftwood, fit-out, daily-look, water-test, water-change, top-up, wipe-down, cold-season-check, supplies"),
    (THREE, "sedge, lamp-c", 'there is no job in Sedge "lamp-c"; there are: cold-season-check, daily-look, fit-out, supplies, top-up, treat-driftwood, water-change, water-test, wipe-down'),
    (THREE, "reed, replace the", '"replace the" may mean replace the T5 HO tube lamp, replace the mercury vapour lamp; write more of it'),
    # which of several
    (THREE, "reed, uv-lamp-replace", "Reed has several: uv-lamp-replace/t5-ho-tube-2026-06-01 (replace the T5 HO tube lamp); uv-lamp-replace/mercury-vapour-2026-06-01 (replace the mercury vapour lamp). Write which; its beginning is enough"),
    (THREE, "reed, uv-lamp-replace/t8", 'there is no uv-lamp-replace in Reed "t8"; there are: mercury-vapour-2026-06-01, t5-ho-tube-2026-06-01'),
    (LAMPS, "uv-lamp-replace/t5", '"t5" may mean any uv-lamp-replace in Sedge of t5-ho-tube-2026-06-01, t5-ho-tube-2026-06-01--2, t5-ho-tube-2026-07-01; write more of it'),
    (ONE, "top-up/t5", 'there is no top-up in Sedge "t5"; there are none'),
]  # fmt: skip


@pytest.mark.parametrize(("site", "words", "told"), TOLD)
def test_words_that_are_not(site: Site, words: str, told: str) -> None:
    with pytest.raises(UsageError) as raised:
        named(site, words)
    assert str(raised.value) == told


PACKS = load(tank("Sedge", '[enclosure.feed]\nname = "pellets"\ngrams = 3\nmeals_a_week = 7\npack = "100 g"\nopened = 2026-11-15\n[[enclosure.resident]]\nname = "Fern"\n'))  # fmt: skip

SEVERAL = [
    # (open under the key: title and since when, recorded for the day, what is written, what is meant)
    ([], [], "supplies", "supplies"),
    ([("food", "2026-12-03")], [], "supplies", "supplies/food"),
    ([("food", "2026-12-03")], [], "order the food", "supplies/food"),
    ([("food", "2026-12-03")], [], "supplies/", "supplies"),
    ([("", "2026-12-04")], [], "supplies", "supplies"),
    ([("", "2026-12-04")], [], "supplies/food", "supplies/food"),
    # what is not due before tomorrow is not open
    ([("food", "2026-12-06")], [], "supplies", "supplies"),
    # said twice it is the same again
    ([], ["food"], "supplies", "supplies/food"),
    ([("", "2026-12-05")], ["food"], "supplies", "supplies"),
    (
        [("", "2026-12-05"), ("food", "2026-12-03")],
        [],
        "supplies",
        "Sedge has several open: supplies/ (supplies); supplies/food (order the food, due since 3 December 2026). Write which; its beginning is enough",
    ),
]


@pytest.mark.parametrize(("due", "done", "words", "meant"), SEVERAL)
def test_of_several_jobs_of_a_key_the_open_one_is_meant(
    due: list[tuple[str, str]], done: list[str], words: str, meant: str
) -> None:
    jobs = list(care.jobs(PACKS, NO_HISTORY))
    by_variant = {job.variant: job for job in jobs if job.key == "supplies"}
    coming = {
        JobRef("sedge", "supplies", of): Next(by_variant[of], dt.date.fromisoformat(day), None)
        for of, day in due
    }
    last = {JobRef("sedge", "supplies", of): DAY for of in done}
    stand = Meant(day=DAY, today=DAY, next=coming, history=History(DAY, last))
    try:
        (job,) = jobs_named(PACKS, jobs, [words], stand)
    except UsageError as error:
        assert str(error) == meant
    else:
        assert job.word == meant


def test_what_was_open_on_an_earlier_day_is_meant_for_it() -> None:
    """Ordered in its window of three days, and written down later: the order. Two weeks ago it was not in sight."""
    jobs = list(care.jobs(PACKS, NO_HISTORY))
    food = next(job for job in jobs if job.word == "supplies/food")
    coming = {JobRef("sedge", "supplies", "food"): Next(food, DAY, None)}
    for days, meant in ((3, "supplies/food"), (4, "supplies")):
        stand = Meant(day=DAY - dt.timedelta(days=days), today=DAY, next=coming)
        assert [job.word for job in jobs_named(PACKS, jobs, ["supplies"], stand)] == [meant]


def test_without_a_word_an_enclosure_is_named() -> None:
    with pytest.raises(UsageError) as raised:
        jobs_named(THREE, list(care.jobs(THREE, NO_HISTORY)), [], Meant(day=DAY, today=DAY))
    assert (
        str(raised.value)
        == 'name an enclosure and what was done there: pondround did "Sedge annexe" water-change'
    )


@pytest.mark.parametrize("site", [ONE, THREE, MISNAMED, LAMPS, COMING], ids=["one", "three", "misnamed", "lamps", "coming"])  # fmt: skip
def test_every_job_has_words_that_mean_it_and_no_other(site: Site) -> None:
    """What the program lists can be typed: a key, with its variant where there is one, after the enclosure's id."""
    jobs = [job for job in care.jobs(site, NO_HISTORY) if job.recorded_as is None]
    for job in jobs:
        word = job.key + (f"/{job.variant}" if job.variant else "")
        assert jobs_named(site, jobs, [job.enclosure.id, word], Meant(day=DAY, today=DAY)) == [job]


@given(
    st.lists(
        st.text(max_size=12) | st.sampled_from(["sedge", "reed", "w", "uv-lamp-replace/", "/", "top-up"]),
        max_size=6,
    )
)
def test_any_words_are_jobs_or_a_sentence(words: list[str]) -> None:
    jobs = list(care.jobs(THREE, NO_HISTORY))
    try:
        found = jobs_named(THREE, jobs, words, Meant(day=DAY, today=DAY))
    except UsageError as error:
        told = str(error)
        assert told and told.isprintable()
    else:
        assert found
        assert len({id(job) for job in found}) == len(found)
        assert all(any(job is one for one in jobs) for job in found)
