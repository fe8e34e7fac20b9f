"""The calendars of keepers: exactly the rounds of the rota, as readers of another origin see them, and steady."""

from __future__ import annotations

import datetime as dt
import json
import re
import uuid
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar, Component
from support import told
from support.told import Told
from typer.testing import CliRunner

from scheduler import care, workflow
from scheduler.calendar import verify
from scheduler.calendar.notes import QUARANTINE
from scheduler.calendar.titles import keeper_names
from scheduler.care import KEYS
from scheduler.cli.main import app
from scheduler.log import Published, open_log
from scheduler.rota import Assigned

RESCUE = Path(__file__).parents[2] / "sample_configs" / "rescue.toml"
MONDAY = dt.date(2026, 12, 7)
DAY = dt.timedelta(days=1)


def command(*words: str, gaps: bool = False) -> str:
    """Return what a command prints; with `gaps` something may be left that nobody takes."""
    result = CliRunner().invoke(app, [*words])
    assert result.exit_code in ((0, 1) if gaps else (0,)), result.output[:2000]
    return result.stdout


def export(folder: Path, today: dt.date, *options: str, file: str = "enclosures.toml") -> dict[str, bytes]:
    """Export as the command does; return the feeds by file name."""
    command("export", str(folder / file), "--to", str(folder / "out"), "--today", str(today), *options)
    found = {path.name: path.read_bytes() for path in (folder / "out").iterdir()}
    for feed in found.values():
        kind = "VTODO" if b"BEGIN:VTODO" in feed else "VEVENT"
        assert verify(feed, kind) == feed.count(b"\r\nBEGIN:%b\r\n" % kind.encode())
    return found


def rounds(
    folder: Path, today: dt.date, *options: str, file: str = "enclosures.toml"
) -> list[dict[str, Any]]:
    """Return the rounds of `pondround rota --format json`."""
    out = command("rota", str(folder / file), "--format", "json", "--today", str(today), *options, gaps=True)
    found: list[dict[str, Any]] = json.loads(out)["rounds"]
    assert found
    return found


def blocks(feed: bytes, kind: str = "VEVENT") -> dict[str, bytes]:
    """Return the entries of a feed by UID, as they stand."""
    found = re.findall(rb"^BEGIN:%b\r\n.*?^END:%b\r\n" % (kind.encode(), kind.encode()), feed, re.M | re.S)
    by_uid = {re.search(rb"^UID:(\S+)", block, re.M)[1].decode(): block for block in found}  # type: ignore[index]
    assert len(by_uid) == len(found)
    return by_uid


def sequence(block: bytes) -> int:
    return int(re.search(rb"^SEQUENCE:(\d+)", block, re.M)[1])  # type: ignore[index]


def day_of(block: bytes) -> dt.date:
    return dt.date.fromisoformat(re.search(rb"^DTSTART[^:]*:(\d{8})", block, re.M)[1].decode())  # type: ignore[index]


# --- a rescue of fourteen volunteers ---


@dataclass(frozen=True)
class Exported:
    folder: Path
    site: workflow.Site
    feeds: dict[str, bytes]
    rounds: list[dict[str, Any]]

    def of(self, keeper: str) -> list[dict[str, Any]]:
        return [one for one in self.rounds if one["keeper"] == keeper]

    def feed(self, keeper: str) -> bytes:
        (found,) = [k for k in self.site.keepers if k.name == keeper]
        return self.feeds[f"withy-ford-{found.id}.rounds.ics"]


TODAY = dt.date(2026, 12, 1)


@pytest.fixture(scope="module")
def rescue(tmp_path_factory: pytest.TempPathFactory) -> Exported:
    folder = tmp_path_factory.mktemp("rescue")
    (folder / "rescue.toml").write_bytes(RESCUE.read_bytes())
    feeds = export(folder, TODAY, file="rescue.toml")
    made = rounds(folder, TODAY, "--weeks", "4", file="rescue.toml")
    return Exported(folder, workflow.read_site(RESCUE), feeds, made)


VOLUNTEERS = [
    "Agnes", "Bronwen", "Callum", "Femi", "Hester", "Ilse", "Jonty", "Magda", "Noreen", "Ottilie", "Percival", "Ravi",
    "Saoirse", "Tobias",
]  # fmt: skip


