"""Titles of calendar entries: tables of what there is to do, and what a calendar shows of it.

5 characters are what a month's view was measured to show of an entry, 20 what a telephone's list does.
"""

from __future__ import annotations

import unicodedata

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st
from support.recorded import load

from scheduler import care
from scheduler.calendar.titles import (
    done_title,
    job_title,
    keeper_names,
    late_title,
    place_names,
    round_title,
    routine_title,
)
from scheduler.care import Job, Notes, On


def site_of(*enclosures: str, keepers: tuple[str, ...] = ()):
    """Return a site of enclosures and keepers by these names, with the ids e0, e1, ... and k0, k1, ..."""
    table = {
        "site": {"name": "Fen"},
        "keeper": [{"name": name, "id": f"k{n}"} for n, name in enumerate(keepers)],
        "enclosure": [{"name": name, "id": f"e{n}"} for n, name in enumerate(enclosures)],
    }
    return load(tomli_w.dumps(table))


# --- places ---


@pytest.mark.parametrize(
    ("names", "places"),
    [
        # With one enclosure a place tells nothing.
        (["Den tank"], [""]),
        (["Den tank", "Basement tub", "Old pond"], ["Den", "Basement", "Old"]),
        (["Sedge", "Opal's tank"], ["Sedge", "Opal's"]),
        (["Den Tank", "Basement TUB"], ["Den", "Basement"]),
        # What is left has to be nobody else's name.
        (["Den tank", "den tub", "Old pond"], ["Den tank", "den tub", "Old"]),
        (["Den tank", "Den"], ["Den tank", "Den"]),
        (["Den tank pond", "Den tank"], ["Den tank pond", "Den"]),
        # Something has to be left, and only a last word falls away.
        (["Tank", "Pond"], ["Tank", "Pond"]),
        (["Tank room", "Fishtank"], ["Tank room", "Fishtank"]),
        (["池", "Στέρνα tank"], ["池", "Στέρνα"]),
    ],
)
def test_a_place_drops_what_kind_it_is_where_it_stays_unique(names, places):
    assert list(place_names(site_of(*names)).values()) == places


# --- keepers ---


@pytest.mark.parametrize(
    ("names", "short"),
    [
        (["Des", "Noor", "Aoife"], ["Des", "Noor", "Aoife"]),
        (["Desmond", "Bartholomew"], ["Des", "Bar"]),
        # One more letter where two begin alike.
        (["Desmond", "Desiree"], ["Desm", "Desi"]),
        (["Desmond", "Des"], ["Desm", "Des"]),
        (["Marian", "Marianne"], ["Marian", "Mariann"]),
        (["desmond", "DESIREE"], ["desm", "DESI"]),
        # A space is no letter to end with.
        (["Jo Miller", "Jo Meyer"], ["Jo Mi", "Jo Me"]),
        (["Al Miller", "Noor"], ["Al M", "Noor"]),
        # An accent stays on its letter, however it is written; and tells apart.
        (["Zoe\u0308lla", "Zoella"], ["Zoe\u0308", "Zoe"]),
        (["Zoe\u0308lla", "Zo\u00ebtrope"], ["Zoe\u0308l", "Zo\u00ebt"]),
        (["श्रीनिवासन", "Ольга Петровна"], ["श्रीनि", "Оль"]),
    ],
)  # fmt: skip
def test_a_keepers_name_is_shortened_to_what_is_nobody_elses(names, short):
    assert list(keeper_names(site_of("Sedge", keepers=tuple(names))).values()) == short


# --- jobs ---

