"""Descriptions that nobody writes in good faith, or that a broken disk writes: a clear refusal, soon, and no traceback."""

import datetime as dt
import math
import re
import tomllib

import pytest
import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from support.commands import run_command
from support.depth import examples
from typer.testing import CliRunner

import scheduler
from scheduler import workflow
from scheduler.care import check
from scheduler.cli.main import app
from scheduler.description import load
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets

TANK = '[site]\nname = "Fen Lane"\n[[enclosure]]\nname = "Sedge"\n'


def run(*args, cwd):
    """Run the command as a keeper would; one that is not done in time fails the test."""
    return run_command(*args, cwd=cwd, env={"COLUMNS": "80"})


def refused(file, cwd):
    """Export a description that is no good, and return what is said; nothing may be written."""
    done = run("export", file, "--to", "calendars", cwd=cwd)
    said = done.stderr
    assert done.returncode == 2, said[-2000:]
    assert done.stdout == ""
    assert "Traceback" not in said
    assert not (cwd / "calendars").exists()
    assert re.search(r"\n\d+ problems?\. Nothing was written\.\n$", said)
    # Nothing that a terminal would obey, and no line turned around.
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]", said)
    return said


# --- Texts ------------------------------------------------------------------------------------------------------

DEEP = "found values nested too deeply"
PARTS = "found a key of more than 64 parts"
TEXTS = {
    # what it is: (TOML, what is said)
    "open brackets": (TANK + "x = " + "[" * 9000, DEEP),
    "closed brackets": (TANK + "x = " + "[" * 9000 + "]" * 9000, DEEP),
    "brackets that just fit": (TANK + "x = " + "[" * 300 + "]" * 300, 'unknown key "x"'),
    "inline tables": (TANK + "x = " + "{a=" * 3000 + "1" + "}" * 3000, DEEP),
    "dotted inline tables": (TANK + "x = " + ("{" + "a." * 40 + "a=") * 200 + "1" + "}" * 200, DEEP),
    "a deep header": (TANK + "[" + "a." * 9000 + "a]\nx = 1", PARTS),
    "a deep key": (TANK + "a." * 9000 + "a = 1", PARTS),
    "a deep key in quotes": (TANK + '"a".' * 4000 + "a = 1", PARTS),
    "a deep key with spaces": (TANK + "a . " * 4000 + "a = 1", PARTS),
    "many deep keys": (TANK + "".join(f"k{i}." + "a." * 9000 + "a = 1\n" for i in range(500)), PARTS),
    "many keys that just fit": (
        TANK + "".join(f"k{i}." + "a." * 62 + "a = 1\n" for i in range(3000)),
        'unknown key "k0"',
    ),
    "headers below headers": (
        TANK + "".join("[" + ".".join(["a"] * n) + "]\n" for n in range(1, 60)),
        'unknown key "a"',
    ),
    "a line without end": (TANK + 'room = "' + "x" * 2_000_000 + '"', "found a line of more than 20000 characters"),
    "a whole number of 5000 digits": (TANK + "x = " + "9" * 5000, "a number of thousands of digits"),
    "a hexadecimal number of 9000 digits": (
        '[site]\nname = 0x' + "f" * 9000 + '\n[[enclosure]]\nname = "Sedge"',
        "found a number of thousands of digits; expected a name in quotes",
    ),
    "minutes of 9000 digits": (
        TANK + "[enclosure.job.feed]\nminutes = 0x" + "f" * 9000,
        "found a number of thousands of digits; expected",
    ),
    "a share of 9000 digits": (TANK + "[enclosure.job.water-change]\nshare = 0x" + "f" * 9000, "a number of thousands"),
    "a number beyond all floats": (TANK + "[enclosure.job.water-change]\nshare = 1e999", "found inf; expected"),
    "no number": (TANK + "[enclosure.job.water-change]\nshare = nan", "found nan; expected"),
    "a quantity beyond all floats": (TANK + 'length = "1e999 cm"', 'found "1e999 cm", not a finite number'),
    "the year 9999": (TANK + "set_up = 9999-12-31", "found 9999-12-31, which is not believable"),
    "the year 1": (TANK + "set_up = 0001-01-01", "found 0001-01-01, which is not believable"),
    "away to the end of time": (
        TANK + '[[keeper]]\nname = "Noor"\naway = ["2026-01-01/9999-12-31"]',
        "found 9999-12-31, which is not believable",
    ),
    "a rule for ever and a day": (
        TANK + '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nrule = "FREQ=DAILY;COUNT=999999999"',
        'found COUNT="999999999"',
    ),
    "a very long rule": (
        TANK + '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nrule = "FREQ=DAILY;BYMONTHDAY=' + "1," * 5000 + '1"',
        "found a rule of",
    ),
    "a null byte": (TANK + 'room = "a\0b"', "this is not valid TOML"),
    "an escaped null": (TANK + 'room = "a\\u0000b"', "a name with a line break or control character"),
    "a line break in a name": (TANK + 'room = "a\\nb"', "a name with a line break or control character"),
    "a line separator in a name": (TANK + 'room = "a\u2028b"', "a name with a line break or control character"),
    "colours of a terminal": (TANK + 'kind = "\\u001b[31mred"', 'found "\\u001b[31mred"; expected'),
    "a lone surrogate": (TANK + 'room = "\\ud83d"', "Escaped character is not a Unicode scalar value"),
    "a name of 10,000 letters": (TANK.replace("Sedge", "x" * 10_000), "found a name of 10000 characters"),
    "a text turned around in a key": (TANK + '"\\u202Ecba\\n" = 1', 'unknown key "\\u202ecba\\u000a"'),
    "what looks like a format": (TANK + 'kind = "{0} {message} {!r} %s %(x)s {"', '"{0} {message} {!r} %s %(x)s {"'),
    "a key that looks like a format": (TANK + '"{message} %s" = 1', 'unknown key "{message} %s"'),
    "a job named after a method": (TANK + "[enclosure.job.__class__]", 'there is no job "__class__"'),
    "quotes within quotes": (TANK + 'zz = 1\nx = [ """\n' + ('"' + '\\"' * 9000 + "\n") * 50 + '"""]', 'unknown key "zz"'),
    "nothing": ("", "site is missing"),
    "a comment": ("# to do", "site is missing"),
    "something else": ("<html><body>not found</body></html>", "this is not valid TOML"),
    "another format": ('{"site": {"name": "Fen Lane"}}', "this is not valid TOML"),
}  # fmt: skip