def test_these_are_all_volunteers(rescue: Exported) -> None:
    assert [k.name for k in rescue.site.keepers] == VOLUNTEERS
    assert {name for name in rescue.feeds if ".rounds" in name} == {
        f"withy-ford-{name.lower()}.rounds.ics" for name in VOLUNTEERS
    }


Jobs = dict[tuple[str, str, str], care.Job]


def parts(jobs: Jobs, found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rounds as parts of the day: morning and evening have an entry each, with what is done in it."""
    made = []
    for one in found:
        for part in ("morning", "evening"):
            some = {
                name: [t for t in one[name] if jobs[t["enclosure"], t["job"], t["variant"]].part == part]
                for name in ("jobs", "helps")
            }
            minutes = sum(t["minutes"] for t in (*some["jobs"], *some["helps"]))
            if minutes:
                made.append({**one, **some, "minutes": minutes, "part": part})
        assert one["minutes"] == sum(
            m["minutes"] for m in made if m["date"] == one["date"] and m["keeper"] == one["keeper"]
        )
    return made


def jobs_of(site: workflow.Site) -> Jobs:
    return {(j.enclosure.id, j.key, j.variant): j for j in care.jobs(site)}


HORIZON = "Rounds planned to here"


def without_horizon(feed: bytes, last: dt.date) -> list[Component]:
    """Return the entries of a feed without the one that says to where rounds are planned, which is on the last day."""
    entries = told.parsed(feed).walk("VEVENT")
    assert [told.day_of(e) for e in entries if e["SUMMARY"] == HORIZON] == [last]
    return [e for e in entries if e["SUMMARY"] != HORIZON]


def jobs_in(jobs: Jobs, one: dict[str, Any]) -> Counter[Told]:
    """Return what a round of the rota's JSON has, as an entry tells it."""
    found: Counter[Told] = Counter()
    for name in ("jobs", "helps"):
        for task in one[name]:
            title = told.title_of(jobs[task["enclosure"], task["job"], task["variant"]])
            lent, helper = (task["of"], "") if name == "helps" else ("", task["helper"] or "")
            found[Told(task["enclosure"], title, task["minutes"], lent, helper)] += 1
    return found


LAST = TODAY + 27 * DAY


@pytest.mark.parametrize("keeper", VOLUNTEERS)
def test_a_volunteers_calendar_is_exactly_that_volunteers_rounds(rescue: Exported, keeper: str) -> None:
    """Read by icalendar: an entry for each part of a day, its minutes, and every job in it, quarantine last."""
    place, jobs = rescue.site.settings, jobs_of(rescue.site)
    events = without_horizon(rescue.feed(keeper), LAST)
    own = parts(jobs, rescue.of(keeper))
    assert own, f"{keeper} has no round in four weeks: nothing would be compared"
    assert [str(told.day_of(event)) for event in events] == [one["date"] for one in own]
    for event, one in zip(events, own, strict=True):
        assert event["DURATION"].dt == dt.timedelta(minutes=one["minutes"])
        start = event["DTSTART"].dt
        assert (start.time(), start.tzinfo.key) == (place.time_of(one["part"]), "Europe/London")
        lines = str(event["DESCRIPTION"]).splitlines()
        works = told.works(event, rescue.site)
        assert Counter(works) == jobs_in(jobs, one)
        mine = [(w.enclosure, w.title) for w in works if not w.lent]
        tasks = [(t["enclosure"], jobs[t["enclosure"], t["job"], t["variant"]]) for t in one["jobs"]]
        assert mine == [(enclosure, told.title_of(job)) for enclosure, job in tasks], "in walking order"
        # Quarantine comes last, under its own words.
        sick = {task["enclosure"] for task in (*one["jobs"], *one["helps"]) if task["quarantine"]}
        assert lines.count(QUARANTINE) == bool(sick)
        apart = [w.enclosure in sick for w in works]
        assert apart == sorted(apart)


@pytest.mark.reader
def test_other_readers_see_the_same(rescue: Exported, readers: Any) -> None:
    """recurring-ical-events and ical.js, of all volunteers at once: who, instant and summary."""
    zone, place = ZoneInfo("Europe/London"), rescue.site.settings
    files = {
        str(rescue.folder / "out" / f"withy-ford-{name.lower()}.rounds.ics"): name for name in VOLUNTEERS
    }
    titles = {
        (name, told.day_of(e), told.hour_of(e)): str(e["SUMMARY"])
        for name in VOLUNTEERS
        for e in without_horizon(rescue.feed(name), LAST)
    }
    expected = []
    for one in parts(jobs_of(rescue.site), rescue.rounds):
        at, day = place.time_of(one["part"]), dt.date.fromisoformat(one["date"])
        start = dt.datetime.combine(day, at, zone).astimezone(dt.UTC)
        expected.append((one["keeper"], f"{start:%Y-%m-%dT%H:%M:%SZ}", titles[one["keeper"], day, at]))
    for read in (readers.recurring_ical_events, readers.ical_js):
        seen = [
            e
            for e in read(map(Path, files), "2026-01-01T00:00:00Z", "2028-01-01T00:00:00Z")
            if e["summary"] != HORIZON
        ]
        assert sorted((files[e["file"]], e["utc"], e["summary"]) for e in seen) == sorted(expected)


def test_the_sites_calendar_names_who(rescue: Exported) -> None:
    """To the end of the rounds an entry a keeper and day with the name in front, whole days, the steps in the keeper's own."""
    jobs, names = jobs_of(rescue.site), {k.name: keeper_names(rescue.site)[k.id] for k in rescue.site.keepers}
    events = [e for e in told.parsed(rescue.feeds["withy-ford.ics"]).walk("VEVENT") if told.day_of(e) <= LAST]
    named = [e for e in events if str(e["SUMMARY"]).partition(": ")[0] in names.values()]
    said = [
        (told.day_of(e), str(e["SUMMARY"]).partition(": ")[0], Counter(told.works(e, rescue.site)))
        for e in named
    ]
    expected = [
        (dt.date.fromisoformat(one["date"]), names[one["keeper"]], jobs_in(jobs, one))
        for one in rescue.rounds
    ]
    assert sorted(said, key=lambda one: one[:2]) == sorted(expected, key=lambda one: one[:2])
    assert {str(e["SUMMARY"]).partition(": ")[0] for e in events if e not in named} <= {"Nobody", HORIZON}
    assert all(told.hour_of(e) is None for e in events)
    assert all("\n1. " not in str(e["DESCRIPTION"]) for e in events)
    uids = {str(e["UID"]) for e in events}
    assert all(not uids & blocks(rescue.feed(keeper)).keys() for keeper in VOLUNTEERS)


def test_no_uid_stands_in_two_volunteers_calendars(rescue: Exported) -> None:
    found = Counter(uid for keeper in VOLUNTEERS for uid in blocks(rescue.feed(keeper)))
    assert set(found.values()) == {1}


# --- a small house ---

OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)
ALDER = """
[site]
name = "Alder"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[keeper]]
name = "Ben"
[[enclosure]]
name = "Sedge"
room = "hall"
extra_job = [{key = "brush", title = "brush the pane", rule = "FREQ=WEEKLY;BYDAY=WE", window = "3 days", minutes = 20}]
[[enclosure]]
name = "Reed"
extra_job = [{key = "net", title = "mend the net", rule = "FREQ=WEEKLY;BYDAY=FR", window = "2 days", minutes = 15, part = "evening"}]
[[enclosure]]
name = "Noor"
extra_job = [{key = "look", title = "look and listen", every = "1 day", minutes = 5}]
""".replace("[[enclosure]]\n", f"[[enclosure]]\njob = {{{OFF}}}\n")  # fmt: skip

