"""The sheet of a job that asks for values: what is stored, what is left open, what is refused and how nothing that was typed is lost."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Iterator

import pytest
from support.web.house import House, made, site_of
from support.web.http_client import TODAY, Answer, Form, ask, forms, page_path
from support.web.serving import serving

from scheduler.care import KEYS
from scheduler.history import Entry
from scheduler.log import open_log

HOUSES = 16

_THEN = dt.datetime(2026, 11, 16, 9)  # noqa: DTZ001 - the log keeps UTC without zone
BEFORE = [
    entry
    for tank in ("sedge", "rush", "reed")
    for entry in (
        Entry(
            kind="done",
            enclosure=tank,
            name="weigh-measure",
            day=dt.date(2026, 11, 2),
            title="weigh and measure",
            recorded=_THEN,
        ),
        Entry(
            kind="reading",
            enclosure=tank,
            name="nitrate",
            day=dt.date(2026, 12, 7),
            value=28.0,
            given="28 mg/L as NO3",
            recorded=_THEN,
        ),
    )
]
"""The record has begun; a weighing and a test are due today."""

OFF = ", ".join(
    f"{key} = {{off = true}}" for key in KEYS if key not in ("water-test", "weigh-measure", "feed")
)

KIT = '[site.test_kit]\nammonia = "N"\nnitrite = "N"\nnitrate = "NO3"\n'


def pool(name: str, kit: str = "", units: str = "metric") -> str:
    """Return a place with three tanks, where this Monday the water is tested and everybody is weighed."""
    tanks = "".join(
        f'[[enclosure]]\nname = "{tank}"\nroom = "hall"\nset_up = 2026-01-05\ncycled = true\njob = {{{OFF}}}\n'
        f'resident = [{{name = "{animal}", species = "painted turtle", carapace = "15 cm", mass = "{mass} g", measured = 2026-11-30}}]\n'
        for tank, animal, mass in (("Sedge", "Fern", 480), ("Rush", "Moss", 500), ("Reed", "Alder", 520))
    )
    head = f'[site]\nname = "{name}"\ntime_zone = "Europe/Dublin"\nunits = "{units}"\nlog = "sqlite:///turtles.db"\n'
    return f'{head}{kit}\n[[keeper]]\nname = "Noor"\nminutes = 600\ncan = ["adult"]\n\n[[keeper]]\nname = "Sam"\naway = ["2026-12-01/2026-12-31"]\n\n{tanks}'


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, House]]:
    folder = tmp_path_factory.mktemp("pools")
    texts = {f"pool-{n}": pool(f"Pool {n}") for n in range(HOUSES)}
    texts |= {"kit": pool("Kit House", KIT)}
    there = {name: made(folder / f"{name}.toml", text) for name, text in texts.items()}
    with open_log(f"sqlite:///{folder / 'turtles.db'}") as log:
        for file, *_ in there.values():
            log.record(site_of(file), BEFORE)
    with serving(folder, today=TODAY) as served:
        yield {
            name: House(file, served, noor, sam, calendar)
            for name, (file, noor, sam, calendar) in there.items()
        }
    assert "Traceback" not in "\n".join(served.log_lines)


@pytest.fixture(scope="module")
def unused(houses: dict[str, House]) -> list[House]:
    return [house for name, house in houses.items() if name.startswith("pool-")]


@pytest.fixture
def house(unused: list[House]) -> House:
    return unused.pop()


def sheet(house: House, key: str = "water-test", tank: str = "sedge") -> Form:
    """Return the form of a job of Noor's round that asks for values."""
    (form,) = [f for f in forms(house.page(house.noor), "readings") if f"job/{tank}/{key}/" in f.fields]
    return form


def fill(house: House, form: Form, **typed: str) -> Answer:
    """Send a form with values typed into the fields of the tank Sedge."""
    return house.send(
        form,
        **{f"value/sedge/{name}/": text for name, text in typed.items() if name != "basis"},
        basis=typed.get("basis", ""),
    )


def stored(house: House) -> list[tuple[str, str, float | None]]:
    """Return what stands that was recorded for today."""
    return [
        (e.kind, e.name, e.value)
        for e in house.entries()
        if str(e.day) == TODAY and not e.voided and e.kind != "void"
    ]


