"""The fitting-out review as lines for a terminal: what to act on first, then the figures."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scheduler.care import FIGURE_KEYS, Review
from scheduler.care.engine.case import join
from scheduler.care.engine.figure import LABELS, Figure, Value
from scheduler.care.findings import VERDICTS, Finding
from scheduler.quantities import System, convert
from scheduler.sheets.terminal import LEAST_WIDTH, beside, cells, pad, safe, wrapped

LEAST_LABEL = 37
"""Columns that the longest name of a figure takes."""

COLUMN = 14
"""Columns of a figure's value with its unit."""

INDENT = 8
"""Columns before a finding's text, where its verdict stands."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The reviews of a changed description, and the changes."""

    changes: Sequence[str]
    reviews: Sequence[Review]


def review_lines(
    reviews: Iterable[Review],
    width: int,
    *,
    explain: bool = False,
    brief: bool = False,
    what_if: WhatIf | None = None,
) -> Iterator[str]:
    """Yield the lines of the reviews.

    With `explain` each figure says how it came about and where it is from. `brief` leaves out what is fine,
    and the figures. With `what_if` the figures stand in two columns, and the findings are those of the
    changed description.
    """
    width = max(width, LEAST_WIDTH)
    changed = {review.enclosure.id: review for review in what_if.reviews} if what_if is not None else {}
    if what_if is not None:
        yield from what_if_lines(what_if, width)
        yield ""
    for review in reviews:
        other = changed.get(review.enclosure.id)
        shown = review if other is None else other
        grouped = _grouped(shown.findings, width)
        words = {"act": "act on", "look": "look at"}
        counts = [(len(grouped[verdict]), word) for verdict, word in words.items()]
        said = ", ".join(f"{n} to {word}" for n, word in counts if n) or "all fine"
        yield from beside(safe(review.enclosure.name), said, width)
        if brief:
            grouped["fine"] = []
        if other is None:
            yield from _lines(grouped)
        else:
            yield from _changes(review.findings, other.findings, width, brief=brief)
        yield ""
        if not brief:
            yield from figure_lines(review, width, other, explain=explain)
            yield ""


def what_if_lines(what_if: WhatIf, width: int) -> Iterator[str]:
    """Yield the changes of a description."""
    yield from wrapped("What if: " + ", ".join(safe(change) for change in what_if.changes), width, 0)


def _lines(grouped: dict[str, list[list[str]]]) -> Iterator[str]:
    """Yield the lines of grouped findings, worst first."""
    for items in grouped.values():
        for lines in items:
            yield from lines


def _grouped(findings: Iterable[Finding], width: int) -> dict[str, list[list[str]]]:
    """Return the findings by verdict, worst first, each with its lines.

    Those of figures that are not known are put together by what they ask for, or by why there is none, under
    the worst verdict among them.
    """
    asked: dict[tuple[tuple[str, ...], str], tuple[str, list[str]]] = {}
    grouped: dict[str, list[list[str]]] = {verdict: [] for verdict in VERDICTS}
    for finding in findings:
        if finding.unknown:
            # They come worst first.
            asked.setdefault((finding.needs, finding.why), (finding.verdict, []))[1].append(
                LABELS[finding.key]
            )
        else:
            grouped[finding.verdict].append(list(_finding(finding, width)))
    for (needs, why), (verdict, labels) in asked.items():
        text = (
            f"Measure it, or look it up, and write {join(needs)}. Not known until then: {'; '.join(labels)}."
            if needs
            else f"No figure, since {safe(why)}: {'; '.join(labels)}."
        )
        grouped[verdict].append(list(wrapped(text, width, INDENT, f"  {verdict}")))
    return grouped


def _finding(finding: Finding, width: int) -> Iterator[str]:
    yield from wrapped(f"{safe(finding.text)} [{finding.source}]", width, INDENT, f"  {finding.verdict}")


@dataclass(frozen=True, slots=True)
class Change:
    """What a changed description finds that is new or reads otherwise, what falls away, and how many findings
    are as before."""

    fresh: Sequence[Finding]
    gone: Sequence[Finding]
    same: int