FORTNIGHT = """
2026-12-07 noor noor/look
2026-12-08 ben  noor/look
2026-12-09 noor noor/look sedge/brush
2026-12-10 noor noor/look
2026-12-11 ben  noor/look reed/net
2026-12-12 ben  noor/look
2026-12-13 ben  noor/look
2026-12-14 ben  noor/look
2026-12-15 noor noor/look
2026-12-16 noor noor/look sedge/brush
2026-12-17 ben  noor/look
2026-12-18 ben  noor/look reed/net
2026-12-19 noor noor/look
2026-12-20 noor noor/look
"""
WEEKDAY_OF = {"brush": 2, "net": 4}


def tasks(text: str) -> Iterator[Assigned]:
    """Yield the tasks of a rota: each falls due on its weekday of that week."""
    for line in filter(None, text.splitlines()):
        date, keeper, *jobs = line.split()
        day = dt.date.fromisoformat(date)
        for name in jobs:
            enclosure, job = name.split("/")
            due = day - day.weekday() * DAY + WEEKDAY_OF.get(job, day.weekday()) * DAY
            yield Assigned(enclosure, job, "", due, day, keeper)


def publish(folder: Path, text: str) -> None:
    with open_log(f"sqlite:///{folder}/enclosures.db") as log:
        recorded = dt.datetime.combine(MONDAY, dt.time(6))
        log.publish("alder", Published(MONDAY, MONDAY + 13 * DAY, recorded, tuple(tasks(text))))


