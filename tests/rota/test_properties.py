"""Whatever is described, the rota keeps the rules and says what it cannot do; and what one would expect to change nothing changes nothing."""

from __future__ import annotations

import datetime as dt
from copy import copy
from dataclasses import replace

import pytest
import tomli_w
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.rota.checker import check
from support.rota.small_sites import DAY, MONDAY, Case, case, duties, loaded, quarantine_of, sample, slots

from scheduler.errors import DescriptionError
from scheduler.rota import Assigned, Past, Rota

WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
SKILLS = ["adult", "electrics", "lifting"]
NAMES = ["Ada", "Ivo", "Noor", "Zeno"]


@st.composite
def keepers(draw, name):
    table = {"name": name}
    if draw(st.booleans()):
        table["weekdays"] = draw(st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True))
    if draw(st.booleans()):
        table["minutes"] = draw(st.sampled_from([1, 15, 30, 60, 200]))
    if draw(st.booleans()):
        table["share"] = draw(st.sampled_from([0, 0.1, 0.5, 3]))
    if draw(st.integers(0, 2)) == 0:
        table["can"] = draw(st.lists(st.sampled_from(SKILLS), unique=True))
    if draw(st.integers(0, 3)) == 0:
        begin = MONDAY + draw(st.integers(-3, 13)) * DAY
        table["away"] = [f"{begin}/{begin + draw(st.integers(0, 9)) * DAY}"]
    if draw(st.integers(0, 2)) == 0:
        table["rounds_a_week"] = draw(st.integers(1, 3))
    wishes = st.lists(st.sampled_from(["Sedge", "Jetty", "duty-0", "duty-1"]), max_size=2, unique=True)
    for key in ("prefers", "avoids"):
        if draw(st.integers(0, 3)) == 0:
            table[key] = draw(wishes)
    return table


@st.composite
def jobs(draw, key):
    table = {"key": key, "title": "Duty", "minutes": draw(st.sampled_from([5, 15, 30, 90, 300]))}
    if draw(st.booleans()):
        every = draw(st.integers(1, 10))
        table["every"] = f"{every} days"
        table["window"] = f"{draw(st.integers(0, min(4, every - 1)))} days"
    else:
        days = draw(st.sets(st.integers(0, 13), min_size=1, max_size=5))
        table["on"] = [MONDAY + n * DAY for n in sorted(days)]
        table["window"] = f"{draw(st.integers(0, 4))} days"
    if draw(st.integers(0, 3)) == 0:
        table["can"] = [draw(st.sampled_from(SKILLS))]
    return table


@st.composite
def descriptions(draw, most_keepers=4):
    people = draw(st.integers(1, most_keepers))
    return {
        "keeper": [draw(keepers(name)) for name in NAMES[:people]],
        "enclosure": [
            {
                "name": name,
                "room": draw(st.sampled_from(["den", "yard"])),
                "extra_job": [draw(jobs(f"duty-{n}")) for n in range(draw(st.integers(1, 3)))],
            }
            for name in ["Sedge", "Jetty"]
        ],
    }


def case_of(description, days=14):
    """Return the case; descriptions that are refused are of no interest here."""
    try:
        made = duties(tomli_w.dumps(description), days=days)
    except DescriptionError:
        assume(False)
    return made


def checked(some: Case) -> Rota:
    made = some.rota()
    found = check(
        made,
        some.site,
        some.occurrences,
        quarantined=some.quarantined,
        absent=some.absent,
        past=some.past,
        published=some.published,
    )
    assert found == [], found
    return made


pasts = st.builds(
    Past,
    ahead=st.dictionaries(st.sampled_from(["ada", "ivo", "noor"]), st.floats(-2000, 2000)),
    knows=st.dictionaries(st.tuples(st.sampled_from(["ada", "ivo"]), st.just("sedge")), st.floats(0, 300)),
    turns=st.dictionaries(st.tuples(st.sampled_from(["ada", "ivo"]), st.just("duty-0")), st.integers(0, 40)),
    today=st.dictionaries(st.sampled_from(["ada", "noor"]), st.integers(0, 90)),
    out=st.just({}),
)


@given(descriptions(), st.data())
@settings(max_examples=examples(60))
def test_every_rota_keeps_the_rules(description, data):
    """Jobs that take two, heavy services, a quarantine, a record, somebody ill: all at once."""
    some = case_of(description)
    heavy = data.draw(st.sets(st.sampled_from(["duty-0", "duty-1", "duty-2"])))
    two = data.draw(st.sets(st.sampled_from(["duty-0", "duty-1", "duty-2"])))
    own = data.draw(st.none() | st.sets(st.integers(0, 6), min_size=4).map(sorted).map(tuple))
    some = some.with_jobs(
        lambda j: replace(
            j, heavy=j.key in heavy, needs_two=j.key in two, weekdays=own if j.key == "duty-0" else None
        )
    )
    until = MONDAY + data.draw(st.integers(0, 13)) * DAY
    ill = MONDAY + data.draw(st.integers(0, 13)) * DAY
    checked(
        some.but(
            quarantined=lambda enclosure, day: enclosure == "jetty" and day <= until,
            past=data.draw(st.none() | pasts),
            absent={"ada": [(ill, ill + 2 * DAY)]},
        )
    )


