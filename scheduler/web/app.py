"""The application: its routes, and what every answer has in common."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from scheduler.errors import LogError, SchedulerError
from scheduler.web.coalescing import RequestCoalescer
from scheduler.web.deadline import RETRY, in_time
from scheduler.web.error_pages import WORDS, ended_page, trouble_page
from scheduler.web.feeds import feed_response
from scheduler.web.forms import read_form
from scheduler.web.guide import GUIDE, is_of_guide
from scheduler.web.guide import ROUTES as GUIDE_ROUTES
from scheduler.web.pages import Pages, sent_in_vain
from scheduler.web.rate_limit import TokenBucket, network_of
from scheduler.web.reach import Reach
from scheduler.web.scripts import ROUTES
from scheduler.web.security import SecurityMiddleware
from scheduler.web.setup.routes import SetUp
from scheduler.web.style import style
from scheduler.web.submissions import HANDLES
from scheduler.workflow.feeds.links import SECRET
from scheduler.workflow.live.freshness import ANSWER_SECONDS
from scheduler.workflow.live.link_table import LinkTarget
from scheduler.workflow.live.site import BrokenError, LiveSite
from scheduler.workflow.live.sites import Sites

NOTING_SECONDS = 1.0
"""So long an answer waits until it is noted that its link was used."""

PAGES = "/round/"
"""What the addresses of pages begin with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How the sites are served: where others reach them, and the set-up of one that is not there yet."""

    reach: Reach = field(default_factory=Reach)
    setup: SetUp | None = None


class App:
    """What the handlers share."""

    def __init__(self, sites: Sites, settings: Settings) -> None:
        """Take the sites."""
        self.sites, self.settings = sites, settings
        # House values: guesses are refused after 20, and one more is let through every 3 seconds.
        self._guesses = TokenBucket(20, 1 / 3, time.monotonic)
        self.pages = Pages(settings.reach, time.monotonic)
        self._finding: dict[str, asyncio.Task[tuple[LiveSite, LinkTarget] | None]] = {}
        self._looks = RequestCoalescer(ANSWER_SECONDS)
        self._making: dict[tuple[LiveSite, str], asyncio.Task[object]] = {}

    async def feed(self, request: Request) -> Response:
        """Answer with a feed."""
        secret = request.path_params["secret"]
        live, found = await self._opened(request, secret, feed=True)
        shelved = live.feed_at_hand(found)
        if shelved is None:
            await self._made(live, found)
            shelved = live.last_feed(found)
            if shelved is None:
                raise HTTPException(404)
        await self._used(live, found)
        return feed_response(request, shelved, live.file_name(found))

    async def page(self, request: Request) -> Response:
        """Answer with a page, or to a form of it."""
        secret, part = request.path_params["secret"], request.path_params.get("part", "")
        try:
            live, found = await self._opened(request, secret, feed=False)
        except LogError as error:
            if request.method == "POST" and part in HANDLES:
                return sent_in_vain(part, await read_form(request), secret, error)
            raise
        except HTTPException as error:
            if error.status_code != 404 or request.method != "POST" or part not in HANDLES:
                raise
            # The same for a link that ended and for one that never was; what was typed is not lost with the
            # link.
            try:
                form = await read_form(request)
            except HTTPException:
                raise error from None
            return ended_page(form)
        request.state.opened = True
        await self._used(live, found)
        return await self.pages.answer(request, live, found, secret)

    async def health(self, request: Request) -> Response:
        """Say whether the log of every site can be reached."""

        def look() -> None:
            for live in self.sites:
                live.look()

        await in_time(run_in_threadpool(look))
        held = sum(bool(live.problem) for live in self.sites)
        # Without names: anybody may ask.
        return JSONResponse(
            {"status": "ok", "descriptions_with_mistakes": held}, headers={"Cache-Control": "no-store"}
        )

    async def _opened(self, request: Request, secret: str, *, feed: bool) -> tuple[LiveSite, LinkTarget]:
        known = await self._still(secret)
        if known is None:
            client = network_of(request.client.host if request.client else "")
            # Whoever guesses is refused, and not whoever else comes from the same address with a link.
            if self._guesses.is_out(client) and not self.sites.is_link(secret):
                raise HTTPException(429, headers={"Retry-After": "10"})
            known = await self._found(secret)
            if known is None:
                self._guesses.wait(client)
        # One answer for what is unknown, revoked, malformed or of the other kind.
        if known is None or known[1].is_feed is not feed:
            raise HTTPException(404)
        return known

    async def _still(self, secret: str) -> tuple[LiveSite, LinkTarget] | None:
        """Return what a secret opens that opened something before, as the description and the links stand
        now."""
        live = self.sites.site_of(secret)
        if live is None:
            return None
        await self._looks.wait(live, lambda: live.look(now=True))
        found = live.find(secret)
        return None if found is None else (live, found)

    async def _found(self, secret: str) -> tuple[LiveSite, LinkTarget] | None:
        """Look a secret up; those who ask for the same at once wait for one answer."""
        task = self._finding.get(secret)
        if task is None:
            task = asyncio.ensure_future(run_in_threadpool(self.sites.find, secret))
            self._finding[secret] = task
            task.add_done_callback(lambda _: self._finding.pop(secret, None))
        return await in_time(task)

    async def _made(self, live: LiveSite, found: LinkTarget) -> None:
        """Wait until the feed is made; but where there is an earlier one, not for ever."""
        key = (live, found.link.form)
        task = self._making.get(key)
        if task is None:
            task = asyncio.ensure_future(run_in_threadpool(live.feed, found))
            self._making[key] = task
            task.add_done_callback(lambda _: self._making.pop(key, None))
        try:
            await in_time(task)
        except (HTTPException, BrokenError):
            if live.last_feed(found) is None:
                raise

    async def _used(self, live: LiveSite, found: LinkTarget) -> None:
        if live.is_use_noted(found):
            return
        # A log that can only be read, or waits for somebody who writes, is no reason to show nothing.
        await asyncio.wait(
            {asyncio.ensure_future(run_in_threadpool(live.note_use, found))}, timeout=NOTING_SECONDS
        )


def make_app(sites: Sites, settings: Settings) -> SecurityMiddleware:
    """Return the ASGI application for some sites."""
    app = App(sites, settings)
    routes = [
        Route("/feeds/{secret}.ics", app.feed, methods=["GET"]),
        Route(PAGES + "{secret}", app.page, methods=["GET"]),
        Route(PAGES + "{secret}/{part}", app.page, methods=["GET", "POST"]),
        Route("/style.css", style, methods=["GET"]),
        Route("/style-{hash}.css", style, methods=["GET"]),
        *ROUTES,
        *GUIDE_ROUTES,
        *(settings.setup.routes() if settings.setup is not None else ()),
        Route("/healthz", app.health, methods=["GET"]),
        Route("/", _home, methods=["GET"]),
    ]
    handlers: dict[type[Exception] | int, Callable[[Request, Exception], Awaitable[Response]]] = {
        HTTPException: _refused,
        BrokenError: _broken,
        SchedulerError: _away,
        Exception: _broken,
    }
    made = Starlette(routes=routes, exception_handlers=handlers)
    # An address with a slash too many is none of ours; the way to the right one would be told by the name
    # that was asked.
    made.router.redirect_slashes = False
    return SecurityMiddleware(made)


HOME = (
    "Calendars and pages of turtle keepers are served here, each at an address of its own.\n"
    "Whoever runs this server makes them: pondround links FILE --page KEEPER\n"
    f"How all of it works: {GUIDE}\n"
)


async def _home(request: Request) -> Response:
    """Answer whoever opens the address that the server tells when it begins; what it serves is nobody's
    business."""
    return PlainTextResponse(HOME, headers={"Cache-Control": "public, max-age=3600"})


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    headers = dict(error.headers or {})
    return _told(request, error.status_code, WORDS.get(error.status_code, error.detail), headers)


async def _away(request: Request, error: Exception) -> Response:
    return _told(request, 503, WORDS[503], RETRY)


async def _broken(request: Request, error: Exception) -> Response:
    return _told(request, 500, WORDS[500], {})


def _told(request: Request, status: int, text: str, headers: dict[str, str]) -> Response:
    """Return an answer that tells what went wrong: to people as a page, to programs as text."""
    if is_of_guide(request.url.path):
        told = "The guide has no such page." if status == 404 else text
        return trouble_page(status, told, GUIDE, headers, way="All pages of the guide")
    if not request.url.path.startswith(PAGES):
        return PlainTextResponse(f"{text}\n", status, headers=headers)
    secret = request.path_params.get("secret", "")
    # An address that opens nothing is not told again: nobody learns by it which part of it was right.
    known = SECRET.fullmatch(secret) is not None and (
        status != 404 or getattr(request.state, "opened", False)
    )
    return trouble_page(status, text, f"{PAGES}{secret}" if known else "", headers)
