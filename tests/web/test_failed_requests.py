"""What a page says when something fails: what is known, with what was typed, and a way back."""

from __future__ import annotations

import html
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from support.web.failing import failing
from support.web.http_client import (
    TODAY,
    Answer,
    Form,
    ask,
    feed_path,
    forms,
    link,
    page_path,
    post,
    tick_of,
    until,
    write,
)
from support.web.serving import Served

from scheduler.log import open_log
from scheduler.web.style import STYLE_ADDRESS
from scheduler.workflow.feeds.links import IssuedLink

TESTS = 8
"""At least so many as there are tests."""

NOTE = 'swollen <b>eye</b> & "more"'


@dataclass(frozen=True, slots=True)
class House:
    file: Path
    served: Served
    order: Path
    sam: IssuedLink
    calendar: IssuedLink

    def page(self) -> str:
        return ask(self.served.url, page_path(self.sam)).text

    def send(self, form: Form, **changed: str) -> Answer:
        return post(self.served.url, form.action, {**form.fields, **changed})

    def recorded(self) -> list[tuple[str, str]]:
        with open_log(f"sqlite:///{self.file.with_suffix('.db')}", create=False) as log:
            return [(e.name, e.note) for e in log.entries("fen-lane", voided=False)]


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Iterator[House]]:
    """Houses that are alike, each with a log of its own, at one server."""
    folder = tmp_path_factory.mktemp("houses")
    files = [write(folder / f"fen-lane-{n}.toml") for n in range(TESTS)]
    links = [(link(file, "page", "sam"), link(file, "site")) for file in files]
    with failing(folder, TODAY) as (served, order):
        yield (House(file, served, order, *own) for file, own in zip(files, links, strict=True))
    assert "Traceback" not in "\n".join(served.log_lines)


@pytest.fixture
def house(houses: Iterator[House]) -> Iterator[House]:
    """Return a house where nobody has recorded anything. A log that was away is asked again after a second."""
    made = next(houses)
    until(lambda: ask(made.served.url, "/healthz").status == 200)
    # The rota is published, and that the link was used is noted.
    assert made.page() and ask(made.served.url, feed_path(made.calendar)).status == 200
    yield made
    made.order.unlink(missing_ok=True)


def again(answer: Answer, part: str) -> Form:
    """Return the form that sends again what was sent."""
    (form,) = [f for f in forms(answer.text, part) if "Send it again" in answer.text]
    return form


def is_page(answer: Answer) -> str:
    """See that an answer is a page of the site's look with a way on; return its text."""
    assert answer["Content-Type"] == "text/html; charset=utf-8"
    assert answer["Cache-Control"] == "private, no-store"
    text = answer.text
    assert f'<link rel="stylesheet" href="{STYLE_ADDRESS}">' in text and "<h1>" in text
    assert 'href="/' in text.partition("<main")[2]
    return html.unescape(text)


def test_a_log_that_can_be_read_alone(house: House) -> None:
    """The plan is there, what was sent is on top of it, and is recorded once it can be."""
    tick, page = tick_of(house.page(), "pane"), house.page()
    house.order.write_text("read-only")
    answer = house.send(tick, note=NOTE)
    assert (answer.status, answer["Retry-After"]) == (503, "5")
    text = is_page(answer)
    assert "Not recorded: the log cannot be written at the moment" in text
    assert "<b>eye" not in answer.text
    assert "brush the pane" in text.partition('id="round"')[2], "the plan stays readable"
    assert house.page() == page and ask(house.served.url, feed_path(house.calendar)).status == 200
    (form,) = [f for f in forms(answer.text, "done") if f.fields["note"]]
    assert form.fields["note"] == NOTE
    assert house.recorded() == []
    assert house.send(form).status == 503
    house.order.unlink()
    assert house.send(form).status == 303
    assert house.recorded() == [("pane", NOTE)]


