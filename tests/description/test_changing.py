"""What if: one change of a description's data after another, and the words for changes that are none."""

import copy
import datetime as dt
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.description.changing import MOST_CHANGES, changed
from scheduler.errors import UsageError

DATA = {
    "site": {"name": "Osier", "tap_water": {"cold": "10 degC"}},
    "enclosure": [
        {
            "name": "Reed",
            "width": "50 cm",
            "filter": {"flow": "900 L/h"},
            "lamp": [{"kind": "heat", "power": "60 W"}, {"kind": "T5 HO tube", "power": "24 W"}],
            "resident": [{"name": "Fern", "id": "f1", "count": 1}],
            "job": {"water-change": {"every": "7 days"}},
        },
        {"name": "Rush", "width": "40 cm"},
    ],
}


def everywhere(_):
    return True


def reed(table):
    return table["name"] == "Reed"


def value_at(data, path):
    for step in path:
        data = data[step]
    return data


R = ("enclosure", 0)
CHANGES = [
    # the change, where it goes, what stands there then
    ('width="60 cm"', (*R, "width"), "60 cm"),
    ("width=60 cm", (*R, "width"), "60 cm"),
    ("  width  =  60 cm  ", (*R, "width"), "60 cm"),
    ("covered=true", (*R, "covered"), True),
    ("set_up=2026-03-02", (*R, "set_up"), dt.date(2026, 3, 2)),
    ("filter.flow=1200 L/h", (*R, "filter", "flow"), "1200 L/h"),
    ("filter.media_trays=3", (*R, "filter", "media_trays"), 3),
    ("substrate.kind=sand", (*R, "substrate", "kind"), "sand"),
    ("heater.power=100 W", (*R, "heater", 0, "power"), "100 W"),
    ("heater[+].power=100 W", (*R, "heater", 0, "power"), "100 W"),
    ("lamp[0].power=75 W", (*R, "lamp", 0, "power"), "75 W"),
    ("lamp[1].uvi=2.5", (*R, "lamp", 1, "uvi"), 2.5),
    ("lamp[T5 HO tube].uvi=2.5", (*R, "lamp", 1, "uvi"), 2.5),
    ("lamp[HEAT].power=75 W", (*R, "lamp", 0, "power"), "75 W"),
    ("lamp[+].kind=T8 tube", (*R, "lamp", 2, "kind"), "T8 tube"),
    ("resident.count=2", (*R, "resident", 0, "count"), 2),
    ("resident[Fern].count=2", (*R, "resident", 0, "count"), 2),
    ("resident[f1].count=2", (*R, "resident", 0, "count"), 2),
    ("resident[+].carapace=8 cm", (*R, "resident", 1, "carapace"), "8 cm"),
    ("job.water-change.share=0.3", (*R, "job", "water-change", "share"), 0.3),
    ("feed.protein=0.3", (*R, "feed", "protein"), 0.3),
    ("site.room_low=12 degC", ("site", "room_low"), "12 degC"),
    ("room_low=12 degC", ("site", "room_low"), "12 degC"),
    ("cold=8 degC", ("site", "tap_water", "cold"), "8 degC"),
    ("tap_water.cold=8 degC", ("site", "tap_water", "cold"), "8 degC"),
    ("site.tap_water.cold=8 degC", ("site", "tap_water", "cold"), "8 degC"),
    ("nitrate_look=20 mg/L", ("site", "house_values", "nitrate_look"), "20 mg/L"),
    ("house_values.pail=5 L", ("site", "house_values", "pail"), "5 L"),
    ("enclosure[Rush].width=30 cm", ("enclosure", 1, "width"), "30 cm"),
    ("keeper[+].name=Ida", ("keeper", 0, "name"), "Ida"),
    ("extra_job[+].key=hose", (*R, "extra_job", 0, "key"), "hose"),
]


