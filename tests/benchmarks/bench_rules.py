"""Rules expanded to days: this planner against plain dateutil, the same rules and the same year.

Run by hand: python tests/benchmarks/bench_rules.py
"""

from __future__ import annotations

import datetime as dt
import statistics
import time

from dateutil.rrule import rrulestr

from scheduler.plan.series import aligned
from scheduler.rules import parse

START, END = dt.date(2026, 12, 1), dt.date(2027, 11, 30)
RULES = {
    "daily": "FREQ=DAILY",
    "every 10 days": "FREQ=DAILY;INTERVAL=10",
    "fortnightly": "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA",
    "five days a week": "FREQ=WEEKLY;BYDAY=MO,TU,TH,FR,SU",
    "monthly": "FREQ=MONTHLY;BYMONTHDAY=20",
    "first Saturday": "FREQ=MONTHLY;BYDAY=1SA",
    "outside the vocabulary": "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
}
REPEATS = 300
ROUNDS = 5


def main() -> None:
    """Print the ratio of times, ours over dateutil's, for each rule."""
    for name, text in RULES.items():
        rule = parse(text)
        start = next(rule.dates(START, END))
        ratios = []
        for _ in range(ROUNDS):
            begin = time.perf_counter()
            for _ in range(REPEATS):
                ours = list(rule.dates(aligned(rule, start, START), END))
            middle = time.perf_counter()
            for _ in range(REPEATS):
                until = dt.datetime.combine(END, dt.time())
                theirs = [
                    d.date()
                    for d in rrulestr(text, dtstart=dt.datetime.combine(start, dt.time())).replace(
                        until=until
                    )
                ]
            ratios.append((middle - begin) / (time.perf_counter() - middle))
            if ours != theirs:
                raise SystemExit(f"{name}: the days differ")
        print(f"{name:24} {len(ours):4} days   time ours/dateutil {statistics.median(ratios):.2f}")


if __name__ == "__main__":
    main()
