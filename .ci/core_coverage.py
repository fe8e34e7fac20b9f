"""Print how much of each package was run by tests, and fail where a file of the pure core has less than 95 %.

python .ci/core_coverage.py .coverage.json
"""

import json
import sys
from collections import defaultdict
from pathlib import Path

CORE = ("handbook", "care", "plan", "rota", "calendar", "description")
LEAST = 95.0


def main(report: Path) -> int:
    """Read a report of coverage.py; return 1 where a file of the core lacks tests."""
    files = json.loads(report.read_text("utf-8"))["files"]
    lines: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    lacking = []
    for name, found in sorted(files.items()):
        package = Path(name).parts[1]
        summary = found["summary"]
        lines[package][0] += summary["covered_lines"]
        lines[package][1] += summary["num_statements"]
        if package in CORE and summary["percent_covered"] < LEAST:
            lacking.append(f"{name}: {summary['percent_covered']:.1f} %, not run: {found['missing_lines']}")
    for package in CORE:
        run, there = lines[package]
        print(f"{package:12} {100 * run / max(there, 1):5.1f} % of {there} statements")
    print(*lacking, sep="\n")
    return 1 if lacking or not all(lines[package][1] for package in CORE) else 0


sys.exit(main(Path(sys.argv[1])))