@pytest.mark.parametrize("what", TEXTS)
def test_a_hostile_text_is_refused(what, tmp_path):
    text, says = TEXTS[what]
    (tmp_path / "site.toml").write_bytes(text.encode())
    assert says in " ".join(refused("site.toml", tmp_path).split())


def test_two_thousand_mistakes_are_two_thousand_problems(tmp_path):
    text = '[site]\nname = "Fen Lane"\n' + "".join(
        f'[[enclosure]]\nname = "Tank {n}"\nlength = {n}\n' for n in range(2000)
    )
    (tmp_path / "site.toml").write_text(text)
    said = refused("site.toml", tmp_path)
    assert said.count("a bare number; expected a length") == 2000
    assert "site.toml:6002: enclosure[1999].length" in said


def test_problems_and_consequences_of_many_enclosures_take_no_time_together():
    # Each enclosure has a wrong value and a contradiction: no comparing of all with all.
    n = 4000
    text = '[site]\nname = "Fen Lane"\n' + "".join(
        f'[[enclosure]]\nname = "Tank {i}"\nlength = {i}\nheight = "20 cm"\nwater_depth = "30 cm"\n'
        for i in range(n)
    )
    with pytest.raises(DescriptionError) as caught:
        load(text, load_sheets(), (check,))
    assert len(caught.value.problems) == 2 * n


# --- Files ------------------------------------------------------------------------------------------------------


def test_a_file_that_is_too_large_is_refused_without_reading_it(tmp_path):
    with (tmp_path / "site.toml").open("wb") as stream:
        stream.truncate(40_000_000_000)  # sparse: it takes no room
    assert "larger than 32000 kB" in refused("site.toml", tmp_path)


@pytest.mark.parametrize(
    ("file", "says"),
    [
        ("/dev/zero", '"/dev/zero" is no file but a pipe or a device'),
        ("/dev/null", '"/dev/null" is no file but a pipe or a device'),
        (".", '"." is a folder, not a description'),
        ("nowhere.toml", 'there is no file "nowhere.toml"'),
        ("nowhere/site.toml", 'there is no file "nowhere/site.toml"'),
        ("x" * 300 + ".toml", "cannot be read: File name too long"),
        ("\x1b[31m\u202e.toml", 'there is no file "\\u001b[31m\\u202e.toml"'),
    ],
)
def test_what_is_no_file_of_text_is_refused(file, says, tmp_path):
    assert says in " ".join(refused(file, tmp_path).split())


