"""The review against loading alone: of a large site after start, and of one tank from a cold start.

Run by hand: python tests/benchmarks/bench_check.py [enclosures]
"""

from __future__ import annotations

import datetime as dt
import statistics
import subprocess
import sys
import time
from pathlib import Path

from sites import site

TODAY = dt.date(2026, 12, 1)
SAMPLE = Path(__file__).parents[2] / "sample_configs" / "one-tank.toml"
ROUNDS, COLD_ROUNDS = 5, 15

LOAD = "import sys; from pathlib import Path; import scheduler.cli; from scheduler import workflow; workflow.read_site(Path(sys.argv[1]))"


def warm(enclosures: int) -> tuple[float, float, float, int]:
    """Return the seconds of loading, of the reviews, and of their table and JSON; and how many lines the table has."""
    import scheduler.cli  # noqa: F401 - with the collector set as the command sets it
    from scheduler import care, workflow
    from scheduler.description import load
    from scheduler.sheets.records import check_object
    from scheduler.sheets.review import review_lines
    from scheduler.species import load_sheets

    text = site(enclosures)
    sheets = load_sheets()
    begin = time.perf_counter()
    loaded = load(text, sheets, (care.check,))
    loading = time.perf_counter()
    reviews = workflow.review(loaded, TODAY)
    reviewing = time.perf_counter()
    lines = sum(1 for _ in review_lines(reviews, 80))
    check_object((), reviews)
    return loading - begin, reviewing - loading, time.perf_counter() - reviewing, lines


def seconds(command: list[str]) -> float:
    """Return the wall time of a command; a review that has something to act on ends with 1."""
    begin = time.perf_counter()
    done = subprocess.run(command, check=False, capture_output=True)
    if done.returncode > 1:
        raise SystemExit(done.stderr.decode())
    return time.perf_counter() - begin


def main() -> None:
    """Print medians, and the ratio to loading alone."""
    enclosures = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    # The first round warms up what is read once in a process.
    runs = [warm(enclosures) for _ in range(ROUNDS + 1)][1:]
    load_s, review_s, print_s = (statistics.median(run[n] for run in runs) for n in range(3))
    print(
        f"{enclosures} enclosures: load {load_s:.2f} s, review {review_s:.2f} s ({review_s / enclosures * 1000:.2f} ms each), "
        f"table and JSON {print_s:.2f} s ({runs[0][3]:,} lines)\n"
        f"ratio to loading: review {statistics.median(b / a for a, b, _, _ in runs):.2f}, "
        f"with table and JSON {statistics.median((b + c) / a for a, b, c, _ in runs):.2f}"
    )
    checking = [sys.executable, "-m", "scheduler", "check", str(SAMPLE), "--today", TODAY.isoformat()]
    loading = [sys.executable, "-c", LOAD, str(SAMPLE)]
    pairs = [(seconds(checking), seconds(loading)) for _ in range(COLD_ROUNDS + 1)][1:]
    print(
        f"one tank, cold: check {statistics.median(a for a, _ in pairs):.3f} s, "
        f"load {statistics.median(b for _, b in pairs):.3f} s, "
        f"ratio {statistics.median(a / b for a, b in pairs):.2f}"
    )


if __name__ == "__main__":
    main()