@pytest.fixture
def alder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder of a house whose rota of a fortnight is published."""
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    (tmp_path / "enclosures.toml").write_text(ALDER, "utf-8")
    publish(tmp_path, FORTNIGHT)
    return tmp_path


def shown(feed: bytes, kind: str = "VEVENT", until: str = "2026-12-20") -> list[str]:
    """Return the days and summaries of a feed's entries up to a day."""
    entries = Calendar.from_ical(feed).walk(kind)
    lines = [f"{told.day_of(e)} {e['SUMMARY']}" for e in entries if e["SUMMARY"] != HORIZON]
    return [line for line in lines if line[:10] <= until]


def test_the_published_rota_is_what_the_calendars_show(alder: Path) -> None:
    feeds = export(alder, MONDAY)
    assert shown(feeds["alder-ben.rounds.ics"]) == [
        "2026-12-08 look and listen Noor",
        "2026-12-11 look and listen Noor",
        "2026-12-11 mend the net Reed",
        "2026-12-12 look and listen Noor",
        "2026-12-13 look and listen Noor",
        "2026-12-14 look and listen Noor",
        "2026-12-17 look and listen Noor",
        "2026-12-18 look and listen Noor",
        "2026-12-18 mend the net Reed",
    ]
    # They end with what is published: nothing that nobody agreed on stands in a calendar.
    assert max(day_of(b) for name in feeds if ".rounds" in name for b in blocks(feeds[name]).values()) == (
        MONDAY + 13 * DAY
    )


def test_morning_and_evening_of_a_round_are_two_entries_at_their_own_hours(alder: Path) -> None:
    """A round is named by keeper, day and part: the morning's is the same whether an evening comes or goes."""
    feed = export(alder, MONDAY)["alder-ben.rounds.ics"]
    found = {
        str(e["DTSTART"].dt)[:16]: (str(e["UID"]), str(e["DESCRIPTION"]))
        for e in Calendar.from_ical(feed).walk("VEVENT")
    }
    morning, evening = found["2026-12-11 07:30"], found["2026-12-11 18:30"]
    assert morning[1].splitlines()[1:3] == ["Noor", "[ ] Look and listen, 5 min"]
    assert evening[1].splitlines()[1:3] == ["Reed", "[ ] Mend the net, 15 min"]
    # Names of version 5 (RFC 9562, section 5.5).
    space = uuid.UUID("5f0c7a52-93d8-5f0e-8d5b-9c3c1f4a7e21")
    assert morning[0] == str(uuid.uuid5(space, "alder/rota/ben/2026-12-11/morning"))
    assert evening[0] == str(uuid.uuid5(space, "alder/rota/ben/2026-12-11/evening"))
    text = ALDER.replace(', part = "evening"', "")
    (alder / "enclosures.toml").write_text(text, "utf-8")
    after = blocks(export(alder, MONDAY)["alder-ben.rounds.ics"])
    assert evening[0] not in after and b"SUMMARY:look and listen Noor\\, 1 more" in after[morning[0]]


@pytest.mark.parametrize("later", [0, 3, 9])
def test_the_export_and_the_json_of_the_rota_agree(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, later: int
) -> None:
    """Published and days later too, with something done: rounds, keepers, days, hours, minutes, jobs and their order."""
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    (tmp_path / "enclosures.toml").write_bytes((RESCUE.parent / "household.toml").read_bytes())
    file = str(tmp_path / "enclosures.toml")
    if later:
        command("rota", file, "--publish", "--today", str(MONDAY), gaps=True)
        command("did", file, "basement", "daily-look", "--by", "ives", "--today", str(MONDAY))
    today = MONDAY + later * DAY
    site = workflow.read_site(Path(file))
    jobs, names = jobs_of(site), {k.id: k.name for k in site.keepers}
    feeds = export(tmp_path, today)
    seen = []
    for keeper, name in names.items():
        for e in Calendar.from_ical(feeds[f"{site.settings.id}-{keeper}.rounds.ics"]).walk("VEVENT"):
            if str(e["SUMMARY"]).startswith("Done: ") or e["SUMMARY"] == HORIZON:
                continue
            lines = [(w.enclosure, w.title) for w in told.works(e, site)]
            minutes = e["DURATION"].dt.total_seconds() / 60
            seen.append((e["DTSTART"].dt.replace(tzinfo=None), name, minutes, lines))
    expected = []
    for one in parts(jobs, rounds(tmp_path, today)):
        at = dt.datetime.combine(dt.date.fromisoformat(one["date"]), site.settings.time_of(one["part"]))
        own = [jobs[t["enclosure"], t["job"], t["variant"]] for t in (*one["jobs"], *one["helps"])]
        lines = [(j.enclosure.id, told.title_of(j)) for j in own]
        expected.append((at, one["keeper"], one["minutes"], lines))
    assert sorted(seen) == sorted(expected) and len(seen) > 40


