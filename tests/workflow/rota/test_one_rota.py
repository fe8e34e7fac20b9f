"""A page, a calendar, a sync and the command of one moment show one rota, whatever happened before."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from support.recorded import load

from scheduler import workflow
from scheduler.history import Entry, History, OccurrenceRef
from scheduler.log import Published
from scheduler.rota import Assigned, Rota
from scheduler.workflow.feeds.links import key_of
from scheduler.workflow.live.site import LiveSite
from scheduler.workflow.record import done, readings
from scheduler.workflow.record.standing import Who
from scheduler.workflow.rota import publication
from scheduler.workflow.rota.shares import shares_of
from scheduler.workflow.rota.site_rota import (
    RotaContext,
    absences,
    make_rota,
    rota_to_export,
    shown_rota,
    to_publish,
)
from scheduler.workflow.site_log import open_to_read, open_to_record
from scheduler.workflow.workspace import Workspace

SAMPLES = Path(__file__).parents[3] / "sample_configs"
DAY = dt.timedelta(days=1)

Slots = dict[OccurrenceRef, tuple[dt.date, str]]


@pytest.fixture(autouse=True)
def no_variable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PONDROUND_LOG", raising=False)


def sample(folder: Path, name: str) -> Path:
    file = folder / f"{name}.toml"
    file.write_bytes((SAMPLES / f"{name}.toml").read_bytes())
    return file


def slots(rota: Rota, until: dt.date) -> Slots:
    return {t.item.ref: (t.day, t.keeper.id) for t in rota.tasks() if t.day <= until}


def page(file: Path, today: dt.date) -> Slots:
    """Return what is on the pages of all keepers together, of today and the seven days after it."""
    tended = LiveSite(file, key_of(file, make=True), print, today).tended()
    days = [today + n * DAY for n in range(8)]
    found: Slots = {}
    for keeper in tended.site.keepers:
        for day in days:
            found |= {turn.ref: (day, keeper.id) for turn in tended.mine(keeper, day)}
    return found


def all_alike(file: Path, today: dt.date) -> Slots:
    """Hold the page against the calendars, the command of one, two and four weeks, and a sync; return what it shows."""
    site, week = workflow.read_site(file), today + 7 * DAY
    shown = page(file, today)
    assert slots(rota_to_export(Workspace(file, site, today), today).rota, week) == shown
    for weeks in (2, 4):
        made = make_rota(Workspace(file, site, today), today, weeks)
        assert slots(made.rota, week) == shown
        assert made.changes == ()
    one = make_rota(Workspace(file, site, today), today, 1)
    assert slots(one.rota, today + 6 * DAY) == {n: s for n, s in shown.items() if s[0] < week}
    assert one.changes == ()
    shares = shares_of(Workspace(file, site, today, today), 4, kept={})
    assert {t.item.ref: (t.day, t.keeper.id) for t in shares.tasks if t.day <= week} == shown
    assert page(file, today) == shown
    return shown


def publish(file: Path, today: dt.date, *ill: str) -> None:
    site = workflow.read_site(file)
    made = make_rota(Workspace(file, site, today), today, 4, absent=absences(site, today, ill))
    publication.publish(Workspace(file, site, today, today), made)


def did(file: Path, today: dt.date, enclosure: str, job: str, by: str) -> None:
    site = workflow.read_site(file)
    done.did(Workspace(file, site, today), [enclosure, job], who=Who(by=by, as_of=today))


def read(file: Path, today: dt.date, enclosure: str, written: str) -> None:
    site = workflow.read_site(file)
    readings.read(Workspace(file, site, today), [enclosure], [written], who=Who(as_of=today))


@pytest.mark.parametrize("day", [dt.date(2026, 12, 25), dt.date(2026, 12, 1)])
def test_without_a_record_a_page_shows_what_the_calendars_do(tmp_path: Path, day: dt.date) -> None:
    assert all_alike(sample(tmp_path, "household"), day)


def test_days_after_it_was_published_a_page_shows_what_is_new(tmp_path: Path) -> None:
    """A record is kept and nothing is ticked: what is left of each day is somebody's on the next."""
    file, today = sample(tmp_path, "household"), dt.date(2026, 12, 14)
    did(file, today, "den-tank", "daily-look", "Marisol")
    publish(file, today)
    for n in (1, 3):
        assert all_alike(file, today + n * DAY)


def test_a_rescues_page_three_days_after_publishing_is_its_rota(tmp_path: Path) -> None:
    """Without a record what was published for the days before counts as done, on pages too."""
    file, day = sample(tmp_path, "rescue"), dt.date(2026, 12, 14)
    publish(file, day)
    today = day + 3 * DAY
    shown = page(file, today)
    rota = rota_to_export(Workspace(file, workflow.read_site(file), today), today).rota
    assert slots(rota, today + 7 * DAY) == shown
    assert {"magda", "percival"} <= {keeper for _, keeper in shown.values()}


