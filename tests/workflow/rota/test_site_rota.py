"""The rota and the log: fairness over what was done, what is done already, what was published, and quarantine."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples

from scheduler import workflow
from scheduler.care import KEYS
from scheduler.errors import UsageError
from scheduler.history import Entry
from scheduler.log import Published
from scheduler.rota import Assigned, Past, Rota
from scheduler.workflow import SiteRota
from scheduler.workflow.rota.site_rota import known_of
from scheduler.workflow.site_log import open_to_record
from scheduler.workflow.workspace import Workspace

MONDAY = dt.date(2026, 12, 7)
DAY = dt.timedelta(days=1)
OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)

CATCH_UP = 0.5
"""What the past counts at most, either way: half of the fair load of a plan. House value, from the guide."""


@pytest.fixture(autouse=True)
def no_variable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PONDROUND_LOG", raising=False)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "fen.toml"


def describe(file: Path, keepers: dict[str, str], jobs: Iterable[str]) -> workflow.Site:
    """Write a site of one enclosure whose only jobs are these, and read it."""
    people = "".join(f'[[keeper]]\nname = "{name}"\n{more}\n' for name, more in keepers.items())
    duties = ",\n".join(f"{{{job}}}" for job in jobs)
    file.write_text(
        f'[site]\nname = "Fen"\n{people}[[enclosure]]\nname = "Sedge"\njob = {{{OFF}}}\nextra_job = [{duties}]\n',
        "utf-8",
    )
    return workflow.read_site(file)


DAILY = 'key = "look", title = "look", every = "1 day", minutes = {}'
TENS = [DAILY.format(10), DAILY.format(10).replace("look", "feel")]
"""Twenty minutes a day, 140 a week, in portions of ten."""

TWO = {"Ben": "", "Noor": ""}


def done(day: dt.date, keeper: str, minutes: int, name: str = "look", enclosure: str = "sedge") -> Entry:
    noon = dt.datetime.combine(day, dt.time(12))
    return Entry(
        kind="done", enclosure=enclosure, name=name, day=day, keeper=keeper, minutes=minutes, recorded=noon
    )


def record(site: workflow.Site, file: Path, *entries: Entry) -> None:
    with open_to_record(file, site) as log:
        for entry in entries:
            log.record(site.settings.id, [entry], again=True)


def publish(site: workflow.Site, file: Path, *rows: tuple[dt.date, str, str] | Assigned) -> None:
    """Publish (day, keeper, job): each falls due on its day."""
    tasks = [a if isinstance(a, Assigned) else Assigned("sedge", a[2], "", a[0], a[0], a[1]) for a in rows]
    days = [a.day for a in tasks]
    with open_to_record(file, site) as log:
        recorded = dt.datetime.combine(MONDAY, dt.time(6))
        log.publish(site.settings.id, Published(min(days), max(days), recorded, tuple(tasks)))


def made(site: workflow.Site, file: Path, today: dt.date = MONDAY, weeks: int = 1) -> SiteRota:
    return workflow.make_rota(Workspace(file, site, today), today, weeks)


def listed(rota: Rota) -> list[str]:
    return [
        f"{one.day:%a %d} {one.keeper.id}: {', '.join(t.item.job.key for t in one.tasks)}"
        for one in rota.rounds
    ]


# --- fair over the whole log ---


def test_who_did_much_before_gets_less_within_the_catch_up(file: Path) -> None:
    """Ben did 200 of 240 min, 80 more than half: of a fair 70 that counts half, 35 either way, so 35 and 105 are fair now."""
    site = describe(file, TWO, TENS)
    assert abs(made(site, file).rota.loads["ben"] - 70) <= 10
    record(
        site,
        file,
        *(done(MONDAY - n * DAY, "ben", 50) for n in (7, 6, 5, 4)),
        done(MONDAY - 7 * DAY, "noor", 40),
    )
    loads = made(site, file).rota.loads
    assert loads["ben"] + loads["noor"] == 140
    assert abs(loads["ben"] - (70 - CATCH_UP * 70)) <= 10
    # However much it was.
    record(site, file, done(MONDAY - 3 * DAY, "ben", 1000))
    assert abs(made(site, file).rota.loads["ben"] - (70 - CATCH_UP * 70)) <= 10


def test_a_little_more_before_is_made_up_for_whole(file: Path) -> None:
    """Ben is 20 ahead of his half: 50 and 90 make it even."""
    site = describe(file, TWO, TENS)
    record(site, file, done(MONDAY - 8 * DAY, "ben", 70), done(MONDAY - 8 * DAY, "noor", 30))
    loads = made(site, file).rota.loads
    assert abs(loads["ben"] - 50) <= 10
    assert loads["ben"] < loads["noor"]


def test_long_ago_counts_as_much(file: Path) -> None:
    """Fair over the whole log, not over the last weeks."""
    site = describe(file, TWO, TENS)
    record(site, file, done(dt.date(2024, 3, 1), "ben", 140), done(dt.date(2024, 3, 1), "noor", 60))
    loads = made(site, file).rota.loads
    assert abs(loads["ben"] - 35) <= 10


def test_a_newcomer_owes_nothing(file: Path) -> None:
    """Ben and Noor did 500 each before Zoe came: she gets a third, and not their past."""
    site = describe(file, {**TWO, "Zoe": ""}, [*TENS, DAILY.format(10).replace("look", "hear")])
    record(site, file, *(done(MONDAY - n * DAY, who, 50) for n in range(10, 20) for who in ("ben", "noor")))
    loads = made(site, file).rota.loads
    assert all(abs(minutes - 70) <= 10 for minutes in loads.values())


AHEAD = [
    # what was done: days before today, keeper, minutes; and who is how many minutes ahead of his or her share then
    ("nothing", [], {}),
    ("one alone", [(9, "ben", 100)], {"ben": 0}),
    ("even", [(9, "ben", 50), (9, "noor", 50)], {"ben": 0, "noor": 0}),
    ("uneven", [(9, "ben", 80), (9, "noor", 20)], {"ben": 30, "noor": -30}),
    ("made up for later", [(9, "ben", 80), (9, "noor", 20), (3, "noor", 60)], {"ben": 0, "noor": 0}),
    # alone until noor came: what was done then is nobody's debt
    ("one came later", [(20, "ben", 500), (9, "noor", 40)], {"ben": -20, "noor": 20}),
    ("and both from then on", [(20, "ben", 500), (9, "noor", 40), (9, "ben", 40)], {"ben": 0, "noor": 0}),
    ("today counts", [(9, "ben", 10), (9, "noor", 10), (0, "ben", 60)], {"ben": 30, "noor": -30}),
    ("somebody who is no keeper any more", [(9, "ada", 500), (9, "ben", 30), (9, "noor", 30)], {"ben": 0, "noor": 0}),
    ("nobody said who", [(9, "", 500), (9, "ben", 30), (9, "noor", 30)], {"ben": 0, "noor": 0}),
]  # fmt: skip


@pytest.mark.parametrize(("_", "before", "ahead"), AHEAD, ids=[row[0] for row in AHEAD])
def test_who_is_ahead(
    file: Path, _: str, before: list[tuple[int, str, int]], ahead: dict[str, float]
) -> None:
    site = describe(file, TWO, TENS)
    record(site, file, *(done(MONDAY - n * DAY, who, minutes) for n, who, minutes in before))
    assert dict(past(site, file).ahead) == pytest.approx(ahead)


def past(site: workflow.Site, file: Path, today: dt.date = MONDAY) -> Past:
    return known_of(Workspace(file, site, today)).past(site, today)


def test_shares_count(file: Path) -> None:
    """With a share of 0.5, 30 of 90 min are just hers."""
    site = describe(file, {"Ben": "", "Noor": "share = 0.5"}, TENS)
    record(site, file, done(MONDAY - 9 * DAY, "ben", 60), done(MONDAY - 9 * DAY, "noor", 30))
    assert dict(past(site, file).ahead) == pytest.approx({"ben": 0, "noor": 0})
    loads = made(site, file).rota.loads
    assert abs(loads["noor"] - 140 / 3) <= 10


def test_what_was_taken_back_is_nobodys(file: Path) -> None:
    site = describe(file, TWO, TENS)
    record(site, file, done(MONDAY - 9 * DAY, "ben", 10), done(MONDAY - 9 * DAY, "noor", 10))
    with open_to_record(file, site) as log:
        [(wrong, _)] = log.record("fen", [done(MONDAY - 2 * DAY, "ben", 500, "feel")])
        assert past(site, file).ahead["ben"] == pytest.approx(250)
        log.void("fen", wrong.uid("fen"), keeper="", note="", recorded=wrong.recorded)
    assert dict(past(site, file).ahead) == pytest.approx({"ben": 0, "noor": 0})


WORK = st.tuples(st.integers(0, 30), st.sampled_from(["ben", "noor", "zoe"]), st.integers(0, 200))


@settings(max_examples=examples(12))
@given(before=st.lists(WORK, max_size=12))
def test_what_some_are_ahead_others_are_behind(
    tmp_path_factory: pytest.TempPathFactory, before: list[tuple[int, str, int]]
) -> None:
    file = tmp_path_factory.mktemp("site") / "fen.toml"
    site = describe(file, {**TWO, "Zoe": "share = 2.0"}, TENS)
    record(site, file, *(done(MONDAY - n * DAY, who, minutes) for n, who, minutes in before))
    found = past(site, file).ahead
    assert sum(found.values()) == pytest.approx(0, abs=1e-6)
    assert found.keys() == {who for _, who, _ in before}


# --- today and this week ---


def test_minutes_that_are_done_today_are_used_up(file: Path) -> None:
    """Noor alone has 30 min, and did 20 this morning: one of two portions of ten is too much for today."""
    site = describe(file, {"Noor": "minutes = 30"}, TENS)
    rota = made(site, file).rota
    assert rota.unfilled == ()
    record(site, file, done(MONDAY, "noor", 20, "lamp-clean"))
    rota = made(site, file).rota
    assert (rota.rounds[0].day, rota.rounds[0].minutes) == (MONDAY, 10)
    (left,) = rota.unfilled
    assert left.item.occurrence.day == MONDAY
    assert "minutes" in left.why and left.mend == "10 more minutes of Noor on 7 December 2026"
    # Tomorrow she has all of them again.
    assert {one.minutes for one in rota.rounds[1:]} == {20}


def test_what_is_done_today_is_not_planned_again(file: Path) -> None:
    site = describe(file, {"Noor": "minutes = 30"}, TENS)
    record(site, file, done(MONDAY, "noor", 10, "look"))
    rota = made(site, file).rota
    assert listed(rota)[:2] == ["Mon 07 noor: feel", "Tue 08 noor: feel, look"]
    assert rota.unfilled == ()


def test_rounds_of_this_week_count(file: Path) -> None:
    """Noor comes twice a week, and was there on Monday and Tuesday: on Wednesday she does not come again before Monday."""
    site = describe(file, {"Ben": "", "Noor": "rounds_a_week = 2"}, TENS)
    wednesday = MONDAY + 2 * DAY
    record(site, file, *(done(MONDAY + n * DAY, who, 10) for n in (0, 1) for who in ("noor", "ben")))
    record(site, file, done(MONDAY, "noor", 10, "feel"))
    rota = made(site, file, wednesday, weeks=2).rota
    days = [one.day for one in rota.rounds if one.keeper.id == "noor"]
    weeks = [day.isocalendar().week - MONDAY.isocalendar().week for day in days]
    assert weeks.count(0) == 0
    assert weeks.count(1) == 2
    assert weeks.count(2) <= 2
    assert rota.unfilled == ()


def test_rounds_of_last_week_do_not_count(file: Path) -> None:
    """Sunday belongs to the week before (ISO 8601: weeks begin on Monday)."""
    site = describe(file, {"Ben": "", "Noor": "rounds_a_week = 1"}, TENS)
    record(site, file, done(MONDAY - DAY, "noor", 10), done(MONDAY - DAY, "ben", 10))
    rota = made(site, file).rota
    assert sum(one.keeper.id == "noor" for one in rota.rounds) == 1


def test_a_keeper_with_free_days_takes_what_another_may_not(file: Path) -> None:
    """Noor may come once: all other days are Ben's, who has the minutes for every one of them."""
    for more in ("minutes = 60", ""):
        site = describe(
            file,
            {"Ben": more, "Noor": "rounds_a_week = 1"},
            [*TENS, DAILY.format(31).replace("look", "comb")],
        )
        rota = made(site, file, weeks=2).rota
        assert rota.unfilled == ()
        assert len({one.day for one in rota.rounds}) == 14