def test_every_form_keeps_what_was_typed(house: House) -> None:
    (reading,) = forms(house.page(), "reading")
    hand_over = next(f for f in forms(house.page(), "hand-over") if f.fields["key"] == "pane")
    assert house.send(tick_of(house.page(), "daily-look")).status == 303
    (undo,) = forms(house.page(), "undo")
    typed = {"enclosure": "sedge", "reading": "ph", "value": "7.4", "whose": ""}
    house.order.write_text("read-only")
    answers = {
        "reading": (house.send(reading, **typed), "Not recorded"),
        "undo": (house.send(undo), "Not taken back"),
        "hand-over": (house.send(hand_over), "Not handed over"),
    }
    house.order.unlink()
    for part, (answer, said) in answers.items():
        assert answer.status == 503
        assert said in is_page(answer)
        sent = next(f for f in forms(answer.text, part) if f.fields.get("seal"))
        if part == "reading":
            assert sent.fields["value"] == "7.4" and "pH" in answer.text
        assert house.send(sent).status == 303
    assert [name for name, _ in house.recorded()] == ["ph"]
    assert "brush the pane" not in house.page().partition('id="done"')[0]


def test_a_log_that_is_away(house: House) -> None:
    """The plan cannot be shown; what was typed is."""
    tick = tick_of(house.page(), "pane")
    house.order.write_text("away")
    answer = house.send(tick, note=NOTE)
    assert (answer.status, answer["Retry-After"]) == (503, "5")
    assert "Not recorded" in is_page(answer)
    (form,) = forms(answer.text, "done")
    assert form.fields["note"] == NOTE
    page = ask(house.served.url, page_path(house.sam))
    assert page.status == 503 and f'href="{page_path(house.sam)}"' in is_page(page)
    # Programs are answered by text.
    for path in (feed_path(house.calendar), "/healthz"):
        program = ask(house.served.url, path)
        assert (program.status, program["Content-Type"]) == (503, "text/plain; charset=utf-8")
    house.order.unlink()
    seen: list[int] = []

    def is_taken() -> bool:
        seen.append(house.send(form).status)
        return seen[-1] == 303

    until(is_taken, lambda: seen)
    assert set(seen) <= {303, 503}
    assert house.recorded() == [("pane", NOTE)]


@pytest.mark.parametrize("how", ["unsure", "slow"])
def test_a_log_that_does_not_say_whether_it_is_there(house: House, how: str) -> None:
    """It is there: sent again it does not count twice."""
    tick = tick_of(house.page(), "pane")
    house.order.write_text(how)
    answer = house.send(tick, note=NOTE)
    assert (answer.status, answer["Retry-After"]) == (503, "5")
    text = is_page(answer)
    assert "It is not known whether it was recorded" in text and "Open the page again" in text
    form = next(f for f in forms(answer.text, "done") if f.fields.get("note"))
    house.order.unlink()
    until(house.recorded)
    assert house.send(form).status == 303
    assert house.recorded() == [("pane", NOTE)]


def test_every_error_on_a_page_is_a_page(house: House) -> None:
    """403, 404, 405, 413, 415, 429: in the site's look, with a way back; 409, 422 and 503 are pages elsewhere."""
    url, page = house.served.url, page_path(house.sam)
    typed = {"Content-Type": "application/x-www-form-urlencoded"}
    tick = tick_of(house.page(), "pane")
    back = f'href="{page}"'
    for status, answer, way in (
        (400, ask(url, f"{page}/done", "POST", b"%", typed), back),
        (403, ask(url, f"{page}/done", "POST", b"", {**typed, "Origin": "http://x"}), back),
        (403, house.send(tick, seal="0" * 32), back),
        (404, ask(url, f"{page}/other"), back),
        (404, ask(url, f"/round/{'A' * 27}"), 'href="/"'),
        (404, ask(url, f"/round/{'A' * 27}/done", "POST", b"", typed), 'href="/"'),
        (405, ask(url, f"{page}/calendar", "POST", b"", typed), back),
        (405, ask(url, page, "DELETE"), back),
        (413, ask(url, f"{page}/done", "POST", b"a" * 300_000, typed), back),
        (415, ask(url, f"{page}/done", "POST", b"{}"), back),
    ):
        assert answer.status == status
        assert way in is_page(answer), status
    # By a clock that stands still: however slowly it is asked, nobody is let through again.
    house.order.write_text("stopped")
    guesser = {"X-Forwarded-For": "203.0.113.7"}
    answers = [ask(url, f"/round/{n:027}", fields=guesser) for n in range(30)]
    assert answers[-1].status == 429 and answers[-1]["Retry-After"] and is_page(answers[-1])
    assert ask(url, f"/feeds/{1:027}.ics", fields=guesser)["Content-Type"].startswith("text/plain")
    views = [ask(url, page) for _ in range(90)]
    assert views[-1].status == 429 and back in is_page(views[-1])