def test_before_a_rota_is_published_the_calendars_show_four_weeks(tmp_path: Path) -> None:
    (tmp_path / "enclosures.toml").write_text(ALDER, "utf-8")
    feeds = export(tmp_path, MONDAY)
    days = {day_of(b) for name in feeds if ".rounds" in name for b in blocks(feeds[name]).values()}
    assert days == {MONDAY + n * DAY for n in range(28)}


def test_an_enclosure_that_is_called_like_a_keeper_has_a_file_of_its_own(alder: Path) -> None:
    """The house has an enclosure Noor and a keeper Noor."""
    feeds = export(alder, MONDAY)
    assert sorted(feeds) == [
        "alder-ben.rounds.ics", "alder-noor.ics", "alder-noor.rounds.ics", "alder-reed.ics", "alder-sedge.ics", "alder.ics",
    ]  # fmt: skip
    assert {line[11:] for line in shown(feeds["alder-noor.ics"])} == {
        "Noor: look and listen Noor",
        "Ben: look and listen Noor",
    }
    assert {line[11:] for line in shown(feeds["alder-noor.rounds.ics"])} == {
        "look and listen Noor",
        "look and listen Noor, 1 more",
    }


def test_without_the_rota_there_are_no_rounds(alder: Path) -> None:
    feeds = export(alder, MONDAY, "--no-rota")
    assert sorted(feeds) == ["alder-noor.ics", "alder-reed.ics", "alder-sedge.ics", "alder.ics"]
    assert {line[11:] for line in shown(feeds["alder.ics"], until="2027-01-31")} == {
        "look and listen: Noor",
        "brush the pane: Sedge",
        "mend the net: Reed",
    }


def test_without_keepers_there_are_no_rounds(tmp_path: Path) -> None:
    text = re.sub(r"\[\[keeper\]\]\nname = .*\n", "", ALDER)
    (tmp_path / "enclosures.toml").write_text(text, "utf-8")
    assert sorted(export(tmp_path, MONDAY)) == [
        "alder-noor.ics",
        "alder-reed.ics",
        "alder-sedge.ics",
        "alder.ics",
    ]


def test_exported_twice_it_is_the_same_to_the_byte(alder: Path) -> None:
    for options in ([], ["--each-job"], ["--all-day", "--alarms"]):
        assert export(alder, MONDAY, *options) == export(alder, MONDAY, *options)


def test_an_entry_for_each_job(alder: Path) -> None:
    feed = export(alder, MONDAY, "--each-job")["alder-ben.rounds.ics"]
    made = [one for one in rounds(alder, MONDAY, "--weeks", "2") if one["keeper"] == "Ben"]
    events = Calendar.from_ical(feed).walk("VEVENT")
    jobs = {(j.enclosure.id, j.key): j for j in care.jobs(workflow.read_site(alder / "enclosures.toml"))}
    expected = []
    for one in made:
        for task in one["jobs"]:
            job = jobs[task["enclosure"], task["job"]]
            at = dt.time(7, 30) if job.part == "morning" else dt.time(18, 30)
            start = dt.datetime.combine(dt.date.fromisoformat(one["date"]), at)
            expected.append(
                (start, f"{job.title}: {job.enclosure.name}", dt.timedelta(minutes=task["minutes"]))
            )
    assert [
        (e["DTSTART"].dt.replace(tzinfo=None), str(e["SUMMARY"]), e["DURATION"].dt) for e in events
    ] == expected


