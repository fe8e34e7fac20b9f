"""A description changed in place: what is meant changes, and every other byte stays."""

from __future__ import annotations

import copy
import datetime as dt
import difflib
import tomllib
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduler import description
from scheduler.description import editing
from scheduler.description.loader import identified
from scheduler.description.patches import patch_of, reverse
from scheduler.errors import UsageError
from scheduler.species import load_sheets

DAY = dt.date(2026, 12, 5)

TWO = """\
[site]
name = "Weir"                      # the place

# --- upstairs ---

[[enclosure]]
name = "Sedge"
set_up = 2026-10-01

# Fern was found on a road.
[[enclosure.resident]]
name = "Fern"                      # answers to it
mass = "480 g"
#quarantine = true

[[enclosure.resident]]
name = "Moss"
[enclosure.feed]
grams = 3

# --- downstairs ---

[[enclosure]]
name = "Reed"
"""


def changed(text: str, new: str) -> list[str]:
    """Return the lines that went and came, in the order of the file, but for blank ones."""
    lines = difflib.ndiff(text.splitlines(keepends=True), new.splitlines(keepends=True))
    return [line.rstrip("\r\n") for line in lines if line[:1] in "+-" and line.strip("+- \r\n")]


def load(text: str) -> description.Site:
    return description.load(text, load_sheets())


CHANGES = [
    # what is meant, the lines that go and come
    (
        lambda text: editing.with_moved(text, "moss", "reed", DAY, ["sedge"]),
        [
            "- [[enclosure.resident]]",
            '- name = "Moss"',
            "+ [[enclosure.resident]]",
            '+ name = "Moss"',
            "+ here_since = 2026-12-05",
            '+ moved_from = ["sedge"]',
        ],
    ),
    (
        lambda text: editing.with_moved(text, "fern", "reed", DAY, ["quay", "sedge"]),
        [
            "- # Fern was found on a road.",
            "- [[enclosure.resident]]",
            '- name = "Fern"                      # answers to it',
            '- mass = "480 g"',
            "- #quarantine = true",
            "+ # Fern was found on a road.",
            "+ [[enclosure.resident]]",
            '+ name = "Fern"                      # answers to it',
            '+ mass = "480 g"',
            "+ here_since = 2026-12-05",
            '+ moved_from = ["quay", "sedge"]',
            "+ #quarantine = true",
        ],
    ),
    (
        lambda text: editing.with_values(text, "resident", "fern", {"mass": "500 g", "departed": DAY}),
        ['- mass = "480 g"', '+ mass = "500 g"', "+ departed = 2026-12-05"],
    ),
    (
        lambda text: editing.with_name(text, "resident", "fern", "Bracken"),
        [
            '- name = "Fern"                      # answers to it',
            '+ name = "Bracken"                   # answers to it',
            '+ id = "fern"',
        ],
    ),
    (
        lambda text: editing.with_name(text, "enclosure", "sedge", "SEDGE"),
        ['- name = "Sedge"', '+ name = "SEDGE"'],
    ),
    (
        lambda text: editing.with_resident(text, "sedge", {"name": "Wren", "arrived": DAY}),
        ["+ [[enclosure.resident]]", '+ name = "Wren"', "+ arrived = 2026-12-05"],
    ),
    (
        lambda text: editing.with_enclosure(text, {"name": "Quay", "kind": "tub"}),
        ["+ [[enclosure]]", '+ name = "Quay"', '+ kind = "tub"'],
    ),
    (
        lambda text: editing.with_values(text, "enclosure", "reed", {"retired": DAY}),
        ["+ retired = 2026-12-05"],
    ),
]


@pytest.mark.parametrize(("meant", "lines"), CHANGES)
def test_only_what_is_meant_changes(meant, lines):
    assert changed(TWO, meant(TWO)) == lines


