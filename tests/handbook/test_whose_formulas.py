"""Each formula and number of the handbook is somebody's: a figure, a finding, a job or a note rests on it, or it is not there."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import scheduler

PACKAGE = Path(scheduler.__file__).parent
HANDBOOK = {
    path.stem: ast.parse(path.read_text("utf-8"))
    for path in sorted((PACKAGE / "handbook").glob("*.py"))
    if path.stem != "__init__"
}

NOT_YET = {
    # Warming and cooling by one loss for each kelvin: care integrates the losses of the tank, and does not say these yet.
    "warming": {
        "drop_after_hours", "heat_up_hours", "reach_hours", "stuck_c", "time_constant_hours",
    },
    # What an animal will weigh and measure: care only asks when it outgrows its enclosure.
    "growth": {
        "FEMALE_SHELLS_MM", "MASS_G_PER_CM3", "MASS_SPREAD",
        "female_shell_cm3", "mass_from_volume_g", "mass_g", "rate_cm_year", "size_after",
    },
}  # fmt: skip
"""What care will rest on, and does not yet: cooling, warming and growth."""

Name = tuple[str, str]
"""A module of the handbook, and what it defines."""


def definitions(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Yield what a module defines at its top, with the statement that does."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name, node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            for name in (n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)):
                yield name, node


def imported(tree: ast.Module) -> tuple[dict[str, str], dict[str, Name]]:
    """Return the modules of the handbook that a file imports, and the names, both by what it calls them."""
    modules, names = {}, {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "scheduler.handbook":
            modules |= {alias.asname or alias.name: alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("scheduler.handbook."):
            module = str(node.module).rpartition(".")[2]
            names |= {alias.asname or alias.name: (module, alias.name) for alias in node.names}
    return modules, names


def used_in(code: ast.AST, modules: dict[str, str], names: dict[str, Name]) -> Iterator[Name]:
    """Yield what some code takes from the handbook."""
    for node in ast.walk(code):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
            yield modules[node.value.id], node.attr
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in names:
            yield names[node.id]


@cache
def everybodys() -> frozenset[Name]:
    """Return what something outside the handbook rests on, straight or through others of the handbook."""
    found: set[Name] = set()
    for path in PACKAGE.rglob("*.py"):
        if path.parent.name != "handbook" and "scheduler.handbook" in (text := path.read_text("utf-8")):
            tree = ast.parse(text)
            found |= set(used_in(tree, *imported(tree)))
    inside: dict[Name, set[Name]] = {}
    for module, tree in HANDBOOK.items():
        modules, names = imported(tree)
        names |= {name: (module, name) for name, _ in definitions(tree)}
        for name, node in definitions(tree):
            inside.setdefault((module, name), set()).update(used_in(node, modules, names))
    waiting = list(found)
    while waiting:
        more = inside.get(waiting.pop(), set()) - found
        found |= more
        waiting += more
    return frozenset(found)


@pytest.mark.parametrize("module", HANDBOOK)
def test_nothing_in_the_handbook_is_there_for_its_tests_alone(module):
    defined = {name for name, _ in definitions(HANDBOOK[module]) if not name.startswith("_")}
    idle = defined - {name for owner, name in everybodys() if owner == module}
    assert idle == NOT_YET.get(module, set())
