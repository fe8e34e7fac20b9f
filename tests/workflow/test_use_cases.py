"""The use cases: addressing by name, own species sheets, what an export writes and says."""

from __future__ import annotations

import datetime as dt
import os
import zoneinfo
from pathlib import Path

import pytest
from icalendar import Calendar, Event

import scheduler
from scheduler import workflow
from scheduler.calendar import Options
from scheduler.care import Review
from scheduler.description import Site
from scheduler.errors import DescriptionError, UsageError

TODAY = dt.date(2026, 12, 1)
SITE = '[site]\nname = "Weir"\ntime_zone = "Europe/Dublin"\n'


def enclosures(*names: str, more: str = "") -> str:
    return SITE + "".join(f'[[enclosure]]\nname = "{name}"\n{more}' for name in names)


def planned(tmp_path: Path, text: str, days: int = 728) -> workflow.Planned:
    file = tmp_path / "enclosures.toml"
    file.write_text(text, "utf-8")
    return workflow.make_plan(workflow.read_site(file), TODAY, TODAY, days)


# --- addressing ---


@pytest.mark.parametrize(
    ("word", "found"), [("Willow pond", "a"), ("willow-pond", "a"), ("WILLOW P", "a"), ("reed", "c")]
)
def test_a_name_may_be_shortened_while_it_is_unique(word: str, found: str) -> None:
    things = {"Willow pond": "a", "willow-pond": "a", "Willow tub": "b", "willow-tub": "b", "Reed": "c"}
    assert workflow.pick(word, things, "enclosure") == found


@pytest.mark.parametrize(
    ("word", "message"),
    [
        ("willow", '"willow" may mean any enclosure of Willow pond, Willow tub; write more of it'),
        ("reid", 'there is no enclosure "reid"; nearest: Reed'),
        ("zzz", 'there is no enclosure "zzz"; there are: Reed, Willow pond, Willow tub'),
    ],
)
def test_a_wrong_name_is_told_with_what_there_is(word: str, message: str) -> None:
    with pytest.raises(UsageError) as raised:
        workflow.pick(word, {"Willow pond": "a", "Willow tub": "b", "Reed": "c"}, "enclosure")
    assert str(raised.value) == message


@pytest.mark.parametrize(
    "text", ["tomorrow", "2026-13-01", "0001-01-01", "9999-12-31", "", "2026-12-01T07:30"]
)
def test_a_day_on_the_command_line_has_to_be_one(text: str) -> None:
    with pytest.raises(UsageError, match=r"is not a date|is not believable"):
        workflow.parse_day(text)


# --- time zones ---


@pytest.mark.parametrize(
    ("file", "line", "package_wins"),
    [
        ("tzdata.zi", "# version 1999a\n", True),
        ("tzdata.zi", "# version 2999a\n", False),
        ("+VERSION", "1999a\n", True),
        ("+VERSION", "2999a\n", False),
        ("elsewhere", "2999a\n", True),
    ],
)
def test_the_newer_time_zone_database_is_read(
    tmp_path: Path, file: str, line: str, package_wins: bool
) -> None:
    before = zoneinfo.TZPATH
    (tmp_path / file).write_text(line)
    try:
        zoneinfo.reset_tzpath([tmp_path])
        workflow.use_newest_zones()
        assert list(map(Path, zoneinfo.TZPATH)) == ([] if package_wins else [tmp_path])
    finally:
        zoneinfo.reset_tzpath(before)
    assert zoneinfo.ZoneInfo("Europe/Dublin").key == "Europe/Dublin"


# --- what a keeper can take ---


def test_a_keeper_sees_what_days_absence_and_skills_allow(tmp_path: Path) -> None:
    text = (
        SITE
        + '[[keeper]]\nname = "Ada"\nweekdays = ["Tue", "Thu"]\naway = ["2026-12-08/2026-12-09"]\ncan = []\n'
        + '[[keeper]]\nname = "Bram"\ncan = ["adult", "electrics", "lifting"]\n'
        + '[[enclosure]]\nname = "Pool"\n'
    )
    plan = planned(tmp_path, text, 14)
    seen = list(workflow.days_of(plan, keeper="ada"))
    assert {o.day.isoformat() for o in seen} == {"2026-12-01", "2026-12-03", "2026-12-10"}
    assert "water-change" not in {o.job.key for o in seen}, "lifting is asked for"
    assert "water-change" in {o.job.key for o in workflow.days_of(plan, keeper="bram")}


# --- species sheets of the keeper's own ---