def test_a_file_below_a_file_is_refused(tmp_path):
    (tmp_path / "site.toml").write_text(TANK)
    assert "cannot be read: Not a directory" in refused("site.toml/x.toml", tmp_path)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (TANK.encode("utf-16"), "line 1 is not UTF-8 text (byte 0xff)"),
        (TANK.encode() + 'room = "Küche"\n'.encode("latin-1"), "line 5 is not UTF-8 text (byte 0xfc)"),
        (TANK.encode() + b"room = '\xed\xa0\x80'", "line 5 is not UTF-8 text (byte 0xed)"),
        (b"\x89PNG\r\n\x1a\n", "line 1 is not UTF-8 text (byte 0x89)"),
    ],
)
def test_bytes_that_are_no_utf_8_are_told_with_their_line(raw, says, tmp_path):
    (tmp_path / "site.toml").write_bytes(raw)
    assert says in refused("site.toml", tmp_path)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a." * 90_000 + "a = 1", "found a line of more than 20000 characters"),
        ("a." * 9_000 + "a = 1", PARTS),
        ("x = " + "[" * 9000, "this species sheet cannot be read"),
        ("species = 0x" + "f" * 9000, "found a number of thousands of digits"),
        ("species = ", "this species sheet cannot be read"),
        ("", "x.species.toml"),
    ],
)
def test_a_hostile_species_sheet_is_refused(text, says, tmp_path):
    (tmp_path / "site.toml").write_text(TANK)
    (tmp_path / "x.species.toml").write_text(text)
    assert says in " ".join(refused("site.toml", tmp_path).split())


def test_a_byte_order_mark_and_windows_line_ends_are_accepted(tmp_path):
    (tmp_path / "site.toml").write_bytes(b"\xef\xbb\xbf" + TANK.replace("\n", "\r\n").encode())
    assert run("check", "site.toml", cwd=tmp_path).returncode == 0


# --- Names that are right but rare ------------------------------------------------------------------------------

NAMES = [
    "🐢🐢",
    "👩‍👩‍👧",
    "مزرعة السلاحف",
    "Pond \u202eegdeS\u202c",
    "池塘",
    "e\u0301tang",
    "CON",
    "nul",
    "../../etc/passwd",
    "a/b\\c:d*e?f",
    "C:\\Windows",
    "-rf",
    "100 % {name} %s",
    'semi;colon,comma "quoted"',
    "BEGIN:VEVENT",
    "x" * 80,
    "X" * 79 + "🐢",
    "Zwi\u00adschen\u200bfall",
]


def exported(names, tmp_path, site="Fen Lane", today="2026-12-01"):
    """Export enclosures of these names, and return the calendars by file name."""
    tables = [{"name": name, "set_up": dt.date(2026, 11, 20)} for name in names]
    text = tomli_w.dumps({"site": {"name": site, "time_zone": "Europe/Dublin"}, "enclosure": tables})
    (tmp_path / "site.toml").write_bytes(text.encode())
    to = tmp_path / "out" / "calendars"
    done = CliRunner().invoke(
        app, ["export", str(tmp_path / "site.toml"), "--to", str(to), "--today", today, "--weeks", "8"]
    )
    assert done.exit_code == 0, done.output
    # Nothing beside the folder that was asked for.
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out", "site.toml"]
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["calendars"]
    return {path.name: Calendar.from_ical(path.read_bytes()) for path in to.iterdir()}


