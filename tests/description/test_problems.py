"""What a keeper reads when a description is wrong: every mistake in one run, each with its place and what to write."""

import json
import re
from pathlib import Path

import pytest
from support.commands import run_command

from scheduler.care import KEYS, check
from scheduler.description import load
from scheduler.description.lines import line_index, line_of
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets


def problems(text):
    """Return the problems of a description; an empty list when it is right."""
    try:
        load(text, load_sheets(), (check,))
    except DescriptionError as error:
        return list(error.problems)
    return []


def run(*args, cwd):
    return run_command(*args, cwd=cwd, env={"COLUMNS": "80"})


# --- All of them in one run -------------------------------------------------------------------------------------

TWELVE = """\
[site]
name = "Fen Lane"
time_zone = "Europe/Dublen"
colour = "green"

[site.tap_water]
cold = "10 degC"
hot = "8 degC"

[[keeper]]
name = "Noor"
weekdays = ["Sat", "Caturday"]
away = ["2026-12-28/2026-12-20"]

[[enclosure]]
name = "Sedge"
length = 150
height = "50 cm"
water_depth = "52 cm"
set_up = 2026-11-20

[enclosure.filter]
flow = "40 pounds"

[[enclosure.resident]]
name = "Fern"
species = "Trachemys scrpta"
born = 2026-12-15
arrived = 2026-12-01

[[enclosure.extra_job]]
key = "barrel"
title = "Rinse the barrel"
rule = "FREQ=HOURLY"

[enclosure.job.quarantine-release]
every = "two months"
"""

SAID = """\
enclosures.toml:3: site.time_zone
    found "Europe/Dublen"; expected the name of an IANA time zone
    write "Europe/Dublin"
enclosures.toml:4: site.colour
    unknown key "colour"
    keys here: contact, former, house_values, id, latitude, locale, log, name,
    not_logged, room_high, room_low, start, tap_water, test_kit, time_zone,
    times, units
enclosures.toml:8: site.tap_water.hot
    hot water of 8 degC is not warmer than cold water of 10 degC
    measure both at the tap after a minute of running
enclosures.toml:12: keeper[0].weekdays[1]
    found "Caturday"; expected a weekday
    write one of "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"
enclosures.toml:13: keeper[0].away[0]
    found "2026-12-28/2026-12-20", a span that ends before it starts
    write "2026-12-20/2026-12-28"
enclosures.toml:17: enclosure[0].length
    found 150, a bare number; expected a length with its unit, in quotes
    write "91 cm" or "36 in"
enclosures.toml:19: enclosure[0].water_depth
    the water (52 cm) is deeper than the enclosure is high (50 cm)
    measure from the floor to the water line
enclosures.toml:23: enclosure[0].filter.flow
    found "40 pounds", which is a mass; expected a flow with its unit
    write "1200 L/h" or "315 gal/h"
enclosures.toml:27: enclosure[0].resident[0].species
    no species sheet for "Trachemys scrpta"
    nearest: "Trachemys scripta"; sheets: Chrysemys picta, Emys orbicularis,
    Graptemys geographica, Pelusios castaneus, Sternotherus odoratus, Trachemys
    scripta; put your own beside the description, or leave species out
enclosures.toml:29: enclosure[0].resident[0].arrived
    arrived on 2026-12-01, before it was born on 2026-12-15
    swap the two, or mend the year
enclosures.toml:34: enclosure[0].extra_job[0].rule
    found FREQ=HOURLY, but a job is due at most once a day
    write FREQ=DAILY, or two extra jobs with different `part`
enclosures.toml:37: enclosure[0].job.quarantine-release.every
    found "two months", expected a span of whole days, weeks, months or years
    write "14 days", "6 weeks" or "6 months"
12 problems.
"""


@pytest.fixture
def twelve(tmp_path):
    (tmp_path / "enclosures.toml").write_text(TWELVE, "utf-8")
    return tmp_path


def test_twelve_mistakes_are_twelve_problems_in_one_run(twelve):
    done = run("check", cwd=twelve)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", SAID)