TANKS = """
[site]
name = "Fen"
[[enclosure]]
name = "Den tank"
id = "den"
{equipment}
{own}
[[enclosure]]
name = "Basement tub"
id = "basement"
{equipment}
"""
EQUIPMENT = """
set_up = 2026-10-03
cycled = true
filter = {kind = "canister"}
heater = [{power = "200 W"}]
lamp = [{kind = "T5 HO tube", installed = 2026-10-03}]
resident = [{name = "RESIDENT", species = "painted turtle", carapace = "12 cm", arrived = 2026-10-20}]
"""
OWN = """
[[enclosure.extra_job]]
key = "barrel"
title = "Rinse the rain barrel"
every = "6 weeks"
[[enclosure.extra_job]]
key = "hose"
title = "rinse and hang up the garden room's hose"
short = "Hose up"
every = "7 days"
[[enclosure.extra_job]]
key = "lid"
title = "see to the lid"
rule = "FREQ=WEEKLY;BYDAY=MO"
routine = true
[[enclosure.extra_job]]
key = "radio"
title = "turn the radio on for them, softly"
rule = "FREQ=DAILY"
routine = true
"""
SITE = load(
    TANKS.replace("{equipment}", EQUIPMENT.replace("RESIDENT", "Wren"), 1)
    .replace("{equipment}", EQUIPMENT.replace("RESIDENT", "Teal"))
    .replace("{own}", OWN)
)
PLACES = place_names(SITE)
JOBS = {(job.enclosure.id, job.key): job for job in care.jobs(SITE)}
NOWHERE = dict.fromkeys(PLACES, "")


def made(key: str, short: str, enclosure: str = "den", **more) -> Job:
    """Return a job as an alarm brings it, or one that is no longer in the plan."""
    return Job(
        enclosure=next(e for e in SITE.enclosures if e.id == enclosure),
        key=key,
        title=short,
        short=short,
        cadence=On(days=()),
        minutes=5,
        notes=lambda: Notes(steps=("Look.",)),
        **more,
    )


ALARMS = {
    "lost weight": made("vet-check", "Vet: Wren", variant="weight-wren", recorded_as="", fixed=True),
    "cold": made(
        "heater-check", "Too cold: heater", variant="temperature-2026-12-01", recorded_as="", fixed=True
    ),
    "stop": made("feed", "Feed: see note", routine=True, read_first=True),
}


def named(word: str) -> Job:
    """Return a job by `key`, in the den, or `key@enclosure`; an alarm by its word."""
    key, _, enclosure = word.partition("@")
    return ALARMS[key] if key in ALARMS else JOBS[enclosure or "den", key]


@pytest.mark.parametrize(
    ("word", "title", "late", "alone"),
    [
        ("water-change", "Water change: Den", "Late: water change Den", "Water change"),
        ("weigh-measure@basement", "Weigh: Basement", "Late: weigh Basement", "Weigh"),
        ("cord-check", "Cords, hoses: Den", "Late: cords, hoses Den", "Cords, hoses"),
        ("rcd-test", "RCD test: Den", "Late: RCD test Den", "RCD test"),
        ("uvi-reading", "UVI reading: Den", "Late: UVI reading Den", "UVI reading"),
        # One colon is enough.
        ("cold", "Too cold: heater, Den", "Late: too cold: heater Den", "Too cold: heater"),
        ("stop", "Feed: see note, Den", "Late: feed: see note Den", "Feed: see note"),
        # An animal's name says where.
        ("lost weight", "Vet: Wren", "Late: Vet: Wren", "Vet: Wren"),
        # The keeper's words are left as they are.
        ("barrel", "Rinse the rain barrel: Den", "Late: Rinse the rain barrel Den", "Rinse the rain barrel"),
        ("hose", "Hose up: Den", "Late: Hose up Den", "Hose up"),
    ],
)
def test_a_job_by_itself(word, title, late, alone):
    job = named(word)
    place = PLACES[job.enclosure.id]
    assert job_title(job, place) == title
    assert late_title(job, place) == late
    assert done_title(job, place) == late.replace("Late: ", "Done: ")
    assert job_title(job, "") == alone


def test_a_job_that_is_no_longer_in_the_plan():
    assert done_title(made("cycle-test", "cycle test"), "Den") == "Done: cycle test Den"
    assert done_title(made("gone", "Brush the pane"), "") == "Done: Brush the pane"


# --- the routine ---