def test_rare_names_make_safe_files_and_whole_calendars(tmp_path):
    calendars = exported(NAMES, tmp_path)
    assert len(calendars) == len(NAMES) + 1
    assert all(re.fullmatch(r"[a-z0-9-]+\.ics", file) for file in calendars)
    # icalendar reads the names back, letter by letter: NFC or not, turned around or not.
    found = {
        file: {str(event["SUMMARY"]).partition(": ")[2] for event in calendar.walk("VEVENT")}
        for file, calendar in calendars.items()
    }
    # The routine of the site is of all of them.
    assert found.pop("fen-lane.ics") == {*NAMES, ""}
    assert sorted(map(sorted, found.values())) == sorted([name] for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_site_may_have_a_rare_name_too(name, tmp_path):
    calendars = exported(["Sedge"], tmp_path, site=name)
    assert len(calendars) == 2
    assert all(re.fullmatch(r"[a-z0-9-]+\.ics", file) for file in calendars)
    assert all(calendar.walk("VEVENT") for calendar in calendars.values())


def test_names_that_look_alike_in_a_file_name_get_files_of_their_own(tmp_path):
    names = ["Tank A", "Tank/A", "Tank.A", "Tank-A", "Täñk A", "TANK (A)"]
    calendars = exported(names, tmp_path)
    assert len(calendars) == len(names) + 1
    assert "fen-lane-tank-a.ics" in calendars
    uids = [
        str(event["UID"])
        for file, calendar in calendars.items()
        if file != "fen-lane.ics"
        for event in calendar.walk("VEVENT")
    ]
    assert len(set(uids)) == len(uids)


def test_a_name_that_reads_like_a_calendar_keeps_its_entries(tmp_path):
    # The earlier feed is read back for its stamps: a name must not be taken for the beginning or the end of an entry.
    for name in ("BEGIN:VEVENT", "END:VEVENT"):
        first = exported([name], tmp_path, site=name)
        later = exported([name], tmp_path, site=name, today="2026-12-02")
        for file, calendar in later.items():
            before = {str(event["UID"]): event for event in first[file].walk("VEVENT")}
            events = calendar.walk("VEVENT")
            assert len(events) > 5
            for event in events:
                assert event["DTSTAMP"].dt == before[str(event["UID"])]["DTSTAMP"].dt
                assert int(event["SEQUENCE"]) == 0


# --- Anything at all --------------------------------------------------------------------------------------------

BASE = tomllib.loads("""
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
start = 2026-12-01
latitude = 53.3
room_low = "16 degC"
times = {morning = "07:30", evening = "18:30"}
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
ph = 7.6
cold = "10 degC"
hot = "55 degC"
[[keeper]]
name = "Noor"
weekdays = ["Sat", "Sun", "Wed"]
minutes = 90
share = 1
can = ["lifting", "electrics", "adult"]
away = ["2026-12-20/2026-12-28"]
[[enclosure]]
name = "Sedge"
kind = "tank"
length = "150 cm"
width = "60 cm"
height = "60 cm"
water_depth = "52 cm"
set_up = 2026-11-20
cycled = false
substrate = {kind = "river stones", depth = "4 cm", smallest_stone = "6 cm"}
filter = {kind = "canister", flow = "2400 L/h", media_trays = 4}
heater = [{power = "300 W", set_to = "25 degC", body = "titanium"}]
feed = {protein = 0.4, grams = 6, meals_a_week = 3}
[[enclosure.lamp]]
kind = "mercury vapour"
installed = 2026-11-20
hours_a_day = 12
uvi = 3.4
uvi_at = "30 cm"
basking_distance = "34 cm"
[[enclosure.resident]]
name = "Fern"
species = "Trachemys scripta"
sex = "female"
carapace = "14 cm"
mass = "480 g"
born = 2023-06-15
arrived = 2026-11-28
quarantine = true
[enclosure.job]
water-change = {every = "14 days", share = 0.5, window = "2 days", weekdays = ["Sat"], minutes = 50}
filter-check = {rule = "FREQ=MONTHLY;BYDAY=1SA"}
rcd-test = {on = [2027-01-01, 2027-02-01], note = "x"}
[[enclosure.extra_job]]
key = "rain-barrel"
title = "Rinse"
every = "6 weeks"
can = ["adult"]
[[enclosure]]
name = "Reed"
""")

rare_text = st.sampled_from(
    ["", " ", "25 degC", "7 days", "0 days", "3 months", "19 years", "12 cm", "1 mm", "90 m", "1e300 cm", "0 mg/L",
     "FREQ=DAILY", "FREQ=DAILY;COUNT=3", "FREQ=YEARLY;BYWEEKNO=53;BYDAY=MO", "FREQ=YEARLY;INTERVAL=1000",
     "FREQ=MONTHLY;BYDAY=5SA;COUNT=10000", "FREQ=WEEKLY;UNTIL=19500101", "FREQ=DAILY;UNTIL=20270101T120000",
     "00:00", "23:59", "none", "UTC", "Asia/Kathmandu", "Africa/Casablanca", "musk turtle", "daylight", "Mon", "evening",
     "2026-01-01/2026-01-02", "0001-01-01/9999-12-31", "\u202eabc", "🐢" * 80, "A/B", "\x00", "{0}%s"]
)  # fmt: skip
scalars = st.one_of(
    rare_text,
    st.text(max_size=90),
    st.booleans(),
    st.integers(-(2**64), 2**64),
    st.sampled_from([0, 1, 14, 1000, 0.001, math.inf, math.nan]),
    st.floats(),
    st.dates(),
    st.times().map(lambda t: t.replace(microsecond=0)),
    st.sampled_from(
        [dt.date(1950, 1, 1), dt.date(2199, 12, 31), dt.date(2028, 2, 29), dt.date(9999, 12, 31)]
    ),
    st.datetimes(timezones=st.none() | st.just(dt.UTC)).map(lambda d: d.replace(microsecond=0)),
)
KEYS = sorted({key for table in (BASE["site"], *BASE["keeper"], *BASE["enclosure"], *BASE["enclosure"][0]["resident"], *BASE["enclosure"][0]["extra_job"], *BASE["enclosure"][0]["lamp"]) for key in table})  # fmt: skip
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=9), inner, max_size=3)
    ),
    max_leaves=5,
)