@pytest.mark.parametrize("command", [["jobs"], ["export", "--to", "calendars"]])
def test_every_command_says_the_same_and_writes_nothing(twelve, command):
    done = run(*command, cwd=twelve)
    nothing = SAID.replace("12 problems.\n", "12 problems. Nothing was written.\n")
    assert (done.returncode, done.stdout, done.stderr) == (2, "", nothing if "export" in command else SAID)
    assert [path.name for path in twelve.iterdir()] == ["enclosures.toml"]


@pytest.mark.parametrize("command", ["check", "jobs"])
def test_as_json_the_problems_are_the_check_object(twelve, command):
    done = run(command, "--format", "json", cwd=twelve)
    assert (done.returncode, done.stderr) == (2, "")
    found = json.loads(done.stdout)
    assert list(found) == ["problems", "enclosures"]
    assert found["enclosures"] == []
    assert [list(problem) for problem in found["problems"]] == [["path", "message", "hint"]] * 12
    assert found["problems"][0] == {
        "path": "site.time_zone",
        "message": 'found "Europe/Dublen"; expected the name of an IANA time zone',
        "hint": 'write "Europe/Dublin"',
    }
    assert [problem["path"] for problem in found["problems"]] == re.findall(
        r"(?m)^enclosures\.toml:\d+: (.*)$", SAID
    )


