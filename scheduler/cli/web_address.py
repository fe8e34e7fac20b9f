"""Where a server is reached, as it is written on the command line."""

from __future__ import annotations

import re
from typing import Annotated

import typer

from scheduler.errors import UsageError

PORT = 8737

UrlOption = Annotated[
    str,
    typer.Option(
        "--url",
        metavar="URL",
        envvar="PONDROUND_URL",
        help="The address under which others reach the server: https://turtles.example.org",
    ),
]

_URL = re.compile(r"https?://[A-Za-z0-9._~:\[\]-]{1,120}(/[A-Za-z0-9._~/-]{0,60})?")


def checked_url(url: str) -> str:
    """Return a web address without a slash at its end. UsageError where it is none."""
    if url and _URL.fullmatch(url) is None:
        raise UsageError("--url is no web address; write it as https://turtles.example.org")
    return url.rstrip("/")
