"""Time and memory over the number of enclosures, each size in a process of its own.

Run by hand: python tests/benchmarks/bench_scale.py [sizes ...]
"""

from __future__ import annotations

import datetime as dt
import json
import resource
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

from sites import site

TODAY = dt.date(2026, 12, 1)
DAYS = 365


def measure(enclosures: int) -> dict[str, float]:
    """Return the seconds of each step and the peak memory of this process, in MB."""
    import scheduler.cli  # noqa: F401 - with the collector set as the command sets it
    from scheduler import care, workflow
    from scheduler.calendar import Options
    from scheduler.description import load
    from scheduler.species import load_sheets

    text = site(enclosures, keepers=3)
    t = [time.perf_counter()]
    loaded = load(text, load_sheets(), (care.check,))
    t.append(time.perf_counter())
    planned = workflow.make_plan(loaded, TODAY, TODAY, DAYS)
    count = sum(1 for _ in workflow.days_of(planned))
    t.append(time.perf_counter())
    plan_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    with tempfile.TemporaryDirectory() as folder:
        workflow.export(planned, Path(folder), Options())
        t.append(time.perf_counter())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    findings = sum(len(review.findings) for review in workflow.review(loaded, TODAY))
    t.append(time.perf_counter())
    load_s, plan_s, export_s, review_s = (b - a for a, b in pairwise(t))
    review_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {
        "load": load_s,
        "plan": plan_s,
        "export": export_s,
        "review": review_s,
        "findings": findings,
        "occurrences": count,
        "plan_mb": plan_mb,
        "mb": peak,
        "review_mb": review_mb,
    }


def main() -> None:
    """Print a line for each size, with the cost of one more enclosure against the smallest size's."""
    if len(sys.argv) == 3 and sys.argv[1] == "--one":
        print(json.dumps(measure(int(sys.argv[2]))))
        return
    sizes = [int(a) for a in sys.argv[1:]] or [100, 1000, 10_000]
    for n in sizes:
        done = subprocess.run(
            [sys.executable, __file__, "--one", str(n)], check=True, capture_output=True, text=True
        )
        r = json.loads(done.stdout)
        total = r["load"] + r["plan"] + r["export"]
        print(
            f"{n:6} enclosures  load {r['load']:.2f} s  plan {r['plan']:.2f} s ({r['occurrences']:,} occurrences)  "
            f"export {r['export']:.2f} s  in all {total / n * 1000:.2f} ms each  plan {r['plan_mb']:.0f} MB  peak {r['mb']:.0f} MB  "
            f"review {r['review'] / n * 1000:.2f} ms each ({r['findings']:,} findings), then {r['review_mb']:.0f} MB"
        )


if __name__ == "__main__":
    main()
