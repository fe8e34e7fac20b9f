"""The secrets of feeds: what opens nothing is all alike, and what is revoked opens no more."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from support.web.fed import House, fresh, house, without_date
from support.web.http_client import TODAY, ask, feed_path, link, until, write

from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink, renew_link, revoke_link
from scheduler.workflow.live import sites as all_sites
from scheduler.workflow.live.sites import Sites

__all__ = ["fresh", "house"]


WRONG = [
    "A" * 27,
    "A" * 26,
    "A" * 28,
    "a",
    "",
    "..",
    "%2e%2e%2f",
    "A" * 26 + "=",
    "A" * 26 + "%00",
    "%F0%9F%90%A2",
]


def test_what_opens_nothing_is_all_alike(house: House, tmp_path: Path) -> None:
    """Unknown, malformed, of another kind: nobody learns which it was."""
    opened = house.links
    paths = [f"/feeds/{secret}.ics" for secret in (*WRONG, nearly(opened["site"]))]
    # A page's secret opens no feed, a feed's no page; and what belongs to a page opens its calendar alone.
    paths += [f"/feeds/{opened['noor-page'].secret}.ics", f"/round/{opened['noor-page'].calendar}"]
    paths += [f"/round/{opened['site'].secret}", f"/feeds/{opened['site'].secret}", f"/round/{'A' * 27}"]
    # People are answered by a page, programs by text.
    for kind in ("/feeds/", "/round/"):
        seen = set()
        for number, path in enumerate(path for path in paths if path.startswith(kind)):
            # Each from another address, so that no limit of guesses is met.
            answer = ask(house.served.url, path, fields={"X-Forwarded-For": f"192.0.2.{number}"})
            seen.add((answer.status, answer.body, tuple(without_date(answer))))
        assert len(seen) == 1, kind
        assert next(iter(seen))[0] == 404


def nearly(opened: IssuedLink) -> str:
    """Return what is a secret but for its last letter."""
    right = opened.secret
    return right[:-1] + ("A" if right[-1] != "A" else "B")


def steps(call: Callable[[], object]) -> list[str]:
    """Return which functions are called and left, one after the other."""
    found: list[str] = []
    sys.setprofile(lambda frame, event, _: found.append(f"{event} {frame.f_code.co_qualname}"))
    try:
        call()
    finally:
        sys.setprofile(None)
    return found


def test_how_long_it_takes_tells_nothing_of_the_letters(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A guess that begins as a secret does is looked up by the same steps as any other: what is compared are keyed hashes.

    No statement of a nanosecond. It shows a lookup that goes further for what looks right: a part that is looked for in
    the log.
    """
    # Nobody looks for what is new meanwhile.
    monkeypatch.setattr(all_sites, "time", SimpleNamespace(monotonic=lambda: 0.0))
    opened = link(write(tmp_path / "fen-lane.toml"), "site")
    sites = Sites([tmp_path], lambda said: None, dt.date.fromisoformat(TODAY))
    assert sites.find("A" * 27) is None
    far, near, right = (steps(lambda s=s: sites.find(s)) for s in ("A" * 27, nearly(opened), opened.secret))
    assert far == near
    assert len(right) > len(far) > 5, "what is found is looked at"


def test_revoked_and_renewed(fresh: House) -> None:
    assert fresh.get("sedge").status == fresh.get("site").status == 200
    site = read_site(fresh.file)
    new = feed_path(renew_link(fresh.file, site, "sedge"))
    revoke_link(fresh.file, site, "site")
    fresh.until("sedge", lambda a: a.status == 404)
    fresh.until("site", lambda a: a.status == 404)
    # A link that was made elsewhere is known within some seconds.
    seen = [404]
    until(lambda: seen.append(ask(fresh.served.url, new).status) or seen[-1] == 200, lambda: seen)
    assert set(seen) == {404, 200}
    answer = ask(fresh.served.url, new)
    assert answer["Content-Disposition"].endswith('"fen-lane-sedge.ics"')
    said = "\n".join(fresh.served.log_lines)
    for one in fresh.links.values():
        assert one.secret not in said