@given(descriptions(), st.data())
@settings(max_examples=examples(25))
def test_what_is_open_is_not_put_before_today_and_what_is_done_is_not_given_again(description, data):
    some = case_of(description)
    states = [
        replace(o, state="overdue", since=o.day - data.draw(st.integers(0, 9)) * DAY)
        if o.day == MONDAY and data.draw(st.booleans())
        else replace(o, state="done")
        if data.draw(st.integers(0, 4)) == 0
        else o
        for o in some.occurrences
    ]
    checked(some.but(occurrences=states))


@given(descriptions(), st.data())
@settings(max_examples=examples(25))
def test_whatever_was_published_the_rules_are_kept(description, data):
    """Even where it was published by somebody who had never read them."""
    some = case_of(description)
    before = some.rota().assigned()
    known = [k.id for k in some.site.keepers]
    odd = [
        Assigned(a.enclosure, a.job, a.variant, a.due, a.day + data.draw(st.integers(-2, 2)) * DAY, data.draw(st.sampled_from(known)))
        if data.draw(st.booleans())
        else a
        for a in before
    ]  # fmt: skip
    checked(some.but(published=odd))


def with_backlog(some, data):
    """Return the occurrences of a case, some of the first day's open since up to a fortnight before."""
    return [
        replace(o, state="overdue", since=o.day - data.draw(st.integers(0, 14)) * DAY)
        if o.day == MONDAY and data.draw(st.booleans())
        else o
        for o in some.occurrences
    ]


KEYS = {"duty-0": "feed", "duty-1": "water-change"}


@given(descriptions(), st.data())
@settings(max_examples=examples(25))
def test_what_is_scarce_goes_to_animals_first(description, data):
    """Somebody ill, a backlog, and jobs of three classes: the checker tells what is left for something less urgent."""
    some = case_of(description).with_jobs(lambda j: replace(j, key=KEYS.get(j.key, j.key)))
    states = with_backlog(some, data)
    ill = MONDAY + data.draw(st.integers(0, 13)) * DAY
    before = some.but(occurrences=states)
    first = checked(before)
    checked(before.but(published=first.assigned(), absent={"ada": [(ill, ill + 2 * DAY)]}))


@given(descriptions())
@settings(max_examples=examples(25))
def test_what_is_published_and_made_again_stays(description):
    some = case_of(description)
    before = some.rota()
    assert slots(checked(some.but(published=before.assigned()))) == slots(before)


@given(descriptions(), st.data())
@settings(max_examples=examples(40))
def test_what_is_published_with_a_backlog_stays_as_well(description, data):
    """Who asks a second time, after the first answer was published, gets the same."""
    some = case_of(description).with_jobs(lambda j: replace(j, key=KEYS.get(j.key, j.key)))
    states = with_backlog(some, data)
    before = some.but(occurrences=states)
    made = before.rota()
    left = frozenset(one.item.ref for one in made.unfilled)
    assert slots(checked(before.but(published=made.assigned(), left=left))) == slots(made)


def undone(made: Rota) -> int:
    return sum(left.item.job.minutes for left in made.unfilled)


@given(descriptions(most_keepers=3), keepers("Zeno"))
@settings(max_examples=examples(25))
def test_one_keeper_more_never_leaves_more_undone(description, more):
    """One who lists skills, where nobody did, or does not, where others do, changes who can do what: left out here."""
    listed = {"can" in k for k in description["keeper"]}
    more = {key: value for key, value in more.items() if key != "can"}
    if True in listed:
        more["can"] = SKILLS
    before = case_of(description)
    after = case_of({**description, "keeper": [*description["keeper"], more]})
    # More weekdays of somebody may move what falls due: the same occurrences are shared out both times.
    assert undone(checked(after.but(occurrences=before.occurrences))) <= undone(checked(before))


def renamed(description, names):
    """Return the description with other names for the keepers, in the order of the new names."""
    other = [{**k, "name": names[k["name"]]} for k in description["keeper"]]
    return {**description, "keeper": sorted(other, key=lambda k: k["name"])}


@given(descriptions(), st.permutations(NAMES))
@settings(max_examples=examples(40))
def test_other_names_change_nothing_but_the_names(description, order):
    """Keepers who are alike in all else are told apart by their names alone: there it is the loads that stay."""
    names = dict(zip(NAMES, order, strict=True))
    ids = {a.lower(): b.lower() for a, b in names.items()}
    one, other = case_of(description).rota(), case_of(renamed(description, names)).rota()
    alike = [
        # In whatever order their weekdays are written.
        {
            k: sorted(v) if isinstance(v, list) else v
            for k, v in sorted(keeper.items())
            if k != "name" and v != []
        }
        for keeper in description["keeper"]
    ]
    if any(a == b for n, a in enumerate(alike) for b in alike[n + 1 :]):
        assert sorted(one.loads.values()) == sorted(other.loads.values())
        return
    assert {name: (day, ids[who]) for name, (day, who) in slots(one).items()} == slots(other)
    assert {ids[k]: v for k, v in one.loads.items()} == other.loads
    assert (one.fairness.objective, one.fairness.bound) == pytest.approx(
        (other.fairness.objective, other.fairness.bound)
    )