def test_a_sheet_beside_the_description_is_found(tmp_path: Path) -> None:
    shipped = Path(scheduler.__file__).parent / "species" / "sheets" / "trachemys-scripta.toml"
    own = shipped.read_text("utf-8").replace('species = "Trachemys scripta"', 'species = "Pseudemys nelsoni"')
    own = own.replace('"pond slider", "slider"', '"redbelly"', 1)
    (tmp_path / "nelsoni.species.toml").write_text(own, "utf-8")
    text = enclosures("Pool", more='[[enclosure.resident]]\nname = "Sorrel"\nspecies = "Pseudemys nelsoni"\n')
    site = planned(tmp_path, text).site
    sheet = site.sheet(site.enclosures[0].resident[0])
    assert sheet is not None and sheet.species == "Pseudemys nelsoni"


def test_the_stages_of_a_sheet_beside_the_description_are_kept(tmp_path: Path) -> None:
    shipped = Path(scheduler.__file__).parent / "species" / "sheets" / "trachemys-scripta.toml"
    own = shipped.read_text("utf-8").replace("until_share = 0.4", "until_share = 0.7")
    animal = '[[enclosure.resident]]\nname = "Sorrel"\nspecies = "pond slider"\nsex = "female"\ncarapace = "14 cm"\n'
    feeds = {}
    for sheet in ("", own):
        if sheet:
            (tmp_path / "slider.species.toml").write_text(sheet, "utf-8")
        site = planned(tmp_path, enclosures("Pool", more=animal)).site
        (feed,) = (job for job in scheduler.jobs(site) if job.key == "feed")
        feeds[bool(sheet)] = feed.variant
    assert feeds == {False: "juvenile", True: "hatchling"}, "14 of 24 cm of adult carapace"


def test_a_wrong_sheet_is_told_by_file_and_key(tmp_path: Path) -> None:
    (tmp_path / "x.species.toml").write_text('species = "X y"\n[water]\nlow = 22\n', "utf-8")
    (tmp_path / "y.species.toml").write_text("species = \n", "utf-8")
    with pytest.raises(DescriptionError) as raised:
        planned(tmp_path, enclosures("Pool"))
    places = [p.where for p in raised.value.problems]
    assert (
        "x.species.toml.water.low" in places
        and "x.species.toml.basking" in places
        and "y.species.toml" in places
    )


# --- exporting ---


def is_routine(entry: Event) -> bool:
    return entry.categories == ["Routine"]


def test_an_export_writes_a_file_for_the_site_and_one_for_each_enclosure(tmp_path: Path) -> None:
    done = workflow.export(planned(tmp_path, enclosures("Sluice", "Mill race")), tmp_path / "out", Options())
    assert sorted(p.name for p, _, _ in done.files) == ["weir-mill-race.ics", "weir-sluice.ics", "weir.ics"]
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [
        "weir-mill-race.ics",
        "weir-sluice.ics",
        "weir.ics",
    ]
    assert done.warnings == ()
    counts = {p.name: n for p, n, _ in done.files}
    # The routine of both is one entry for each weekday in the site's calendar too; everything else stands in two.
    assert counts["weir.ics"] + 7 == counts["weir-sluice.ics"] + counts["weir-mill-race.ics"] > 20
    for path, entries, size in done.files:
        assert path.stat().st_size == size
        assert len(Calendar.from_ical(path.read_bytes()).events) == entries


def test_names_that_are_no_file_names_get_safe_and_distinct_files(tmp_path: Path) -> None:
    names = ("../../etc/passwd", "a/b", "a b", "CON", "🐢", "🐸", "مياه", "Étang")
    done = workflow.export(planned(tmp_path, enclosures(*names), 14), tmp_path / "out", Options())
    files = [p.name for p, _, _ in done.files]
    assert len(set(files)) == len(names) + 1
    assert all(
        set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-.") and name.startswith("weir")
        for name in files
    )
    assert {"weir-a-b.ics", "weir-con.ics", "weir-etang.ics", "weir-etc-passwd.ics"} < set(files)
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == sorted(files)


def test_a_device_is_no_file_name(tmp_path: Path) -> None:
    text = enclosures("Pool").replace('name = "Weir"', 'name = "CON"')
    done = workflow.export(planned(tmp_path, text, 14), tmp_path / "out", Options())
    assert sorted(p.name for p, _, _ in done.files) == ["con-pool.ics", "site-con.ics"]


def test_what_a_killed_export_left_is_swept_away_once_it_is_old(tmp_path: Path) -> None:
    plan = planned(tmp_path, enclosures("Pool"), 14)
    old, young = tmp_path / ".pondround-old.tmp", tmp_path / ".pondround-young.tmp"
    for left in (old, young):
        left.write_text("half a calendar")
    os.utime(old, (0, 0))
    workflow.export(plan, tmp_path, Options())
    assert not old.exists() and young.exists(), "the young one may belong to an export that is running"


