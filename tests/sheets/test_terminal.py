"""Terminal tables and JSON lines: whole output, at 80 columns and less, with names of any script."""

from __future__ import annotations

import datetime as dt
import json
import unicodedata

import pytest

from scheduler import care, workflow
from scheduler.description import load
from scheduler.plan import Occurrence
from scheduler.sheets.records import job_lines
from scheduler.sheets.terminal import cells, day_table, duration, safe
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 1)

TWO = """
[site]
name = "Ditch End"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Rush"
set_up = 2026-06-01
cycled = true
[[enclosure.resident]]
name = "Teal"
species = "Sternotherus odoratus"
born = 2015-05-01
[[enclosure]]
name = "Burdock"
set_up = 2026-06-01
cycled = true
"""


def table(text: str, days: int, width: int) -> list[str]:
    planned = workflow.make_plan(load(text, load_sheets(), (care.check,)), TODAY, TODAY, days)
    return list(day_table(planned.site, workflow.days_of(planned), width))


def test_a_day_reads_well() -> None:
    assert "\n".join(table(TWO, 2, 80)) == (
        "Tuesday 1 December 2026                                           3 jobs, 20 min\n"
        "  07:30  Burdock  daily look                        daily-look             5 min\n"
        "  07:30  Rush     daily look                        daily-look             5 min\n"
        "  07:30  Rush     wipe down                         wipe-down             10 min\n"
        "\n"
        "Wednesday 2 December 2026                                         4 jobs, 25 min\n"
        "  07:30  Burdock  daily look                        daily-look             5 min\n"
        "  07:30  Rush     daily look                        daily-look             5 min\n"
        "  07:30  Rush     top up                            top-up                 5 min\n"
        "  07:30  Rush     feed                              feed/adult            10 min\n"
    )


FED = """
[site]
name = "Ditch End"
[[enclosure]]
name = "Rush"
length = "100 cm"
width = "50 cm"
water_depth = "40 cm"
set_up = 2026-06-01
job.daily-look = {off = true}
[[enclosure.resident]]
name = "Teal"
[enclosure.feed]
grams = 2
protein = 0.42
meals_a_week = 7
"""


def test_an_explained_day_says_once_how_the_amounts_came_about() -> None:
    planned = workflow.make_plan(load(FED, load_sheets(), (care.check,)), TODAY, TODAY, 2)
    fed = workflow.days_of(planned, job="feed")
    assert "\n".join(day_table(planned.site, fed, 64, explain=True)) == (
        "Tuesday 1 December 2026                            1 job, 10 min\n"
        "  07:30  feed                                             10 min\n"
        "         feed/juvenile\n"
        "         - ration: 2 g x 7 meals a week / 7 = 2.00 g a day.\n"
        "         - feed nitrogen: 2.00 g a day x 0.42 protein x 0.16 =\n"
        "           0.134 g of nitrogen a day, all of it (growing fish\n"
        "           excrete 0.077).\n"
        "\n"
        "Wednesday 2 December 2026                          1 job, 10 min\n"
        "  07:30  feed                                             10 min\n"
        "         feed/juvenile\n"
    )


def test_explained_json_lines_say_it_in_the_notes() -> None:
    planned = workflow.make_plan(load(FED, load_sheets(), (care.check,)), TODAY, TODAY, 1)
    plain, explained = (
        [
            json.loads(line)
            for line in job_lines(
                planned.site,
                workflow.days_of(planned, job="feed"),
                workflow.entries_for(planned, None),
                explain=explain,
            )
        ]
        for explain in (False, True)
    )
    block = (
        "How it came about:\n- ration: 2 g x 7 meals a week / 7 = 2.00 g a day.\n- feed nitrogen: 2.00 g a day x 0.42 protein "
        "x 0.16 = 0.134 g of nitrogen a day, all of it (growing fish excrete 0.077).\n\n"
    )
    (one,), (other,) = plain, explained
    assert block not in one["notes"] and other["notes"].replace(block, "") == one["notes"]
    assert {key: one[key] for key in one if key != "notes"} == {k: other[k] for k in other if k != "notes"}


def test_one_enclosure_needs_no_column() -> None:
    one = TWO[: TWO.index('[[enclosure]]\nname = "Burdock"')]
    assert table(one, 1, 60) == [
        "Tuesday 1 December 2026                       2 jobs, 15 min",
        "  07:30  daily look                                    5 min",
        "  07:30  supplies                                     10 min",
        "",
    ]