def test_a_right_description_has_no_problems(tmp_path):
    (tmp_path / "enclosures.toml").write_text(
        '[site]\nname = "Fen Lane"\ntime_zone = "Europe/Dublin"\n[[enclosure]]\nname = "Sedge"\n'
    )
    done = run("check", "--format", "json", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["problems"] == []


# --- One at a time ----------------------------------------------------------------------------------------------


def mistakes():
    """Yield (site lines, enclosure lines, what is said) of each block of mistakes.txt."""
    text = Path(__file__).with_name("mistakes.txt").read_text("utf-8")
    for block in text.split("\n\n"):
        parts = {"site": [], "enclosure": [], "says": []}
        into = None
        for line in block.splitlines():
            if line.removesuffix(":") in parts and line.endswith(":"):
                into = parts[line.removesuffix(":")]
            elif into is not None:
                into.append(line[4:])
        if parts["says"]:
            yield ["\n".join(lines) for lines in parts.values()]


MISTAKES = list(mistakes())


def test_the_table_of_mistakes_is_read_whole():
    text = Path(__file__).with_name("mistakes.txt").read_text("utf-8")
    assert len(MISTAKES) == text.count("says:") > 140


@pytest.mark.parametrize(
    ("site", "enclosure", "says"), MISTAKES, ids=[" / ".join((s or e).split("\n")) for s, e, _ in MISTAKES]
)
def test_a_mistake_is_told_with_its_place_and_what_to_write(site, enclosure, says):
    found = problems(f'[site]\nname = "Fen Lane"\n{site}\n[[enclosure]]\nname = "Sedge"\n{enclosure}\n')
    lines = []
    for problem in found:
        lines += [problem.where, f"    {problem.message}", *([f"    {problem.hint}"] if problem.hint else [])]
    pattern = re.escape(says).replace("…", "[A-Za-z, -]+")
    assert re.fullmatch(pattern, "\n".join(lines)), "\n".join(lines)


def test_the_hints_that_list_what_there_is_list_all_of_it():
    tank = '[site]\nname = "Fen Lane"\n[[enclosure]]\nname = "Sedge"\n'
    (job,) = problems(tank + "[enclosure.job.polish]\n")
    assert set(re.match("jobs: (.*?);", job.hint)[1].split(", ")) == set(KEYS)
    (species,) = problems(tank + '[[enclosure.resident]]\nname = "Fern"\nspecies = "Testudo hermanni"\n')
    assert re.match("sheets: (.*?);", species.hint)[1].split(", ") == sorted(load_sheets())


# --- What is no mistake -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("site", "enclosure"),
    [
        # Clocks that never change: every time of day is the same to all calendar programs.
        ('time_zone = "Asia/Kathmandu"\n[site.times]\nmorning = "02:30"', ""),
        ('time_zone = "UTC"\n[site.times]\nmorning = "00:00"', ""),
        ('time_zone = "Europe/Dublin"\n[site.times]\nmorning = "04:00"', ""),
        # A heater below the temperature of the tap: a cool species, a hot summer.
        ('[site.tap_water]\ncold = "24 degC"\nhot = "60 degC"', '[[enclosure.heater]]\nset_to = "20 degC"'),
        # Two rules of two jobs, one off, one empty.
        ("", '[enclosure.job.feed]\n[enclosure.job.water-change]\noff = true\nevery = "7 days"'),
        # Stones larger than the bed is deep: they lie side by side.
        ("", '[enclosure.substrate]\nkind = "river stones"\ndepth = "4 cm"\nsmallest_stone = "6 cm"'),
        # Skills of an extra job count only once a keeper lists what he can.
        (
            '[[keeper]]\nname = "Noor"',
            '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nevery = "7 days"\ncan = ["adult"]',
        ),
        # A short week and a long window: 3 days, at most 3 late, from Saturday to Wednesday and back.
        (
            "",
            '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nevery = "3 days"\nwindow = "1 day"\nweekdays = ["Wed", "Sat"]',
        ),
        # The 29th of February, the fifth Saturday, the last day of the year: rare, but they come.
        (
            "",
            '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nrule = "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29,30"',
        ),
        ("", '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nrule = "FREQ=MONTHLY;BYDAY=5SA"'),
        ("", '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nrule = "FREQ=YEARLY;BYYEARDAY=366"'),
        # Once a year, from the month of set-up on: an interval and a month that meet.
        (
            "",
            'set_up = 2026-03-20\n[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\n'
            'rule = "FREQ=MONTHLY;INTERVAL=12;BYMONTH=3;BYMONTHDAY=25"',
        ),
        (
            "start = 2026-12-01",
            '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\non = [2026-11-30, 2026-12-01]',
        ),
        ("", '[enclosure.job.quarantine-release]\nevery = "30 days"'),
        # A room that is never warmer nor colder; a limit of its own for looking and acting.
        ('room_low = "21 degC"\nroom_high = "21 degC"\n[site.house_values]\nnitrate_look = "80 mg/L"', ""),
        # Both limits above the house's own; a pail as large as one may be.
        (
            '[site.house_values]\nnitrate_look = "100 mg/L"\nnitrate_act = "150 mg/L"\npail = "25 L"\nreference_mass = "25 kg"',
            "",
        ),
        # The thinnest and the thickest wall, and a pond that says neither.
        (
            "",
            'pane = "2 mm"\n[[enclosure]]\nname = "Reed"\npane = "30 mm"\nempty_mass = "90 kg"\n[[enclosure]]\nname = "Mere"\nkind = "pond"\npane = "8 mm"\n[[enclosure]]\nname = "Pool"\nkind = "pond"\noutdoors = true',
        ),
        # A hatchling is about as wide as long; a pack and a bottle that nobody has opened yet.
        (
            "",
            '[[enclosure.resident]]\nname = "Fern"\nborn = 2026-08-14\nmeasured = 2026-08-14\ncarapace = "3 cm"\nshell_width = "3.1 cm"\n'
            '[enclosure.feed]\npack = "500 g"\n[enclosure.conditioner]\ntreats = "1000 L"',
        ),
        # Two names that come to one slug.
        ("", '[[enclosure]]\nname = "A/B"\n[[enclosure]]\nname = "A.B"'),
    ],
)
def test_what_is_unusual_but_right_is_accepted(site, enclosure):
    assert problems(f'[site]\nname = "Fen Lane"\n{site}\n[[enclosure]]\nname = "Sedge"\n{enclosure}\n') == []


