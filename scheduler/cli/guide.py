"""`pondround guide`: the pages of the guide on the terminal."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from scheduler import workflow
from scheduler.errors import UsageError


def guide(
    topic: Annotated[Optional[str], typer.Argument(help="The page; a list of them without one.")] = None,  # noqa: UP045
) -> None:
    """Show a page of the guide."""
    if topic is None:
        wide = max(map(len, workflow.GUIDE_TOPICS))
        for name, about in workflow.GUIDE_TOPICS.items():
            typer.echo(f"{name:{wide}}  {about}")
        return
    try:
        typer.echo(workflow.guide_page(topic), nl=False)
    except UsageError as error:
        raise typer.BadParameter(str(error)) from None
