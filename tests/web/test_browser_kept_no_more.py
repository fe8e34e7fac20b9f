"""When a kept page ends: what is revoked, renamed or switched off leaves nothing on the phone and loses nothing that waits."""

from __future__ import annotations

import pytest
from support.web.browsing import Browser
from support.web.kept_page import (
    MONDAY,
    Pond,
    databases,
    flight,
    items,
    kept_in,
    opened,
    phone,
    pond,
    said,
    says,
    started,
    tick,
    unregister,
    workers,
)

__all__ = ["phone", "pond", "started"]

pytestmark = pytest.mark.browser


def emptied(phone: Browser) -> bool:
    return (workers(phone), kept_in(phone), databases(phone)) == ([], [], [])


def test_a_revoked_link_leaves_nothing_on_the_phone(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        tick(phone, 1)
        pond.say("links", "--revoke", "page-noor")
        phone.open("about:blank")
    phone.open(pond.page)
    assert phone.one("h1").text == "There is nothing here"
    phone.wait(lambda _: emptied(phone))
    with flight(phone, pond), pytest.raises(Exception, match="ERR_"):
        phone.open(pond.page)


def test_an_open_page_whose_link_is_revoked_tells_once_what_was_not_sent(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        tick(phone, 1)
        pond.say("links", "--revoke", "page-noor")
    phone.wait(lambda _: "This link has ended." in phone.one("main").text)
    assert phone.one("[role=alert]").text == (
        "This link has ended. Write on paper what was not sent, and tell whoever gave you the link: "
        "Sedge: duty 1, Monday 14 December 2026."
    )
    phone.wait(lambda _: emptied(phone))
    assert pond.history() == []


def test_a_keeper_who_is_renamed_loses_nothing_that_waits(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    text = pond.file.read_text("utf-8")
    with flight(phone, pond):
        tick(phone, 1)
        pond.file.write_text(text.replace('name = "Noor"', 'name = "Noor Ash"'), "utf-8")
    says(phone, "1 not sent yet. The record cannot be reached")
    phone.open(pond.page)
    assert phone.one("h1").text == "There is nothing here"
    pond.file.write_text(text.replace('name = "Noor"', 'name = "Noor Ash"\nid = "noor"'), "utf-8")
    phone.open(pond.page)
    assert phone.one("h1").text == "Noor Ash, Monday"
    phone.wait(lambda _: said(phone) == "" and not items(phone))
    assert pond.recorded() == [(MONDAY, "job-1", "noor")]


def test_a_link_that_is_offered_no_more_is_kept_no_more(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    pond.say("links", "--change", "page-noor", "--no-offline")
    phone.open(pond.page)
    assert phone.all("script, #unsent") == []
    phone.wait(lambda _: (workers(phone), kept_in(phone)) == ([], []))


def test_the_switch_takes_the_page_off_the_phone_and_brings_it_back(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    switch = phone.one("#keep-switch")
    assert (switch.text.replace("\n", ""), switch.get_attribute("aria-checked")) == (
        "Keep this page for offline use: on",
        "true",
    )
    assert "with its secret address on this phone" in phone.one("#keep-said").text
    assert workers(phone) == [pond.page.removeprefix(pond.cable.url)]
    unregister(phone)
    assert (workers(phone), kept_in(phone)) == ([], [])
    # It stays off.
    phone.open(pond.page)
    phone.wait(lambda _: phone.one("#keep").is_displayed())
    assert phone.one("#keep-switch").get_attribute("aria-checked") == "false"
    assert (workers(phone), kept_in(phone)) == ([], [])
    phone.one("#keep-switch").click()
    phone.wait(lambda _: workers(phone) and kept_in(phone))


def test_a_worker_has_no_part_in_another_page(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    own = sorted(kept_in(phone))
    assert pond.page.removeprefix(pond.cable.url) in own
    phone.open(pond.link("--page", "Ben"))
    assert phone.one("h1").text == "Ben, Monday"
    assert phone.js("return navigator.serviceWorker.controller") is None
    assert sorted(kept_in(phone)) == own