# --- what was published ---

WEEKLY = 'key = "net", title = "net", rule = "FREQ=WEEKLY;BYDAY=WE", window = "3 days", minutes = 30'
WEDNESDAY = MONDAY + 2 * DAY


def net(day: dt.date, keeper: str = "noor", due: dt.date = WEDNESDAY) -> Assigned:
    return Assigned("sedge", "net", "", due, day, keeper)


NO_RECORD = [
    # published for, today, and the round of that week
    ("not yet", MONDAY, MONDAY, ["Mon 07 noor: net"]),
    ("done early, the day after", MONDAY, MONDAY + DAY, []),
    ("done early, on its own day", MONDAY + DAY, WEDNESDAY, []),
    ("on its own day", WEDNESDAY, WEDNESDAY, ["Wed 09 noor: net"]),
    ("done late, not over yet", WEDNESDAY + DAY, WEDNESDAY, ["Thu 10 noor: net"]),
    ("done late, on that day", WEDNESDAY + DAY, WEDNESDAY + DAY, ["Thu 10 noor: net"]),
    ("done late, between", WEDNESDAY + 2 * DAY, WEDNESDAY + DAY, ["Fri 11 noor: net"]),
    ("done late, the day after", WEDNESDAY + DAY, WEDNESDAY + 2 * DAY, []),
]