# --- A consequence of another mistake ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("site", "enclosure", "only"),
    [
        ('[site.times]\nmorning = "7.30"\nevening = "06:00"', "", "site.times.morning"),
        ('time_zone = "Dublin"\n[site.times]\nmorning = "02:30"', "", "site.time_zone"),
        ('[site.tap_water]\ncold = "80 degX"\nhot = "10 degC"', "", "site.tap_water.cold"),
        ('[site.tap_water]\ndisinfectant = "no"\ndisinfectant_level = "0 mg/L"', "", "site.tap_water.disinfectant"),
        ('[[keeper]]\nname = "Noor"\nweekdays = ["Caturday"]', "", "keeper[0].weekdays[0]"),
        ('[[keeper]]\nname = "Noor"\nshare = "all"\n[[keeper]]\nname = "Ivo"\nshare = 0', "", "keeper[0].share"),
        # A keeper's `can` is wrong: who can do the jobs is not known, so nothing is said about them.
        ('[[keeper]]\nname = "Noor"\ncan = ["LIFTING"]', "", "keeper[0].can[0]"),
        ('room_low = "21"\nroom_high = "20 degC"', "", "site.room_low"),
        ('room_low = "21 degC"\nroom_high = "20 degX"', "", "site.room_high"),
        # Without the wrong one, the other would be held against the house value.
        ('[site.house_values]\nnitrate_look = "60 mg/L"\nnitrate_act = 100', "", "site.house_values.nitrate_act"),
        ('[site.house_values]\nnitrate_look = "90 mg/L"\nnitrate_act = "100 mg"', "", "site.house_values.nitrate_act"),
        ('[site.house_values]\nnitrate_look = "10 L"\nnitrate_act = "30 mg/L"', "", "site.house_values.nitrate_look"),
        ("", 'kind = "lake"\nempty_mass = "40 kg"\npane = "8 mm"', "enclosure[0].kind"),
        ("", '[enclosure.conditioner]\ntreats = "1 kg"\nopened = 2026-11-07', "enclosure[0].conditioner.treats"),
        ("", '[[enclosure.resident]]\nname = "Fern"\n[enclosure.feed]\npack = 500\nopened = 2026-11-07', "enclosure[0].feed.pack"),
        ("", '[[enclosure.resident]]\nname = "Fern"\ncarapace = "2 m"\nshell_width = "20 cm"', "enclosure[0].resident[0].carapace"),
        ("", '[[enclosure.resident]]\nname = "Fern"\nborn = "spring"\nmeasured = 2026-11-07', "enclosure[0].resident[0].born"),
        ("", 'height = "50 kg"\nwater_depth = "52 cm"', "enclosure[0].height"),
        ("", 'set_up = "2026-11-20"\ncycled = false', "enclosure[0].set_up"),
        ("", '[enclosure.substrate]\nkind = "gravel"\ndepth = "4 cm"\nsmallest_stone = "1 cm"', "enclosure[0].substrate.kind"),
        ("", '[[enclosure.lamp]]\nkind = "sun"\nuvi = 3\nuvi_at = "30 cm"', "enclosure[0].lamp[0].kind"),
        ("", '[[enclosure.lamp]]\nkind = "compact"\nuvi = 3\nuvi_at = 30', "enclosure[0].lamp[0].uvi_at"),
        ("", '[[enclosure.lamp]]\nkind = "compact"\nuvi = "high"\nuvi_at = "30 cm"', "enclosure[0].lamp[0].uvi"),
        ("", 'resident = "Fern"\n[enclosure.feed]\ngrams = 6', "enclosure[0].resident"),
        ("", '[[enclosure.resident]]\nname = "Fern"\narrived = "yesterday"\nquarantine = true', "enclosure[0].resident[0].arrived"),
        ("", '[[enclosure.resident]]\nname = "Fern"\ncarapace = "2 m"\nmass = "480 g"', "enclosure[0].resident[0].carapace"),
        ("", '[[enclosure.extra_job]]\nkey = "a"\ntitle = "A"\nevery = "fortnightly"', "enclosure[0].extra_job[0].every"),
        ("", '[[enclosure.extra_job]]\nkey = "a"\ntitle = 5\nevery = "7 days"\n[[enclosure.extra_job]]\nkey = "b"\ntitle = "B"\nevery = "7 days"', "enclosure[0].extra_job[0].title"),
        ("", '[[enclosure]]\nname = 5', "enclosure[1].name"),
        ("", '[[enclosure.resident]]\nname = "Fern"\nspecies = "Testudo"\n[enclosure.job.feed]\nevery = "3 days"', "enclosure[0].resident[0].species"),
    ],
)  # fmt: skip
def test_a_consequence_is_not_told_again(site, enclosure, only):
    found = problems(f'[site]\nname = "Fen Lane"\n{site}\n[[enclosure]]\nname = "Sedge"\n{enclosure}\n')
    assert [problem.where for problem in found] == [only]


