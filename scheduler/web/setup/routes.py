"""A set-up over HTTP: who may see it, what is sent and shown, and how it ends."""

from __future__ import annotations

import datetime as dt
import hmac
import secrets
from collections.abc import Mapping
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scheduler import workflow
from scheduler.description.starter import starter_text
from scheduler.errors import SchedulerError, UsageError
from scheduler.hosts import is_this_machine
from scheduler.web.deadline import in_time
from scheduler.web.forms import read_form
from scheduler.web.reach import Reach
from scheduler.web.setup.draft import Drafts
from scheduler.web.setup.pages import StepView, mistakes, phones_question, step_page
from scheduler.web.setup.steps import NAMES, names_of
from scheduler.web.visit import HEADERS
from scheduler.workflow.feeds.links import SECRET_BYTES, IssuedLink, LinkRequest, make_link
from scheduler.workflow.live.sites import Sites
from scheduler.workflow.setup.network import local_address
from scheduler.workflow.setup.target import file_named
from scheduler.workflow.setup.zones import place_zone

SET_UP = "/set-up"
"""What the addresses of a set-up begin with."""


class SetUp:
    """One set-up: the file that it writes, its secret, and what browsers have typed so far."""

    def __init__(self, file: Path, sites: Sites, reach: Reach, as_of: dt.date | None = None) -> None:
        """Take the file, the sites that it becomes one of, the reach of the server, and what counts as
        today."""
        self._file, self._sites, self._reach, self._as_of = file, sites, reach, as_of
        self._secret = secrets.token_urlsafe(SECRET_BYTES)
        self._drafts = Drafts()
        self._written: Path | None = None
        self._is_over = False

    @property
    def path(self) -> str:
        """Return the address of the set-up on this server."""
        return f"{SET_UP}/{self._secret}"

    def routes(self) -> list[Route]:
        """Return the routes of the set-up."""
        return [
            Route(SET_UP + "/{secret}", self.begin, methods=["GET"]),
            Route(SET_UP + "/{secret}/phones", self.phones, methods=["GET", "POST"]),
            Route(SET_UP + "/{secret}/{draft}/{step}", self.step, methods=["GET", "POST"]),
        ]

    async def begin(self, request: Request) -> Response:
        """Begin a draft, and lead to its first step."""
        self._admit(request)
        if self._written is not None:
            return _led(f"{self.path}/phones")
        return self._begun()

    async def step(self, request: Request) -> Response:
        """Show a step of a draft, or take what was typed there."""
        self._admit(request)
        name, step = request.path_params["draft"], request.path_params["step"]
        if step not in NAMES:
            raise HTTPException(404)
        draft = self._drafts.get(name)
        if draft is None:
            return self._begun()
        view = StepView(f"{self.path}/{name}", draft, step, self._file, self._as_of)
        if request.method == "POST":
            form = await read_form(request)
            draft.take(form, names_of(step, draft.animals))
            return await self._answer(view, form.get("go", "on"))
        return await _shown(view)

    async def phones(self, request: Request) -> Response:
        """Ask whether phones are let in; do what is said, and lead to the page that shows how they get in."""
        self._admit(request)
        if self._written is None:
            return _led(self.path)
        written, address = self._written, await run_in_threadpool(local_address)
        said = ""
        if request.method == "POST":
            form = await read_form(request)
            try:
                if form.get("go") == "yes" and address and not self._reach.url:
                    await self._reach.open_to(address)
                link = await in_time(run_in_threadpool(self._linked, written))
            except SchedulerError as error:
                said = str(error)
            else:
                self._is_over = True
                return _led(f"/round/{link.secret}/phones")
        return phones_question(self.path, address, self._reach, file=written.name, said=said)

    def _admit(self, request: Request) -> None:
        """Raise HTTPException (404) for whoever is not on this machine, or does not know the secret, and once
        it is over."""
        client = request.client.host if request.client is not None else ""
        server = (request.scope.get("server") or ("",))[0]
        hosts = (client, server, (request.url.hostname or "").strip("[]"))
        is_known = hmac.compare_digest(
            request.path_params["secret"].encode("utf-8", "replace"), self._secret.encode()
        )
        if self._is_over or not is_known or not all(map(is_this_machine, hosts)):
            raise HTTPException(404)

    def _begun(self) -> Response:
        zone = place_zone()
        return _led(f"{self.path}/{self._drafts.begin({'time_zone': zone} if zone else {})}/{NAMES[0]}")

    async def _answer(self, view: StepView, go: str) -> Response:
        """Do what was asked for with a step: the one before, one animal more or fewer, the same again, or go
        on."""
        draft, at = view.draft, NAMES.index(view.step)
        if go == "back":
            return _led(f"{view.path}/{NAMES[max(0, at - 1)]}")
        if go in ("more", "fewer"):
            draft.typed["animals"] = str(draft.animals + (1 if go == "more" else -1))
            return _led(f"{view.path}/{view.step}")
        draft.sent.add(view.step)
        field, why = draft.size_up() if view.step == "enclosure" else ("", "")
        if field:
            return await _shown(view, {field: why}, 422)
        if draft.told or go == "again":
            return _led(f"{view.path}/{view.step}{'#told' if draft.told else '#review'}")
        return await self._go_on(view)

    async def _go_on(self, view: StepView) -> Response:
        """Lead to the next step, or to what is not right; from the last one write the description."""
        draft = view.draft
        found = await in_time(run_in_threadpool(mistakes, draft, self._file))
        if found.of_step(view.step, draft.animals):
            return _led(f"{view.path}/{view.step}#wrong")
        if view.step != NAMES[-1]:
            return _led(f"{view.path}/{NAMES[NAMES.index(view.step) + 1]}")
        if earlier := found.first_step(draft.animals):
            draft.sent.update(NAMES)
            return _led(f"{view.path}/{earlier}#wrong")
        return await self._write(view)

    async def _write(self, view: StepView) -> Response:
        """Write the description; where that cannot be, show why, with all that was typed."""
        draft = view.draft

        def write() -> Path:
            file = file_named(self._file, draft.typed.get("file", "").strip() or self._file.name)
            workflow.write_starter(file, starter_text(draft.answers()))
            return file

        try:
            written = await in_time(run_in_threadpool(write))
        except SchedulerError as error:
            is_name = isinstance(error, UsageError)
            said = {"file" if is_name else "": str(error)}
            return await _shown(view, said, 422 if is_name else 503)
        self._written = written
        self._sites.expect(written)
        return _led(f"{self.path}/phones")

    def _linked(self, file: Path) -> IssuedLink:
        """Make the link of the page of the only keeper; of everybody, where none is described."""
        site = workflow.read_site(file)
        return make_link(file, site, LinkRequest(kind="page", of=site.keepers[0].id if site.keepers else ""))


def _led(address: str) -> Response:
    return RedirectResponse(address, 303, headers=HEADERS)


async def _shown(view: StepView, said: Mapping[str, str] | None = None, status: int = 200) -> Response:
    return await in_time(run_in_threadpool(step_page, view, said, status))