# --- what cannot be ---

ONE = '[[keeper]]\nname = "Noor"\n{}\n[[keeper]]\nname = "Ivo"\n{}\n[[enclosure]]\nname = "Sedge"\n'
DAILY = '[[enclosure.extra_job]]\nkey = "sweep"\ntitle = "Duty"\nrule = "FREQ=DAILY"\nminutes = {}\n'


def test_all_are_away_all_the_time():
    away = 'away = ["2026-11-01/2027-02-01"]'
    made = checked(duties(ONE.format(away, away) + DAILY.format(20)))
    assert not made.rounds
    assert [left.why for left in made.unfilled] == [
        f"all who can do it are away (Ivo and Noor), {7 + n} December 2026" for n in range(7)
    ]
    assert (made.fairness.jain, made.fairness.gini, made.fairness.spread) == (1.0, 0.0, 0.0)


def test_more_work_than_minutes():
    some = duties(
        ONE.format("minutes = 30", "minutes = 45")
        + "".join(DAILY.replace("sweep", f"d{n}").format(15) for n in range(9))
    )
    made = checked(some)
    assert made.loads == {"noor": 7 * 30, "ivo": 7 * 45}
    assert undone(made) == 7 * 9 * 15 - 7 * 75
    assert all("minutes" in left.why and left.mend for left in made.unfilled)


def test_a_job_longer_than_anybodys_day():
    made = checked(duties(ONE.format("minutes = 30", "minutes = 45") + DAILY.format(60)))
    assert undone(made) == 7 * 60
    assert {left.mend.partition(" on ")[0] for left in made.unfilled} == {"15 more minutes of Ivo"}


def test_all_shares_are_nothing():
    some = duties(ONE.format("", "") + DAILY.format(20))
    site = copy(some.site)
    site.keepers = tuple(k.model_copy(update={"share": 0.0}) for k in site.keepers)
    made = checked(some.but(site=site))
    assert not made.unfilled
    assert max(made.loads.values()) <= 80


@pytest.mark.parametrize("share", [0, 1e-9, 1000])
def test_shares_that_are_worlds_apart(share):
    made = checked(duties(ONE.format(f"share = {share}", 'weekdays = ["Mon"]') + DAILY.format(20)))
    assert not made.unfilled


def test_a_span_of_one_day_and_one_that_begins_on_a_sunday():
    some = duties(ONE.format("", "") + DAILY.format(20), days=1, first=dt.date(2026, 12, 13))
    assert [r.day for r in checked(some).rounds] == [dt.date(2026, 12, 13)]


def test_an_hour_that_is_no_time_to_look_for_the_best():
    """Without time each week is taken as far as it was: the answer keeps the rules."""
    from scheduler import rota

    some = sample("rescue", 2)
    made = rota.assign(
        some.site, some.occurrences, some.first, some.last, quarantined=some.quarantined, seconds=0.001
    )
    assert check(made, some.site, some.occurrences, quarantined=some.quarantined) == []


@pytest.mark.slow
def test_ten_thousand_keepers():
    """They are copies of one: to read so many takes longer than to give them work."""
    tanks = "".join(
        f'[[enclosure]]\nname = "Tank {n}"\n' + DAILY.format(20).replace("sweep", f"d{n}") for n in range(20)
    )
    some = duties('[[keeper]]\nname = "K"\n' + tanks)
    site, [one] = copy(some.site), some.site.keepers
    site.keepers = tuple(
        one.model_copy(
            update={
                "name": f"K{n:05}",
                "id": f"k{n:05}",
                "weekdays": (WEEKDAYS[n % 7], WEEKDAYS[(n + 1 + n // 7 % 3) % 7]),
                "minutes": 30 + n % 60,
            }
        )
        for n in range(10_000)
    )
    some = some.but(site=site)
    made = some.rota()
    # Who could take what is left is asked of everybody: with nothing left the checker stays quick.
    assert not made.unfilled
    assert check(made, some.site, some.occurrences, quarantined=some.quarantined) == []


@pytest.mark.slow
def test_two_years_of_one_tank():
    site = loaded(
        '[[keeper]]\nname = "Noor"\n[[keeper]]\nname = "Ivo"\n[[enclosure]]\nname = "Sedge"\n'
        + DAILY.format(20)
    )
    some = case(site, MONDAY, 730)
    assert not checked(some.but(quarantined=quarantine_of(site))).unfilled