def test_what_does_not_fit_goes_on_below_and_nothing_is_cut() -> None:
    """The keys are there to be typed, and since when a job is overdue is the news of its line."""
    lamps = TWO.replace(
        'name = "Rush"', 'name = "Rush"\nlamp = [{kind = "mercury vapour", installed = 2026-06-02}]'
    )
    planned = workflow.make_plan(load(lamps, load_sheets(), (care.check,)), TODAY, TODAY, 1)
    found = workflow.days_of(planned, job="uv-lamp-replace")
    series = next(s for s in planned.series if s.job.key == "uv-lamp-replace")
    late = Occurrence(TODAY, dt.time(7, 30), series.job, series, "overdue", dt.date(2026, 11, 3))
    assert list(found) == []
    assert "\n".join(day_table(planned.site, [late], 80)) == (
        "Tuesday 1 December 2026                                            1 job, 20 min\n"
        "  07:30  Rush     replace the mercury vapour lamp,  uv-lamp-replace/      20 min\n"
        "                  overdue since 3 Nov               mercury-vapour-2026-\n"
        "                                                    06-02\n"
    )


@pytest.mark.parametrize("width", [40, 80, 100])
@pytest.mark.parametrize(
    "name",
    ["Pond", "🐢" * 30, "مياه" * 15, "水槽" * 30, "a very long name " * 4 + "indeed", "\u202eturned\u202c"],
)
def test_no_line_is_wider_than_asked(name: str, width: int) -> None:
    lines = table(TWO.replace('name = "Rush"', f'name = "{name}"'), 14, width)
    assert max(cells(line) for line in lines) == width
    # Nothing that turns the line around or moves the cursor reaches the terminal.
    assert not {
        c
        for line in lines
        for c in line
        if unicodedata.bidirectional(c) in ("RLO", "LRO", "PDF", "RLI", "LRI", "PDI")
    }


def test_controls_do_not_reach_the_terminal() -> None:
    assert safe("a\x1b[31mb\x07c\nd") == "a[31mbcd"


@pytest.mark.parametrize(("minutes", "words"), [(5, "5 min"), (60, "1 h"), (125, "2 h 5 min"), (0, "0 min")])
def test_minutes_are_said_as_a_person_says_them(minutes: int, words: str) -> None:
    assert duration(minutes) == words


def test_json_lines_have_the_keys_of_the_documentation_in_order() -> None:
    planned = workflow.make_plan(load(TWO, load_sheets(), (care.check,)), TODAY, TODAY, 2)
    lines = list(job_lines(planned.site, workflow.days_of(planned), workflow.entries_for(planned, None)))
    objects = [json.loads(line) for line in lines]
    keys = [
        "date",
        "time",
        "enclosure",
        "job",
        "variant",
        "title",
        "minutes",
        "keeper",
        "keeper_id",
        "keeper_name",
        "state",
        "uid",
        "notes",
    ]
    assert [list(o) for o in objects] == [keys] * 7
    assert {(o["keeper_id"], o["keeper_name"]) for o in objects} == {(None, None)}
    assert [[o[key] for key in (*keys[:8], "state")] for o in objects] == [
        ["2026-12-01", "07:30", "burdock", "daily-look", "", "daily look", 5, None, "due"],
        ["2026-12-01", "07:30", "rush", "daily-look", "", "daily look", 5, None, "due"],
        ["2026-12-01", "10:15", "rush", "wipe-down", "", "wipe down", 10, None, "due"],
        ["2026-12-02", "07:30", "burdock", "daily-look", "", "daily look", 5, None, "due"],
        ["2026-12-02", "07:30", "rush", "daily-look", "", "daily look", 5, None, "due"],
        ["2026-12-02", "10:15", "rush", "top-up", "", "top up", 5, None, "due"],
        ["2026-12-02", "07:30", "rush", "feed", "adult", "feed", 10, None, "due"],
    ]
    # The routine of a weekday is one calendar entry, of all enclosures; everything else has an entry of its own.
    routine = [(o["date"], o["uid"]) for o in objects if o["job"] in ("daily-look", "feed")]
    assert len(routine) == 5 and len(set(routine)) == 2
    assert len({o["uid"] for o in objects}) == 4
    assert objects[6]["notes"].startswith("1. Read the water temperature")


def test_a_single_keeper_has_every_job() -> None:
    alone = TWO.replace("[[enclosure]]", '[[keeper]]\nname = "Ada \\"A\\""\n[[enclosure]]', 1)
    planned = workflow.make_plan(load(alone, load_sheets(), (care.check,)), TODAY, TODAY, 1)
    lines = job_lines(planned.site, workflow.days_of(planned), workflow.entries_for(planned, None))
    assert {json.loads(line)["keeper"] for line in lines} == {'Ada "A"'}