def test_to_dos(alder: Path) -> None:
    """RFC 5545, section 3.6.2: DUE or DURATION; 3.8.1.11: NEEDS-ACTION until it is done."""
    feeds = export(alder, MONDAY)
    to_dos = export(alder, MONDAY, "--as", "to-dos")
    events, feed = feeds["alder-ben.rounds.ics"], to_dos["alder-ben.rounds-to-dos.ics"]
    # A to-do for each job: ticks of a group could not be told apart.
    assert [line.replace(":", "") for line in shown(feed, "VTODO")] == shown(events)
    found = Calendar.from_ical(feed).walk("VTODO")
    assert {str(t["STATUS"]) for t in found} == {"NEEDS-ACTION"}
    assert not blocks(feed, "VTODO").keys() & blocks(events).keys()
    assert b"VEVENT" not in feed
    # The events that were there are left as they are.
    assert to_dos["alder-ben.rounds.ics"] == events


def test_all_day(alder: Path) -> None:
    """RFC 5545, section 3.6.1: DTEND is the day after, and not included."""
    timed = shown(export(alder, MONDAY)["alder-ben.rounds.ics"])
    feed = export(alder, MONDAY, "--all-day")["alder-ben.rounds.ics"]
    assert shown(feed) == timed
    assert not blocks(feed).keys() - blocks(export(alder, MONDAY)["alder-ben.rounds.ics"]).keys()
    for event in Calendar.from_ical(feed).walk("VEVENT"):
        assert type(event["DTSTART"].dt) is dt.date
        assert event["DTEND"].dt == event["DTSTART"].dt + DAY
        assert "DURATION" not in event


@pytest.mark.parametrize(("options", "triggers"), [([], {-10}), (["--all-day"], {7 * 60 + 30, 18 * 60 + 30})])
def test_alarms(alder: Path, options: list[str], triggers: set[int]) -> None:
    """RFC 5545, section 3.6.6: TRIGGER counts from the start; of a whole day that is midnight."""
    feed = export(alder, MONDAY, "--alarms", *options)["alder-ben.rounds.ics"]
    events = [e for e in Calendar.from_ical(feed).walk("VEVENT") if e["SUMMARY"] != HORIZON]
    assert events
    alarms = [alarm for event in events for alarm in event.walk("VALARM")]
    assert len(alarms) == len(events)
    assert {alarm["TRIGGER"].dt for alarm in alarms} == {dt.timedelta(minutes=n) for n in triggers}
    assert [str(a["DESCRIPTION"]) for a in alarms] == [str(e["SUMMARY"]) for e in events]
    assert len({str(alarm["UID"]) for alarm in alarms}) == len(alarms)


# --- steady ---


def test_a_round_that_moves_changes_what_it_touches_alone(alder: Path) -> None:
    """RFC 5546, section 2.1.4: the higher sequence number is the newer revision; what has not changed has no new one."""
    before = export(alder, MONDAY)
    moved = FORTNIGHT.replace(
        "2026-12-16 noor noor/look sedge/brush", "2026-12-16 ben  noor/look\n2026-12-17 noor sedge/brush"
    )
    publish(alder, moved)
    after = export(alder, MONDAY)

    def news(name: str) -> dict[str, list[str]]:
        old, new = blocks(before[name]), blocks(after[name])
        return {
            "gone": [str(day_of(old[uid])) for uid in old if uid not in new],
            "new": [str(day_of(new[uid])) for uid in new if uid not in old],
            "changed": [f"{day_of(new[u])} {sequence(new[u])}" for u in new if u in old and new[u] != old[u]],
        }

    assert news("alder-noor.rounds.ics") == {"gone": ["2026-12-16"], "new": ["2026-12-17"], "changed": []}
    assert news("alder-ben.rounds.ics") == {"gone": [], "new": ["2026-12-16"], "changed": []}
    # In the site's and in the enclosures' calendars it is the same: an entry is a keeper's and a day's.
    assert news("alder.ics") == {
        "gone": ["2026-12-16"],
        "new": ["2026-12-16", "2026-12-17"],
        "changed": [],
    }
    assert news("alder-sedge.ics") == {"gone": ["2026-12-16"], "new": ["2026-12-17"], "changed": []}
    assert before["alder-reed.ics"] == after["alder-reed.ics"]


