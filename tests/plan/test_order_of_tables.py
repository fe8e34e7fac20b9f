"""The order in which a keeper writes the tables changes nothing, down to the bytes of the calendars."""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.described import TODAY, descriptions, text_of
from typer.testing import CliRunner

from scheduler.cli.main import app


def calendars(text):
    """Export a description and return the bytes of each file by its name."""
    with tempfile.TemporaryDirectory() as folder:
        file, to = Path(folder, "site.toml"), Path(folder, "out")
        file.write_text(text, "utf-8")
        done = CliRunner().invoke(
            app, ["export", str(file), "--to", str(to), "--today", f"{TODAY}", "--weeks", "26"]
        )
        assert done.exit_code == 0, done.output
        return {path.name: path.read_bytes() for path in to.iterdir()}


def shuffled(value, chance):
    """Return the description with the order of its tables and keys changed; lists of plain values stay."""
    if isinstance(value, dict):
        keys = chance.sample(list(value), len(value))
        return {key: shuffled(value[key], chance) for key in keys}
    if isinstance(value, list) and all(isinstance(item, dict) for item in value):
        return [shuffled(item, chance) for item in chance.sample(value, len(value))]
    return value


@given(descriptions(most=3), st.randoms(use_true_random=False))
@settings(max_examples=examples(25), deadline=None)
def test_tables_in_another_order_give_the_same_calendars(description, chance):
    text, other = text_of(description), text_of(shuffled(description, chance))
    assert calendars(text) == calendars(other)


TWO_SPECIES = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[keeper]]
name = "Noor"
[[enclosure]]
name = "Sedge"
set_up = 2027-12-01
[[enclosure.lamp]]
kind = "T5 HO tube"
[[enclosure.resident]]
name = "{}"
species = "{}"
arrived = 2028-02-21
[[enclosure.resident]]
name = "{}"
species = "{}"
arrived = 2028-02-21
"""


def test_notes_that_name_species_do_not_depend_on_the_order_of_residents():
    fern, moss = ("Fern", "Trachemys scripta"), ("Moss", "Pelusios castaneus")
    assert calendars(TWO_SPECIES.format(*fern, *moss)) == calendars(TWO_SPECIES.format(*moss, *fern))