def test_a_merger_moves_everybody_and_ends_the_enclosure():
    new = editing.with_merged(TWO, "sedge", "reed", DAY, {"fern": ["sedge"], "moss": ["sedge"]})
    site = load(new)
    assert {e.id: [r.id for r in e.resident] for e in site.enclosures} == {
        "reed": ["fern", "moss"],
        "sedge": [],
    }
    assert [e.retired for e in site.enclosures] == [None, DAY]
    assert _comments(new) == _comments(TWO)


def test_names_that_name_it_follow():
    text = (
        TWO
        + """
[[keeper]]
name = "Noor"
prefers = ["sedge", "feed"]
avoids = ["Reed"]
"""
    )
    new = editing.with_name(text, "enclosure", "sedge", "Rush")
    assert changed(text, new) == [
        '- name = "Sedge"',
        '+ name = "Rush"',
        '+ id = "sedge"',
        '- prefers = ["sedge", "feed"]',
        '+ prefers = ["Rush", "feed"]',
    ]


# What editing a TOML file is known to lose: no line end at the end, tables out of order, line ends of another
# system, a byte order mark, a comment above the next table, strings that look like tables.
SHAPES = {
    "no line end": lambda text: text.rstrip("\n"),
    "CRLF": lambda text: text.replace("\n", "\r\n"),
    "a byte order mark": lambda text: "\ufeff" + text,
    "tables out of order": lambda text: (
        text + '\n[[keeper]]\nname = "Noor"\n\n[[enclosure]]\nname = "Quay"\n'
    ),
    "a string that looks like a table": lambda text: text.replace(
        "grams = 3", 'grams = 3\nname = """\n[[enclosure]]\nname = "No"\n#"""'
    ).replace('\nname = "No"\n', "\n"),
    "dotted and quoted": lambda text: text.replace("[enclosure.feed]", '[ enclosure . "feed" ]'),
    "indented": lambda text: text.replace("[[enclosure.resident]]", "  [[enclosure.resident]]"),
}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("meant", "lines"), CHANGES)
def test_in_whatever_shape_it_is_written(shape, meant, lines):
    text = SHAPES[shape](TWO)
    new = meant(text)
    # It is TOML and means what was meant: the editor holds it against that; here, that the same lines changed.
    told = changed(text.removesuffix("\n") + "\n", new.removesuffix("\n") + "\n")
    assert [line.replace("  [[", "[[") for line in told] == lines
    assert new.startswith("\ufeff") == text.startswith("\ufeff")
    if shape == "CRLF":
        assert new.count("\n") == new.count("\r\n")
    assert reverse(new, patch_of(text, new)) == text


REFUSED = [
    # what is written, what is meant, what is said
    (
        TWO.replace('[[enclosure.resident]]\nname = "Moss"\n', ""),
        lambda text: editing.with_moved(
            text.replace('name = "Reed"', 'name = "Reed"\nresident = [{name = "Wren"}]'),
            "wren",
            "sedge",
            DAY,
            [],
        ),
        "enclosure.1.resident.0 has no header of its own",
    ),
    (
        TWO.replace('name = "Moss"', 'name = "Moss"\nmoved_from = [\n  "quay",\n]'),
        lambda text: editing.with_moved(text, "moss", "reed", DAY, ["quay", "sedge"]),
        "moved_from stands on several lines",
    ),
    (TWO, lambda text: editing.with_moved(text, "wren", "reed", DAY, []), 'no resident "wren" any more'),
]


@pytest.mark.parametrize(("text", "meant", "said"), REFUSED)
def test_what_cannot_be_changed_safely_is_refused(text, meant, said):
    with pytest.raises(UsageError, match=said):
        meant(text)


SAMPLES = sorted((Path(__file__).parents[2] / "sample_configs").glob("*.toml"))


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_every_animal_of_the_samples_can_move_everywhere(file):
    """The rest of the description says the same, and going back says all of it as before."""
    text = file.read_text()
    site = load(text)
    places = [e.id for e in site.enclosures]
    for home in site.enclosures:
        for resident in home.resident:
            target = places[(places.index(home.id) + 1) % len(places)]
            if target == home.id:
                continue
            new = editing.with_moved(text, resident.id, target, DAY, [home.id])
            back = editing.with_moved(new, resident.id, home.id, DAY, [target])
            assert _said(back) == _said(text), resident.id
            assert _comments(new) == _comments(text), resident.id
            assert reverse(new, patch_of(text, new)) == text


