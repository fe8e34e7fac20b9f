"""The round page: what a keeper does today, ticked off; readings, hand-overs, the days to come, the calendar."""

from __future__ import annotations

import datetime as dt
import hmac
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from scheduler.description.site import Keeper
from scheduler.errors import DoubtError, ReadingError, UsageError
from scheduler.history import Entry, JobRef
from scheduler.quantities import System, show_date
from scheduler.readings import QUANTITIES, Quantity, parse_reading, show_reading
from scheduler.sheets.recorded import described, recorded_lines
from scheduler.web.codes import code_svg
from scheduler.web.forms import read_form
from scheduler.web.in_time import in_time
from scheduler.web.limits import Limit
from scheduler.workflow.linking import calendar_secret
from scheduler.workflow.recording import Recorded
from scheduler.workflow.serving import Found, LiveSite
from scheduler.workflow.tending import Tended, Turn

NOTE_LENGTH = 2_000

TEXT_WIDTH = 100_000
"""The lines of a page are broken by the browser."""

_WRITTEN = ("enclosure", "reading", "value", "whose")
"""The fields of a reading."""

HEADERS = {"Cache-Control": "private, no-store"}

_templates = Environment(
    loader=PackageLoader("scheduler.web"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_templates.filters["day"] = lambda day: f"{day:%A} {show_date(day)}"
_templates.filters["short_day"] = lambda day: f"{day:%a} {day.day} {day:%b}"


class Pages:
    """Answers for pages."""

    def __init__(self, url: str, clock: Callable[[], float]) -> None:
        """Take the address under which others reach the server, where it is known, and a clock in seconds."""
        self._url = url
        # House values: far more than a person does, far less than a program could.
        self._views, self._posts = Limit(60, 5.0, clock), Limit(60, 1.0, clock)
        self._parts: dict[str, Callable[[_Visit, Mapping[str, str]], Response]] = {
            "done": _done,
            "undo": _undo,
            "reading": _reading,
            "hand-over": _hand_over,
        }

    async def answer(self, request: Request, live: LiveSite, found: Found, secret: str) -> Response:
        """Answer a request for a page, or one of its forms."""
        part = request.path_params.get("part", "")
        limit = self._posts if request.method == "POST" else self._views
        wait = limit.wait(found.link.hash)
        if wait > 0.0:
            raise HTTPException(429, headers={"Retry-After": str(int(wait) + 1)})
        base = self._url or f"{request.url.scheme}://{request.url.netloc}"

        def visit() -> _Visit:
            return _Visit(live, found, secret, base)

        if request.method != "POST":
            if part == "calendar":
                return await in_time(run_in_threadpool(lambda: _calendar(visit())))
            if part in self._parts:
                # Somebody reloads, or comes back to, the address to which a form was sent.
                return RedirectResponse(f"/round/{secret}", 303, headers=HEADERS)
            if part:
                raise HTTPException(404)
            return await in_time(run_in_threadpool(lambda: _page(visit())))
        handle = self._parts.get(part)
        if handle is None:
            if part == "calendar":
                raise HTTPException(405, headers={"Allow": "GET, HEAD"})
            raise HTTPException(404)
        form = await read_form(request)
        return await in_time(run_in_threadpool(lambda: _handled(handle, visit, form)))


Handle = Callable[["_Visit", Mapping[str, str]], Response]


class _Visit:
    """One request for a page: the site as it stands now, and whose page it is."""

    def __init__(self, live: LiveSite, found: Found, secret: str, base: str) -> None:
        self.live, self.found, self.secret, self.base = live, found, secret, base
        self.tended: Tended = live.tended()
        keepers = self.tended.described.keepers
        self.keeper: Keeper | None = next((k for k in keepers if k.id == found.link.of), None)
        # Since it was looked up the link may have ended, or the site have become another one.
        if live.find(secret) is None or (found.link.of and self.keeper is None):
            raise HTTPException(404)

    @property
    def path(self) -> str:
        return f"/round/{self.secret}"

    def seal(self, day: dt.date, seen: int) -> str:
        return self.live.seal(self.secret, day, seen)


def _handled(handle: Handle, visited: Callable[[], _Visit], form: Mapping[str, str]) -> Response:
    visit = visited()
    day, seen = _sealed(visit, form)
    if day != visit.tended.today:
        return _page(visit, "This page was of another day, and nothing was changed. This is today's.", 409)
    try:
        return handle(visit, {**form, "seen": str(seen)})
    except UsageError as error:
        nothing = "recorded" if handle in (_done, _reading) else "changed"
        written = form if handle is _reading else {}
        return _page(visited(), _refusal(error, nothing), 422, written)


def _refusal(error: UsageError, nothing: str) -> str:
    """Return why something was refused, and that half of it was not done either."""
    told = str(error)
    told = f"{told[:1].upper()}{told[1:]}"
    return told if "othing was " in told else f"{told}. Nothing was {nothing}."


def _sealed(visit: _Visit, form: Mapping[str, str]) -> tuple[dt.date, int]:
    """Return the day of which a form is, and how far the log was; HTTPException where its seal is not ours."""
    try:
        day, seen = dt.date.fromisoformat(form.get("day", "")), int(form.get("seen", "")[:20])
    except ValueError:
        raise HTTPException(400) from None
    if not hmac.compare_digest(visit.seal(day, seen).encode(), form.get("seal", "").encode()):
        raise HTTPException(403, "This form is not from the page.")
    return day, seen


# --- what is posted ---


def _done(visit: _Visit, form: Mapping[str, str]) -> Response:
    yesterday = form.get("on") == "yesterday"
    on = visit.tended.today - dt.timedelta(days=1) if yesterday else None
    job = _job_of(form)
    note = " ".join(form.get("note", "").split())
    if len(note) > NOTE_LENGTH:
        raise UsageError(
            f"the note has {len(note)} characters; {NOTE_LENGTH} are kept at most. Nothing was recorded"
        )
    tending = visit.live.tending(visit.tended, visit.keeper)
    tending.tick(visit.live.log(), visit.tended, job, int(form["seen"]), note=note, on=on)
    return _back(visit, "#done")


def _job_of(form: Mapping[str, str]) -> JobRef:
    return JobRef(form.get("enclosure", ""), form.get("key", ""), form.get("variant", ""))


def _undo(visit: _Visit, form: Mapping[str, str]) -> Response:
    number = form.get("entry", "")
    if not number.isdecimal() or len(number) > 15:
        raise HTTPException(400)
    visit.live.tending(visit.tended, visit.keeper).take_back(visit.live.log(), int(number))
    return _back(visit, "#round")


def _reading(visit: _Visit, form: Mapping[str, str]) -> Response:
    names = {key: form.get(key, "").strip() for key in _WRITTEN}
    if names["reading"] not in QUANTITIES:
        raise UsageError("choose what was measured; nothing was recorded")
    if not names["value"]:
        raise UsageError("write the value that was measured, with its unit; nothing was recorded")
    places = {e.id: e for e in visit.tended.site.enclosures}
    if names["enclosure"] not in places:
        raise UsageError("choose the enclosure; nothing was recorded")
    tending = visit.live.tending(visit.tended, visit.keeper)
    try:
        made = tending.measure(
            names["enclosure"],
            names["reading"],
            names["value"],
            whose=names["whose"],
            sure=form.get("sure") == "yes",
        )
    except DoubtError as error:
        return _html(
            visit,
            "doubt.html",
            422,
            doubts=error.doubts,
            written=names,
            place=places[names["enclosure"]].name,
            label=QUANTITIES[names["reading"]].label,
        )
    except ReadingError as error:
        raise UsageError(error.in_field) from None
    visit = _Visit(visit.live, visit.found, visit.secret, visit.base)
    return _html(
        visit,
        "recorded.html",
        said=_lines(replace(made, moves=())),
        words=made.words,
        consequences=made.consequences,
        moved=_lines(replace(made, entries=())),
    )


def _hand_over(visit: _Visit, form: Mapping[str, str]) -> Response:
    job = _job_of(form)
    takers = visit.tended.takers(visit.keeper, visit.tended.job(job))
    taker = next((k for k in takers if k.id == form.get("to")), None)
    if taker is None:
        raise UsageError(
            "choose who takes it, of those who are there today and can do it; nothing was changed"
        )
    visit.live.tending(visit.tended, visit.keeper).hand_on(visit.tended, job, taker.id)
    return _back(visit, "#round")


def _lines(made: Recorded) -> list[str]:
    lines = recorded_lines(made.site, made.entries, made.next, made.moves, (), width=TEXT_WIDTH)
    return [line.strip() for line in lines]


def _back(visit: _Visit, place: str) -> Response:
    # Here, so that the page that comes next has nothing left to work out.
    visit.live.tended()
    return RedirectResponse(f"{visit.path}{place}", 303, headers=HEADERS)


# --- what is shown ---


def _page(
    visit: _Visit, alert: str = "", status: int = 200, written: Mapping[str, str] | None = None
) -> Response:
    """Return the page of the round; `written` are the fields of a reading that was refused, to be mended."""
    tended, keeper = visit.tended, visit.keeper
    mine = [*tended.mine(keeper, tended.today), *tended.free(keeper)]
    week = [tended.today + dt.timedelta(days=n) for n in range(1, 8)]
    return _html(
        visit,
        "round.html",
        status,
        alert=alert,
        turns=_shown(visit, tended.mine(keeper, tended.today)),
        free=_shown(visit, tended.free(keeper), "free-"),
        cautions=list(dict.fromkeys(c for turn in mine for c in turn.occurrence.job.notes().cautions)),
        done=[_told(visit, entry) for entry in tended.recorded(keeper)],
        others=[_told(visit, entry) for entry in tended.others(keeper)],
        week=[(day, turns) for day in week if (turns := tended.mine(keeper, day))],
        quantities=[(q, _example(q, tended.site.place.units)) for q in QUANTITIES.values()],
        written={key: (written or {}).get(key, "") for key in _WRITTEN},
    )


def _example(q: Quantity, units: System) -> str:
    """Return how a reading may be written, as people of the site write it."""
    if q.kind not in ("temperature", "length"):
        return q.example
    return show_reading(q.name, parse_reading(q.name, q.example).value, units)


def _shown(visit: _Visit, turns: Sequence[Turn], prefix: str = "") -> list[dict[str, Any]]:
    """Return jobs as the page shows them: what is the same in many tanks is read once."""
    first: dict[tuple[str, ...], tuple[str, str]] = {}
    found = []
    for number, turn in enumerate(turns, start=1):
        notes, own = turn.occurrence.job.notes(), f"{prefix}{number}"
        # A duty without a note has its title for a step.
        steps = () if notes.steps == (turn.occurrence.job.title,) else notes.steps
        # Often the first step alone has numbers of this tank.
        alike = [steps, steps[1:]] if len(steps) > 2 else [steps] if len(steps) == 2 else []
        like = next(((first[some], len(steps) - len(some)) for some in alike if some in first), None)
        for some in alike:
            first.setdefault(some, (own, turn.occurrence.job.enclosure.name))
        found.append(
            {
                "turn": turn,
                "job": turn.occurrence.job,
                "number": own,
                "reason": notes.reason if like is None else "",
                "steps": steps if like is None else steps[: like[1]],
                "like": like[0] if like is not None else None,
                "takers": [] if prefix else visit.tended.takers(visit.keeper, turn.occurrence.job),
            }
        )
    return found


def _told(visit: _Visit, entry: Entry) -> dict[str, Any]:
    site = visit.tended.site
    return {
        "entry": entry,
        "what": described(site, entry),
        "where": next((e.name for e in site.enclosures if e.id == entry.enclosure), entry.enclosure),
        "who": next((k.name for k in site.keepers if k.id == entry.keeper), ""),
        "day": entry.day,
    }


def _calendar(visit: _Visit) -> Response:
    secret = calendar_secret(visit.secret)
    address = f"{visit.base}/feeds/{secret}.ics"
    scheme, _, rest = address.partition("://")
    return _html(
        visit,
        "calendar.html",
        address=address,
        webcal=f"webcal://{rest}",
        code=code_svg(address),
        secure=scheme == "https",
    )


def _html(visit: _Visit, template: str, status: int = 200, **values: Any) -> Response:
    tended = visit.tended
    seen = tended.stand.entry
    text = _templates.get_template(template).render(
        site=tended.site,
        keeper=visit.keeper,
        today=tended.today,
        path=visit.path,
        seen=seen,
        seal=visit.seal(tended.today, seen),
        problem=bool(visit.live.problem),
        **values,
    )
    return HTMLResponse(text, status, headers=HEADERS)
