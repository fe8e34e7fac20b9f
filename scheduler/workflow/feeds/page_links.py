"""The pages that entries of exported calendars lead to: whose each is, as the person says, and as the log
knows."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.errors import UsageError, clip
from scheduler.workflow.feeds.links import SECRET, hashed, key_of, links_of
from scheduler.workflow.name_lookup import pick_named

MOST_CHARACTERS = 200
"""Of an address: with the name of a tank behind it it stays under the 256 that some calendars take.

House value.
"""


_ADDRESS = re.compile(r"https?://[A-Za-z0-9.:\[\]-]+(/[A-Za-z0-9._~%-]+)+")

Links = tuple[str, tuple[tuple[str, str], ...]]


def page_links(file: Path, site: Site, words: Iterable[str]) -> Links:
    """Return where entries lead from `[KEEPER=]URL`: of the calendars of site and enclosures, and of each
    keeper's by id.

    An address without a keeper is of site and enclosures, and of the only keeper where there is one.
    UsageError for what is no address, and where the log knows the page as that of somebody else: nobody is
    led to another's page.
    """
    whole = ""
    own: dict[str, str] = {}
    for word in words:
        name, address = _split(word)
        keeper = pick_named(name, site.keepers, "keeper") if name else None
        if keeper is None:
            if whole:
                raise UsageError("two addresses without a keeper; write --link KEEPER=URL for a keeper's own")
            whole = address
        elif keeper.id in own:
            raise UsageError(f"two addresses for {keeper.name}; write one --link {keeper.name}=URL")
        else:
            own[keeper.id] = address
        _check_whose(file, site, address, keeper)
    if whole and len(site.keepers) == 1:
        own.setdefault(site.keepers[0].id, whole)
    return whole, tuple(sorted(own.items()))


def _split(word: str) -> tuple[str, str]:
    """Return the keeper ("" for none) and the address of `[KEEPER=]URL`.

    UsageError where that is no address.
    """
    at = re.search(r"(?:^|=)(?=https?://)", word)
    name, address = (word[: at.start()], word[at.end() :]) if at else ("", word)
    if len(address) > MOST_CHARACTERS or _ADDRESS.fullmatch(address) is None:
        raise UsageError(
            f"--link {clip(word)} is no address of a page; write it as `pondround links --page` prints it, "
            "without # and ?, "
            f"at most {MOST_CHARACTERS} characters: https://example.org/round/..."
        )
    return name, address


def _check_whose(file: Path, site: Site, address: str, keeper: Keeper | None) -> None:
    """Refuse a page that the log of the description knows as a calendar, or as another keeper's."""
    parts = (part.removesuffix(".ics") for part in address.split("/"))
    secret = next((part for part in parts if SECRET.fullmatch(part)), "")
    known = links_of(file, site)
    if not secret or not known:
        # It may be of another server's log.
        return
    try:
        digest = hashed(key_of(file, make=False), secret)
    except UsageError:
        # The key is where the server is: nothing can be told from here.
        return
    link = next((one for one in known if digest in {one.hash, one.calendar_hash}), None)
    if link is None:
        return
    if link.kind == "coordinator" and link.hash == digest:
        raise UsageError(
            f"the address of --link is that of the pages of a coordinator, {link.name}: whoever has the "
            "calendar would have them; write that of a keeper's page"
        )
    if link.kind != "page" or link.hash != digest:
        raise UsageError(f"the address of --link is that of the calendar {link.name}, not of a page")
    if keeper is not None and link.of not in {"", keeper.id}:
        raise UsageError(f"the page of --link {keeper.name}=URL is another keeper's, {link.of}")