@pytest.mark.parametrize(
    ("words", "title"),
    [
        (["daily-look"], "Look in"),
        (["daily-look", "feed"], "Feed, look in"),
        # The works of several tanks, each once.
        (["daily-look", "feed", "daily-look@basement", "feed@basement"], "Feed, look in"),
        (["daily-look", "daily-look@basement", "feed@basement"], "Feed, look in"),
        # What does not fit is left out from the end: a keeper who settles an animal in looks in any case.
        (["daily-look", "basking-watch"], "Watch basking"),
        (["daily-look", "basking-watch", "feed"], "Feed, watch basking"),
        # Not daily, and the keeper's own: after the feeding, before what is on every day.
        (["daily-look", "lid"], "see to the lid"),
        (["daily-look", "lid", "feed"], "Feed, see to the lid"),
        # A title that does not fit is cut between words; others follow only where there is room.
        (["radio"], "turn the radio on"),
        (["radio", "daily-look"], "turn the radio on"),
        (["radio", "feed"], "Feed"),
        # What has to be read first is first, and a feed without it is another work.
        (["stop", "daily-look", "lid"], "Feed: see note"),
        (["daily-look", "stop", "feed@basement"], "Feed: see note, feed"),
    ],
)
def test_a_routine_shows_what_is_not_on_every_day_first(words, title):
    assert routine_title(map(named, words)) == title
    assert routine_title(map(named, reversed(words))) == title
    assert len(title) <= 20


def own_routine(title: str) -> Job:
    return made("own", title, routine=True)


@pytest.mark.parametrize(
    ("title", "shown"),
    [
        ("Look, listen, and on", "Look, listen, and on"),
        ("Look, listen, and so on", "Look, listen, and so"),
        ("Donaudampfschifffahrtsgesellschaft", "Donaudampfschifffahr"),
        ("a" + "\u0301" * 30, "a" + "\u0301" * 30),
        ("水を換えて餌をやり甲羅の様子をよく見ること", "水を換えて餌をやり甲羅の様子をよく見るこ"),
    ],
)
def test_a_long_title_of_the_keepers_is_cut_where_it_can_be(title, shown):
    assert routine_title([own_routine(title)]) == shown


def test_a_daily_feed_is_told_after_what_is_not_daily_and_before_the_look():
    daily = load(TANKS.replace("{equipment}", EQUIPMENT + '[enclosure.job.feed]\nevery = "1 day"\n', 1)
                 .replace("{equipment}", "").replace("{own}", OWN))  # fmt: skip
    jobs = {job.key: job for job in care.jobs(daily) if job.enclosure.id == "den"}
    assert jobs["feed"].is_daily and not jobs["lid"].is_daily
    assert routine_title([jobs["daily-look"], jobs["feed"]]) == "Feed, look in"
    assert routine_title([jobs["daily-look"], jobs["feed"], jobs["lid"]]) == "see to the lid, feed"


# --- rounds ---


@pytest.mark.parametrize(
    ("words", "minutes", "title"),
    [
        # A word with ! is late.
        (["water-change"], 45, "Water change Den"),
        (["daily-look", "feed", "water-change"], 60, "Water change Den, 2 more"),
        (["daily-look@basement", "water-change", "water-change@basement"], 95, "Water change x 2, 1 more"),
        (["rcd-test", "rcd-test@basement"], 10, "RCD test x 2"),
        # The leading work is that of the house order, wherever it stands in the round.
        (["top-up", "water-test", "weigh-measure@basement", "feed"], 40, "Weigh Basement, 3 more"),
        (["top-up", "barrel", "daily-look"], 40, "Top up Den, 2 more"),
        (["hose", "daily-look", "feed"], 40, "Hose up Den, 2 more"),
        # Among equals the first in the walk.
        (["filter-check", "heater-check@basement"], 40, "Filter check Den, 1 more"),
        # What is overdue leads.
        (["water-change", "!top-up", "daily-look"], 50, "Late: top up Den, 2 more"),
        (["water-change", "!water-change@basement"], 90, "Late: water change Basement, 1 more"),
        (["!water-change", "!water-change@basement", "feed"], 90, "Late: water change x 2, 1 more"),
        (["!rcd-test"], 5, "Late: RCD test Den"),
        (["!feed", "daily-look", "water-test"], 20, "Late: feed Den, 2 more"),
        (["!feed", "daily-look"], 20, "Late: feed Den, 1 more"),
        # What an alarm asks for leads before it.
        (["water-change", "!top-up", "cold"], 50, "Too cold: heater Den, 2 more"),
        (["!lost weight", "!water-change"], 165, "Late: Vet: Wren, 1 more"),
        (["lost weight", "feed"], 130, "Vet: Wren, 1 more"),
        # A round of routine.
        (["daily-look", "feed"], 15, "Feed, look in Den"),
        (["daily-look", "feed", "daily-look@basement"], 20, "Feed, look in"),
        # Many more: the minutes tell more.
        (["rcd-test", "rcd-test@basement", *["daily-look"] * 20], 140, "RCD test x 2, 20 more"),
        (["rcd-test", "rcd-test@basement", *["daily-look"] * 29], 140, "RCD test x 2 +29, 2 h 20"),
        (["rcd-test", *["daily-look"] * 29], 120, "RCD test Den +29, 2 h"),
        (["rcd-test", *["daily-look"] * 29], 55, "RCD test Den +29, 55 min"),
    ],
)  # fmt: skip
def test_a_round_is_named_after_the_work_that_leads(words, minutes, title):
    jobs = [(named(word.removeprefix("!")), word.startswith("!")) for word in words]
    assert round_title(jobs, minutes, PLACES) == title
    assert round_title(jobs, minutes, PLACES, "Des") == f"Des: {title}"