def what_if_changes(before: Sequence[Finding], after: Sequence[Finding]) -> Change:
    """Return what differs between the findings of two descriptions of an enclosure."""
    known = {(f.key, f.verdict, f.text) for f in before}
    fresh = [f for f in after if (f.key, f.verdict, f.text) not in known]
    # What is only worded anew is among those.
    spoken_of = {f.key for f in after}
    gone = [f for f in before if f.key not in spoken_of and f.verdict != "fine"]
    return Change(fresh, gone, len(after) - len(fresh))


def _changes(
    before: Sequence[Finding], after: Sequence[Finding], width: int, *, brief: bool
) -> Iterator[str]:
    """Yield what differs between the findings, and the count of the rest."""
    change = what_if_changes(before, after)
    yield from _lines(_grouped([f for f in change.fresh if not brief or f.verdict != "fine"], width))
    for finding in change.gone:
        yield from wrapped(safe(finding.text), width, INDENT, "  gone")
    same = change.same
    if same:
        yield f"  {same} other findings are as before." if same > 1 else "  One other finding is as before."


def figure_lines(
    review: Review, width: int, other: Review | None = None, *, explain: bool = False
) -> Iterator[str]:
    """Yield a line for each figure: name, value, and whose value it is; with the changed one, if there is
    one."""
    now = {figure.key: figure for figure in review.figures}
    then = {figure.key: figure for figure in other.figures} if other is not None else {}
    columns = 1 if other is None else 2
    # Where names and values do not fit beside each other, a name gets a line of its own.
    label = min(38, width - 2 - columns * (COLUMN + 2))
    apart = label < LEAST_LABEL
    if other is not None and (now or then):
        yield "as it is".rjust(2 + max(label, 0) + COLUMN) + "  " + "what if".rjust(COLUMN)
    for key in [key for key in FIGURE_KEYS if key in now or key in then]:
        figure = now.get(key)
        if apart:
            yield from wrapped(LABELS[key], width, 2)
        line = f"  {pad('' if apart else LABELS[key], label)}{show(figure, review.units).rjust(COLUMN)}"
        if other is not None:
            changed = then.get(key)
            line += f"  {show(changed, other.units).rjust(COLUMN)}"
            figure = changed or figure
        elif figure is not None and cells(line) + 2 + cells(figure.source.status) <= width:
            line += f"  {figure.source.status}"
        yield line.rstrip()
        if explain and figure is not None:
            yield from wrapped(f"{safe(figure.how())} [{figure.source}]", width, 6)


def show(figure: Figure | None, system: System) -> str:
    """Return a figure's value with its unit, in the site's units; a dash where it is not known."""
    return "-" if figure is None else show_value(figure.value, figure.unit, system)


_US = {"L": "gal", "kg": "lb", "cm": "in", "L/d": "gal", "degC": "degF"}
_WORDS = {
    "degC": "°C",
    "degF": "°F",
    "L/d": "L/d",
    "1": "",
    "d": "days",
    "1/h": "per hour",
    "cm2": "cm²",
    "m2": "m²",
}


def show_value(value: Value, unit: str, system: System) -> str:
    """Return a value of an SI-based unit in the site's units, to three figures."""
    if isinstance(value, dt.date):
        return value.isoformat()
    if system == "us" and unit == "cm2":
        return f"{value / 2.54**2:.0f} in²"
    if system == "us" and unit in _US:
        base = unit.removesuffix("/d")
        value = convert(value, base, _US[unit])
        return f"{_digits(value)} {_WORDS.get(_US[unit], _US[unit])}{'/d' if unit.endswith('/d') else ''}"
    word = "day" if unit == "d" and value == 1 else _WORDS.get(unit, unit)
    return f"{_digits(value)} {word}".rstrip()


def _digits(value: float) -> str:
    """Return a number to three figures, without an exponent."""
    if abs(value) >= 100:
        return f"{value:.0f}"
    if abs(value) >= 10:
        return f"{value:.1f}".removesuffix(".0")
    return f"{value:.3g}" if abs(value) >= 0.001 else f"{value:.4f}"