def test_what_changes_hands_changes_two_rounds(alder: Path) -> None:
    before = export(alder, MONDAY)
    folder = ["swap", str(alder / "enclosures.toml")]
    command(*folder, "2026-12-09", "noor", "ben", "brush", "--today", str(MONDAY))
    after = export(alder, MONDAY)
    old, new = blocks(before["alder-noor.rounds.ics"]), blocks(after["alder-noor.rounds.ics"])
    # Beyond what is published the shares are made up for.
    changed = [str(day_of(new[uid])) for uid in new if new[uid] != old.get(uid)]
    assert [day for day in changed if day <= "2026-12-20"] == ["2026-12-09"]
    near = [{uid for uid, b in some.items() if day_of(b) <= dt.date(2026, 12, 20)} for some in (old, new)]
    assert near[0] == near[1]
    assert "2026-12-09 brush the pane Sedge" in shown(after["alder-ben.rounds.ics"])
    assert {line for line in shown(after["alder.ics"]) if line[:10] == "2026-12-09"} >= {
        "2026-12-09 Ben: brush the pane Sedge",
        "2026-12-09 Noor: look and listen Noor",
    }


def test_the_next_days_leave_what_is_to_come_as_it_is(alder: Path) -> None:
    """Nothing is recorded: what was published for the days before counts as done, and the others keep name and bytes."""
    feeds = export(alder, MONDAY)

    def published(feed: bytes) -> dict[str, bytes]:
        near = {u: b for u, b in blocks(feed).items() if day_of(b) <= dt.date(2026, 12, 20)}
        # To where rounds are planned moves when more are made.
        return {u: b for u, b in near.items() if HORIZON.encode() not in b}

    for today in (MONDAY + n * DAY for n in range(1, 9)):
        later = export(alder, today)
        for name in ("alder-noor.rounds.ics", "alder-ben.rounds.ics"):
            old, new = published(feeds[name]), published(later[name])
            assert new == {uid: block for uid, block in old.items() if day_of(block) >= today}


def test_what_was_moved_to_a_later_day_is_still_there_on_it(alder: Path) -> None:
    """It fell due on Wednesday and was published for Thursday: on Thursday morning it stands there, whether a record is kept or not."""
    text = FORTNIGHT.replace("noor/look sedge/brush", "noor/look", 1).replace(
        "2026-12-10 noor noor/look", "2026-12-10 noor noor/look sedge/brush"
    )
    publish(alder, text)
    before = export(alder, MONDAY)["alder-noor.rounds.ics"]
    after = export(alder, dt.date(2026, 12, 10))["alder-noor.rounds.ics"]
    assert "2026-12-10 look and listen Noor, 1 more" in shown(before)
    assert "2026-12-10 look and listen Noor, 1 more" in shown(after)


def test_what_a_keeper_did_stays_for_60_days(alder: Path) -> None:
    """One entry a day, with what was noted; what others did is not in it."""
    file = str(alder / "enclosures.toml")
    did = ["did", file, "--on", "2026-12-09", "--today", "2026-12-09"]
    command(*did, "--by", "noor", "sedge", "brush", "--note", "new sponge")
    command(*did, "--by", "noor", "noor", "look")
    command(*did, "--by", "ben", "reed", "net")
    noor = export(alder, dt.date(2026, 12, 9))["alder-noor.rounds.ics"]
    assert [line for line in shown(noor) if line.startswith("2026-12-09")] == [
        "2026-12-09 Done: look and listen Noor, 1 more"
    ]
    (event,) = [e for e in Calendar.from_ical(noor).walk("VEVENT") if "Done" in e["SUMMARY"]]
    assert str(event["DESCRIPTION"]).splitlines() == [
        "Done 9 December 2026: look and listen Noor; brush the pane Sedge",
        "- brush the pane Sedge: new sponge",
    ]
    assert event["DURATION"].dt == dt.timedelta(minutes=25)
    last, gone = dt.date(2026, 12, 9) + 60 * DAY, dt.date(2026, 12, 9) + 61 * DAY
    assert "2026-12-09 Done: look and listen Noor, 1 more" in shown(
        export(alder, last)["alder-noor.rounds.ics"]
    )
    assert "2026-12-09 Done: look and listen Noor, 1 more" not in shown(
        export(alder, gone)["alder-noor.rounds.ics"]
    )


def test_a_done_round_of_to_dos_is_completed(alder: Path) -> None:
    """RFC 5545, section 3.8.1.11."""
    file = str(alder / "enclosures.toml")
    command("did", file, "sedge", "brush", "--by", "noor", "--today", "2026-12-09")
    feed = export(alder, dt.date(2026, 12, 9), "--as", "to-dos", "--alarms")["alder-noor.rounds-to-dos.ics"]
    done = [t for t in Calendar.from_ical(feed).walk("VTODO") if t["STATUS"] == "COMPLETED"]
    assert [str(t["SUMMARY"]) for t in done] == ["Done: brush the pane Sedge"]
    assert not done[0].walk("VALARM")


