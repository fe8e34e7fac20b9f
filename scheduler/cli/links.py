"""`pondround links`: the links that open feeds and pages, made, listed, changed, renewed, revoked."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler import workflow
from scheduler.cli.shared import FileArgument, Format, FormatOption, talk, tell_lost_names, told
from scheduler.cli.web_address import PORT, UrlOption, checked_url
from scheduler.description import Site
from scheduler.errors import UsageError, WriteError

if TYPE_CHECKING:
    from scheduler.log.links import Link, LinkKind
    from scheduler.workflow.feeds.links import IssuedLink


def links(
    file: FileArgument,
    site: Annotated[
        bool, typer.Option("--site", help="Make a link to the calendar of the whole site.")
    ] = False,
    enclosure: Annotated[
        str | None,
        typer.Option("--enclosure", metavar="NAME", help="Make a link to the calendar of an enclosure."),
    ] = None,
    rounds: Annotated[
        str | None,
        typer.Option("--rounds", metavar="KEEPER", help="Make a link to the calendar of a keeper's rounds."),
    ] = None,
    page: Annotated[
        str | None,
        typer.Option(
            "--page",
            metavar="KEEPER",
            help=(
                "Make a link to the page of a keeper, where the round is ticked off; `-` is a page for all, "
                "of a site with one keeper or none."
            ),
        ),
    ] = None,
    coordinator: Annotated[
        str | None,
        typer.Option(
            "--coordinator",
            metavar="KEEPER",
            help=(
                "Make a link to the pages of a keeper who answers for the whole site: the site today, every "
                "enclosure and animal, the rota."
            ),
        ),
    ] = None,
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="What to call the link.")] = "",
    alarms: Annotated[
        bool, typer.Option("--alarms", help="Its calendar has an alarm 10 minutes before.")
    ] = False,
    all_day: Annotated[
        bool | None,
        typer.Option(
            "--all-day/--at-hours",
            help=(
                "Its calendar has whole days, without hours. Without either, those with several keepers' "
                "names alone."
            ),
            show_default=False,
        ),
    ] = None,
    each_job: Annotated[
        bool,
        typer.Option(
            "--each-job",
            help=(
                "Its calendar has an entry for each job, not for each round and for the routine of a part "
                "of the day."
            ),
        ),
    ] = False,
    renew: Annotated[
        str | None,
        typer.Option("--renew", metavar="LINK", help="Give a link a new secret; the old one ends."),
    ] = None,
    revoke: Annotated[
        str | None, typer.Option("--revoke", metavar="LINK", help="End a link for good.")
    ] = None,
    change: Annotated[
        str | None,
        typer.Option("--change", metavar="LINK", help="Change a link, with --offline or --no-offline."),
    ] = None,
    offline: Annotated[
        bool | None,
        typer.Option(
            "--offline/--no-offline",
            help=(
                "A page may be kept on the phone that opens it, and used where there is no network; over "
                "https alone."
            ),
            show_default=False,
        ),
    ] = None,
    qr: Annotated[bool, typer.Option("--qr", help="Show a new link as a code to scan.")] = False,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="FILE", help="Write a new link as a code to scan, as SVG.")
    ] = None,
    url: UrlOption = "",
    output: FormatOption = Format.TABLE,
) -> None:
    """List the links to feeds and pages of a site; make, renew and revoke them. A secret is shown once."""
    with told(file, output):
        from scheduler.workflow.feeds.links import (
            LinkRequest,
            change_link,
            links_of,
            make_link,
            renew_link,
            revoke_link,
        )

        asked = [
            word
            for word in (site, enclosure, rounds, page, coordinator, renew, revoke, change)
            if word not in (None, False)
        ]
        if len(asked) > 1:
            raise UsageError(
                "one link at a time: --site, --enclosure, --rounds, --page, --coordinator, --renew, --revoke "
                "or --change"
            )
        if offline is not None and (revoke is not None or not asked):
            raise UsageError("say which link: --page KEEPER makes one, --change LINK changes one")
        if change is not None and offline is None:
            raise UsageError("say what to change: --offline or --no-offline")
        base = checked_url(url) or f"http://127.0.0.1:{PORT}"
        if qr or svg is not None:
            _refuse_code(base)
        place = workflow.read_site(file)
        forms = [
            form
            for form, on in (
                ("alarms", alarms),
                ("all-day", all_day is True),
                ("at-hours", all_day is False),
                ("each-job", each_job),
            )
            if on
        ]
        tell_lost_names(file, place)
        if not asked:
            _list(place, links_of(file, place), output)
            return
        if revoke is not None:
            ended = revoke_link(file, place, revoke)
            talk(f"{ended.name} opens nothing any more.")
            return
        if change is not None:
            changed = change_link(file, place, change, offline=bool(offline))
            talk(f"{changed.name} {OFFLINE if offline else NOT_OFFLINE}")
            return
        if renew is not None:
            opened = renew_link(file, place, renew, offline=offline)
        else:
            kind, of = _wanted(
                {
                    "site": "" if site else None,
                    "enclosure": enclosure,
                    "rounds": rounds,
                    "coordinator": coordinator,
                    "page": "" if page == "-" else page,
                }
            )
            wanted = LinkRequest(kind=kind, of=of, name=name, forms=forms, offline=bool(offline))
            opened = make_link(file, place, wanted)
        _show(opened, base, output, qr=qr, svg=svg)


OFFLINE = "may be kept on the phones that open it, and used there without a network. It needs https."
NOT_OFFLINE = "is kept on no phone any more, from when it is opened next."


def _refuse_code(base: str) -> None:
    """Raise UsageError where a code would lead each device to itself."""
    from scheduler.web.reach import leads_elsewhere

    if not leads_elsewhere(base):
        raise UsageError(
            f"a code with {base} would lead every device to itself; add --url with the address under which "
            "others reach the server"
        )


def _wanted(asked: Mapping[LinkKind, str | None]) -> tuple[LinkKind, str]:
    """Return what a new link opens, and of whom or what."""
    return next((kind, of) for kind, of in asked.items() if of is not None)


def _show(opened: IssuedLink, base: str, output: Format, *, qr: bool, svg: Path | None) -> None:
    link = opened.link
    addresses = {}
    if link.is_page:
        addresses["site" if link.kind == "coordinator" else "page"] = f"{base}{opened.page_path}"
    addresses["calendar"] = f"{base}{opened.feed_path}"
    first = next(iter(addresses.values()))
    if output is Format.JSON:
        print(
            json.dumps(
                {
                    "name": link.name,
                    "kind": link.kind,
                    "of": link.of or None,
                    **({"offline": True} if link.offline else {}),
                    **addresses,
                },
                ensure_ascii=False,
            )
        )
    else:
        for what, address in addresses.items():
            print(f"{what:<9} {address}")
        talk(
            f"The link is called {link.name}. It is not shown again; `pondround links` renews and revokes it."
        )
        if link.offline:
            talk(f"{link.name} {OFFLINE}")
    if qr:
        from scheduler.web.codes import code_lines

        print(code_lines(first), end="")
    if svg is not None:
        from scheduler.web.codes import code_file

        try:
            svg.write_bytes(code_file(first))
        except OSError as error:
            raise WriteError(f"{svg} cannot be written: {error.strerror}") from None


def _list(site: Site, links: list[Link], output: Format) -> None:
    from scheduler.workflow.feeds.links import is_dead

    if output is Format.JSON:
        for link in links:
            print(
                json.dumps(
                    {
                        "name": link.name,
                        "kind": link.kind,
                        "of": link.of or None,
                        "forms": link.form.split("+") if link.form else [],
                        "made": f"{link.made.isoformat()}Z",
                        "fetched": f"{link.fetched.isoformat()}Z" if link.fetched else None,
                        "dead": is_dead(site, link),
                        "offline": link.offline,
                    },
                    ensure_ascii=False,
                )
            )
        return
    if not links:
        talk(
            "There are no links yet; --page KEEPER, --coordinator KEEPER, --rounds KEEPER, --enclosure NAME "
            "or --site make one."
        )
        return
    from scheduler.sheets.terminal import cells, pad, safe

    wide = max(len("link"), *(cells(safe(link.name)) for link in links))
    kind = max(len("enclosure"), *(len(link.kind) for link in links))
    print(f"{'link':<{wide}}  {'opens':<{kind}}  {'made':<10}  last used, UTC")
    for link in links:
        used = f"{link.fetched:%Y-%m-%d %H:%M}" if link.fetched else "never"
        said = [*(link.form.split("+") if link.form else []), *(["offline"] if link.offline else [])]
        form = f"  ({', '.join(said)})" if said else ""
        dead = f'  (dead: no "{link.of}" in the description)' if is_dead(site, link) else ""
        print(f"{pad(safe(link.name), wide)}  {link.kind:<{kind}}  {link.made:%Y-%m-%d}  {used}{form}{dead}")