def test_who_is_published_as_ill_stays_ill(tmp_path: Path) -> None:
    file, today = sample(tmp_path, "household"), dt.date(2026, 12, 19)
    publish(file, today)
    publish(file, today, "Desmond")
    assert not [n for n, slot in all_alike(file, today).items() if slot == (today, "desmond")]
    # News is shared out among the others.
    read(file, today, "den-tank", "ammonia=1.2 mg/L")
    shown = all_alike(file, today)
    assert not [n for n, slot in shown.items() if slot == (today, "desmond")]
    # On the next day he is back, and whoever shares out anew forgets it.
    assert [n for n, slot in all_alike(file, today + DAY).items() if slot[1] == "desmond"]
    site = workflow.read_site(file)
    afresh = make_rota(Workspace(file, site, today), today, 1, afresh=True)
    assert not afresh.absent


def test_what_nobody_takes_is_on_nobodys_page(tmp_path: Path) -> None:
    """Three are away from the day of the rota on, as it turns out: their work is another's, or nobody's."""
    file, today = sample(tmp_path, "household"), dt.date(2026, 12, 19)
    publish(file, today)
    text = file.read_text("utf-8")
    away = 'away = ["2026-12-19/2026-12-21"'
    text = text.replace('away = ["2026-12-06/2026-12-11"]', away + "]")
    text = text.replace(skilled := 'can = ["adult", "lifting", "testing"]\n', f"{skilled}{away}]\n", 1)
    file.write_text(text.replace("can = []\n", f"can = []\n{away}]\n", 1), "utf-8")
    assert len([k for k in workflow.read_site(file).keepers if k.away]) == 4
    shown = all_alike(file, today)
    assert not [n for n, (day, _) in shown.items() if day <= today + 2 * DAY]
    with open_to_read(file, workflow.read_site(file)) as log:  # type: ignore[union-attr]
        published = log.published("pruitt-street")
    assert published is not None and published.left
    assert not [a for a in published.assigned if today <= a.day <= today + 2 * DAY]


def test_what_uses_up_a_day_takes_work_away_and_that_is_published(tmp_path: Path) -> None:
    file, begun = sample(tmp_path, "household"), dt.date(2026, 12, 14)
    did(file, begun, "den-tank", "daily-look", "Marisol")
    publish(file, begun)
    today = min(day for day, who in page(file, begun).values() if who == "ives" and day > begun)
    before = all_alike(file, today)
    assert [n for n, slot in before.items() if slot == (today, "ives")]
    site = workflow.read_site(file)
    noon = dt.datetime.combine(today, dt.time(12))
    entry = Entry(
        kind="done",
        enclosure="den-tank",
        name="cord-check",
        day=today,
        keeper="ives",
        minutes=40,
        recorded=noon,
    )
    with open_to_record(file, site) as log:
        log.record(site.settings.id, [entry], again=True)
    after = all_alike(file, today)
    assert not [n for n, slot in after.items() if slot == (today, "ives")]


def test_an_ill_keeper_alone_is_what_ill_lists(tmp_path: Path) -> None:
    """What is new besides was shared out before, and is no work of the illness."""
    file, today = sample(tmp_path, "household"), dt.date(2026, 12, 14)
    did(file, today, "den-tank", "daily-look", "Marisol")
    publish(file, today)
    later = today + 2 * DAY
    site = workflow.read_site(file)
    made = make_rota(Workspace(file, site, later), later, 1, absent=absences(site, later, ["Ives"]))
    assert made.changes
    for change in made.changes:
        assert change.before == (later, "ives") or (change.before and change.before[0] >= later)
    ives = [c for c in made.changes if c.before == (later, "ives")]
    # Whoever takes it hands on a few things in turn.
    assert len(made.changes) <= 2 * len(ives)


TIGHT = """
[site]
name = "Fen"
[[keeper]]
name = "Ada"
minutes = 5
[[enclosure]]
name = "Sedge"
job = {{{off}}}
extra_job = [{{key = "lid", title = "close the lid", every = "1 day", minutes = 5}}]
"""


