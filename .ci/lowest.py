"""Print a constraint for each dependency of pyproject.toml: the lowest version that it allows.

Those of its extras too, but for `test`.

python .ci/lowest.py > lowest.txt && pip install -c lowest.txt -e '.[test]'
"""

import re
import sys
import tomllib
from pathlib import Path

BOUND = re.compile(r"(?P<name>[\w.-]+)(?:\[[^\]]*\])?\s*>=\s*(?P<version>[\w.]+)")

project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))["project"]
extras = [lines for name, lines in project["optional-dependencies"].items() if name != "test"]
for line in [*project["dependencies"], *(line for lines in extras for line in lines)]:
    bound = BOUND.match(line)
    if bound is None:
        sys.exit(f"pyproject.toml gives no lowest version of {line!r}")
    print(f"{bound['name']}=={bound['version']}")
