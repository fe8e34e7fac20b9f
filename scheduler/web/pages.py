"""Answers for pages: what is shown, what is posted, and what is told when it could not be recorded."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from scheduler.errors import LogError
from scheduler.web.backlog import backlog_page
from scheduler.web.coordinator.pages import site_parts
from scheduler.web.deadline import in_time
from scheduler.web.error_pages import Failure, failure_page
from scheduler.web.forms import read_form
from scheduler.web.handover import give_page
from scheduler.web.jobs import jobs_page
from scheduler.web.offline import offer_of, offline_parts
from scheduler.web.offline_queue import answer_queued, is_queued
from scheduler.web.rate_limit import TokenBucket
from scheduler.web.readings import same_page
from scheduler.web.round import TOLD, calendar_page, follows_page, round_page, words_page
from scheduler.web.submissions import HANDLES, answer_post
from scheduler.web.visit import HEADERS, PageVisit
from scheduler.workflow.live.link_table import LinkTarget
from scheduler.workflow.live.site import LiveSite


class Pages:
    """Answers for pages."""

    def __init__(self, url: str, clock: Callable[[], float]) -> None:
        """Take the address under which others reach the server, where it is known, and a clock in seconds."""
        self._url = url
        # House values: far more than a person does, far less than a program could.
        self._views, self._posts = TokenBucket(60, 5.0, clock), TokenBucket(60, 1.0, clock)

    async def answer(self, request: Request, live: LiveSite, found: LinkTarget, secret: str) -> Response:
        """Answer a request for a page, or one of its forms."""
        part = request.path_params.get("part", "")
        offer = offer_of(request, self._url, asked=found.link.offline)
        request.state.offline = offer == "offered"
        limit = self._posts if request.method == "POST" else self._views
        wait = limit.wait(found.link.hash)
        if wait > 0.0:
            raise HTTPException(429, headers={"Retry-After": str(int(wait) + 1)})
        coordinator = found.link.kind == "coordinator"
        base = self._url or f"{request.url.scheme}://{request.url.netloc}"

        def visit() -> PageVisit:
            return PageVisit(live, found, secret, base, offer)

        if request.method == "POST":
            return await self._post(request, part, visit, coordinator=coordinator)
        show = self._shown(request, part, coordinator=coordinator)
        if show is not None:
            return await in_time(run_in_threadpool(lambda: show(visit())))
        if part in HANDLES:
            # Somebody reloads, or comes back to, the address to which a form was sent.
            return RedirectResponse(f"/round/{secret}", 303, headers=HEADERS)
        raise HTTPException(404)

    def _shown(
        self, request: Request, part: str, *, coordinator: bool
    ) -> Callable[[PageVisit], Response] | None:
        """Return what shows a part of the page; None where there is nothing to show."""
        asked = request.query_params
        shown: dict[str, Callable[[PageVisit], Response]] = {
            "": lambda visit: round_page(visit, TOLD.get(asked.get("told", ""), "")),
            "same": lambda visit: same_page(visit, asked.get("key", "")),
            "calendar": calendar_page,
            "give": give_page,
            "backlog": backlog_page,
            "words": words_page,
            "jobs": lambda visit: jobs_page(visit, asked.get("tank", "")),
            "recorded": lambda visit: follows_page(visit, asked.get("entry", "")),
        }
        if coordinator:
            shown |= site_parts(asked)
        if request.state.offline:
            shown |= offline_parts()
        return shown.get(part)

    async def _post(
        self, request: Request, part: str, visit: Callable[[], PageVisit], *, coordinator: bool
    ) -> Response:
        if part not in HANDLES:
            if self._shown(request, part, coordinator=coordinator) is not None:
                raise HTTPException(405, headers={"Allow": "GET, HEAD"})
            raise HTTPException(404)
        form = await read_form(request)
        if is_queued(form):
            return await in_time(run_in_threadpool(lambda: answer_queued(part, visit, form)))
        try:
            return await in_time(run_in_threadpool(lambda: answer_post(part, visit, form)))
        except LogError as error:
            return await self._failed(Failure(part, form, request.path_params["secret"], error), visit)
        except HTTPException as error:
            if error.status_code != 503:
                raise
            # It goes on, and may come to its end.
            return failure_page(Failure(part, form, request.path_params["secret"], None))

    async def _failed(self, failure: Failure, visit: Callable[[], PageVisit]) -> Response:
        """Return the page of the round with what could not be recorded; where that cannot be read, what was
        sent alone."""

        def shown() -> Response:
            return round_page(visit(), failure.told, 503, again=failure.fields)

        try:
            answer = await in_time(run_in_threadpool(shown))
        except (LogError, HTTPException):
            return failure_page(failure)
        answer.headers.update(failure.headers)
        return answer


def sent_in_vain(part: str, form: Mapping[str, str], secret: str, error: LogError) -> Response:
    """Return the page for a form that came while nobody could tell whether its page is there."""
    return failure_page(Failure(part, form, secret, error))