@pytest.mark.parametrize(("change", "path", "expected"), CHANGES, ids=[row[0].strip() for row in CHANGES])
def test_a_change_reaches_its_place_and_no_other(change, path, expected):
    before = copy.deepcopy(DATA)
    found = changed(DATA, [change], reed)
    assert value_at(found, path) == expected
    assert before == DATA, "the data itself is left alone"
    # Taking the value away again leaves what was there before, but for tables that were made on the way.
    *way, last = path
    table = value_at(found, way)
    old = None
    try:
        old = value_at(before, path)
    except (KeyError, IndexError):
        del table[last]
    else:
        table[last] = old
    assert pruned(found) == pruned(before)


def pruned(node):
    """Return data without empty tables and lists, and without the name that a new animal gets."""
    if isinstance(node, dict):
        kept = {k: pruned(v) for k, v in node.items() if (k, v) != ("name", "Another animal")}
        return {k: v for k, v in kept.items() if v not in ({}, [])}
    if isinstance(node, list):
        return [v for v in map(pruned, node) if v not in ({}, [])]
    return node


def test_a_key_of_the_enclosure_goes_to_every_wanted_one():
    found = changed(DATA, ["width=30 cm"], everywhere)
    assert [e["width"] for e in found["enclosure"]] == ["30 cm", "30 cm"]
    found = changed(DATA, ["width=30 cm"], reed)
    assert [e["width"] for e in found["enclosure"]] == ["30 cm", "40 cm"]


@pytest.mark.parametrize(
    "text", ["filter=", "lamp=", "width=", "resident=", "filter.flow=", "lamp[0].power=", "job="]
)
def test_an_empty_value_takes_a_key_away(text):
    found = changed(DATA, [text], reed)
    key = text.removesuffix("=")
    table = found["enclosure"][0]
    if key == "filter.flow":
        assert table["filter"] == {}
    elif key == "lamp[0].power":
        assert table["lamp"][0] == {"kind": "heat"}
    else:
        assert key not in table
    assert found["enclosure"][1] == DATA["enclosure"][1]


def test_several_changes_of_one_new_table_make_one_table():
    found = changed(DATA, ["lamp[+].kind=compact", "lamp[+].uvi=1", "resident[+].name=Ash"], reed)
    assert found["enclosure"][0]["lamp"][2:] == [{"kind": "compact", "uvi": 1}]
    assert found["enclosure"][0]["resident"][1:] == [{"name": "Ash"}]


def test_a_new_table_for_each_wanted_enclosure():
    found = changed(DATA, ["lamp[+].kind=compact", "lamp[+].uvi=1"], everywhere)
    assert [e["lamp"][-1] for e in found["enclosure"]] == [{"kind": "compact", "uvi": 1}] * 2


def test_changes_are_made_in_order():
    found = changed(DATA, ["width=30 cm", "filter=", "filter.flow=100 L/h", "width=35 cm"], reed)
    assert found["enclosure"][0]["width"] == "35 cm"
    assert found["enclosure"][0]["filter"] == {"flow": "100 L/h"}


