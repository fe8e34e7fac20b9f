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
        list[Path] | None,
        typer.Argument(
            metavar="[FILE|FOLDER]...",
            help=(
                "Descriptions, or folders of descriptions; by default those of this folder. Where there is "
                "none, a set-up in the browser writes one."
            ),
            show_default=False,
        ),
    ] = None,
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
    from scheduler.workflow.setup.target import file_to_describe, usual_places

    named = tuple(places) if places else usual_places()
    with told(named[0]):
        from scheduler.web.server import Serving
        from scheduler.web.server import serve as run

        serving = Serving(
            places=tuple(place.absolute() for place in named),
            host=host,
            port=port,
            workers=workers,
            url=checked_url(url),
            as_of=workflow.parse_day(today) if today else None,
            proxies=proxies,
            remind=remind,
            to_write=file_to_describe(named),
        )
        run(serving, _tell_setup if serving.to_write is not None else _tell)


def _tell(address: str) -> None:
    talk(f"Serving on {address}; `pondround links` makes links. Stop with Ctrl-C.")


def _tell_setup(address: str) -> None:
    talk("There is no description here yet. Open this address in a browser on this machine to write one:")
    talk(f"  {address}")
    talk("Whoever has it can write the file. Stop with Ctrl-C.")