def test_with_one_enclosure_a_round_names_no_place():
    jobs = [(named(word), False) for word in ("water-change", "feed")]
    assert round_title(jobs, 50, NOWHERE) == "Water change, 1 more"
    assert round_title(jobs[1:], 10, NOWHERE, "Des") == "Des: Feed"


# --- whatever the names ---

names = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=30).map(
    lambda text: " ".join(text.split())
).filter(bool)  # fmt: skip
unique_names = st.lists(
    names, min_size=1, max_size=6, unique_by=lambda name: unicodedata.normalize("NFC", name).casefold()
)


class Named:
    """Something with a name and an id: what is told of an enclosure and a keeper here."""

    def __init__(self, name: str, number: int) -> None:
        self.name, self.id = name, str(number)


class NamedSite:
    def __init__(self, enclosures: list[str], keepers: list[str]) -> None:
        self.enclosures = [Named(name, n) for n, name in enumerate(enclosures)]
        self.keepers = [Named(name, n) for n, name in enumerate(keepers)]


def plain(text: str) -> str:
    return unicodedata.normalize("NFC", text).casefold()


@given(unique_names, unique_names)
def test_names_stay_apart_and_are_never_empty(enclosures, keepers):
    site = NamedSite(enclosures, keepers)
    places = list(place_names(site).values())
    if len(enclosures) == 1:
        assert places == [""]
    else:
        assert all(places) and len(set(map(plain, places))) == len(places)
        assert all(name.startswith(place) for name, place in zip(enclosures, places, strict=True))
    short = list(keeper_names(site).values())
    assert all(short) and len(set(map(plain, short))) == len(short)
    assert all(name.startswith(said) for name, said in zip(keepers, short, strict=True))


ALL = [*JOBS.values(), *ALARMS.values()]


@given(
    st.lists(st.tuples(st.sampled_from(ALL), st.booleans()), min_size=1, max_size=40),
    names,
    names,
    st.integers(1, 900),
)
def test_a_title_is_never_empty_and_holds_no_controls(held, place, keeper, minutes):
    for where in (place, ""):
        places = dict.fromkeys(PLACES, where)
        titles = [round_title(held, minutes, places), round_title(held, minutes, places, keeper)]
        routine = [job for job, _ in held if job.routine]
        titles += [routine_title(routine)] if routine else []
        for job, _ in held:
            # The first five characters are those of the work, wherever it is done.
            assert job_title(job, where)[:5] in (job.short[:5], f"{job.short}:"[:5])
            titles += [job_title(job, where), late_title(job, where), done_title(job, where)]
        for title in titles:
            assert title.strip() == title != ""
            assert not any(unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") for c in title)
        assert all(len(title) <= 20 for title in titles[2:3] if routine)


@given(st.lists(st.sampled_from(ALL), min_size=1, max_size=12))
def test_a_round_tells_how_many_jobs_there_are(held):
    title = round_title([(job, False) for job in held], 60, NOWHERE)
    if not all(job.routine for job in held):
        more = int(title.rpartition(", ")[2].removesuffix(" more")) if title.endswith(" more") else 0
        times = int(title.partition(" x ")[2].partition(",")[0]) if " x " in title else 1
        assert more + times == len(held)


def test_two_keepers_of_one_name_have_it_whole():
    assert keeper_names(NamedSite(["Sedge"], ["Desmond", "Desmond"])) == {"0": "Desmond", "1": "Desmond"}
