"""What is made from models and registries is as it would be made now: the schema, and the guide's pages to look things up in.

Each of these pages has an introduction that is written by hand; from its first heading on it is made. After a change of a
key, a job, a figure, a command or its JSON `pytest --update-golden tests/reference` writes them anew.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from commands_page import commands_section
from figures_page import figures_section
from jobs_page import jobs_section
from json_page import json_section
from keys_page import TABLES, keys_section

from scheduler import workflow
from scheduler.description import site

PACKAGE = Path(__file__).parents[2] / "scheduler"

Golden = Callable[[str, str], None]


def compare(golden: Golden, topic: str, made: str) -> None:
    """Compare what is made of a page: all from the heading on with which that begins."""
    file = PACKAGE / "guide" / f"{topic}.md"
    heading = made.partition("\n")[0]
    by_hand, found, _ = file.read_text("utf-8").partition(f"\n{heading}\n")
    assert found, f"{file.name} has lost its heading {heading!r}, from which on it is made"
    golden(str(file), f"{by_hand}\n{made}")


def test_the_schema_of_the_description(golden: Golden) -> None:
    golden(str(PACKAGE / "description" / "enclosures.schema.json"), workflow.schema_text())


def test_the_page_of_keys(golden: Golden) -> None:
    compare(golden, "keys", keys_section())


def test_every_table_is_on_it_and_every_key_says_what_it_means() -> None:
    tables = {
        model for model in vars(site).values() if isinstance(model, type) and issubclass(model, site.Table)
    }
    assert {*TABLES.values()} == tables - {site.Table, site.Description}
    without = {key for model in tables for key, field in model.model_fields.items() if not field.description}
    assert without == {name.strip("[]").removesuffix(".KEY").rpartition(".")[2] for name in TABLES} - {
        "contact"
    }


def test_the_page_of_jobs(golden: Golden) -> None:
    compare(golden, "jobs", jobs_section())


def test_the_page_of_figures(golden: Golden) -> None:
    compare(golden, "figures", figures_section())


def test_the_page_of_commands(golden: Golden) -> None:
    compare(golden, "commands", commands_section())


def test_the_page_of_json(golden: Golden, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    compare(golden, "json", json_section(tmp_path, monkeypatch))
