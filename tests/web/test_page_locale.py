"""Pages under locales: hours, days and amounts as people there write them, and what they type as they type it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import unescape

import pytest
from support.web.house import House, made, site_of
from support.web.http_client import ask, forms, post
from support.web.serving import serving
from test_page_readings import BEFORE, KIT, fill, pool, sheet, stored

from scheduler.log import open_log

TAGS = ("de-DE", "en-US")


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, House]]:
    folder = tmp_path_factory.mktemp("pools")
    texts = {
        tag: pool(f"Pool {tag}", KIT).replace("[site]\n", f'[site]\nlocale = "{tag}"\n', 1) for tag in TAGS
    }
    # Something for the evening, so that an hour stands on the page.
    there = {
        tag: made(folder / f"{tag}.toml", text.replace("job = {", 'job = {feed = {part = "evening"}, '))
        for tag, text in texts.items()
    }
    with open_log(f"sqlite:///{folder / 'turtles.db'}") as log:
        for file, *_ in there.values():
            log.record(site_of(file), BEFORE)
    with serving(folder, today="2026-12-14") as served:
        yield {
            tag: House(file, served, noor, sam, calendar)
            for tag, (file, noor, sam, calendar) in there.items()
        }
    assert "Traceback" not in "\n".join(served.log_lines)


def read_aloud(page: str) -> str:
    """Return what a page says, a line for each block, without what changes from one making to the next."""
    main = page[page.index("<body") :]
    main = re.sub(r"<(script|style).*?</\1>", "", main, flags=re.DOTALL)
    blocks = re.sub(r"</(p|li|h[1-6]|legend|summary|option|button|label|div|td)>", "\n", main)
    text = unescape(re.sub(r"<[^>]*>", "", blocks))
    lines = (" ".join(line.split(" ")).strip() for line in text.split("\n"))
    return "\n".join(line for line in lines if line) + "\n"


def test_a_page_in_germany(houses: dict[str, House], golden: Callable[[str, str], None]) -> None:
    golden("page.de-DE.txt", read_aloud(houses["de-DE"].page(houses["de-DE"].noor)))


def test_days_and_hours_are_in_the_order_and_on_the_clock_of_the_locale(houses: dict[str, House]) -> None:
    german, american = (read_aloud(houses[tag].page(houses[tag].noor)) for tag in TAGS)
    assert "Monday, 14 December 2026" in german
    assert "Monday, December 14, 2026" in american
    assert "last: 28 mg/L, Mon, 7 Dec" in german
    assert "last: 28 mg/L, Mon, Dec 7" in american
    assert "Evening, from 18:30" in german and "Evening, from 6:30 PM" in american.replace("\u00a0", " ")
    assert "0,25 mg/L as N" in german and "0.25 mg/L as N" in american


def test_a_comma_is_taken_where_it_is_the_mark_and_shown_again(houses: dict[str, House]) -> None:
    house = houses["de-DE"]
    asked = fill(house, sheet(house), ammonia="0", nitrite="0,05", nitrate="1.250", ph="7,45")
    assert asked.status == 422
    assert "which may be two numbers; write 1,250 or 1250" in unescape(asked.text)
    assert 'value="1.250"' in asked.text and 'value="7,45"' in asked.text, "what was typed is still there"
    assert stored(house) == []
    answer = fill(
        house, sheet(house), ammonia="0", nitrite="0,05", nitrate="28,5", ph="7.45", temperature="24,5"
    )
    assert answer.status == 303
    assert stored(house) == [
        ("reading", "ammonia", 0.0),
        ("reading", "nitrite", 0.05),
        ("reading", "nitrate", 28.5),
        ("reading", "ph", 7.45),
        ("reading", "temperature", 24.5),
        ("done", "water-test", None),
    ]
    told = unescape(ask(house.url, answer["Location"]).text)
    assert "nitrite: 0,05 mg/L (as N)" in told and "pH 7,45" in told
    # In the log it stands with a point, whatever the locale.
    assert {e.name: e.given for e in house.entries() if e.kind == "reading"}["ph"] == "7.45"


def test_a_single_reading_may_have_the_comma_too(houses: dict[str, House]) -> None:
    house = houses["de-DE"]
    (form,) = [f for f in forms(house.page(house.noor), "reading") if "reading" in {*f.fields, *f.choices}]
    fields = {**form.fields, "enclosure": "rush", "reading": "temperature", "value": "24,5 °C"}
    sent = post(house.url, form.action, fields)
    assert sent.status == 303, sent.text
    assert [(e.name, e.value, e.given) for e in house.entries() if e.enclosure == "rush"][-1] == (
        "temperature",
        24.5,
        "24.5 °C",
    )
