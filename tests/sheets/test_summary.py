"""Findings of many enclosures in groups: nothing is lost, nothing of one is said of all, and it fits the screen."""

from __future__ import annotations

import ast
import datetime as dt
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.samples import EVERY_FILE

import scheduler
from scheduler import care, workflow
from scheduler.care import Review
from scheduler.care.findings.finding import DESCRIPTION, Finding
from scheduler.description import load
from scheduler.sheets.review import WhatIf
from scheduler.sheets.summary import findings_of, grouped, summary_lines, whole_lines
from scheduler.sheets.terminal import cells
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 19)


def reviews(path: Path, *changes: tuple[str, str]) -> list[Review]:
    text = path.read_text("utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return workflow.review(load(text, load_sheets(), (care.check,)), TODAY)


@pytest.mark.parametrize("path", EVERY_FILE)
def test_every_finding_is_in_one_group(path: Path) -> None:
    found = findings_of(reviews(path))
    groups = grouped(found)
    assert sum(len(group.found) for group in groups) == len(found)
    assert Counter((g.verdict, name, id(f)) for g in groups for name, f in g.found) == Counter(
        (verdict, name, id(f)) for verdict, name, f in found
    )
    order = [["act", "look", "fine"].index(group.verdict) for group in groups]
    assert order == sorted(order)


@pytest.mark.parametrize("path", EVERY_FILE)
def test_what_is_said_of_a_group_holds_nothing_of_one_enclosure(path: Path) -> None:
    found = reviews(path)
    own = {review.enclosure.name for review in found}
    own |= {resident.name for review in found for resident in review.enclosure.resident}
    for group in grouped(findings_of(found)):
        # Names follow it, after a colon.
        assert not re.search(r"\d|: ", group.gist), group.gist
        assert not [name for name in own if re.search(rf"\b{re.escape(name)}\b", group.gist)], group.gist


def test_whatever_is_to_act_on_or_to_look_at_has_a_gist() -> None:
    """Without one, findings of one key that say different things would be one line."""
    without = []
    for path in sorted(Path(scheduler.__file__).parent.rglob("*.py")):
        for call in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name):
                given_ = {k.arg: k.value for k in call.keywords}
                if call.func.id == "Finding":
                    verdict = given_.get("verdict") or call.args[1]
                elif call.func.id == "Consequence":
                    verdict = given_["verdict"]
                else:
                    continue
                fine = isinstance(verdict, ast.Constant) and verdict.value == "fine"
                if not fine and "gist" not in given_:
                    without.append(f"{path.name}:{call.lineno}")
    assert without == []


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("path", EVERY_FILE)
def test_a_summary_keeps_to_the_screen_and_counts_what_it_leaves_out(path: Path, width: int) -> None:
    found = reviews(path)
    total = len(findings_of(found))
    changed = WhatIf(["covered=false"], reviews(path, ("covered = true", "covered = false")))
    for rows in (11, 15, 23, 60):
        lines = summary_lines(found, width, rows)
        assert len(lines) <= rows and max(map(cells, lines)) <= width
        assert _sum(_head(lines)) == total
        left = _sum(_last(lines))
        shown = sum(len(g.found) for g in grouped(findings_of(found)) if _is_told(g.gist, lines))
        assert shown + left >= total
        lines = summary_lines(found, width, rows, what_if=changed)
        assert len(lines) <= rows and max(map(cells, lines)) <= width


def _sum(text: str) -> int:
    return sum(map(int, re.findall(r"(\d+) (?:to act on|to look at|fine)", text)))


def _head(lines: list[str]) -> str:
    return " ".join(" ".join(lines[:3]).split()).partition("  ")[0]


def _last(lines: list[str]) -> str:
    return " ".join(lines[len(lines) - lines[::-1].index("") :])


def _is_told(gist: str, lines: list[str]) -> bool:
    return gist in " ".join(" ".join(lines).split())


def findings(verdict: str, gist: str, texts: dict[str, str]) -> list[tuple[str, str, Finding]]:
    return [
        (verdict, name, Finding("floor_load", verdict, text, DESCRIPTION, gist=gist))  # type: ignore[arg-type]
        for name, text in texts.items()
    ]


def test_numbers_that_differ_do_not_keep_findings_apart() -> None:
    (group,) = grouped(
        findings("look", "too heavy", {"Sedge": "It weighs 90 kg.", "Rush": "It weighs 99 kg."})
    )
    assert group.names == ["Sedge", "Rush"] and len(group.texts) == 2


def test_one_verdict_and_another_are_apart_and_the_worse_comes_first() -> None:
    mixed = [
        *findings("look", "too heavy", {"Sedge": "a", "Rush": "b"}),
        *findings("act", "too heavy", {"Reed": "c"}),
    ]
    assert [(g.verdict, g.names) for g in grouped(mixed)] == [("act", ["Reed"]), ("look", ["Sedge", "Rush"])]


@given(
    st.lists(
        st.tuples(st.sampled_from(["act", "look", "fine", "gone"]), st.text(max_size=3), st.text(max_size=3))
    )
)
def test_groups_hold_whatever_is_found(drawn: list[tuple[str, str, str]]) -> None:
    found = [(v, n, Finding("feed", "look", g, DESCRIPTION, gist=g)) for v, n, g in drawn]
    groups = grouped(found)
    assert sorted((g.verdict, n, f.text) for g in groups for n, f in g.found) == sorted(drawn)
    assert len({(g.verdict, g.gist) for g in groups}) == len(groups)


@pytest.mark.parametrize("brief", [False, True])
@pytest.mark.parametrize("path", EVERY_FILE)
def test_the_whole_names_each_enclosure_with_what_is_said_of_it(path: Path, brief: bool) -> None:
    found = reviews(path)
    told = " ".join(" ".join(whole_lines(found, 80, brief=brief)).split())
    for verdict, name, finding in findings_of(found):
        if verdict != "fine" or not brief:
            assert name in told and " ".join(finding.text.split()) in told
