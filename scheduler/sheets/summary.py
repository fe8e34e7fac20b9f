"""The review of many enclosures on one screen: what is alike is one line with the names, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial

from scheduler.care import Review
from scheduler.care.engine.figure import LABELS
from scheduler.care.findings import VERDICTS, Finding
from scheduler.sheets.names import every_name, lines_with_names, names_by_id, told_names
from scheduler.sheets.review import INDENT, WhatIf, figure_lines, what_if_changes, what_if_lines
from scheduler.sheets.terminal import LEAST_WIDTH, beside, safe, wrapped

ENDLESS = 1_000_000
"""Columns of a line that is not wrapped."""

FEW = 2
"""So many enclosures are shown one by one; of more what is alike is one line."""

_WORDS = {"act": "to act on", "look": "to look at", "gone": "gone", "fine": "fine"}
"""What is counted, worst first. What is gone does not hold any more in a changed description."""


@dataclass(slots=True)
class FindingGroup:
    """Findings of one verdict that say the same of several enclosures, whatever their numbers are.

    `found` holds the name of each enclosure with its finding; an enclosure may have several.
    """

    verdict: str
    gist: str
    found: list[tuple[str, Finding]] = field(default_factory=list)

    @property
    def names(self) -> list[str]:
        """Return the names of the enclosures, each once."""
        return list(dict.fromkeys(name for name, _ in self.found))

    @property
    def texts(self) -> dict[str, list[str]]:
        """Return each text, with its source where that is not the same for all, and the names
        of those of whom it is said."""
        said: dict[str, list[str]] = {}
        shared = bool(self.source)
        for name, finding in self.found:
            source = "" if shared else f" [{finding.source}]"
            said.setdefault(f"{finding.text}{source}", []).append(name)
        return said

    @property
    def source(self) -> str:
        """Return the source that all rest on; "" where there are several."""
        sources = {str(finding.source) for _, finding in self.found}
        return sources.pop() if len(sources) == 1 else ""


def grouped(found: Iterable[tuple[str, str, Finding]]) -> list[FindingGroup]:
    """Return groups of (verdict, name of the enclosure, finding): worst first, then what was measured, then
    what is found in most enclosures."""
    groups: dict[tuple[str, str], FindingGroup] = {}
    for verdict, name, finding in found:
        gist = finding.gist or LABELS.get(finding.key) or finding.key.replace("-", " ")
        groups.setdefault((verdict, gist), FindingGroup(verdict, gist)).found.append((name, finding))
    order = list(_WORDS)
    return sorted(
        groups.values(),
        key=lambda group: (order.index(group.verdict), not group.found[0][1].measured, -len(group.names)),
    )


def findings_of(reviews: Sequence[Review]) -> list[tuple[str, str, Finding]]:
    """Return every finding with its verdict and the name of its enclosure."""
    names = _names(reviews)
    return [(f.verdict, names[review.enclosure.id], f) for review in reviews for f in review.findings]


def _names(reviews: Iterable[Review]) -> dict[str, str]:
    return names_by_id(review.enclosure for review in reviews)


def summary_lines(
    reviews: Sequence[Review],
    width: int,
    rows: int,
    *,
    brief: bool = False,
    wrap: bool = True,
    what_if: WhatIf | None = None,
) -> list[str]:
    """Return the review of many enclosures in at most so many rows; the last line counts what is not shown.

    Each line says what is to act on or to look at, and where; the text of what is to act on stands below it
    where there is room, and where it is the same for all. With `what_if` it is of what the change brings and
    of what it takes away. `brief` passes over what is fine. Without `wrap` each finding is one line with all
    names, however long: for programs that look for words in lines.
    """
    width = max(width, LEAST_WIDTH)
    head: list[str] = []
    same = 0
    if what_if is None:
        found = findings_of(reviews)
    else:
        head = [*what_if_lines(what_if, width), ""]
        found, same = _changes(reviews, what_if)
    found = [one for one in found if one[0] != "fine" or not brief]
    everyone = list(_names(reviews).values())
    groups = grouped(found)
    many = f"{len(everyone)} enclosures" if len(everyone) != 1 else safe(everyone[0])
    counts = _counted(groups) or ("nothing changes" if what_if is not None else "all fine")
    head += beside(many, counts, width)
    last = partial(_footer, same=same, many=len(everyone) > 1, width=width)
    rows -= len(head) + len(last(groups))
    shown, body = _fitted(
        [group for group in groups if group.verdict != "fine"], everyone, width if wrap else ENDLESS, rows
    )
    return [*head, *body, *last(groups[len(shown) :])]


def _fitted(
    groups: Sequence[FindingGroup], everyone: Sequence[str], width: int, rows: int
) -> tuple[list[FindingGroup], list[str]]:
    """Return the first groups, as many as go into the rows, and their lines."""
    urgent = [group for group in groups if group.verdict == "act"]
    others = groups[len(urgent) :]
    # A blank line after what is to act on, and one before the last line.
    rows -= 2 if urgent else 1
    blocks = _blocks(urgent, everyone, width, rows)
    shown = list(urgent[: len(blocks)])
    left = rows - sum(map(len, blocks))
    # Half of the screen is for the rest, where there is any.
    kept = rows // 2 if others else 0
    left = kept + _add_texts(shown, blocks, width, left - kept)
    body = [line for lines in blocks for line in lines] + [""] * bool(urgent)
    if len(shown) == len(urgent):
        blocks = _blocks(others, everyone, width, left)
        shown += others[: len(blocks)]
        if len(everyone) <= FEW and len(blocks) == len(others):
            _add_texts(others, blocks, width, left - sum(map(len, blocks)))
        body += [line for lines in blocks for line in lines] + [""] * bool(blocks)
    return shown, body


def _add_texts(groups: Iterable[FindingGroup], blocks: Iterable[list[str]], width: int, rows: int) -> int:
    """Put the text of each group of which it is all that is said below its line, while there is room; return
    the rows that are left."""
    for group, lines in zip(groups, blocks, strict=True):
        text = list(wrapped(safe(group.found[0][1].text), width, INDENT))
        if len(group.texts) == 1 and len(text) <= rows:
            lines.extend(text)
            rows -= len(text)
    return rows


def _blocks(
    groups: Iterable[FindingGroup], everyone: Sequence[str], width: int, rows: int
) -> list[list[str]]:
    """Return the lines of the first groups, as many as go into the rows."""
    blocks: list[list[str]] = []
    for group in groups:
        first = f"  {group.verdict}"
        if len(everyone) == 1 or width == ENDLESS:
            names = f": {every_name(group.names)}" if len(everyone) > 1 else ""
            lines = list(wrapped(safe(group.gist + names), width, INDENT, first))
        else:
            lines = lines_with_names(group.gist, group.names, everyone, width, indent=INDENT, first=first)
        rows -= len(lines)
        if rows < 0:
            break
        blocks.append(lines)
    return blocks


def _counted(groups: Iterable[FindingGroup]) -> str:
    """Return how many findings there are of each verdict."""
    counts = dict.fromkeys(_WORDS, 0)
    for group in groups:
        counts[group.verdict] += len(group.found)
    return ", ".join(f"{count} {_WORDS[verdict]}" for verdict, count in counts.items() if count)


def _footer(hidden: Sequence[FindingGroup], *, same: int, many: bool, width: int) -> list[str]:
    """Return the line that counts what is not shown, and says how to see it."""
    counts = _counted(hidden)
    if same:
        counts += f"{', ' if counts else ''}{same} as before"
    said = f"More: {counts}. --all shows them" if counts else "--all says each in full"
    return list(wrapped(f"{said}, --enclosure NAME one enclosure." if many else f"{said}.", width, 0))


def whole_lines(
    reviews: Sequence[Review], width: int, *, brief: bool = False, explain: bool = False, wrap: bool = True
) -> Iterator[str]:
    """Yield everything: each group with all names and what is said of each enclosure, then the figures,
    enclosure by enclosure.

    `brief` leaves out what is fine, and the figures; with `explain` each figure says how it came about.
    Without `wrap` what is said of an enclosure is one line, as in `summary_lines`.
    """
    width = max(width, LEAST_WIDTH)
    everyone = list(_names(reviews).values())
    groups = grouped(one for one in findings_of(reviews) if one[0] != "fine" or not brief)
    yield from beside(f"{len(everyone)} enclosures", _counted(groups) or "all fine", width)
    for verdict in VERDICTS:
        own = [group for group in groups if group.verdict == verdict]
        for group in own:
            yield from _whole(group, everyone, width if wrap else ENDLESS)
        if own:
            yield ""
    if not brief:
        for name, review in zip(everyone, reviews, strict=True):
            yield from wrapped(safe(name), width, 0)
            yield from figure_lines(review, width, explain=explain)
            yield ""


def _whole(group: FindingGroup, everyone: Sequence[str], width: int) -> Iterator[str]:
    texts = group.texts
    names = every_name(group.names)
    yield from wrapped(safe(f"{group.gist}: {names}"), width, INDENT, f"  {group.verdict}")
    naming = every_name if width == ENDLESS else told_names
    for text, some in texts.items():
        whose = f"{naming(some, everyone)}: " if len(texts) > 1 or width == ENDLESS else ""
        yield from wrapped(safe(whose + text), width, INDENT)
    if group.source:
        yield from wrapped(safe(f"[{group.source}]"), width, INDENT)


def _changes(before: Sequence[Review], what_if: WhatIf) -> tuple[list[tuple[str, str, Finding]], int]:
    """Return what a changed description brings and what falls away, and how many findings are as before."""
    found: list[tuple[str, str, Finding]] = []
    same = 0
    names = _names(before)
    after = {review.enclosure.id: review for review in what_if.reviews}
    for review in before:
        name, other = names[review.enclosure.id], after[review.enclosure.id]
        change = what_if_changes(review.findings, other.findings)
        found += [(f.verdict, name, f) for f in change.fresh]
        found += [("gone", name, f) for f in change.gone]
        same += change.same
    return found, same