def test_what_is_left_today_is_nobodys_under_whatever_day_it_was_published() -> None:
    """There are minutes for looking in or for the lid, both of which are open: the row of the lid's own day goes too."""
    site = load(TIGHT.format(off=off().replace("daily-look = {off = true}, ", "")))
    begun, today = dt.date(2026, 12, 14), dt.date(2026, 12, 16)
    earlier = Published(
        begun,
        today + 27 * DAY,
        dt.datetime(2026, 12, 14),  # noqa: DTZ001 - UTC, as the log keeps it
        (Assigned("sedge", "lid", "", today, today, "ada"),),
    )
    known = RotaContext(history=History(begun), published=earlier)
    shown = shown_rota(site, known, today, today, judged=False)
    assert [(t.item.job.key, t.item.due) for t in shown.rota.rounds[0].tasks] == [("daily-look", begun)]
    published = to_publish(shown)
    assert [a.job for a in published.assigned if a.day == today] == ["daily-look"]
    # Published and looked at again it is the same.
    again = shown_rota(site, replace(known, published=published), today, today, judged=False)
    assert to_publish(again) == published


# --- the first round that anybody can take, and a backlog ---

WEEKENDS = """
[site]
name = "Fen"
[[keeper]]
name = "Noor"
weekdays = ["Sat", "Sun"]
[[enclosure]]
name = "Sedge"
job = {{{off}}}
extra_job = [{{key = "change", title = "change water", every = "7 days", window = "2 days", minutes = 30}}]
"""


def off() -> str:
    from scheduler.care import KEYS

    return ", ".join(f"{key} = {{off = true}}" for key in KEYS)


def test_what_is_overdue_waits_for_the_first_round_that_anybody_can_take(tmp_path: Path) -> None:
    """Done last on a Saturday two weeks ago: on Monday it is this Saturday's work, once, and all week nobody's fault."""
    file = tmp_path / "fen.toml"
    file.write_text(WEEKENDS.format(off=off()), "utf-8")
    saturday = dt.date(2026, 12, 5)
    did(file, saturday, "sedge", "change", "Noor")
    for today in (saturday + 9 * DAY, saturday + 12 * DAY, saturday + 14 * DAY):
        shown = rota_to_export(Workspace(file, workflow.read_site(file), today), today).rota
        assert not shown.unfilled
        first = shown.rounds[0]
        assert (first.day, [t.item.due for t in first.tasks]) == (saturday + 14 * DAY, [saturday + 7 * DAY])
        assert shown.rounds[1].day >= saturday + 18 * DAY


def test_a_backlog_gives_a_round_of_a_days_minutes_the_most_urgent_first(tmp_path: Path) -> None:
    """A fortnight in which nobody did anything: 30 minutes a day are for looking, feeding and water before all else."""
    file = tmp_path / "fen.toml"
    text = (SAMPLES / "one-tank.toml").read_text("utf-8")
    file.write_text(text + '\n[[keeper]]\nname = "Noor"\nminutes = 45\n', "utf-8")
    site = workflow.read_site(file)
    begun = dt.date(2026, 12, 1)
    did(file, begun, site.enclosures[0].id, "daily-look", "Noor")
    today = begun + 15 * DAY
    rota = rota_to_export(Workspace(file, site, today), today).rota
    first = rota.rounds[0]
    assert first.day == today and first.minutes <= 45
    keys = [t.item.job.key for t in first.tasks]
    assert {"daily-look"} <= set(keys)
    from scheduler.care import urgency

    worst = max(urgency(t.item.job) for t in first.tasks)
    waiting = [t.item for t in rota.tasks() if t.item.waited and t.day > today] + [
        u.item for u in rota.unfilled if u.item.waited
    ]
    assert waiting
    for item in waiting:
        fits = item.job.minutes <= 45 - sum(
            t.item.job.minutes for t in first.tasks if urgency(t.item.job) <= urgency(item.job)
        )
        assert not (urgency(item.job) < worst and fits and item.occurrence.state == "overdue")


def test_who_lends_a_hand_sees_it_on_the_page_and_who_leads_sees_with_whom(tmp_path: Path) -> None:
    file, today = tmp_path / "fen.toml", dt.date(2026, 12, 7)
    people = "".join(f'[[keeper]]\nname = "{name}"\ncan = ["lifting"]\n' for name in ("Ivo", "Noor"))
    duty = '{key = "haul", title = "haul stones", on = [2026-12-07], minutes = 20, lift = "40 kg", can = ["lifting"]}'
    text = f'[site]\nname = "Fen"\n{people}[[enclosure]]\nname = "Sedge"\njob = {{{off()}}}\nextra_job = [{duty}]\n'
    file.write_text(text, "utf-8")
    tended = LiveSite(file, key_of(file, make=True), print, today).tended()
    [turn] = tended.turns[today]
    assert turn.keeper is not None and turn.helper is not None
    assert {turn.keeper.name, turn.helper.name} == {"Ivo", "Noor"}
    assert tended.mine(turn.keeper, today) == [turn] == tended.helps(turn.helper, today)
    assert tended.helps(turn.keeper, today) == tended.mine(turn.helper, today) == []