def _said(text: str) -> object:
    """Return what a description says, animals by their ids and without how they came where they are."""
    data = identified(copy.deepcopy(tomllib.loads(text)))
    for enclosure in data["enclosure"]:
        for resident in enclosure.get("resident", []):
            resident.pop("here_since", None)
            resident.pop("moved_from", None)
        enclosure.get("resident", []).sort(key=lambda r: r["id"])
    return data


def _comments(text: str) -> list[str]:
    return sorted(line for line in text.splitlines() if line.lstrip().startswith("#"))


PIECES = st.sampled_from(
    [
        '[[keeper]]\nname = "K{n}"\n',
        '[[enclosure]]\nname = "E{n}"\n',
        '[[enclosure]] # a comment\nname = "E{n}"\n# under it\n',
        '[[enclosure.resident]]\nname = "R{n}"\n',
        '# above\n[[enclosure.resident]]\n# inside\nname = "R{n}" # beside\nsex = "male"\n',
        "[enclosure.feed]\ngrams = 2\n",
        "[[enclosure.lamp]]\nkind = 'heat'\n",
        "# alone\n",
        "\n",
    ]
)


@given(st.lists(PIECES, min_size=3, max_size=14), st.data())
@example([], None)
def test_whatever_is_moved_the_rest_stays(pieces, data):
    if data is None:
        return
    head = '[site]\nname = "W"\n[[enclosure]]\nname = "First"\n[[enclosure.resident]]\nname = "Fern"\n'
    text = head + "".join(piece.format(n=n) for n, piece in enumerate(pieces))
    try:
        before = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        # Two tables of one name, or a table under none.
        return
    ids = identified(copy.deepcopy(before))
    homes = {r["id"]: e["id"] for e in ids["enclosure"] for r in e.get("resident", [])}
    resident = data.draw(st.sampled_from(sorted(homes)))
    target = data.draw(
        st.sampled_from(sorted({e["id"] for e in ids["enclosure"]} - {homes[resident]}) or ["-"])
    )
    if target == "-":
        return
    new = editing.with_moved(text, resident, target, DAY, [homes[resident]])
    after = identified(tomllib.loads(new))
    assert {r["id"]: e["id"] for e in after["enclosure"] for r in e.get("resident", [])} == {
        **homes,
        resident: target,
    }
    assert _comments(new) == _comments(text)
    lines = [line for line in new.splitlines() if line.strip()]
    assert sorted(lines) == sorted(
        [
            *(line for line in text.splitlines() if line.strip()),
            "here_since = 2026-12-05",
            f'moved_from = ["{homes[resident]}"]',
        ]
    )
    assert reverse(new, patch_of(text, new)) == text


LINES = st.lists(st.sampled_from(["a", "b", "c", "", "d = 1"]), max_size=30).map("\n".join)


@given(LINES, LINES)
def test_what_was_changed_is_found_again_and_taken_back(old, new):
    assert reverse(new, patch_of(old, new)) == old


def test_what_was_written_since_is_not_thrown_away():
    new = editing.with_moved(TWO, "moss", "reed", DAY, ["sedge"])
    patch = patch_of(TWO, new)
    # Elsewhere: both stay.
    assert reverse(new.replace("480 g", "495 g"), patch) == TWO.replace("480 g", "495 g")
    assert reverse("# a note at the top\n\n" + new, patch) == "# a note at the top\n\n" + TWO
    # In the lines that came: nobody can tell what they were to be.
    assert reverse(new.replace("here_since = 2026-12-05", "here_since = 2026-12-04"), patch) is None
    assert reverse(TWO, patch) is None, "it is taken back already"
