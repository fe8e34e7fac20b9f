"""`pondround serve`: feeds and the round page over HTTP."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import TodayOption, talk, told
from scheduler.cli.web_address import PORT, UrlOption, checked_url


def serve(
    places: Annotated[
        list[Path],
        typer.Argument(metavar="FILE|FOLDER...", help="Descriptions, or folders of descriptions."),
    ],
    host: Annotated[
        str,
        typer.Option("--host", metavar="ADDRESS", help="Where to listen; the default is this machine alone."),
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", metavar="N", min=0, max=65535)] = PORT,
    workers: Annotated[
        int, typer.Option("--workers", metavar="N", min=1, max=64, help="Processes that share the work.")
    ] = 1,
    url: UrlOption = "",
    proxies: Annotated[
        str,
        typer.Option(
            "--proxies",
            metavar="ADDRESSES",
            help="Proxies whose word is taken for a client's address, with commas.",
        ),
    ] = "127.0.0.1",
    remind: Annotated[
        bool,
        typer.Option(
            "--remind", help="Send mails to the keepers who ask for them, as `pondround remind` does."
        ),
    ] = False,
    today: TodayOption = None,
) -> None:
    """Serve feeds to subscribe to, and a page for each keeper's round."""
    with told(places[0]):
        from scheduler.web.server import Serving
        from scheduler.web.server import serve as run

        serving = Serving(
            places=tuple(place.absolute() for place in places),
            host=host,
            port=port,
            workers=workers,
            url=checked_url(url),
            as_of=workflow.parse_day(today) if today else None,
            proxies=proxies,
            remind=remind,
        )
        run(
            serving,
            lambda address: talk(f"Serving on {address}; `pondround links` makes links. Stop with Ctrl-C."),
        )