@pytest.mark.parametrize(("_", "day", "today", "rounds"), NO_RECORD, ids=[row[0] for row in NO_RECORD])
def test_without_a_record_what_was_published_for_days_before_counts_as_done(
    file: Path, _: str, day: dt.date, today: dt.date, rounds: list[str]
) -> None:
    site = describe(file, TWO, [WEEKLY])
    publish(site, file, net(day), net(MONDAY + 9 * DAY, "ben", MONDAY + 9 * DAY))
    found = made(site, file, today)
    week = [line for line in listed(found.rota) if int(line[4:6]) <= 13]
    assert week == rounds
    assert found.rota.unfilled == ()
    assert found.changes == ()


def test_with_a_record_what_was_published_and_not_recorded_comes_back(file: Path) -> None:
    """It was Noor's on Monday, and nobody wrote it down: on Thursday it is still to do, since Wednesday."""
    site = describe(file, TWO, [WEEKLY, DAILY.format(5)])
    thursday = WEDNESDAY + DAY
    publish(site, file, net(MONDAY))
    record(site, file, *(done(MONDAY + n * DAY, "ben", 5) for n in range(3)))
    tasks = [t for t in made(site, file, thursday).rota.tasks() if t.item.job.key == "net"]
    assert [t.item.occurrence.since for t in tasks][:1] == [WEDNESDAY]
    assert tasks[0].day <= WEDNESDAY + 3 * DAY
    record(site, file, done(MONDAY, "noor", 30, "net"))
    tasks = [t for t in made(site, file, thursday).rota.tasks() if t.item.job.key == "net"]
    assert all(t.item.occurrence.since is None for t in tasks)
    assert all(t.item.occurrence.day >= MONDAY + 7 * DAY for t in tasks)


