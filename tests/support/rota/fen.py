"""A site of four keepers, and the rota of a week as somebody might have published it."""

from __future__ import annotations

import datetime as dt

from scheduler.rota import Assigned
from support.rota.shared_out import bare

SITE = "fen-lane"

FEN = bare("""
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
can = ["adult", "lifting"]
[[keeper]]
name = "Ben Ash"
minutes = 45
can = ["adult", "lifting"]
weekdays = ["Mon", "Tue", "Wed", "Fri"]
[[keeper]]
name = "Ines"
can = []
away = ["2026-12-10/2026-12-11"]
[[keeper]]
name = "Olu"
can = ["lifting"]
rounds_a_week = 1
[[enclosure]]
name = "Sedge"
extra_job = [
  {key = "brush", title = "brush the pane", every = "1 day", minutes = 10},
  {key = "pump", title = "rinse the pump", rule = "FREQ=WEEKLY;BYDAY=WE", minutes = 25, can = ["lifting"]},
]
[[enclosure]]
name = "Reed"
extra_job = [{key = "brush", title = "brush the pane", every = "1 day", minutes = 10}]
[[enclosure]]
name = "Landing"
resident = [{name = "Fern", species = "painted turtle", arrived = 2026-11-20, quarantine = true}]
extra_job = [{key = "look", title = "look and listen", rule = "FREQ=WEEKLY;BYDAY=MO,FR", minutes = 15, can = ["adult"]}]
""")

WEEK = """
2026-12-07 noor     landing/look reed/brush
2026-12-07 ines     sedge/brush
2026-12-08 ines     reed/brush sedge/brush
2026-12-09 noor     reed/brush sedge/brush sedge/pump
2026-12-10 noor     reed/brush sedge/brush
2026-12-11 noor     reed/brush sedge/brush
2026-12-11 ben-ash  landing/look
2026-12-12 olu      reed/brush sedge/brush
2026-12-13 ines     reed/brush sedge/brush
"""
"""A rota of a week as somebody might have published it: the tests do not hang on what the optimiser likes best."""


def assigned(text: str) -> tuple[Assigned, ...]:
    """Return the tasks of a rota in the form of WEEK: each falls due on the day on which it is done."""
    rows = []
    for line in filter(None, text.splitlines()):
        date, keeper, *jobs = line.split()
        day = dt.date.fromisoformat(date)
        for enclosure, _, job in (name.partition("/") for name in jobs):
            rows.append(Assigned(enclosure, job, "", day, day, keeper))
    return tuple(rows)