WHOLE = {"ammonia": "0", "nitrite": "0,05", "nitrate": "35", "ph": "7.4", "basis": "N"}


def test_a_water_test_is_four_values_and_one_record(house: House) -> None:
    """The values and the job as done come into the log together, with what the kit reads as; a comma is a point."""
    form = sheet(house)
    assert "last: 28 mg/L, Mon 7 Dec" in house.page(house.noor)
    assert {name: text for name, text in form.fields.items() if name.startswith("value/")} == {
        f"value/sedge/{name}/": "" for name in ("ammonia", "nitrite", "nitrate", "ph", "temperature")
    }, "nothing is filled in"
    assert form.choices["basis"][0] == "", "nothing is chosen"
    answer = fill(house, form, **{**WHOLE, "nitrate": "35 mg/L as NO3"})
    assert answer.status == 303
    assert stored(house) == [
        ("reading", "ammonia", 0.0),
        ("reading", "nitrite", 0.05),
        ("reading", "nitrate", 35.0),
        ("reading", "ph", 7.4),
        ("done", "water-test", None),
    ]
    assert {(e.keeper, e.recorded) for e in house.entries()[-5:]} == {("noor", house.entries()[-1].recorded)}
    told = ask(house.url, answer["Location"])
    assert told.status == 200 and "nitrite: 0.05 mg/L" in told.text
    assert not [f for f in forms(house.page(house.noor), "readings") if "job/sedge/water-test/" in f.fields]


@pytest.mark.parametrize("times", [2])
def test_sent_twice_it_counts_once(house: House, times: int) -> None:
    """A double tap, the back button, and a form that comes late."""
    form = sheet(house)
    for _ in range(times):
        assert fill(house, form, **WHOLE).status == 303
    assert len(stored(house)) == 5
    (undo,) = [
        f
        for f in forms(house.page(house.noor), "undo")
        if f.fields["entry"] == str(house.entries()[-1].number)
    ]
    assert house.send(undo).status == 303
    assert stored(house) == [], "what was recorded together is taken back together"
    assert fill(house, form, **WHOLE).status == 303
    assert stored(house) == [], "what was taken back is not recorded again by the same form"
    assert fill(house, sheet(house), **WHOLE).status == 303
    assert len(stored(house)) == 5


def test_a_double_tap_on_a_slow_line_counts_once(house: House) -> None:
    """Both requests are there before the first one is answered."""
    form = sheet(house)
    statuses: list[int] = []
    taps = [
        threading.Thread(target=lambda: statuses.append(fill(house, form, **WHOLE).status)) for _ in range(4)
    ]
    for tap in taps:
        tap.start()
    for tap in taps:
        tap.join()
    assert statuses == [303] * 4
    assert len(stored(house)) == 5


def test_what_is_missing_keeps_the_job_open_with_what_is_there_kept(house: House) -> None:
    """Nitrate alone would count as a test for who records it alone; of a sheet it is a part."""
    assert fill(house, sheet(house), ammonia="0", nitrate="35", basis="ion").status == 303
    assert stored(house) == [
        ("reading", "ammonia", 0.0), ("reading", "nitrate", 35.0), ("reading", "unfinished", None),
    ]  # fmt: skip
    page = house.page(house.noor)
    assert "today: 35 mg/L" in page
    rest = sheet(house)
    assert fill(house, rest, nitrite="0", ph="7,4", basis="").status == 303
    assert stored(house)[-1] == ("done", "water-test", None)
    assert "Water test" not in house.page(house.noor).partition('id="done"')[0].partition("Sedge")[2][:40]