def test_with_a_record_what_is_open_stays_where_it_was_published(file: Path) -> None:
    """Published for Thursday, due on Wednesday: on Thursday it is open, still Noor's, and nothing has changed."""
    site = describe(file, TWO, [WEEKLY, DAILY.format(5)])
    thursday = WEDNESDAY + DAY
    looks = [(MONDAY + n * DAY, "ben", "look") for n in range(7)]
    publish(site, file, *looks, net(thursday))
    record(site, file, *(done(MONDAY + n * DAY, "ben", 5) for n in range(3)))
    found = made(site, file, thursday)
    (task,) = [t for t in found.rota.tasks() if t.item.job.key == "net" and t.day < MONDAY + 7 * DAY]
    assert (task.day, task.keeper.id) == (thursday, "noor")
    assert [c for c in found.changes if c.job == "net"] == []


def test_a_keeper_who_left_is_replaced(file: Path) -> None:
    site = describe(file, TWO, [DAILY.format(10)])
    publish(site, file, *((MONDAY + n * DAY, "ada" if n == 3 else "ben", "look") for n in range(7)))
    found = made(site, file)
    (change,) = found.changes
    assert change.before == (MONDAY + 3 * DAY, "ada")
    assert change.now is not None and change.now[1] in ("ben", "noor")
    assert len(found.rota.tasks()) == 7


