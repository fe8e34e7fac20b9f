"""Where nothing turns ammonia into nitrate: how often and how much water is changed, what is tested, and what the review says."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import BEGUN, NEW, TANK
from support.recorded import history

from scheduler import care
from scheduler.care import Every
from scheduler.description import load
from scheduler.species import load_sheets

# 200 L; 3 g x 3 a week x 0.4 x 0.16 are 0.0823 g of nitrogen a day: 0.411 mg/L of ammonia nitrogen.
RISE = 3 * 3 / 7 * 0.4 * 0.16 * 1000 / 200

# Un-ionised at 25 degC: 5.38 % at pH 8, 0.566 % at pH 7 (Emerson et al. 1975, their table; from memory); 0.05 mg/L of it is
# the house's act limit: 0.93 mg/L in all at pH 8, and a tenth less is planned for. At pH 7 that would be 8.8; the US EPA's chronic criterion of 2013 without
# mussels and early life stages is 0.9405 x (0.0278 / (1 + 10^0.688) + 1.1994 / (1 + 10^-0.688)) x 7.547 x 10^(0.028 x -5).
EPA_PH_7 = 0.9405 * (0.0278 / (1 + 10**0.688) + 1.1994 / (1 + 10**-0.688)) * 7.547 * 10**-0.14

FILTERLESS = TANK.replace('filter = {kind = "canister", media_trays = 4}\n', "")
EARLY = NEW.replace("arrived = 2026-10-20", "arrived = 2026-10-05")


def tap(text: str, *lines: str) -> str:
    return text.replace("[[enclosure]]", "[site.tap_water]\n" + "\n".join(lines) + "\n[[enclosure]]", 1)


def case_of(text: str, lines: list[str] | None = None) -> care.Case:
    site = load(text, load_sheets(), (care.check,))
    found = history(BEGUN, lines or [], "quillet")
    (case,) = care.cases(site, dt.date(2026, 12, 1), care.with_implied(site, found))
    return case


def rhythm(text: str, lines: list[str] | None = None) -> tuple[int, float, int]:
    """Return the days between changes, the share of one, and the days between tests."""
    case = case_of(text, lines)
    jobs = {job.key: job for job in care.jobs_of(case) if not job.variant}
    change, test = jobs["water-change"].cadence, jobs.get("cycle-test", jobs.get("water-test"))
    assert isinstance(change, Every) and test is not None
    days = test.cadence.span.days if isinstance(test.cadence, Every) else 1
    return change.span.days, case.change_share, days


@pytest.mark.parametrize(
    ("text", "expected", "source"),
    [
        # 0.84 x 0.5 / 0.411 = 1.02 days; 0.411 / 0.839 = 49.02 %, up to the next percent.
        (tap(FILTERLESS, "ph = 8.0"), (1, 0.5, 1), "Emerson et al. 1975, their table; 0.05 mg/L: house value"),
        # 0.9 x 5.1 x 0.5 / 0.411 = 5.6 days; 5 x 0.411 / 4.6 = 44.6 %.
        (tap(FILTERLESS, "ph = 7.0"), (5, 0.45, 1), "US EPA 2013, EPA-822-R-13-001"),
        # Not measured: pH 8 on the safe side.
        (FILTERLESS, (1, 0.5, 1), "house value"),
        (EARLY, (1, 0.5, 1), "a filter of two days does not work yet: FAO glossary, 1 to 6 weeks"),
        # A keeper's own share stays; half of what it takes.
        (FILTERLESS + "[enclosure.job.water-change]\nshare = 0.25\n", (1, 0.25, 1), "the keeper's own"),
        # Twenty times the food: never more often than daily, never more than half.
        (FILTERLESS.replace("grams = 3", "grams = 60"), (1, 0.5, 1), "not more than daily"),
        # A filter that works, and a pond outdoors: nitrate is what is planned by.
        (TANK, (10, 0.46, 7), "40 x 0.5 / 1.82 = 10.99 days; 10 x 1.82 / 40 = 45.5 %"),
    ],
)  # fmt: skip
def test_ammonia_decides_where_nothing_nitrifies(text, expected, source):
    assert rhythm(text) == expected, source


def test_the_limit_is_what_the_published_formulas_say():
    assert case_of(tap(FILTERLESS, "ph = 8.0")).number("ammonia_limit") == pytest.approx(
        0.05 / 0.0538, rel=0.005
    )
    assert case_of(tap(FILTERLESS, "ph = 7.0")).number("ammonia_limit") == pytest.approx(EPA_PH_7, rel=0.005)
    assert case_of(FILTERLESS).number("ammonia_rise") == pytest.approx(RISE, rel=0.005)


def test_a_simulated_tank_stays_under_the_limit_that_is_printed():
    case = case_of(tap(FILTERLESS, "ph = 7.0"))
    level, highest = 0.0, 0.0
    for day in range(1, 200):
        level += RISE
        highest = max(highest, level)
        if day % 5 == 0:
            level *= 1 - 0.45
    assert highest == pytest.approx(case.number("ammonia_peak"), rel=0.01)
    assert highest < case.number("ammonia_limit")


def test_nitrate_is_no_figure_there():
    figures = {f.key for f in care.review(case_of(FILTERLESS)).figures}
    assert not figures & {"nitrate_rise", "nitrate_peak", "nitrate_trough", "alkalinity_used"}
    assert {"ammonia_rise", "ammonia_limit", "ammonia_peak"} <= figures
    assert not {"ammonia_rise", "ammonia_peak"} & {f.key for f in care.review(case_of(TANK)).figures}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            FILTERLESS,
            "Change 50 % of the water every day, and test ammonia and nitrite daily: there is no filter, and the food adds 0.41 mg/L "
            "of ammonia a day. Before a change it stands at 0.82 mg/L; it is acted on from 0.93 on. A filter, with media from one that "
            "has long worked in a healthy tank, ends it.",
        ),
        (
            EARLY.replace("grams = 3", "grams = 9"),
            "Change 50 % of the water every day, and test ammonia and nitrite daily: the filter does not work yet, and the food adds "
            "1.2 mg/L of ammonia a day. Before a change it stands at 2.5 mg/L; it is acted on from 0.93 on. That is not held. It would "
            "take 589 L of water, or 1.3 g of food a day until the filter works; ask a vet who knows reptiles how little food the animals stand. "
            "Media from a filter that has long worked, of a healthy tank, end it soonest.",
        ),
        (
            tap(FILTERLESS, 'disinfectant = "chloramine"', 'disinfectant_level = "5 mg/L"'),
            "Change 50 % of the water every day, and test ammonia and nitrite daily: there is no filter, and the food adds 0.41 mg/L "
            "of ammonia a day. Before a change it stands at 1.8 mg/L; it is acted on from 0.93 on. That is not held. New water alone "
            "brings as much, by its chloramine: use a conditioner that binds ammonia, by its label, in all new water. A filter, with "
            "media from one that has long worked in a healthy tank, ends it.",
        ),
        (
            EARLY.replace("arrived = 2026-10-05", "arrived = 2026-12-05").replace("set_up = 2026-10-03", "set_up = 2026-12-01"),
            "Let the animals come only once two tests have passed: the filter does not work yet. Media from a filter that has long "
            "worked, of a healthy tank, end it soonest.",
        ),
    ],
)  # fmt: skip
def test_the_review_says_what_to_do_first(text, words):
    (found,) = [
        f
        for f in care.review(case_of(text)).findings
        if f.key in ("ammonia_peak", "cycle-test") and not f.unknown
    ]
    assert (found.verdict, found.text) == ("act", words)


def test_a_filter_that_is_started_before_its_animals_come_is_planned_as_it_will_be():
    later = NEW.replace("arrived = 2026-10-20", "arrived = 2026-12-12")
    assert "nitrate_peak" in {f.key for f in care.review(case_of(later)).figures}
    # Tests after they came, and none passed: they live without a filter.
    tested = ["2026-12-14 ammonia 0.5", "2026-12-14 nitrite 0"]
    assert "ammonia_peak" in {f.key for f in care.review(case_of(later, tested)).figures}
    passed = [
        "2026-12-01 nitrate 5", "2026-12-14 ammonia 0", "2026-12-14 nitrite 0",
        "2026-12-16 ammonia 0", "2026-12-16 nitrite 0", "2026-12-16 nitrate 20",
    ]  # fmt: skip
    assert "nitrate_peak" in {f.key for f in care.review(case_of(later, passed)).figures}
