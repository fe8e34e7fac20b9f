"""The guide, as the server shows it: to everybody who knows the server, with the headers of all pages, in their look."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from support.web.http_client import ask, link, page_path, write
from support.web.serving import Served, serving

from scheduler import workflow
from scheduler.web.guide import as_html
from scheduler.web.style import STYLE_ADDRESS


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    file = write(tmp_path_factory.mktemp("fen") / "fen-lane.toml")
    with serving(file.parent, file.name, today="2026-12-14") as server:
        yield server


def test_the_list_leads_to_every_page(served: Served) -> None:
    text = ask(served.url, "/guide").text
    listed = re.findall(r'<a href="/guide/([\w-]+)">', text)
    assert listed == list(workflow.GUIDE_TOPICS)
    for topic in listed:
        answer = ask(served.url, f"/guide/{topic}")
        title = workflow.guide_page(topic).partition("\n")[0].removeprefix("# ")
        assert answer.status == 200 and f"<h1>{title}</h1>" in answer.text
        assert STYLE_ADDRESS in answer.text and '<a class="line-link" href="/guide">' in answer.text


def test_every_field_of_an_answer(served: Served) -> None:
    answer = ask(served.url, "/guide/keys")
    fields = {name.lower(): value for name, value in answer.fields}
    assert len(fields) == len(answer.fields), "a field came twice"
    assert re.fullmatch('"[0-9a-f]{32}"', fields.pop("etag"))
    del fields["date"]
    assert fields == {
        "content-type": "text/html; charset=utf-8",
        "content-length": str(len(answer.body)),
        "cache-control": "public, max-age=3600",  # RFC 9111, section 5.2.2.9: it is the same for everybody
        "referrer-policy": "no-referrer",
        "x-robots-tag": "noindex, nofollow",
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "camera=(), geolocation=(), microphone=()",
        "content-security-policy": "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    }


def test_who_has_a_page_already_is_told_so(served: Served) -> None:
    tag = ask(served.url, "/guide/jobs")["ETag"]
    for condition, status in (
        ({"If-None-Match": tag}, 304),
        ({"If-None-Match": '"other"'}, 200),
        ({"If-Match": '"other"'}, 412),
        # There is no day on which a page changed, so that no date counts.
        ({"If-Modified-Since": "Mon, 14 Dec 2099 08:30:15 GMT"}, 200),
        ({"If-Unmodified-Since": "Mon, 14 Dec 1999 08:30:15 GMT"}, 200),
    ):
        answer = ask(served.url, "/guide/jobs", fields=condition)
        assert (answer.status, answer["ETag"]) == (status, tag), condition
        assert bool(answer.body) == (status == 200)


@pytest.mark.parametrize("path", ["/guide/nothing", "/guide/", "/guide/keys/site", "/guide/..%2fapp"])
def test_a_page_that_is_not_there_is_told_in_the_look_of_the_others(served: Served, path: str) -> None:
    answer = ask(served.url, path)
    assert answer.status == 404 and answer["Content-Type"].startswith("text/html")
    assert "The guide has no such page." in answer.text and STYLE_ADDRESS in answer.text
    assert '<a href="/guide">All pages of the guide</a>' in answer.text


def test_nothing_is_sent_to_it(served: Served) -> None:
    answer = ask(served.url, "/guide/keys", "POST", b"key=value")
    assert answer.status == 405 and "This cannot be done here." in answer.text


def test_pages_lead_to_it(served: Served, tmp_path: Path) -> None:
    file = write(tmp_path / "fen-lane.toml")
    page = page_path(link(file, "page", "Noor"))
    with serving(tmp_path, file.name, today="2026-12-14") as server:
        for path in (page, f"{page}/words"):
            assert 'href="/guide"' in ask(server.url, path).text
    assert "/guide" in ask(served.url, "/").text


def test_html_in_a_page_is_shown_and_not_obeyed() -> None:
    title, text = as_html("# Odd\n\n<script>alert(1)</script> and <b>bold</b>\n\n[x](javascript:alert)\n")
    assert title == "Odd"
    assert "&lt;script&gt;alert(1)&lt;/script&gt; and &lt;b&gt;bold&lt;/b&gt;" in text
    assert "<script" not in text and "<b>" not in text and "href" not in text


def test_what_may_be_wide_scrolls_in_a_box_that_the_keyboard_reaches() -> None:
    _, text = as_html("# Wide\n\n| a |\n| --- |\n| `b\\|c` |\n\n```toml\nx = 1\n```\n\n    pondround jobs\n")
    box = '<div class="scroll-box" role="group" aria-label="{}" tabindex="0">'
    assert re.findall(r"<div.*?>", text) == [
        box.format("Table"),
        box.format("As it is written"),
        box.format("As it is written"),
    ]
    assert text.count("</div>") == 3 and "<code>b|c</code>" in text