def test_what_left_the_description_is_gone_and_told(file: Path) -> None:
    site = describe(file, TWO, [DAILY.format(10)])
    looks = [(MONDAY + n * DAY, "ben", "look") for n in range(7)]
    gone = Assigned("pond", "skim", "", MONDAY + DAY, MONDAY + DAY, "noor")
    publish(site, file, *looks, gone)
    found = made(site, file)
    assert [(c.enclosure, c.job, c.before, c.now) for c in found.changes] == [
        ("pond", "skim", (MONDAY + DAY, "noor"), None)
    ]


def test_a_new_job_changes_nothing_else(file: Path) -> None:
    publish(
        describe(file, TWO, [DAILY.format(10)]),
        file,
        *((MONDAY + n * DAY, "ben" if n < 4 else "noor", "look") for n in range(7)),
    )
    site = describe(file, TWO, [DAILY.format(10), WEEKLY])
    found = made(site, file)
    assert [(c.job, c.before) for c in found.changes] == [("net", None)]


def test_what_is_published_holds_though_it_is_not_fair(file: Path) -> None:
    """A rota was agreed on: it stays, and `afresh` forgets it."""
    site = describe(file, TWO, TENS)
    publish(site, file, *((MONDAY + n * DAY, "ben", job) for n in range(7) for job in ("look", "feel")))
    assert made(site, file).rota.loads == {"ben": 140, "noor": 0}
    fresh = workflow.make_rota(Workspace(file, site, MONDAY), MONDAY, 1, afresh=True)
    assert abs(fresh.rota.loads["ben"] - 70) <= 10
    assert fresh.changes