WRONG = [
    ("width", '"width" is no change; write it as width="60 cm" or lamp[0].uvi=3.4'),
    ("=3", '"=3" is no change; write it as width="60 cm" or lamp[0].uvi=3.4'),
    ("", '"" is no change; write it as width="60 cm" or lamp[0].uvi=3.4'),
    ("widht=3", 'there is no key "widht"; nearest: width'),
    ("room_lo=3", 'there is no key "room_lo"; nearest: room_low'),
    ("nitrate_lok=3", 'there is no key "nitrate_lok"; nearest: nitrate_look'),
    ("__class__=3", 'there is no key "__class__"'),
    ("lamp.uvi=3", '"lamp.uvi": there are 2 of lamp; write lamp[0] to lamp[1], a name, or [+] for one more'),
    ("lamp[2].uvi=3", '"lamp[2].uvi": there is no lamp[2]; there are 2'),
    ("lamp[-1].uvi=3", '"lamp[-1].uvi": none of lamp is called "-1"; there are heat, T5 HO tube'),
    ("lamp[0]=3", '"lamp[0]" names a whole table; name the value inside it, such as lamp[0].uvi'),
    ("lamp=3", '"lamp" names a whole table; name the value inside it, such as lamp[0].uvi'),
    ("resident[Moss].count=3", '"resident[Moss].count": none of resident is called "Moss"; there are Fern'),
    ("filter[0].flow=3", '"filter[0].flow": filter is no list of tables'),
    ("width.x=3", '"width.x": width is no list of tables'),
    ("lamp[=3", '"lamp[" is no key; a dot parts its steps'),
    ("lamp[0=3", '"lamp[0" is no key; a dot parts its steps'),
    ("lamp[[0]].uvi=3", '"lamp[[0]].uvi" is no key; a dot parts its steps'),
    ("lamp[0]uvi=3", '"lamp[0]uvi" is no key; a dot parts its steps'),
    ("filter..flow=3", '"filter..flow" is no key; write width, filter.flow, lamp[0].uvi or site.room_low'),
    ("filter.=3", '"filter." is no key; write width, filter.flow, lamp[0].uvi or site.room_low'),
    (".width=3", '".width" is no key; write width, filter.flow, lamp[0].uvi or site.room_low'),
    ("wid\x1bth=3", '"wid\\u001bth" is no key; a dot parts its steps'),
    ('width="3\n[site]"', "a changed value stands on one line"),
    ("width=3\r[site]", "a changed value stands on one line"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "message"), WRONG, ids=[repr(row[0]) for row in WRONG])
def test_a_wrong_change_is_told_with_what_to_write(change, message):
    with pytest.raises(UsageError) as raised:
        changed(DATA, [change], reed)
    assert str(raised.value) == message


def test_two_of_one_name_are_not_guessed_between():
    twins = {"enclosure": [{"name": "Reed", "lamp": [{"kind": "heat"}, {"kind": "heat"}]}]}
    with pytest.raises(UsageError, match=r"several of lamp are called \"heat\"; there are heat, heat"):
        changed(twins, ["lamp[heat].power=3 W"], reed)


def test_too_many_changes_and_too_long_ones_are_refused():
    assert changed(DATA, ["width=3 cm"] * MOST_CHANGES, reed)["enclosure"][0]["width"] == "3 cm"
    with pytest.raises(UsageError, match="10000 changes at once; write at most 100, or another description"):
        changed(DATA, ["width=3 cm"] * 10_000, reed)
    with pytest.raises(UsageError, match="is no change") as raised:
        changed(DATA, [f"width={'9' * 100_000}"], reed)
    assert len(str(raised.value)) < 200


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=40) | st.text(
    "lampwidthsite.[]+=0\"'{}\n\t #,", max_size=40
)


@given(st.lists(TEXTS, max_size=4))
def test_any_text_is_a_change_or_told(texts):
    before = copy.deepcopy(DATA)
    try:
        found = changed(DATA, texts, everywhere)
    except UsageError as error:
        # One line that nothing can move the cursor with.
        assert re.fullmatch(r"[^\x00-\x1f\x7f]+", str(error))
    else:
        assert len(found["enclosure"]) >= 2 or any(text.strip().startswith("enclosure") for text in texts)
    assert before == DATA


@given(st.sampled_from(["width", "filter.flow", "lamp[0].uvi", "resident.count", "site.room_low"]), TEXTS)
def test_any_value_stays_in_its_place(key, text):
    """A value cannot smuggle other keys in: what stands elsewhere is as before."""
    try:
        found = changed(DATA, [f"{key}={text}"], reed)
    except UsageError:
        return
    names = re.findall(r"[a-z_]+", key)
    if text.strip():
        assert set(found) == set(DATA)
    for table in ("site", "enclosure"):
        if names[0] != table and not (table == "enclosure" and names[0] != "site"):
            assert found[table] == DATA[table]
    assert found["enclosure"][1] == DATA["enclosure"][1]