@pytest.mark.parametrize(
    ("text", "paths"),
    [
        ("", ["enclosure", "site"]),
        ('[site]\nname = "Fen Lane"', ["enclosure"]),
        ('[[enclosure]]\nname = "Sedge"', ["site"]),
        ("enclosure = 5\nsite = 5", ["enclosure", "site"]),
        ('[[site]]\nname = "Fen Lane"\n[enclosure]\nname = "Sedge"', ["site", "enclosure"]),
        ('[site]\n[[enclosure]]\n[[keeper]]', ["site.name", "enclosure[0].name", "keeper[0].name"]),
        ('site = {}\nenclosure = [{}, 5, {name = "x", job = 5}]', ["enclosure[0].name", "enclosure[1]", "enclosure[2].job", "site.name"]),
    ],
)  # fmt: skip
def test_a_file_of_another_shape_says_what_is_wanted(text, paths):
    assert sorted(problem.where for problem in problems(text)) == sorted(paths)


def test_problems_stand_in_the_order_of_the_file():
    found = problems(TWELVE)
    assert [problem.line for problem in found] == sorted(problem.line for problem in found)


# --- Lines ------------------------------------------------------------------------------------------------------

LINES = [
    # what it is about, TOML, path, line
    ("a key of a table", '[site]\nname = "x"\nunits = "y"\n', ("site", "units"), 3),
    ("a table", '\n\n[site]\nname = "x"\n', ("site",), 3),
    ("a key that is missing: its table", '\n[site]\n\n[site.times]\n', ("site", "name"), 2),
    ("a table that is missing: nothing", '[site]\n', ("enclosure",), None),
    ("an array of tables", '[[keeper]]\na = 1\n[[keeper]]\nb = 2\n', ("keeper", 1, "b"), 4),
    ("arrays in arrays", "[[e]]\n[[e.lamp]]\nk = 1\n[[e.lamp]]\nk = 2\n[[e]]\n[[e.lamp]]\nk = 3\n", ("e", 1, "lamp", 0, "k"), 8),
    ("a table of the latest item", '[[e]]\n[e.feed]\na = 1\n[[e]]\n[e.feed]\na = 2\n', ("e", 1, "feed", "a"), 6),
    ("dotted keys", 'site.name = "x"\nsite.times.morning = "y"\n', ("site", "times", "morning"), 2),
    ("dotted keys inside a table", '[site]\ntap_water.ph = 7\ntap_water . cold = "x"\n', ("site", "tap_water", "cold"), 3),
    ("quoted keys", '["site"]\n"units" = 1\n\'start\' = 2\n', ("site", "start"), 3),
    ("a quoted key with a dot and a bracket", '[site]\n"a.b]" = 1\n[e]\nc = 1\n', ("e", "c"), 4),
    ("a quoted bracket in a header", '[job."a]b"]\nevery = 1\n[site]\nname = 1\n', ("site", "name"), 4),
    ("an inline table: its key", 'a = 1\nsub = { kind = "x", depth = 5 }\n', ("sub", "depth"), 2),
    ("an item of a list: its key", 'a = 1\ndays = ["Sat", "Sin"]\n', ("days", 1), 2),
    ("after a list over lines", 'days = [\n  "Sat", # ] not the end\n  "[Sun",\n]\nb = 1\n', ("b",), 5),
    ("after lists in lists", 'a = [\n [1, 2],\n [3],\n]\nb = 1\n', ("b",), 5),
    ("after an inline table in a list over lines", 'lamp = [\n  {kind = "x"},\n  {kind = "y"},\n]\nb = 1\n', ("b",), 5),
    ("look-alikes in a text of many lines", 'note = """\n[site]\nname = 1\n"""\n[site]\nname = 2\n', ("site", "name"), 6),
    ("look-alikes in a literal text", "note = '''\n[[site]]\nunits = 1\n'''\nunits = 2\n", ("units",), 5),
    ("a text of many lines in a list", 'a = [ """\n] b = 1\nb = 1\n""", "x" ]\nb = 2\n', ("b",), 5),
    ("quotes at the end of a text", 'a = """x""""\nb = 1\n', ("b",), 2),
    ("escaped quotes", 'a = "\\"[\\\\"\nb = """\n\\"""\nc = 1\n"""\nc = 2\n', ("c",), 6),
    ("a hash in a text", 'a = "# [" # "\nb = 1\n', ("b",), 2),
    ("an equals sign in a text", 'a = "b = 1"\nb = 2\n', ("b",), 2),
    ("apostrophes in a comment", "# don't [\na = 1 # it's '''\nb = 2\n", ("b",), 3),
    ("a comment that looks like a key", '# b = 1\n#[b]\nb = 1\n', ("b",), 3),
    ("Windows line ends", '[site]\r\nname = "x"\r\nunits = [\r\n 1,\r\n]\r\nstart = 1\r\n', ("site", "start"), 6),
    ("indented", '  [site]\n\tname = "x"\n    units = 1\n', ("site", "units"), 3),
    ("spaces in a header", '[ site . times ]\nmorning = 1\n', ("site", "times", "morning"), 2),
    ("a comment after a header", '[site] # ]] [x]\nname = 1\n', ("site", "name"), 2),
    ("letters of any script", '[site]\nname = "\u6c60"\nroom = "\u2028"\nunits = 1\n', ("site", "units"), 4),
]  # fmt: skip


