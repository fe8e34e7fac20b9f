"""The set-up without a browser: its steps, what is refused and how, what it leaves behind, and whom it answers."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from support.web.http_client import ask, forms, post
from support.web.serving import Served, make_link, serving
from support.web.setting_up import NOWHERE, TYPED, Visitor, reachable, setting_up

from scheduler.description.starter import starter_text
from scheduler.web.security import SECURITY
from scheduler.workflow import read_site

ANSWERS = {
    "name": "Mill Lane", "time_zone": "Europe/Dublin", "keeper": "Noor", "units": "metric", "locale": "en-IE",
    "enclosure": "Sedge", "kind": "tank", "length": "120 cm", "width": "50 cm", "height": "20 in",
    "water_depth": "40 cm", "covered": "yes", "set_up": "2026-11-20", "filter": "canister", "flow": "2000 L/h",
    "heater": "200 W", "set_to": "25 degC", "lamp": "T5 HO tube", "lamp_power": "39 W",
    "lamp_installed": "2026-11-20", "lamp_hours": "12", "second_lamp": "heat", "second_lamp_power": "60 W",
    "animal": "Fern", "species": "pond slider", "carapace": "14 cm", "arrived": "2026-11-28", "grams": "3",
    "protein": "40",
}  # fmt: skip
"""What is typed in `setting_up`, as the questions have it."""


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    """Serve one set-up that no test finishes."""
    folder = tmp_path_factory.mktemp("shared")
    with serving(folder, "turtles.toml", env={"TZ": "Europe/Dublin"}) as served:
        yield served, folder


@pytest.fixture
def visitor(shared: tuple[Served, Path]) -> Visitor:
    """Return a browser at the first step of a draft of its own."""
    return Visitor.at(shared[0].url)


# --- the way through ---


def test_six_steps_write_the_description_and_serve_it(tmp_path: Path) -> None:
    with setting_up(tmp_path, before=NOWHERE) as (served, visitor):
        visitor.walk()
        assert visitor.step == "phones", visitor.wrong
        assert [file.name for file in tmp_path.glob("*.toml")] == ["enclosures.toml"]
        text = (tmp_path / "enclosures.toml").read_text("utf-8")
        assert text == starter_text(ANSWERS)
        site = read_site(tmp_path / "enclosures.toml")
        (tank,) = site.enclosures
        assert [keeper.name for keeper in site.keepers] == ["Noor"]
        assert (tank.heater[0].power, tank.height, tank.covered) == (200, pytest.approx(50.8), True)
        assert [lamp.kind for lamp in tank.lamp] == ["T5 HO tube", "heat"]
        assert (tank.feed.grams, tank.feed.protein) == (3, 0.4)
        visitor.send("no")
        assert visitor.page.status == 200 and visitor.path.endswith("/phones")
        work_sheet = ask(visitor.url, visitor.path.removesuffix("/phones"))
        assert work_sheet.status == 200 and "Sedge" in work_sheet.text
        # The process serves what it always serves: a link that is made now opens too.
        made = make_link(tmp_path / "enclosures.toml", "--site", "--url", visitor.url)
        assert ask(visitor.url, urlsplit(made["calendar"]).path).status == 200
        assert served.log_lines[-1].startswith("Whoever has it can write the file")


def test_nothing_but_the_time_zone_has_to_be_said(tmp_path: Path) -> None:
    with setting_up(tmp_path, "small.toml", before=NOWHERE) as (_, visitor):
        for _ in range(6):
            visitor.send()
        assert visitor.step == "phones"
    assert (tmp_path / "small.toml").read_text("utf-8") == starter_text({"time_zone": "Europe/Dublin"})


def test_several_animals_are_added_and_taken_away_again(tmp_path: Path) -> None:
    with setting_up(tmp_path, before=NOWHERE) as (_, visitor):
        visitor.walk("animals").send("more", animal="Fern", species="pond slider")
        assert visitor.fields["animal"] == "Fern" and visitor.fields["animal-2"] == "Turtle 2"
        visitor.send("more", **{"animal-2": "Moss", "carapace-2": "5 in"}).send("fewer")
        assert "animal-3" not in visitor.fields
        visitor.send().send(**TYPED["food"])
        (tank,) = read_site(tmp_path / "enclosures.toml").enclosures
        assert [(a.name, a.species) for a in tank.resident] == [("Fern", "pond slider"), ("Moss", None)]
        assert tank.resident[1].carapace == pytest.approx(12.7)


def test_the_machine_s_zone_is_chosen_and_each_zone_has_its_hour(visitor: Visitor) -> None:
    assert visitor.fields["time_zone"] == "Europe/Dublin"
    assert visitor.page.text.count(" selected>") == 1
    assert visitor.page.text.count("<option") > 300


def test_without_a_zone_it_does_not_go_on(tmp_path: Path) -> None:
    with setting_up(tmp_path, env={"TZ": "UTC"}) as (_, visitor):
        visitor.send(time_zone="")
        assert (visitor.step, visitor.wrong) == ("place", {"time_zone": "Choose the zone of your place"})


def test_back_keeps_what_was_typed_right_or_wrong(visitor: Visitor) -> None:
    visitor.walk("enclosure").send("back", length="as long as my arm", water_depth="12")
    assert visitor.step == "units"
    visitor.send()
    assert (visitor.fields["length"], visitor.fields["water_depth"]) == ("as long as my arm", "12")
    # Nobody said yet that it was meant to be right.
    assert visitor.wrong == {}


def test_units_are_offered_by_the_system_and_those_typed_stay(visitor: Visitor) -> None:
    visitor.walk("units").send(units="us")
    assert 'value="in" selected' in visitor.page.text
    visitor.send("again", length="36", width="45.5 cm", height="40", **{"height-unit": "mm"})
    assert (visitor.fields["length"], visitor.fields["width"]) == ("36", "45.5 cm")
    assert '<option value="mm" selected>' in visitor.page.text


def test_litres_alone_give_the_sizes_of_a_common_tank_to_be_looked_at(visitor: Visitor) -> None:
    visitor.walk("enclosure").send(by="holds", holds="250")
    assert visitor.step == "enclosure" and visitor.path.endswith("#told")
    sizes = [visitor.fields[key] for key in ("length", "width", "height", "water_depth", "by")]
    assert sizes == ["120", "40", "50", "", "measured"]
    assert "A tank that holds about 250 L is commonly 120 × 40 × 50 cm, 240 L to the rim" in visitor.page.text
    assert visitor.send(water_depth="40").step == "equipment"


def test_a_common_size_is_taken_as_it_is(visitor: Visitor) -> None:
    visitor.walk("enclosure").send(by="common", common="36 × 18 × 16 in, 45 gal", water_depth="14 in")
    assert visitor.step == "equipment"
    assert "36 × 18 × 16 in" not in visitor.page.text
    visitor.send("back")
    assert [visitor.fields[key] for key in ("length", "width", "height")] == ["36", "18", "16"]


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"by": "holds", "holds": "7 L"}, "holds", "No common tank holds about so much; measure it"),
        ({"by": "holds", "holds": "a lot"}, "holds", 'Found "a lot", expected a volume with its unit'),
        ({"by": "common", "common": ""}, "common", "Choose one of the sizes"),
        ({"by": "common", "common": "<b>"}, "common", "Choose one of the sizes"),
        (
            {"length": "40", "width": "50"},
            "width",
            "The width (50 cm) is larger than the length (40 cm); swap",
        ),
        ({"set_up": "in spring"}, "set_up", 'Found "in spring"; expected a date'),
        ({"kind": "bath"}, "kind", 'Found "bath"; expected "tank", "tub" or "pond"'),
        ({"enclosure": "n" * 2000}, "enclosure", "Found a name of 1000 characters; write at most 80"),
        ({"enclosure": "a\x07b"}, "enclosure", "a name with a line break or control character"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_a_mistake_stands_beside_its_field_and_what_was_typed_stays(
    visitor: Visitor, typed: dict[str, str], field: str, said: str
) -> None:
    visitor.walk("enclosure").send(**typed)
    assert visitor.step == "enclosure"
    assert list(visitor.wrong) == [field] and said in visitor.wrong[field]
    page = visitor.page.text
    assert f'<a href="#{field}">' in page and f'aria-describedby="{field}-wrong' in page
    for name, text in typed.items():
        # A control character is no text of HTML, and 1000 characters are enough to see what it was.
        if "\x07" not in text and name not in ("common", "kind"):
            assert visitor.fields[name] in (text, text[:1000])


def test_an_earlier_step_that_is_wrong_is_found_at_the_end(visitor: Visitor) -> None:
    visitor.walk("food")
    (form,) = forms(visitor.page.text)
    draft = form.action.rpartition("/")[0]
    visitor.open(f"{draft}/enclosure").send("back", set_up="2027-01-01")
    visitor.open(f"{draft}/food").send(**TYPED["food"])
    assert visitor.step == "animals"
    assert "before the enclosure was set up on 2027-01-01" in visitor.wrong["arrived"]


def test_a_second_lamp_may_be_the_only_one_but_no_lamp_is_without_a_kind(visitor: Visitor) -> None:
    visitor.walk("equipment").send(lamp_power="39")
    assert visitor.wrong == {"lamp": "Kind is missing; choose one, or leave out what belongs to it"}


# --- the review ---


def test_the_review_grows_and_says_first_what_to_act_on(visitor: Visitor) -> None:
    visitor.walk("enclosure")
    assert "What follows so far" in visitor.page.text and "No filter is described" not in visitor.page.text
    visitor.send("again", **TYPED["enclosure"])
    assert visitor.path.endswith("/enclosure#review")
    assert '<span class="amount">240 L</span> of water' in visitor.page.text
    assert "Filled it weighs" in visitor.page.text
    visitor.send().send("again", filter="", lamp="")
    assert "No filter is described" in visitor.page.text
    visitor.send().send("again", species="pond slider", carapace="25")
    page = visitor.page.text
    assert 0 < page.index("Act on</h3>") < page.index("There is no UV lamp") < page.index("Look at</h3>")


def test_with_a_mistake_nothing_is_worked_out(visitor: Visitor) -> None:
    visitor.walk("enclosure").send(length="long")
    assert "Nothing can be worked out until what is marked is mended." in visitor.page.text


# --- hostile input ---

TOML = '"]\n[[enclosure]]\nname = "Other'
SCRIPT = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


def test_text_that_is_toml_or_script_stays_text(tmp_path: Path) -> None:
    with setting_up(tmp_path, before=NOWHERE) as (_, visitor):
        visitor.send(name=TOML, keeper=SCRIPT)
        assert "line break" in visitor.wrong["name"]
        assert "<script" not in visitor.page.text and "<img" not in visitor.page.text
        assert visitor.fields["keeper"] == SCRIPT
        visitor.send(name=TOML.replace("\n", " ")).send().send(enclosure=SCRIPT).send().send(
            animal="'''\"\"\"\\"
        ).send()
        assert visitor.step == "phones", visitor.wrong
        data = tomllib.loads((tmp_path / "enclosures.toml").read_text("utf-8"))
        assert data["site"]["name"] == TOML.replace("\n", " ") and data["keeper"][0]["name"] == SCRIPT
        assert [e["name"] for e in data["enclosure"]] == [SCRIPT]
        visitor.send("no")
        assert "<script" not in visitor.page.text and "<img" not in visitor.page.text


def test_fields_that_no_page_has_change_nothing(visitor: Visitor) -> None:
    visitor.walk("enclosure").send(
        "again",
        animals="99",
        **{
            "site.log": "sqlite:////etc/x",
            "path": "/etc",
            "length-unit": "mile",
            "by": "magic",
            "length": "90",
        },
    )
    assert visitor.step == "enclosure" and visitor.wrong == {}
    assert 'name="length-unit"' in visitor.page.text and "mile" not in visitor.page.text
    visitor.send().send()
    assert "animal-2" not in visitor.fields


@pytest.mark.parametrize(
    ("fields", "body", "status"),
    [
        ({"Origin": "https://elsewhere.example"}, b"name=x", 403),
        ({"Sec-Fetch-Site": "cross-site"}, b"name=x", 403),
        ({"Content-Type": "text/plain"}, b"name=x", 415),
        ({}, b"name=" + b"x" * 200_000, 413),
        ({}, b"&".join(b"a%d=1" % n for n in range(2500)), 400),
        ({}, b"name=%ff%fe", 400),
        ({}, b"name", 400),
    ],
    ids=["other origin", "other site", "no form", "too large", "too many fields", "no UTF-8", "no pairs"],
)
def test_what_is_no_form_of_the_page_is_refused(
    visitor: Visitor, fields: dict[str, str], body: bytes, status: int
) -> None:
    sent = {"Content-Type": "application/x-www-form-urlencoded", "Origin": "null", **fields}
    assert ask(visitor.url, visitor.path, "POST", body, sent).status == status
    visitor.open(visitor.path)
    assert visitor.page.status == 200


@pytest.mark.parametrize(
    "name",
    [
        "../x.toml",
        "/etc/x.toml",
        "a/b.toml",
        ".toml",
        ".x.toml",
        "x.txt",
        "x.species.toml",
        "a\x00.toml",
        "x" * 99 + ".toml",
    ],
)
def test_the_file_lies_in_its_folder_whatever_it_is_called(
    visitor: Visitor, shared: tuple[Served, Path], name: str
) -> None:
    visitor.walk("food").send(file=name)
    assert (visitor.step, list(visitor.wrong), visitor.page.status) == ("food", ["file"], 422)
    assert "is no name for the file" in visitor.wrong["file"]
    assert list(shared[1].glob("**/*.toml")) == []


def test_steps_and_drafts_that_are_not_there(visitor: Visitor) -> None:
    start = visitor.path.rpartition("/")[0]
    assert ask(visitor.url, f"{start}/cellar").status == 404
    # A draft that was forgotten begins anew; what cannot be the name of one, too.
    other = visitor.open(f"{start[:-3]}xyz/enclosure")
    assert other.step == "place" and other.page.status == 200


def test_drafts_are_forgotten_where_there_are_too_many(shared: tuple[Served, Path]) -> None:
    first = Visitor.at(shared[0].url).send(name="First")
    for _ in range(50):
        Visitor.at(shared[0].url)
    assert first.open(first.path).step == "place"


# --- two at once, and a disk that is full ---


def test_of_two_browsers_the_second_is_told_and_loses_nothing(tmp_path: Path) -> None:
    with setting_up(tmp_path, before=NOWHERE) as (served, one):
        other = Visitor.at(served.url)
        one.walk("food")
        other.send(name="Other House").send().send(enclosure="Reed").send().send()
        assert one.open(one.path).fields["grams"] == "" and other.step == "food"
        one.send(**TYPED["food"])
        other.send(grams="2")
        assert (other.step, other.page.status) == ("food", 503)
        assert "it exists already and stays as it is" in other.page.text
        assert "Nothing that you typed is lost" in other.page.text and other.fields["grams"] == "2"
        assert read_site(tmp_path / "enclosures.toml").settings.name == "Mill Lane"
        other.send(file="other.toml")
        assert other.step == "phones"
        assert read_site(tmp_path / "other.toml").settings.name == "Other House"
        other.send("no")
        assert "Other House" in other.page.text


def test_a_file_that_appears_meanwhile_stays(tmp_path: Path) -> None:
    with setting_up(tmp_path, "turtles.toml", before=NOWHERE) as (_, visitor):
        visitor.walk("food")
        (tmp_path / "turtles.toml").write_text("mine", "utf-8")
        visitor.send(**TYPED["food"])
        assert visitor.page.status == 503 and "it exists already and stays as it is" in visitor.page.text
        assert visitor.fields["grams"] == "3"
    assert (tmp_path / "turtles.toml").read_text("utf-8") == "mine"


FULL = """
import errno, os
real, left = os.fsync, [1]
def fsync(handle):
    if left:
        left.pop()
        raise OSError(errno.ENOSPC, "No space left on device")
    real(handle)
