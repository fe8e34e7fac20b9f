"""Links whose pages may be kept, byte for byte: what they are given, what others are not, and what a phone's queue does."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from support.web.http_client import FEN, Answer, Form, ask, forms, link, page_path, post, tick_of, write
from support.web.serving import Served, pondround, serving

from scheduler.errors import UsageError
from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import KEY_FILE, IssuedLink, LinkRequest, change_link, hashed, make_link

TODAY, MONDAY, SUNDAY, LONG_AGO = "2026-12-17", "2026-12-14", "2026-12-13", "2026-12-02"
"""A Thursday on which the server is asked; and 15 days before."""

ID = "0b9c2f5e-0000-4000-8000-000000000001"

POLICY = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
GAINED = "; script-src 'self'; worker-src 'self'; connect-src 'self'; manifest-src 'self'"

HOUSES = 32


@dataclass(frozen=True, slots=True)
class House:
    """A site with a page for Noor that may be kept, and one for Sam that may not."""

    file: Path
    served: Served
    noor: IssuedLink
    sam: IssuedLink

    def get(self, part: str = "", whose: IssuedLink | None = None, **fields: str) -> Answer:
        return ask(self.served.url, page_path(whose or self.noor) + part, fields=fields)

    def post(self, form: Form, **fields: str) -> Answer:
        return post(self.served.url, form.action, {**form.fields, **fields})

    def send(self, form: Form, day: str = MONDAY, seen: str = "0.0", **fields: str) -> Answer:
        """Send a form of an earlier day as a phone does that had no network then."""
        key = self.file.with_name(KEY_FILE).read_bytes().strip()
        seal = hashed(key, f"form/{self.noor.secret}/{day}/{seen}")[:32]
        sealed = {"day": day, "seen": seen, "seal": seal, "queued": ID, "late": "yes"}
        return self.post(form, **{**sealed, **fields})

    def tick(self) -> Form:
        return tick_of(self.get().text, "pane")

    def reading(self, value: str = "7.4", name: str = "ph") -> Form:
        (form,) = forms(self.get().text, "reading")
        form.fields.update(enclosure="sedge", reading=name, value=value)
        return form

    def entries(self) -> list[Entry]:
        with open_log(f"sqlite:///{self.file.with_suffix('.db')}") as log:
            site = read_site(self.file).settings.id
            return [e for e in log.entries(site, voided=False) if e.kind != "void"]

    def told(self) -> list[tuple[str, str, str, str]]:
        return [(str(e.day), e.name, e.keeper, str(e.time)) for e in self.entries()]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, list[House]]]:
    folder = tmp_path_factory.mktemp("kept")
    with pytest.MonkeyPatch.context() as patch:
        for variable in ("PONDROUND_LOG", "PONDROUND_KEY"):
            patch.delenv(variable, raising=False)
        files = []
        for number in range(HOUSES):
            file = write(folder / f"fen{number}.toml", FEN.replace("Fen Lane", f"Fen Lane {number}"))
            kept = make_link(file, read_site(file), LinkRequest(kind="page", of="noor", offline=True))
            files.append((file, kept, link(file, "page", "sam")))
    with serving(folder, today=TODAY) as server:
        yield server, [House(file, server, noor, sam) for file, noor, sam in files]


@pytest.fixture
def take(served: tuple[Served, list[House]]) -> Callable[[], House]:
    return served[1].pop


@pytest.fixture
def house(take: Callable[[], House]) -> House:
    """Return a site in which nothing is recorded."""
    return take()


def headers(answer: Answer) -> dict[str, str]:
    fields = {name.lower(): value for name, value in answer.fields}
    assert len(fields) == len(answer.fields), "a field came twice"
    for name in ("date", "content-length"):
        del fields[name]
    return fields


# --- what links are given ---

BEFORE = {
    "cache-control": "private, no-store",
    "content-type": "text/html; charset=utf-8",
    "content-security-policy": POLICY,
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "x-robots-tag": "noindex, nofollow",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}
"""Every header of a page as it was before any page could be kept."""

PARTS = ["/sw.js", "/manifest.webmanifest", "/stand"]


def test_a_link_that_was_not_made_for_it_has_the_headers_that_it_had_and_no_script(house: House) -> None:
    page = house.get(whose=house.sam)
    assert headers(page) == BEFORE
    for word in ("script", "manifest", "offline", 'id="keep', 'id="unsent'):
        assert word not in page.text
    for part in PARTS:
        answer = house.get(part, house.sam)
        assert answer.status == 404
        assert answer["Content-Security-Policy"] == POLICY
    assert house.get("/calendar", house.sam)["Content-Security-Policy"] == POLICY


def test_a_link_that_was_gains_these_sources_and_nothing_else(house: House) -> None:
    page = house.get()
    assert headers(page) == {**BEFORE, "content-security-policy": POLICY + GAINED}
    for part in ("/calendar", "/nowhere"):
        assert house.get(part)["Content-Security-Policy"] == POLICY + GAINED
    # Nothing is inline: one script of our own, by its address.
    scripts = re.findall(r"<script[^>]*>[^<]*", page.text)
    assert len(scripts) == 1 and scripts[0].endswith(">")
    assert re.search(r"\s(on\w+|style)=", page.text) is None
    # What is the same for all stays under the policy of all.
    (address,) = re.findall(r'<script src="([^"]+)"', page.text)
    for path in (address, "/style.css", "/icon.svg"):
        answer = ask(house.served.url, path)
        assert (answer.status, answer["Content-Security-Policy"]) == (200, POLICY)


def test_the_script_is_at_an_address_of_its_own_bytes(house: House) -> None:
    (address,) = re.findall(r'<script src="([^"]+)"', house.get().text)
    script = ask(house.served.url, address)
    assert script["Content-Type"] == "text/javascript; charset=utf-8"
    assert script["Cache-Control"] == "public, max-age=31536000, immutable"
    assert address == f"/offline-{hashlib.sha256(script.body).hexdigest()[:16]}.js"
    assert ask(house.served.url, "/offline-0123456789abcdef.js").status == 404
    for word in ("eval", "innerHTML", "new Function", "document.write", ".style", "import("):
        assert word not in script.text


def test_the_worker_is_asked_for_anew_and_reaches_its_own_page_alone(house: House) -> None:
    worker = house.get("/sw.js")
    assert worker["Content-Type"] == "text/javascript; charset=utf-8"
    assert worker["Cache-Control"] == "no-cache"
    assert worker["Service-Worker-Allowed"] == page_path(house.noor)
    # The policy of a worker is that of its own answer.
    assert worker["Content-Security-Policy"] == POLICY + GAINED


def test_the_manifest_leads_to_the_page_under_the_name_of_the_site(house: House) -> None:
    """W3C, Web Application Manifest: a start_url has to lie within the scope, an icon to be one that there is."""
    answer = house.get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    manifest = json.loads(answer.body)
    assert manifest["name"] == read_site(house.file).settings.name
    assert manifest["start_url"] == manifest["scope"] == manifest["id"] == page_path(house.noor)
    for icon in manifest["icons"]:
        found = ask(house.served.url, icon["src"])
        assert found["Content-Type"].partition(";")[0] == icon["type"]


@pytest.mark.parametrize(
    ("host", "offered"),
    [
        ("turtles.example.org", False),
        ("192.168.1.20:8737", False),
        ("localhost.example.org", False),
        ("localhost:8737", True),
        ("127.0.0.1", True),
        ("[::1]:8737", True),
    ],
)
def test_it_is_offered_on_the_machine_itself_and_else_over_https_alone(
    house: House, host: str, offered: bool
) -> None:
    """W3C, Secure Contexts, section 3.1: loopback addresses and localhost are potentially trustworthy."""
    page = house.get(Host=host)
    assert (page["Content-Security-Policy"] == POLICY + GAINED) is offered
    assert ("<script" in page.text) is offered
    why = "Use without a network was asked for; it needs an address that begins with https."
    assert (why in page.text) is not offered
    assert house.get("/sw.js", Host=host).status == (200 if offered else 404)
    # A proxy that ends TLS says so.
    assert "<script" in house.get(**{"Host": host, "X-Forwarded-Proto": "https"}).text


def test_a_change_of_the_link_is_seen_by_the_next_request(house: House) -> None:
    site = read_site(house.file)
    change_link(house.file, site, "page-noor", offline=False)
    assert headers(house.get()) == BEFORE
    assert house.get("/sw.js").status == 404
    change_link(house.file, site, "page-sam", offline=True)
    assert house.get(whose=house.sam)["Content-Security-Policy"] == POLICY + GAINED


def test_a_calendar_is_not_made_for_it(house: House) -> None:
    with pytest.raises(UsageError, match="--offline is for the page of a round"):
        make_link(house.file, read_site(house.file), LinkRequest(kind="site", offline=True))


# --- what a phone sends ---


def test_what_is_sent_at_once_is_recorded_as_any_form_and_says_where_to_go(house: House) -> None:
    answer = house.post(house.tick(), queued=ID)
    assert (answer.status, answer["Content-Type"]) == (200, "application/json")
    assert json.loads(answer.body)["go"].startswith(page_path(house.noor))
    ((day, name, keeper, time),) = house.told()
    assert (day, name, keeper) == (TODAY, "pane", "noor")
    assert time != "None", "its hour is that of now"


def test_what_is_sent_at_once_from_a_page_of_another_day_is_refused_as_any_form(house: House) -> None:
    """Somebody whose page was open since yesterday means today."""
    answer = house.send(house.tick(), late="")
    assert answer.status == 409
    assert house.entries() == []


def test_what_is_sent_later_is_of_its_own_day_without_an_hour_and_counts_once(house: House) -> None:
    form = house.tick()
    for _ in range(3):
        answer = house.send(form)
        assert (answer.status, json.loads(answer.body)) == (200, {"said": ""})
    assert house.told() == [(MONDAY, "pane", "noor", "None")]
    assert json.loads(house.send(form, on="yesterday").body) == {"said": ""}
    assert house.told()[1:] == [(SUNDAY, "pane", "noor", "None")]


def test_what_is_sent_later_the_same_day_has_no_hour_either(house: House) -> None:
    form = house.tick()
    assert house.post(form, queued=ID, late="yes").status == 200
    assert house.post(form, queued=ID).status == 200
    assert house.told() == [(TODAY, "pane", "noor", "None")]


def test_a_sending_whose_answer_was_lost_does_not_count_twice(house: House) -> None:
    form, value = house.tick(), house.reading()
    assert house.post(form, queued=ID).status == house.post(value, queued=ID).status == 200
    for one in (form, value):
        answer = house.post(one, queued=ID, late="yes")
        assert (answer.status, json.loads(answer.body)) == (200, {"said": ""})
    assert [name for _, name, _, _ in house.told()] == ["pane", "ph"]


def test_a_reading_of_another_day_counts_once_for_that_day(house: House) -> None:
    form = house.reading("7.4")
    for _ in range(2):
        assert house.send(form).status == 200
    assert [(str(e.day), e.value, e.keeper) for e in house.entries()] == [(MONDAY, 7.4, "noor")]


def test_what_others_did_meanwhile_is_told_and_not_doubled(house: House) -> None:
    form = house.tick()
    pondround(house.file.parent, "did", house.file.name, "Sedge", "pane", "--by", "Sam", "--today", MONDAY)
    answer = house.send(form, note="the rim was dull")
    assert json.loads(answer.body)["said"] == (
        "Sam had recorded it for 14 December 2026 already; it counts once."
    )
    (entry,) = house.entries()
    assert (entry.keeper, entry.note) == ("sam", "Noor: the rim was dull")


def test_what_was_taken_back_meanwhile_is_refused_and_stays_so(house: House) -> None:
    form = house.tick()
    house.send(form)
    pondround(house.file.parent, "undo", house.file.name, "--today", TODAY)
    answer = house.send(form)
    assert answer.status == 409
    assert json.loads(answer.body)["said"].startswith("It was recorded and taken back meanwhile")
    assert house.entries() == []


def test_several_jobs_are_recorded_each_for_itself(house: House) -> None:
    form = house.tick()
    many = {"job/sedge/pane/": "1", "job/sedge/gone/": "1"}
    sent = Form(form.action.removesuffix("done") + "all-done", {**form.fields, **many})
    answer = house.send(sent)
    assert answer.status == 200
    assert json.loads(answer.body)["said"] == ('Sedge, "gone": this job is no longer in the plan.')
    assert house.told() == [(MONDAY, "pane", "noor", "None")]


def values(house: House, **typed: str) -> Form:
    """Return the form of a water test at the Sedge with some values."""
    form = house.tick()
    fields = {"job/sedge/water-test/": "1", **{f"value/sedge/{name}/": text for name, text in typed.items()}}
    return Form(form.action.removesuffix("done") + "readings", {**form.fields, **fields})


def test_the_values_of_a_sheet_are_of_their_own_day_and_count_once(house: House) -> None:
    form = values(house, ph="7,4", nitrate="20")
    for _ in range(2):
        answer = house.send(form, basis="ion")
        assert (answer.status, json.loads(answer.body)) == (200, {"said": ""})
    found = [(str(e.day), e.name, e.value) for e in house.entries() if e.value is not None]
    assert found == [(MONDAY, "ph", 7.4), (MONDAY, "nitrate", 20.0)]


def test_values_that_are_wrong_or_look_mistyped_are_refused_with_what_is_wrong(house: House) -> None:
    answer = house.send(values(house, ph="bananas", nitrate="20"))
    assert answer.status == 409
    assert "bananas" in json.loads(answer.body)["said"]
    answer = house.send(values(house, ph="12.9"))
    assert (answer.status, json.loads(answer.body)["doubt"]) == (422, True)
    assert house.entries() == []
    assert house.send(values(house, ph="12.9"), sure="yes").status == 200
    assert [e.value for e in house.entries() if e.name == "ph"] == [12.9]


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"day": "2026-12-18"}, 409, "This is of 2026-12-18, and today is 2026-12-17 here. Nothing was recorded."),
        ({"day": LONG_AGO}, 409, "This is of 2026-12-02, more than 14 days ago"),
        ({"seal": "0" * 32}, 403, "This form is not from the page."),
        ({"key": "gone"}, 409, "This job is no longer in the plan. Nothing was recorded."),
        ({"note": "x" * 2001}, 409, "The note has 2001 characters; 2000 are kept at most. Nothing was recorded."),
        ({"day": "2026-02-30"}, 400, "This cannot be read."),
    ],
    ids=["tomorrow", "long ago", "a false seal", "a job that is gone", "a long note", "no day"],
)  # fmt: skip
def test_what_is_refused_says_why_and_records_nothing(
    served: tuple[Served, list[House]], change: dict[str, str], status: int, said: str
) -> None:
    house = served[1][0]
    form = house.tick()
    day = {"day": change["day"]} if "day" in change else {}
    answer = house.send(form, **day, **{k: v for k, v in change.items() if k != "day"})
    assert answer.status == status
    assert json.loads(answer.body)["said"].startswith(said)
    assert house.entries() == []


def test_a_value_that_looks_mistyped_is_asked_about(house: House) -> None:
    form = house.reading("41 °C", "temperature")
    answer = house.send(form)
    assert answer.status == 422
    assert json.loads(answer.body) == {
        "said": "Water temperature: 41 °C is unlikely; expected 5 °C to 40 °C.",
        "doubt": True,
    }
    assert house.entries() == []
    assert house.send(form, sure="yes").status == 200
    assert [e.value for e in house.entries()] == [41.0]


def test_a_value_that_is_none_says_so_in_the_words_of_its_field(house: House) -> None:
    answer = house.send(house.reading("12 bananas", "temperature"))
    assert answer.status == 409
    assert "12 bananas" in json.loads(answer.body)["said"]


def test_only_a_link_that_was_made_for_it_takes_what_is_sent_later(house: House) -> None:
    (form,) = forms(house.get(whose=house.sam).text, "reading")
    answer = house.post(form, queued=ID, enclosure="sedge", reading="ph", value="7.4")
    assert (answer.status, json.loads(answer.body)) == (
        403,
        {"said": "This page is no longer made for use without a network."},
    )
    assert house.entries() == []


def test_a_form_of_another_site_is_refused(house: House) -> None:
    form = house.tick()
    fields = {**form.fields, "queued": ID}
    for head in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example"}):
        assert post(house.served.url, form.action, fields, head).status == 403
    assert house.entries() == []


def test_a_revoked_link_is_told_from_one_whose_keeper_is_not_in_the_description(
    take: Callable[[], House],
) -> None:
    house, ended = take(), take()
    form = house.tick()
    text = house.file.read_text("utf-8")
    house.file.write_text(text.replace('name = "Noor"', 'name = "Noor Ash"'), "utf-8")
    for answer in (house.get(), house.send(form)):
        assert (answer.status, answer["Retry-After"]) == (404, "3600")
    house.file.write_text(text.replace('name = "Noor"', 'name = "Noor Ash"\nid = "noor"'), "utf-8")
    assert house.send(form).status == 200
    assert house.told() == [(MONDAY, "pane", "noor", "None")]

    form = ended.tick()
    pondround(ended.file.parent, "links", ended.file.name, "--revoke", "page-noor")
    for answer in (ended.get(), ended.send(form)):
        assert (answer.status, answer["Retry-After"]) == (404, "")
        assert answer["Content-Security-Policy"] == POLICY
