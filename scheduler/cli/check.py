"""`pondround check`: is the description right, and what follows from it."""

from __future__ import annotations

from scheduler import workflow
from scheduler.cli.shared import FILE, FileArgument, Format, FormatOption, TodayOption, told, width


def check(file: FileArgument = FILE, today: TodayOption = None, output: FormatOption = Format.TABLE) -> None:
    """Check the description, and show the figures that follow from it."""
    with told(file, output):
        site = workflow.read_site(file)
        day = workflow.parse_day(today) if today else workflow.today_in(site)
        reviews = workflow.review(site, day)
        if output is Format.JSON:
            from scheduler.sheets.records import check_object

            print(check_object((), reviews))
            return
        from scheduler.sheets.terminal import review_lines

        for line in review_lines(reviews, width()):
            print(line)
