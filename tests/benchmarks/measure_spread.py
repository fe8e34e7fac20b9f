"""How the rare jobs of the samples lie over a year: how many in a part of a day, and which of them meet most often.

Run by hand: python tests/benchmarks/measure_spread.py [files ...]
"""

from __future__ import annotations

import datetime as dt
import sys
from collections import Counter
from itertools import combinations
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_configs"
FIRST = dt.date(2026, 12, 1)
DAYS = 365
PAIRS = 8

Name = tuple[str, str]


def parts(file: Path) -> dict[str, dict[dt.date, list[Name]]]:
    """Return the rare jobs of each day of the year by the part of the day: enclosure and job as on the command line."""
    from scheduler import workflow
    from scheduler.workflow.site_files import read_site

    planned = workflow.make_plan(read_site(file), FIRST, FIRST, DAYS)
    found: dict[str, dict[dt.date, list[Name]]] = {"morning": {}, "evening": {}}
    for o in workflow.days_of(planned):
        if not o.job.routine:
            found[o.job.part].setdefault(o.day, []).append((o.job.enclosure.name, o.job.word))
    return found


def main() -> None:
    """Print, for each sample and part, the days by their rare jobs, and the pairs that meet most often."""
    files = [Path(a) for a in sys.argv[1:]] or [
        SAMPLES / f"{n}.toml" for n in ("one-tank", "household", "rescue")
    ]
    for file in files:
        for part, days in parts(file).items():
            if not days:
                continue
            counts = Counter({0: DAYS - len(days)}) + Counter(len(names) for names in days.values())
            top = max(counts)
            if top <= 8:
                shown = ", ".join(f"{n}: {counts[n]}" for n in range(top + 1))
            else:
                wide = Counter(n // 5 * 5 for n in counts.elements())
                shown = ", ".join(f"{n} to {n + 4}: {wide[n]}" for n in sorted(wide))
            print(f"{file.stem}, {part}: days by their rare jobs {shown}; the most {top}")
            within = {n: sum(c for k, c in counts.items() if k <= n) for n in (1, 3)}
            print(f"  at most 1 on {within[1]} of {DAYS} days, at most 3 on {within[3]}")
            pairs = Counter(pair for names in days.values() for pair in combinations(sorted(set(names)), 2))
            alone = len({place for names in days.values() for place, _ in names}) == 1
            for (one, other), n in pairs.most_common(PAIRS):
                words = (one[1], other[1]) if alone else (": ".join(one), ": ".join(other))
                print(f"  {n:3} x {words[0]} with {words[1]}")


if __name__ == "__main__":
    main()
