"""The rota's time and quality, each site in a process of its own, beside the greedy baseline.

Run by hand: python tests/benchmarks/bench_rota.py [household] [rescue] [100] [300]. The sites of 100 and of 300 enclosures
are the rescue's, copied; keepers come on other days from copy to copy, with so many minutes that nothing is left undone.
"""

from __future__ import annotations

import copy
import datetime as dt
import json
import resource
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

import tomli_w

HERE = Path(__file__).parent
SAMPLES = HERE.parents[1] / "sample_configs"
sys.path.insert(0, str(HERE.parent))

TODAY = dt.date(2026, 12, 1)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

SITES = {
    # enclosures, keepers, what a keeper's minutes are multiplied by, seconds allowed, gap allowed
    "household": (None, None, 1.0, 2.0, 0.01),
    "rescue": (None, None, 1.0, 40.0, 0.01),
    "100": (100, 40, 1.7, 40.0, 0.01),
    "300": (300, 80, 2.6, 180.0, 0.02),
}


def grown(enclosures: int, keepers: int, more: float) -> str:
    """Return the rescue's description with its enclosures and keepers copied until there are so many."""
    base = tomllib.loads((SAMPLES / "rescue.toml").read_text(encoding="utf-8"))
    made = {"enclosure": [], "keeper": []}
    for kind, count in (("enclosure", enclosures), ("keeper", keepers)):
        for n in range(count):
            turn, at = divmod(n, len(base[kind]))
            one = copy.deepcopy(base[kind][at])
            one["name"] = f"{one['name']} {turn}"
            one.pop("id", None)
            if kind == "keeper":
                one["weekdays"] = [WEEKDAYS[(WEEKDAYS.index(d) + turn) % 7] for d in one["weekdays"]]
                one["minutes"] = int(one.get("minutes", 120) * more)
            made[kind].append(one)
    return tomli_w.dumps(base | made)


def measure(file: Path, weeks: int) -> dict[str, float]:
    """Return what was measured of one site, in this process."""
    from support.rota.checker import check
    from support.rota.greedy import greedy_rota
    from support.rota.small_sites import case

    from scheduler import workflow

    begun = time.perf_counter()
    some = case(workflow.read_site(file), TODAY, weeks * 7)
    planned = time.perf_counter()
    made = some.rota()
    shared = time.perf_counter()
    baseline = greedy_rota(some.site, some.occurrences, some.first, some.last)
    possible = {k.id: made.possible[k.id] for k in some.site.keepers}
    off = [abs(made.loads[k] - least) / least for k, least in possible.items() if least > 0]
    return {
        "plan_s": planned - begun,
        "rota_s": shared - planned,
        "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "occurrences": len(made.tasks()) + len(made.unfilled),
        "broken": len(check(made, some.site, some.occurrences, quarantined=some.quarantined)),
        "gap": made.fairness.gap,
        "off": max(off),
        "unfilled": sum(left.item.job.minutes for left in made.unfilled),
        "rounds": len(made.rounds),
        "spread": made.fairness.spread,
        "gini": made.fairness.gini,
        "greedy_gini": baseline.gini,
        "mixed": sum(len({t.item.quarantine for t in r.tasks}) == 2 for r in made.rounds),
        "greedy_unfilled": baseline.unfilled,
        "greedy_rounds": baseline.rounds,
        "greedy_spread": baseline.spread,
    }


def cold(file: Path, weeks: int) -> float:
    """Return the seconds that the command takes from a cold start, data to nowhere."""
    command = [
        sys.executable,
        "-m",
        "scheduler",
        "rota",
        str(file),
        "--weeks",
        str(weeks),
        "--today",
        str(TODAY),
    ]
    begun = time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    took = time.perf_counter() - begun
    # 1: something is left undone, which the command says by its exit status.
    if done.returncode not in (0, 1):
        raise SystemExit(f"pondround rota failed: {done.stderr[-2000:]}")
    return took


def main() -> None:
    """Print a paragraph for each site."""
    if len(sys.argv) == 4 and sys.argv[1] == "--one":
        print(json.dumps(measure(Path(sys.argv[2]), int(sys.argv[3]))))
        return
    for name in sys.argv[1:] or SITES:
        enclosures, keepers, more, seconds, gap = SITES[name]
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "site.toml"
            if enclosures is None or keepers is None:
                file.write_bytes((SAMPLES / f"{name}.toml").read_bytes())
            else:
                file.write_text(grown(enclosures, keepers, more), encoding="utf-8")
            took = min(cold(file, 12) for _ in range(3 if name == "household" else 1))
            one = [sys.executable, __file__, "--one", str(file), "12"]
            r = json.loads(subprocess.run(one, check=True, capture_output=True, text=True).stdout)
        print(
            f"{name}: 12 weeks, {r['occurrences']:,} occurrences. The command {took:.2f} s of {seconds:g} s allowed "
            f"(plan {r['plan_s']:.2f} s, rota {r['rota_s']:.2f} s, {r['mb']:.0f} MB)\n"
            f"  gap {r['gap']:.3%} of {gap:.0%} allowed, rules broken {r['broken']}, furthest from the fairest possible "
            f"load {r['off']:.1%}, rounds with quarantine and others {r['mixed']}\n"
            f"  greedy baseline: undone {r['unfilled']} / {r['greedy_unfilled']} min, rounds {r['rounds']} / "
            f"{r['greedy_rounds']}, spread {r['spread']:.3f} / {r['greedy_spread']:.3f}, Gini {r['gini']:.4f} / {r['greedy_gini']:.4f}"
        )


if __name__ == "__main__":
    main()