def test_publishing_keeps_the_days_before_and_after(file: Path) -> None:
    """A rota of one week in the middle of a published month replaces that week alone."""
    site = describe(file, TWO, [DAILY.format(10)])
    first = made(site, file, weeks=4)
    workflow.publish_rota(Workspace(file, site, MONDAY, MONDAY), first)
    second = workflow.make_rota(
        Workspace(file, site, MONDAY), MONDAY + 7 * DAY, 1, absent={"ben": [(MONDAY, MONDAY + 27 * DAY)]}
    )
    workflow.publish_rota(Workspace(file, site, MONDAY, MONDAY), second)
    held = known_of(Workspace(file, site, MONDAY)).published
    assert held is not None
    assert (held.first, held.last) == (MONDAY, MONDAY + 27 * DAY)
    by_day = {a.day: a.keeper for a in held.assigned}
    before = {a.day: a.keeper for a in first.rota.assigned()}
    assert len(held.assigned) == len(by_day) == 28
    for n in range(28):
        day = MONDAY + n * DAY
        assert by_day[day] == ("noor" if 7 <= n < 14 else before[day])


def test_what_is_published_does_not_grow_with_the_years(file: Path) -> None:
    """As far back as a rota looks, 35 days, and no further: a server publishes every day."""
    site = describe(file, TWO, [DAILY.format(10)])
    for week in range(0, 30, 2):
        today = MONDAY + 7 * week * DAY
        workflow.publish_rota(Workspace(file, site, today, today), made(site, file, today, weeks=4))
    held = known_of(Workspace(file, site, MONDAY)).published
    assert held is not None
    assert (held.first, held.last) == (today - 35 * DAY, today + 27 * DAY)
    assert [a.day for a in held.assigned] == [held.first + n * DAY for n in range(63)]


def test_rotas_of_another_site_are_another_sites(file: Path) -> None:
    site = describe(file, TWO, [DAILY.format(10)])
    with open_to_record(file, site) as log:
        recorded = dt.datetime.combine(MONDAY, dt.time(6))
        log.publish("other", Published(MONDAY, MONDAY, recorded, (net(MONDAY),)))
        log.record("other", [done(MONDAY - DAY, "ben", 500)])
    found = made(site, file)
    assert (found.published, found.changes) == (None, ())
    assert dict(past(site, file).ahead) == {}


def test_nobody_is_told_what_to_write(file: Path) -> None:
    site = describe(file, {}, [DAILY.format(10)])
    with pytest.raises(UsageError, match=r"\[\[keeper\]\]"):
        made(site, file)


# --- quarantine ---


def quarantined(file: Path, today: dt.date, weeks: int = 1) -> dict[dt.date, bool]:
    """Return by day whether the rota takes the enclosure for one in quarantine; the animal came on 8 September 2026."""
    site = describe(file, TWO, [DAILY.format(10)])
    text = file.read_text("utf-8")
    fern = 'resident = [{name = "Fern", species = "painted turtle", arrived = 2026-09-08, quarantine = true}]'
    file.write_text(text.replace('name = "Sedge"\n', f'name = "Sedge"\n{fern}\n'), "utf-8")
    site = workflow.read_site(file)
    return {t.day: t.item.quarantine for t in made(site, file, today, weeks).rota.tasks()}


RELEASE = dt.date(2026, 12, 7)  # 90 days after 8 September: 22 + 31 + 30 + 7


def test_without_a_record_quarantine_ends_on_its_day(file: Path) -> None:
    days = quarantined(file, RELEASE - 3 * DAY)
    assert len(days) == 7
    assert [day for day, sick in days.items() if sick] == [RELEASE - n * DAY for n in (3, 2, 1, 0)]


def test_with_a_record_quarantine_lasts_until_the_release_is_recorded(file: Path) -> None:
    site = describe(file, TWO, [DAILY.format(10)])
    start = RELEASE - 3 * DAY
    record(site, file, *(done(start + n * DAY, "ben", 10) for n in range(6)))
    assert all(quarantined(file, RELEASE - DAY).values())
    assert all(quarantined(file, RELEASE + 3 * DAY, weeks=2).values())
    record(site, file, done(RELEASE + DAY, "noor", 15, "quarantine-release"))
    days = quarantined(file, RELEASE + 3 * DAY, weeks=2)
    assert len(days) >= 13
    assert not any(days.values())