def test_a_round_that_is_gone_is_cancelled_where_that_is_asked_for(alder: Path) -> None:
    """RFC 5545, section 3.8.1.11 (STATUS:CANCELLED) and RFC 5546, section 3.2.5."""
    before = blocks(export(alder, MONDAY, "--cancel")["alder-noor.rounds.ics"])
    publish(alder, FORTNIGHT.replace("2026-12-07 noor", "2026-12-07 ben "))
    after = blocks(export(alder, MONDAY, "--cancel")["alder-noor.rounds.ics"])
    (gone,) = [uid for uid, block in after.items() if b"STATUS:CANCELLED" in block]
    assert day_of(before[gone]) == MONDAY
    assert sequence(after[gone]) == sequence(before[gone]) + 1
    assert {u: b for u, b in after.items() if u != gone} == {u: b for u, b in before.items() if u != gone}


PAILS = f"""
[site]
name = "Alder"
[[keeper]]
name = "Noor"
weekdays = ["Mon"]
[[keeper]]
name = "Ben"
weekdays = ["Mon"]
[[enclosure]]
name = "Sedge"
job = {{{OFF}}}
extra_job = [{{key = "pails", title = "carry pails", on = [2026-12-07], minutes = 20, lift = "30 kg"}}]
"""


@pytest.mark.parametrize("options", [[], ["--each-job"]])
def test_who_lends_a_hand_has_it_in_the_calendar(tmp_path: Path, options: list[str]) -> None:
    (tmp_path / "enclosures.toml").write_text(PAILS, "utf-8")
    feeds = export(tmp_path, MONDAY, *options)
    one, other = sorted(
        (str(event["SUMMARY"]), str(event["DESCRIPTION"]), event["DURATION"].dt)
        for name in ("alder-ben.rounds.ics", "alder-noor.rounds.ics")
        for event in told.parsed(feeds[name]).walk("VEVENT")
        if event["SUMMARY"] != HORIZON
    )
    assert one[2] == other[2] == dt.timedelta(minutes=20)
    everything = " ".join([*one[:2], *other[:2]])
    assert re.search(r"Help (Noor|Ben): carry pails", everything)
    assert re.search(r"[Cc]arry pails(, 20 min)?, with (Noor|Ben)", everything)
    assert not set(blocks(feeds["alder-ben.rounds.ics"])) & set(blocks(feeds["alder-noor.rounds.ics"]))


ODD = ["Ümit 🐢; drop, \\n", 'BEGIN:VEVENT "x"', "a" * 80, "=1+1"]


@pytest.mark.parametrize("name", ODD)
def test_odd_names_are_escaped(tmp_path: Path, name: str) -> None:
    """RFC 5545, sections 3.1 (lines of 75 octets) and 3.3.11 (TEXT)."""
    quoted = json.dumps(name, ensure_ascii=False)
    text = ALDER.replace('name = "Ben"', f'name = {quoted}\nid = "odd"').replace('"mend the net"', quoted)
    (tmp_path / "enclosures.toml").write_text(text, "utf-8")
    feeds = export(tmp_path, MONDAY)
    made = rounds(tmp_path, MONDAY, "--weeks", "4")
    site = workflow.read_site(tmp_path / "enclosures.toml")
    own = [one for one in parts(jobs_of(site), made) if one["keeper"] == name]
    events = without_horizon(feeds["alder-odd.rounds.ics"], MONDAY + 27 * DAY)
    assert len(events) == len(own) > 0
    titles = [w.title for e in events for w in told.works(e, site) if w.enclosure == "reed"]
    assert titles == [name[:1].upper() + name[1:] for one in own for t in one["jobs"] if t["job"] == "net"]
    end = MONDAY + 27 * DAY
    whole = [e for e in without_horizon(feeds["alder.ics"], end) if told.day_of(e) <= end]
    by = keeper_names(site)["odd"]
    assert sum(str(e["SUMMARY"]).startswith(f"{by}: ") for e in whole) == len({one["date"] for one in own})
    assert all(len(line) <= 75 for feed in feeds.values() for line in feed.split(b"\r\n"))
