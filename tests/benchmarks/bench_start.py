"""From a cold start: `export` and `jobs` of a sample against a bare process that imports the same packages.

Run by hand: python tests/benchmarks/bench_start.py
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SAMPLE = Path(__file__).parents[2] / "sample_configs" / "one-tank.toml"
ROUNDS = 15


def seconds(command: list[str]) -> float:
    """Return the wall time of a command."""
    begin = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begin


def third_party(command: list[str]) -> str:
    """Return the statement that imports what the command imports from site-packages, module by module."""
    names = (
        "import runpy, sys\n"
        "sys.argv = sys.argv[1:]\n"
        "try: runpy.run_module('scheduler', run_name='__main__', alter_sys=True)\n"
        "except SystemExit: pass\n"
        "print('\\n'.join(n for n, m in sys.modules.items() if 'site-packages' in (getattr(m, '__file__', '') or '')), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", names, *command], check=True, capture_output=True, text=True)
    modules = [name for name in done.stderr.split() if name.replace(".", "").replace("_", "").isalnum()]
    return "import importlib\nfor name in " + repr(modules) + ":\n importlib.import_module(name)"


def main() -> None:
    """Print medians and the ratio for both commands, run in turn with the bare process."""
    with tempfile.TemporaryDirectory() as folder:
        for name, options in {"export": ["--to", folder], "jobs": []}.items():
            command = ["pondround", name, str(SAMPLE), "--today", "2026-12-01", *options]
            ours = [sys.executable, "-m", "scheduler", *command[1:]]
            bare = [sys.executable, "-c", third_party(command)]
            pairs = [(seconds(ours), seconds(bare)) for _ in range(ROUNDS)][1:]
            print(
                f"{name}: {statistics.median(a for a, _ in pairs):.3f} s, "
                f"bare imports {statistics.median(b for _, b in pairs):.3f} s, "
                f"ratio {statistics.median(a / b for a, b in pairs):.2f}"
            )


if __name__ == "__main__":
    main()