@pytest.mark.parametrize(("toml", "path", "line"), [row[1:] for row in LINES], ids=[row[0] for row in LINES])
def test_the_line_of_a_key(toml, path, line):
    import tomllib

    tomllib.loads(toml)  # the table holds valid TOML only
    assert line_of(path, line_index(toml)) == line


def test_a_byte_order_mark_does_not_hide_the_first_line():
    (problem,) = problems('\ufeff[site]\nname = 5\n[[enclosure]]\nname = "Sedge"\n')
    assert (problem.where, problem.line) == ("site.name", 2)


@pytest.mark.parametrize(
    ("toml", "line", "message"),
    [
        ('[site]\nname = "x\n', 2, "this is not valid TOML: Illegal character '\\n'"),
        ("[site]\nname = x\n", 2, "this is not valid TOML: Invalid value"),
        ('[site]\nname = "x"\nname = "y"\n', 3, "this is not valid TOML: Cannot overwrite a value"),
        # Days that no calendar has.
        ("set_up = 2026-02-30\n", 1, "this is not valid TOML: Invalid date or datetime"),
        ("\nset_up = 2027-02-29\n", 2, "this is not valid TOML: Invalid date or datetime"),
        ("[site\n", 1, "this is not valid TOML: Expected ']' at the end of a table declaration"),
    ],
)
def test_what_is_no_toml_is_told_with_its_line(toml, line, message):
    (problem,) = problems(toml)
    assert (problem.where, problem.line, problem.message) == ("(file)", line, message)
    assert problem.hint == "text stands in quotes, dates and numbers do not; see https://toml.io"


@pytest.mark.parametrize(
    ("line", "hint"),
    [
        ("2026-13-01", "write 2026-01-13"),
        ("20-11-2026", "write 2026-11-20"),
        ("2/3/2026  # or so", "write 2026-03-02 (2 March 2026) or 2026-02-03 (3 February 2026)"),
        ("2 March 2026", "write 2026-03-02"),
    ],
)
def test_a_date_that_is_no_toml_is_told_as_it_was_meant(line, hint):
    (problem,) = problems(f'[site]\nname = "Fen Lane"\nstart = {line}\n')
    assert (problem.line, problem.hint) == (3, hint)


def test_a_species_without_a_sheet_hides_no_mistake_of_the_jobs():
    text = """
[site]
name = "Fen Lane"
[[enclosure]]
name = "Sedge"
[[enclosure.resident]]
name = "Fern"
species = "Trachemys scriptum"
[enclosure.job.water-chnge]
every = "10 days"
"""
    with pytest.raises(DescriptionError) as raised:
        load(text, load_sheets(), (check,))
    assert [p.where for p in raised.value.problems] == [
        "enclosure[0].resident[0].species",
        "enclosure[0].job.water-chnge",
    ]
