"""How large a file and a class may get before it is two: what the linter does not count."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import scheduler

PACKAGE = Path(scheduler.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))
TESTS = Path(__file__).parent

MOST_LINES = 400
MOST_LINES_OF_TESTS = 500
LONG_TESTS = {
    "support/machine/machine.py": "the steps of one class, which Hypothesis runs as one state machine"
}

MOST_ATTRIBUTES = 12
"""Of a class whose methods assign them: a record that is only made and read may have more."""

RECORDS = {
    "House": "the house values in force, computed once and never changed",
    "_Row": "the slots of an entry, of which a plan reads 100,000",
}


def classes() -> Iterator[tuple[str, ast.ClassDef]]:
    for file in FILES:
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef):
                yield f"{file.relative_to(PACKAGE)}:{node.name}", node


def assigned(node: ast.ClassDef) -> set[str]:
    """Return the names that methods of a class assign on self."""
    return {
        one.attr
        for one in ast.walk(node)
        if isinstance(one, ast.Attribute)
        and isinstance(one.ctx, ast.Store)
        and isinstance(one.value, ast.Name)
        and one.value.id == "self"
    }


def lines(file: Path) -> int:
    return len(file.read_text("utf-8").splitlines())


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(PACKAGE)))
def test_a_file_can_be_read_at_once(file: Path) -> None:
    assert lines(file) <= MOST_LINES


def test_so_can_a_file_of_tests() -> None:
    """An exception that is no longer one is named too."""
    long = {f.relative_to(TESTS).as_posix() for f in TESTS.rglob("*.py") if lines(f) > MOST_LINES_OF_TESTS}
    assert long == set(LONG_TESTS)


def test_a_class_that_changes_itself_has_few_attributes() -> None:
    large = {name: len(assigned(node)) for name, node in classes() if len(assigned(node)) > MOST_ATTRIBUTES}
    assert {name.rpartition(":")[2] for name in large} == set(RECORDS), large
