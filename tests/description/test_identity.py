"""Ids: safe as file names, the same on every run, and distinct for distinct names whatever the order of the file."""

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.description import load
from scheduler.description.identity import slug
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets

SAFE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def ids(*tables):
    """Return the ids of enclosures given as (name, id or nothing), by name."""
    text = '[site]\nname = "Fen Lane"\n'
    for name, own in tables:
        text += f'[[enclosure]]\nname = "{name}"\n' + (f'id = "{own}"\n' if own else "")
    return {e.name: e.id for e in load(text, load_sheets()).enclosures}


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Sedge", "sedge"),
        ("Old Pond", "old-pond"),
        ("  Tub  no. 3 ", "tub-no-3"),
        ("Étang à l’ombre", "etang-a-lombre"),
        ("Straße", "strae"),  # ß has no base letter in NFKD and falls away
        ("ﬁsh", "fish"),
        ("A/B", "a-b"),
        ("../../etc/passwd", "etc-passwd"),
        ("CON", "con"),
        ("100 %", "100"),
        ("x" * 80, "x" * 60),
        ("-" * 10 + "a", "a"),
    ],
)
def test_a_name_becomes_small_letters_digits_and_hyphens(name, expected):
    assert slug(name) == expected


@pytest.mark.parametrize("name", ["🐢", "池", "Пруд", "\u202e", "...", "%"])
def test_a_name_without_a_latin_letter_gets_a_short_hash(name):
    assert re.fullmatch(r"n-[0-9a-f]{8}", slug(name))
    assert slug(name) == slug(name)
    assert slug(name) != slug(name + name)


@given(st.text(min_size=1, max_size=200))
def test_a_slug_is_safe_as_a_file_name_on_any_system(name):
    found = slug(name)
    assert SAFE.fullmatch(found)
    assert len(found) <= 60


@given(st.text(min_size=1, max_size=40).filter(lambda s: s.isascii()))
def test_a_slug_of_a_slug_is_itself(name):
    assert slug(slug(name)) == slug(name)


@given(st.text(min_size=1, max_size=40))
def test_composed_and_decomposed_letters_are_the_same(name):
    composed, decomposed = unicodedata.normalize("NFC", name), unicodedata.normalize("NFD", name)
    plain = slug(composed)
    assert plain == slug(decomposed) or plain.startswith("n-")


# --- Names that clash -------------------------------------------------------------------------------------------


def test_the_plain_name_keeps_the_slug_and_the_other_gets_a_hash():
    found = ids(("Tank A", None), ("Tank/A", None))
    assert found["Tank A"] == "tank-a"
    assert re.fullmatch(r"tank-a-[0-9a-f]{8}", found["Tank/A"])


def test_clashing_ids_do_not_depend_on_the_order_of_the_file():
    names = [("Tank A", None), ("Tank/A", None), ("Tank.A", None), ("🐢", None), ("Tank (A)", None)]
    found = ids(*names)
    assert found == ids(*reversed(names))
    assert len(set(found.values())) == len(names)


def test_an_id_of_the_keepers_own_is_kept_and_others_give_way():
    found = ids(("Mallow", "tank-a"), ("Tank/A", None))
    assert found["Mallow"] == "tank-a"
    assert re.fullmatch(r"tank-a-[0-9a-f]{8}", found["Tank/A"])


def test_a_renamed_enclosure_with_an_id_stays_itself():
    assert ids(("Sedge", None))["Sedge"] == ids(("Sedge by the window", "sedge"))["Sedge by the window"]


def test_spaces_around_and_inside_a_name_do_not_matter():
    assert ids((" 池  塘 ", None)) == ids(("池 塘", None))


@given(st.lists(st.text("ab/ .-🐢é", min_size=1, max_size=6), min_size=2, max_size=6))
def test_ids_are_distinct_or_the_clash_is_reported(names):
    text = '[site]\nname = "Fen Lane"\n' + "".join(f'[[enclosure]]\nname = "{name}"\n' for name in names)
    same = [" ".join(name.split()).lower() for name in names]
    try:
        found = [e.id for e in load(text, load_sheets()).enclosures]
    except DescriptionError as error:
        assert "" in same or len(set(same)) < len(names), error.problems
        assert all(problem.where.endswith(".name") for problem in error.problems)
    else:
        assert len(set(found)) == len(names)
        assert all(SAFE.fullmatch(own) for own in found)


@pytest.mark.parametrize(
    "own",
    [
        "",
        "Sedge",
        "sedge tank",
        "sedge--tank",
        "-sedge",
        "sedge-",
        "sedge/tank",
        "sedge.tank",
        "sédge",
        "../x",
        "x" * 81,
    ],
)
def test_an_id_that_is_not_safe_is_refused(own):
    text = f'[site]\nname = "Fen Lane"\n[[enclosure]]\nname = "Sedge"\nid = "{own}"\n'
    with pytest.raises(DescriptionError) as caught:
        load(text, load_sheets())
    (problem,) = caught.value.problems
    assert problem.where == "enclosure[0].id"
    assert problem.message.endswith("expected an id of small letters, digits and single hyphens")
    assert problem.hint == 'write "sedge-tank"'


def residents(*tables):
    """Return the names and ids of the residents of a tank."""
    text = '[site]\nname = "Fen Lane"\n[[enclosure]]\nname = "Sedge"\n'
    text += "".join(f"[[enclosure.resident]]\n{table}\n" for table in tables)
    [tank] = load(text, load_sheets()).enclosures
    return [(r.name, r.id) for r in tank.resident]


def test_a_group_needs_no_name_and_keeps_its_id_when_its_number_changes():
    assert residents("count = 3") == [("the group of 3", "sedge-group")]
    assert residents("count = 4", 'name = "Fern"') == [("Fern", "fern"), ("the group of 4", "sedge-group")]
    assert residents('count = 3\nid = "hatchlings"') == [("the group of 3", "hatchlings")]


def test_one_animal_has_a_name():
    for table in ("count = 1", 'species = "painted turtle"', "count = true"):
        with pytest.raises(DescriptionError) as refused:
            residents(table)
        assert "name is missing" in [problem.message for problem in refused.value.problems]


def test_of_two_groups_without_a_name_one_has_an_id_of_its_own():
    with pytest.raises(DescriptionError) as refused:
        residents("count = 3", "count = 2")
    [problem] = refused.value.problems
    assert problem.hint.startswith('write id = "sedge-group-2"')