def test_what_is_wrong_is_said_at_its_field_and_nothing_is_stored(house: House) -> None:
    answer = fill(
        house,
        sheet(house),
        ammonia="abc",
        nitrite="0",
        nitrate="35 mg/L",
        ph="99",
        temperature="20,5",
        basis="N",
    )
    assert answer.status == 422
    assert stored(house) == []
    text = answer.text
    assert "2 values are not right yet. Nothing was recorded" in text
    assert "which cannot be; expected 0 to 14" in text
    (form,) = forms(text, "readings")
    kept = {name: typed for name, typed in form.fields.items() if name.startswith("value/")}
    assert kept == {
        "value/sedge/ammonia/": "abc",
        "value/sedge/nitrite/": "0",
        "value/sedge/nitrate/": "35 mg/L",
        "value/sedge/ph/": "99",
        "value/sedge/temperature/": "20,5",
    }
    assert (
        house.send(form, **{"value/sedge/ammonia/": "0", "value/sedge/ph/": "7.4", "basis": "N"}).status
        == 303
    )
    assert len(stored(house)) == 6


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Write at least one value. Nothing was recorded"),
        ({"ammonia": " ", "ph": "\t"}, "Write at least one value. Nothing was recorded"),
        ({"nitrate": "35"}, "choose what the kit reads as: the figures differ by up to 4.4 times"),
        ({"ph": "x" * 10_000}, "of 10000 characters; write the value alone"),
        ({"nitrate": "١٢" * 5_000, "basis": "N"}, "of 10000 characters; write the value alone"),
        ({"nitrate": "350", "basis": "N"}, "is unlikely"),
        ({"temperature": "1,250"}, "which may be two numbers; write 1.250 or 1250"),
        ({"ph": "-1"}, "which cannot be"),
        ({"ph": "NaN"}, "expected a number without a unit"),
    ],
)  # fmt: skip
def test_what_is_refused(houses: dict[str, House], typed: dict[str, str], said: str) -> None:
    """Each is a page that says why, with the sheet to mend it in; nothing is recorded."""
    house = houses["pool-0"]
    answer = fill(house, sheet(house), **typed)
    assert answer.status == 422
    assert said in answer.text
    assert f'href="{page_path(house.noor)}"' in answer.text
    (form,) = forms(answer.text, "readings")
    for name, text in typed.items():
        if name != "basis":
            assert form.fields[f"value/sedge/{name}/"] == text
    assert stored(house) == []


def test_none_is_none_whatever_the_kit_reads_as(house: House) -> None:
    assert fill(house, sheet(house), ammonia="0", nitrite="0", nitrate="0", ph="7").status == 303
    assert stored(house)[-1] == ("done", "water-test", None)


@pytest.mark.parametrize(
    ("basis", "ammonia", "nitrite", "nitrate"),
    [("N", 1.0, 1.0, 4.4268), ("ion", 0.7765, 0.3045, 1.0)],
)
def test_one_choice_for_all_three_nitrogen_values(
    house: House, basis: str, ammonia: float, nitrite: float, nitrate: float
) -> None:
    """By the molar masses of IUPAC (N 14.007, H 1.008, O 15.999): NO3 is 4.4268 N, NO2 3.2844 N, NH4 1.2878 N."""
    typed = {"ammonia": "1", "nitrite": "1", "nitrate": "1", "ph": "7.4", "basis": basis}
    assert fill(house, sheet(house), **typed).status == 303
    values = {name: value for kind, name, value in stored(house) if kind == "reading"}
    assert values == pytest.approx(
        {"ammonia": ammonia, "nitrite": nitrite, "nitrate": nitrate, "ph": 7.4}, rel=1e-3
    )


def test_a_kit_that_is_described_is_not_asked_about(houses: dict[str, House]) -> None:
    house = houses["kit"]
    form = sheet(house)
    assert "basis" not in form.fields
    assert "mg/L as NO3" in house.page(house.noor)
    assert fill(house, form, ammonia="0.1", nitrite="0", nitrate="35", ph="7").status == 303
    assert stored(house)[2] == ("reading", "nitrate", 35.0)


def test_a_doubt_is_asked_about_once(house: House) -> None:
    """What looks mistyped is recorded once somebody has looked again."""
    answer = fill(house, sheet(house), **{**WHOLE, "nitrate": "450", "basis": "ion"})
    assert answer.status == 422 and "450 mg/L is unlikely" in answer.text
    (form,) = forms(answer.text, "readings")
    assert form.fields["sure"] == "yes" and stored(house) == []
    assert house.send(form, basis="ion").status == 303
    assert ("reading", "nitrate", 450.0) in stored(house)