def test_to_dos_go_into_files_of_their_own(tmp_path: Path) -> None:
    plan = planned(tmp_path, enclosures("Sluice"))
    workflow.export(plan, tmp_path, Options())
    workflow.export(plan, tmp_path, Options(to_dos=True))
    assert sorted(p.name for p in tmp_path.glob("*.ics")) == [
        "weir-sluice.ics", "weir-sluice.to-dos.ics", "weir.ics", "weir.to-dos.ics",
    ]  # fmt: skip


def test_a_large_site_feed_has_routine_without_its_steps_and_other_work_without_its_reason(
    tmp_path: Path,
) -> None:
    names = [f"Tank {n}" for n in range(105)]
    done = workflow.export(planned(tmp_path, enclosures(*names), 28), tmp_path / "out", Options())
    (warning,) = done.warnings
    assert warning.startswith("weir.ics: the whole site's notes would be too long")
    site = Calendar.from_ical((tmp_path / "out" / "weir.ics").read_bytes())
    own = Calendar.from_ical((tmp_path / "out" / "weir-tank-7.ics").read_bytes())
    full = {str(e["uid"]): str(e["description"]) for e in own.events if not is_routine(e)}
    brief = {str(e["uid"]): str(e["description"]) for e in site.events if not is_routine(e)}
    assert set(full) < set(brief) and len(brief) == 105 * len(full)
    for uid, text in full.items():
        # Steps and cautions stand in both, the reason in one.
        assert text.startswith(f"{brief[uid]}\n\nWhy:")
    assert any("Take care:" in text for text in brief.values())
    routine = [e for e in site.events if is_routine(e)]
    assert {str(e["summary"]) for e in routine} == {"Look in"} and len(routine) == 7
    for entry in routine:
        *looks, end = str(entry["description"]).splitlines()
        assert sorted(looks) == sorted(f"{name}: Daily look, 5 min" for name in names)
        assert end == "The steps are in the calendars of the enclosures."


def test_a_feed_that_stays_too_large_is_warned_about(tmp_path: Path) -> None:
    note = "Look, and look again. " * 80
    extra = "".join(
        f'[[enclosure.extra_job]]\nkey = "own-{n}"\ntitle = "own {n}"\nrule = "FREQ=DAILY;BYMONTH=1,2"\nnote = "{note}"\n'
        for n in range(5)
    )
    done = workflow.export(planned(tmp_path, enclosures("Pool", more=extra)), tmp_path / "out", Options())
    assert [w.split(":")[0] for w in done.warnings] == ["weir-pool.ics", "weir.ics", "weir.ics"]
    assert "kB; some calendar programs lose feeds of 1 MB" in done.warnings[0]


# --- reviewing ---

SIZES = 'length = "100 cm"\nwidth = "50 cm"\nheight = "50 cm"\nwater_depth = "40 cm"\n'
BINS = (
    '[[enclosure.extra_job]]\nkey = "last-workday"\ntitle = "bins out"\n'
    'rule = "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1"\n'
)


def reviewed(tmp_path: Path, text: str, enclosure: str | None = None) -> list[Review]:
    return workflow.review(planned(tmp_path, text).site, TODAY, enclosure)


def test_the_review_tells_figures_with_sources_and_what_is_no_rule(tmp_path: Path) -> None:
    more = SIZES + BINS
    more += "[enclosure.job.heater-check]\nminutes = 5\n[enclosure.job.lamp-clean]\noff = true\n"
    (found,) = reviewed(tmp_path, enclosures("Pool", more=more))
    assert (found.enclosure.name, found.units, found.to_act_on) == ("Pool", "metric", False)
    assert {f.key: (f.value, f.unit) for f in found.figures} == {
        "gross_volume": (200.0, "L"),
        "net_volume": (200.0, "L"),
        # 200 L of water of 25 degC (997.05 kg/m3, IAPWS) and panes of 10 mm of glass (2500 kg/m3, EN 572-1) around them.
        "filled_mass": (pytest.approx(199.41 + 2.5 * (102 * 52 * 51 - 100 * 50 * 50) / 1000, abs=0.01), "kg"),
        "floor_load": (pytest.approx(250.67 * 9.80665 / 0.5 / 1000, abs=0.001), "kPa"),
        "water_change_interval": (14, "d"),  # custom, while the food is not known
        "water_change_share": (0.5, "1"),
        "water_change_volume": (100.0, "L"),
        "line_after_change": (20.0, "cm"),
        # 4.0 mg/L, the ceiling of 40 CFR 141.65, while the tap is unknown
        "chlorine_to_neutralise": (400.0, "mg"),
        "freed_ammonia": (pytest.approx(4 * 14.007 / 70.906), "mg/L"),
        "pail_mass": (
            pytest.approx(100 / 17 * 0.997 + 1, abs=0.01),
            "kg",
        ),  # seventeen pails; one weighs 1 kg (house value)
        "lifting_limit": (pytest.approx(7.13, abs=0.01), "kg"),  # ISO 11228-1, one hand
        "water_area": (5000.0, "cm2"),
    }
    assert all(f.source.text and f.source.status and f.how() for f in found.figures)
    of_the_plan = [f for f in found.findings if f.key in ("last-workday", "heater-check", "lamp-clean")]
    assert [(f.key, f.verdict) for f in of_the_plan] == [("last-workday", "look"), ("heater-check", "look")]
    assert of_the_plan[0].text.startswith("bins out: exported as single dates, not as a rule: ")
    assert of_the_plan[1].text == (
        "[enclosure.job.heater-check] changes nothing: the job does not apply to this enclosure."
    )