def paths(node, path=()):
    """Return the paths of everything in a description, the whole of it included."""
    children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [path, *(below for key, child in children for below in paths(child, (*path, key)))]


def changed(node, path, change):
    """Return a copy of a description in which `change` was applied to what holds the path's last part."""
    if len(path) <= 1:
        copy = dict(node) if isinstance(node, dict) else list(node)
        change(copy, path[0] if path else None)
        return copy
    copy = dict(node) if isinstance(node, dict) else list(node)
    copy[path[0]] = changed(node[path[0]], path[1:], change)
    return copy


@st.composite
def mutated(draw):
    """A valid description in which one to four values were replaced, taken out, added or doubled."""
    data = BASE
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from([p for p in paths(data) if p]))
        how = draw(st.sampled_from(["replace", "replace", "remove", "add", "double"]))
        value, key = draw(values), draw(st.sampled_from(KEYS))

        def change(holder, part, how=how, value=value, key=key):
            if how == "replace":
                holder[part] = value
            elif how == "remove":
                del holder[part]
            elif isinstance(holder, dict):
                holder[key] = value
            else:
                holder.append(holder[part] if how == "double" else value)

        data = changed(data, path, change)
    return data


def load_or_refuse(text):
    """Load a text; return the site, or nothing when it was refused as it should be."""
    try:
        return load(text, load_sheets(), (check,))
    except DescriptionError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.message
            assert problem.where
            assert len(problem.message) + len(problem.hint) < 2000
            assert all(c.isprintable() for c in problem.message + problem.hint)
        told = [(problem.where, problem.message) for problem in error.problems]
        assert len(set(told)) == len(told), "the same problem twice"
        return None


@given(mutated())
@settings(max_examples=examples(400), deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_changed_description_is_planned_or_refused(data):
    site = load_or_refuse(tomli_w.dumps(data))
    if site is not None:
        today = dt.date(2026, 12, 1)
        jobs = list(scheduler.jobs(site))
        assert jobs
        assert all(job.notes().text() for job in jobs)
        series = scheduler.schedule(site, jobs, today, today + dt.timedelta(days=60))
        assert all(
            today <= o.day for o in scheduler.occurrences(site, series, today, today + dt.timedelta(days=60))
        )


pieces = st.sampled_from(
    ["[site]\n", "[[enclosure]]\n", "name = ", '"x"', "\n", "[", "]", "{", "}", "=", ".", ",", '"""', "'''", "#", "\\", "1", "-",
     "2026-12-01", ":", "é", "\r\n", "\t", "inf", "true", "[[keeper]]\n", "enclosure.job.feed.every = ", '"7 days"']
)  # fmt: skip


@given(st.lists(pieces, max_size=40).map("".join) | st.text(max_size=200))
@settings(max_examples=examples(300), deadline=None)
def test_any_text_is_a_description_or_refused(text):
    load_or_refuse(text)


@given(st.binary(max_size=300), st.integers(0, len(TANK)))
@settings(
    max_examples=examples(150), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_bytes_are_a_description_or_refused(tmp_path, raw, at):
    file = tmp_path / "site.toml"
    file.write_bytes(TANK.encode()[:at] + raw + TANK.encode()[at:])
    try:
        site = workflow.read_site(file)
    except DescriptionError as error:
        assert all(problem.message for problem in error.problems)
        assert error.problems
    else:
        assert site.enclosures
