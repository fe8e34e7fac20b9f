"""The pages of the guide as HTML: the same for everybody, so that no secret is asked for and a browser may
keep them."""

from __future__ import annotations

import functools
import hashlib
from itertools import pairwise
from typing import Any, NamedTuple

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from scheduler import workflow
from scheduler.description.identity import slug
from scheduler.web.conditional import combined, verdict
from scheduler.web.visit import write_page

GUIDE = "/guide"
"""The address of the list of pages; that of a page is below it."""


class Page(NamedTuple):
    """A page as it is sent, and the tag of its bytes."""

    body: bytes
    tag: str


def is_of_guide(path: str) -> bool:
    """Tell whether an address is one of the guide, or would be if there were such a page."""
    return path == GUIDE or path.startswith(f"{GUIDE}/")


async def _answer(request: Request) -> Response:
    topic = request.path_params.get("topic", "")
    if topic and topic not in workflow.GUIDE_TOPICS:
        raise HTTPException(404)
    page = await run_in_threadpool(_page, topic)
    headers = {"ETag": f'"{page.tag}"', "Cache-Control": "public, max-age=3600"}
    said = verdict(combined(request.headers.raw), page.tag, None)
    if said != "send":
        return Response(status_code=412 if said == "failed" else 304, headers=headers)
    return Response(page.body, media_type="text/html", headers=headers)


ROUTES = [
    Route(GUIDE, _answer, methods=["GET"]),
    Route(GUIDE + "/{topic}", _answer, methods=["GET"]),
]


@functools.cache
def _page(topic: str) -> Page:
    """Return a page, or without a topic the list of all."""
    if topic:
        title, text = as_html(workflow.guide_page(topic))
        written = write_page("guide.html", title=title, text=text, topics=(), guide=GUIDE)
    else:
        topics = workflow.GUIDE_TOPICS.items()
        written = write_page("guide.html", title="The guide", text="", topics=topics, guide=GUIDE)
    body = written.encode()
    return Page(body, hashlib.sha256(body).hexdigest()[:32])


class _Boxed(RendererHTML):
    """HTML in which tables and code, which may be wider than a phone, scroll in boxes of their own that take
    the keyboard's focus."""

    def table_open(self, *token: Any) -> str:
        return f"{_box('Table')}{self.renderToken(*token)}"

    def table_close(self, *token: Any) -> str:
        return f"{self.renderToken(*token)}</div>\n"

    def fence(self, *token: Any) -> str:
        return f"{_box('As it is written')}{super().fence(*token)}</div>\n"

    def code_block(self, *token: Any) -> str:
        return f"{_box('As it is written')}{super().code_block(*token)}</div>\n"


def _box(label: str) -> str:
    return f'<div class="scroll-box" role="group" aria-label="{label}" tabindex="0">\n'


# What stands in a page as HTML is shown as it is written, and not obeyed.
_MARKDOWN = MarkdownIt("commonmark", {"html": False}, renderer_cls=_Boxed).enable("table")


def as_html(markdown: str) -> tuple[str, str]:
    """Return the title of a page, which is its first heading, and the rest as HTML."""
    opening, title, closing, *rest = _MARKDOWN.parse(markdown)
    assert (opening.type, opening.tag, closing.type) == ("heading_open", "h1", "heading_close")
    for token, following in pairwise(rest):
        if token.type == "heading_open":
            token.attrSet("id", slug(following.content))
    return title.content, _MARKDOWN.renderer.render(rest, _MARKDOWN.options, {})