os.fsync = fsync
from scheduler.web.setup import routes
routes.local_address = lambda: ''
"""


def test_a_full_disk_is_told_with_what_was_typed(tmp_path: Path) -> None:
    with setting_up(tmp_path, before=FULL) as (_, visitor):
        visitor.walk()
        assert (visitor.step, visitor.page.status) == ("food", 503)
        assert "No space left on device. Nothing that you typed is lost" in visitor.page.text
        assert visitor.fields["grams"] == "3"
        assert list(tmp_path.iterdir()) == []
        visitor.send()
        assert visitor.step == "phones"
    assert (tmp_path / "enclosures.toml").read_text("utf-8") == starter_text(ANSWERS)


# --- whom it answers ---


def test_it_answers_this_machine_alone_and_who_knows_the_secret(visitor: Visitor) -> None:
    start = visitor.path.rpartition("/")[0].rpartition("/")[0]
    assert ask(visitor.url, f"{start[:-1]}{'A' if start[-1] != 'A' else 'B'}").status == 404
    for path in (
        "/set-up",
        "/set-up/",
        "/set-up/%E2%98%83",
        f"/set-up/{'A' * 27}/x/place",
        f"/set-up/{'A' * 27}/phones",
    ):
        assert ask(visitor.url, path).status == 404, path
    for fields in (
        {"X-Forwarded-For": "192.0.2.77"},
        {"Host": "turtles.example.org"},
        {"Host": "rebound.example:80"},
    ):
        assert ask(visitor.url, visitor.path, fields=fields).status == 404, fields
        sent = {"Content-Type": "application/x-www-form-urlencoded", **fields}
        assert ask(visitor.url, visitor.path, "POST", b"name=x", sent).status in (403, 404), fields
    assert visitor.open(visitor.path).fields["name"] == "Home"


def test_from_the_network_it_is_not_there(tmp_path: Path) -> None:
    address = reachable()
    with setting_up(tmp_path, host="0.0.0.0") as (served, visitor):
        parts = urlsplit(served.url)
        assert parts.hostname == "127.0.0.1"
        theirs = f"http://{address}:{parts.port}"
        assert ask(theirs, "/healthz").status == 200
        assert ask(theirs, parts.path).status == 404
        # Nor where somebody there names this machine as what he wants.
        assert ask(theirs, visitor.path, fields={"Host": "127.0.0.1"}).status == 404


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"workers": 2}, "in one process: leave out --workers"),
        ({"host": "192.0.2.1"}, "on this machine alone: leave out --host"),
    ],
)
def test_what_does_not_go_with_a_set_up_is_told(
    tmp_path: Path, options: dict[str, object], said: str
) -> None:
    from support.commands import run_command

    words = [word for name, value in options.items() for word in (f"--{name}", str(value))]
    done = run_command("serve", "new.toml", "--port", "0", *words, cwd=tmp_path)
    assert (done.returncode, list(tmp_path.iterdir())) == (2, [])
    assert said in done.stderr


def test_pages_have_the_headers_of_all_pages_and_no_cookie_and_no_script(visitor: Visitor) -> None:
    for _ in range(6):
        answer = visitor.page
        kept = {name.lower(): value for name, value in answer.fields}
        assert {name: kept[name.decode()].encode() for name, _ in SECURITY} == dict(SECURITY)
        assert kept["cache-control"] == "private, no-store"
        assert "set-cookie" not in kept
        assert "<script" not in answer.text and " onclick" not in answer.text and "style=" not in answer.text
        visitor.send("on", **({"time_zone": "Europe/Dublin"} if visitor.step == "place" else {}))
        if visitor.step == "food":
            break
    assert visitor.step == "food"


def test_a_form_of_a_draft_may_say_anything_to_go(visitor: Visitor) -> None:
    """A word that no button has goes on, as the first button does."""
    (form,) = forms(visitor.page.text)
    answer = post(visitor.url, form.action, {**form.fields, "time_zone": "Europe/Dublin", "go": "x" * 5000})
    assert (answer.status, answer["Location"].rpartition("/")[2]) == (303, "units")