def test_a_form_of_yesterday_keeps_what_was_typed(house: House) -> None:
    from test_page_posts import seal

    form = sheet(house)
    yesterday = {"day": "2026-12-13", "seal": seal(house, house.noor, "2026-12-13", form.fields["seen"])}
    answer = house.send(form, **yesterday, **{"value/sedge/ph/": "7.4"})
    assert answer.status == 409
    assert "This page was of another day, and nothing was changed" in answer.text
    (today,) = forms(answer.text, "readings")
    assert (today.fields["value/sedge/ph/"], today.fields["day"]) == ("7.4", TODAY)
    assert house.send(today).status == 303
    assert stored(house) == [("reading", "ph", 7.4)]


def test_weights_of_many_tanks_are_one_sheet(house: House) -> None:
    """One row an animal, one button; who was not weighed stays open."""
    page = house.page(house.noor)
    assert f'href="{page_path(house.noor)}/same?key=weigh-measure"' in page
    answer = ask(house.url, f"{page_path(house.noor)}/same?key=weigh-measure")
    (form,) = forms(answer.text, "readings")
    weights = [name for name in form.fields if name.startswith("value/") and "/weight/" in name]
    assert weights == ["value/reed/weight/alder", "value/rush/weight/moss", "value/sedge/weight/fern"]
    sent = house.send(form, **{"value/reed/weight/alder": "525", "value/sedge/weight/fern": "485 g"})
    assert sent.status == 303
    assert stored(house) == [
        ("reading", "weight", 525.0),
        ("reading", "weight", 485.0),
        ("done", "weigh-measure", None),
        ("done", "weigh-measure", None),
    ]
    assert [e.enclosure for e in house.entries()[-2:]] == ["reed", "sedge"]
    left = ask(house.url, f"{page_path(house.noor)}/same?key=weigh-measure").text
    assert "Rush" in left and "Sedge" not in left.partition("</main>")[0]


def test_the_same_job_in_many_tanks(house: House) -> None:
    """Five feeds of an evening are one form; what is not ticked stays open."""
    answer = ask(house.url, f"{page_path(house.noor)}/same?key=feed")
    (form,) = forms(answer.text, "all-done")
    rush = next(name for name in form.fields if name.startswith("job/rush/feed/"))
    sent = house.send(form, **{rush: None})
    assert sent.status == 303
    assert [(e.enclosure, e.name) for e in house.entries()[-2:]] == [("reed", "feed"), ("sedge", "feed")]
    assert house.send(form, **{rush: None}).status == 303
    assert house.recorded("feed") == 2
    assert ask(house.url, f"{page_path(house.noor)}/same?key=nothing").status == 404


@pytest.mark.parametrize(
    "odd",
    [
        {"value/sedge/nothing/": "1"},
        {"value/nowhere/ph/": "7"},
        {"value/sedge/ph/nobody": "7"},
        {"value/sedge/weight/nobody": "480"},
        {"value/sedge": "1", "value///": "1"},
        {"value/<script>/ph/": "7"},
        {"value/sedge/ph/\x00": "7"},
        {"job/sedge/water-test/nothing": "1", "job/": "1", "job/x": "1"},
        {"basis": "<script>"},
    ],
)
def test_fields_that_no_page_has(houses: dict[str, House], odd: dict[str, str]) -> None:
    """Whatever else a form names, it is a page that says why, and nothing is recorded."""
    house = houses["pool-0"]
    answer = house.send(sheet(house), **{"basis": "", **odd})
    assert answer.status == 422
    assert "<script>" not in answer.text and f'href="{page_path(house.noor)}"' in answer.text
    assert stored(house) == []


def test_a_keeper_who_is_renamed_while_the_page_is_open(house: House) -> None:
    """The link is of the id: with the id kept the form is taken, without it the page is gone, and says so."""
    form, text = sheet(house), house.file.read_text("utf-8")
    house.file.write_text(text.replace('name = "Noor"', 'name = "Nora"\nid = "noor"'), "utf-8")
    assert fill(house, form, ph="7.4").status == 303
    assert house.entries()[-1].keeper == "noor" and "Nora" in house.page(house.noor)
    house.file.write_text(text.replace('name = "Noor"', 'name = "Nora"'), "utf-8")
    gone = fill(house, form, ph="7.5")
    assert gone.status == 404 and "ask whoever gave it to you for a new one" in gone.text
    assert len(stored(house)) == 1