def test_findings_come_worst_first(tmp_path: Path) -> None:
    stream = SIZES + 'filter = {flow = "100 L/h"}\n' + BINS
    (found,) = reviewed(tmp_path, enclosures("Pool", more=stream))
    verdicts = [f.verdict for f in found.findings]
    assert verdicts == sorted(verdicts, key=("act", "look", "fine").index)
    assert set(verdicts) == {"act", "look", "fine"} and found.to_act_on
    assert found.findings[0].key == "filter_turnover"


def test_one_enclosure_can_be_reviewed_alone_and_says_the_same(tmp_path: Path) -> None:
    text = enclosures("Sluice", "Mill race", more=SIZES)
    both = reviewed(tmp_path, text)
    assert [r.enclosure.name for r in both] == ["Mill race", "Sluice"]
    assert reviewed(tmp_path, text, "slu") == both[1:]
    with pytest.raises(UsageError, match='there is no enclosure "weir"'):
        reviewed(tmp_path, text, "weir")


def changed(tmp_path: Path, text: str, *changes: str, enclosure: str | None = None) -> Site:
    site = planned(tmp_path, text).site
    return workflow.changed_site(tmp_path / "enclosures.toml", site, changes, enclosure)


def test_a_changed_site_is_the_one_that_the_changed_file_would_describe(tmp_path: Path) -> None:
    text = enclosures("Sluice", "Mill race", more=SIZES)
    site = changed(tmp_path, text, 'width = "60 cm"', "site.units=us", "filter.flow=900 L/h")
    written = text.replace('width = "50 cm"', 'width = "60 cm"\nfilter = {flow = "900 L/h"}')
    written = written.replace("[[enclosure]]", 'units = "us"\n[[enclosure]]', 1)
    expected = planned(tmp_path, written).site
    assert (site.settings, site.enclosures, site.keepers) == (
        expected.settings,
        expected.enclosures,
        expected.keepers,
    )
    # The file itself stays as it is.
    changed(tmp_path, text, "width=60 cm")
    assert (tmp_path / "enclosures.toml").read_text("utf-8") == text


def test_a_change_may_be_made_to_one_enclosure(tmp_path: Path) -> None:
    text = enclosures("Sluice", "Mill  race", more=SIZES)
    site = changed(tmp_path, text, "width=60 cm", enclosure="mill race")
    assert {e.name: e.width for e in site.enclosures} == {"Mill race": 60.0, "Sluice": 50.0}


def test_a_change_that_does_not_fit_is_told_without_a_line_of_the_file(tmp_path: Path) -> None:
    with pytest.raises(DescriptionError) as raised:
        changed(tmp_path, enclosures("Sluice", more=SIZES), "water_depth=90 cm", "width=much")
    problems = raised.value.problems
    assert {p.where for p in problems} == {"enclosure[0].water_depth", "enclosure[0].width"}
    assert {p.line for p in problems} == {None}
    with pytest.raises(UsageError, match='there is no key "wdith"; nearest: width'):
        changed(tmp_path, enclosures("Sluice", more=SIZES), "wdith=60 cm")


def test_the_days_can_be_narrowed_to_a_job(tmp_path: Path) -> None:
    plan = planned(tmp_path, enclosures("Pool", more=BINS), 62)
    assert {o.job.key for o in workflow.days_of(plan, job="water-ch")} == {"water-change"}
    assert [o.day.isoformat() for o in workflow.days_of(plan, job="last-workday")] == [
        "2026-12-31",
        "2027-01-29",
    ]
    # One of several jobs of a key, and a title, as the table shows them.
    assert {o.job.word for o in workflow.days_of(plan, job="Water change")} == {"water-change"}
    assert {o.job.word for o in workflow.days_of(plan, job="bins")} == {"last-workday"}
    # A job that does not apply here has no days; one that does not exist is a mistake.
    assert list(workflow.days_of(plan, job="heater-check")) == []
    with pytest.raises(UsageError, match='there is no job "water-chnage"; nearest: water-change'):
        workflow.days_of(plan, job="water-chnage")
