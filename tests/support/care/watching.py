"""A tank and its record in short, for the tests of what readings mean: lines in, sentences and jobs out."""

from __future__ import annotations

import datetime as dt

from scheduler import care
from scheduler.care import Case, Consequence, On
from scheduler.history import History
from support import recorded
from support.recorded import load

TANK = """
[site]
name = "Plover Yard"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Quillet"
set_up = 2026-10-03
cycled = true
length = "100 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {kind = "canister", media_trays = 4}
heater = [{power = "200 W", set_to = "25 degC"}]
lamp = [{kind = "T5 HO tube", installed = 2026-10-03, hours_a_day = 12, uvi = 3.0, uvi_at = "30 cm", basking_distance = "30 cm"}]
resident = [{name = "Wren", species = "painted turtle", carapace = "12 cm", mass = "300 g", arrived = 2026-10-20}]
feed = {grams = 3, protein = 0.4, meals_a_week = 3}
"""
IN_US = TANK.replace('name = "Plover Yard"', 'name = "Plover Yard"\nunits = "us"')
NEW = TANK.replace("cycled = true", "cycled = false")
BEGUN, TODAY = "2026-10-20", "2027-02-01"


def history(begun: str, lines: list[str]) -> History:
    """Return the history of the tank: see `recorded.history`."""
    return recorded.history(begun, lines, "quillet")


def case_of(lines: list[str], text: str = TANK, today: str = TODAY) -> Case:
    site = load(text)
    found = care.with_implied(site, history(BEGUN, lines))
    (case,) = care.cases(site, dt.date.fromisoformat(today), found)
    return case


def meaning(lines: list[str], text: str = TANK, today: str = TODAY) -> list[Consequence]:
    return care.consequences(case_of(lines, text, today))


def said(lines: list[str], text: str = TANK, today: str = TODAY) -> list[str]:
    """Return what is said about a record: `act: Nitrite was ...`."""
    return [in_order(c) for c in meaning(lines, text, today)]


def in_order(c: Consequence) -> str:
    """Return a consequence as the record tells it: what was read, the rule, what is done. A keeper reads what is done first."""
    return f"{c.verdict}: {' '.join(filter(None, (c.reading, c.rule, c.plan)))}"


def follows(lines: list[str], text: str = TANK) -> dict[str, list[str]]:
    """Return the jobs that follow from a record, by key and variant, with their days."""
    return {
        f"{job.key}/{job.variant}": [day.isoformat() for day in job.cadence.days]
        for job in care.jobs_of(case_of(lines, text))
        if job.fixed and job.recorded_as is not None and isinstance(job.cadence, On)
    }


def first_step(lines: list[str], name: str, text: str = TANK) -> str:
    """Return the first step of the notes of a job, by key and variant."""
    (job,) = [j for j in care.jobs_of(case_of(lines, text)) if f"{j.key}/{j.variant}" == name]
    return job.notes().steps[0]


def notes(lines: list[str], name: str, text: str = TANK) -> str:
    """Return the whole notes of a job, by key and variant."""
    (job,) = [j for j in care.jobs_of(case_of(lines, text)) if f"{j.key}/{j.variant}" == name]
    return job.notes().text()


def switched_off(*keys: str) -> str:
    return TANK + "".join(f"[enclosure.job.{key}]\noff = true\n" for key in keys)
