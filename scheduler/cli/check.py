"""`pondround check`: is the description right, what follows from it, and what would follow from another."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import (
    FILE,
    NOT_POSSIBLE,
    Format,
    FormatOption,
    TodayOption,
    rows,
    talk,
    tell_lost_names,
    told,
    width,
    wraps,
)
from scheduler.errors import UsageError, clip

if TYPE_CHECKING:
    from scheduler.care import Review
    from scheduler.sheets.review import WhatIf


def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The description.")] = FILE,
    more: Annotated[
        list[str] | None,
        typer.Argument(metavar="[KEY=VALUE]...", help="Further changes for --what-if.", show_default=False),
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            "--what-if",
            metavar="KEY=VALUE",
            help=(
                'Review it with changed values too: --what-if width="60 cm" filter.flow="900 L/h" '
                '"resident[+].carapace=8 cm".'
            ),
        ),
    ] = None,
    enclosure: Annotated[
        str | None, typer.Option("--enclosure", metavar="NAME", help="Only this enclosure.")
    ] = None,
    explain: Annotated[bool, typer.Option("--explain", help="Say how each figure came about.")] = False,
    brief: Annotated[
        bool, typer.Option("--brief", help="Only what wants a look or acting on, without the figures.")
    ] = False,
    all_: Annotated[
        bool,
        typer.Option("--all", help="Everything, not a screen: all names and texts, what is fine, figures."),
    ] = False,
    today: TodayOption = None,
    output: FormatOption = Format.TABLE,
) -> None:
    """Check the description, and review the fitting-out against the handbook.

    Of three enclosures or more, and of what else is more than a screen, it says what is found where. Exit
    code 1: something to act on.
    """
    changes = [*(what_if or ()), *(more or ())]
    if what_if and "=" in str(file) and not file.exists():
        # `check --what-if a=1 b=2`: the words after the first change are changes, and the file is the usual
        # one.
        changes.insert(1, str(file))
        file = FILE
    with told(file, output):
        if more and not what_if:
            raise UsageError(f"{clip(more[0])}: changed values follow --what-if")
        space = workflow.open_workspace(file, today).in_plain_formats()
        site, day = space.site, space.today
        history = workflow.history_of(space)
        pinned = workflow.pinned_notes(space)
        reviews = workflow.review(site, day, enclosure, history, pinned=pinned)
        tell_lost_names(file, site, every=True)
        if unsure := workflow.unsure_zone(site):
            talk(unsure)
        shown = reviews
        from scheduler.sheets.review import WhatIf

        other = None
        if changes:
            other_site = workflow.changed_site(file, site, changes, enclosure)
            wanted = {review.enclosure.id for review in reviews}
            shown = [
                r
                for r in workflow.review(other_site, day, history=history, pinned=pinned)
                if r.enclosure.id in wanted
            ]
            other = WhatIf(changes, shown)
        if output is Format.JSON:
            from scheduler.sheets.records import check_object

            print(check_object((), reviews, other))
        else:
            asked = AskedFor(whole=all_ or explain, one=enclosure is not None, explain=explain, brief=brief)
            sys.stdout.writelines(f"{line}\n" for line in _lines(reviews, other, asked))
    urgent = [review.enclosure.name for review in shown if review.to_act_on]
    if urgent:
        from scheduler.sheets.summary import FEW
        from scheduler.sheets.terminal import safe

        # Of many the screen begins with them.
        if output is not Format.JSON and len(shown) <= FEW:
            talk(f"Something to act on in {len(urgent)} of {len(shown)}: {', '.join(map(safe, urgent))}.")
        raise typer.Exit(NOT_POSSIBLE)


@dataclass(frozen=True, slots=True)
class AskedFor:
    """How much of the reviews is to be seen: `one` where an enclosure was named."""

    whole: bool
    one: bool
    explain: bool
    brief: bool


def _lines(reviews: Sequence[Review], what_if: WhatIf | None, asked: AskedFor) -> Iterable[str]:
    """Return the reviews one by one where they are few, else what is alike in many: on a screen, or whole."""
    from scheduler.sheets.review import review_lines
    from scheduler.sheets.summary import FEW, summary_lines, whole_lines

    many = len(reviews) > FEW
    if many and asked.whole and what_if is None:
        return whole_lines(reviews, width(), brief=asked.brief, explain=asked.explain, wrap=wraps())
    if many and not asked.whole:
        return summary_lines(reviews, width(), rows(), brief=asked.brief, wrap=wraps(), what_if=what_if)
    narrowed = asked.whole or asked.one or asked.brief or what_if is not None
    if not narrowed and len(list(review_lines(reviews, width(), brief=True))) > rows():
        return summary_lines(reviews, width(), rows(), wrap=wraps())
    return review_lines(reviews, width(), explain=asked.explain, brief=asked.brief, what_if=what_if)
