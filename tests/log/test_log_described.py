"""The last description without a mistake, as the log keeps it."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from support.logged import NOW, SITE

from scheduler.log import open_log
from scheduler.log.last_good import LastGood, content_of, keep_described, last_described

PLACE = "0123456789abcdef" * 4
ONE = LastGood("one", '[site]\nname = "Fen 🐢"\n', {"a.species.toml": "x", "b.species.toml": ""})
TWO = LastGood("two", "", {})


def test_what_was_last_well_is_kept(url: str) -> None:
    with open_log(url) as log, open_log(url) as other:
        assert (content_of(log, PLACE), last_described(log, PLACE)) == ("", None)
        keep_described(log, SITE, PLACE, ONE, now=NOW, is_so=lambda: True)
        assert (content_of(other, PLACE), last_described(other, PLACE)) == ("one", ONE)
        keep_described(other, "another-id", PLACE, TWO, now=NOW, is_so=lambda: True)
        assert (content_of(log, PLACE), last_described(log, PLACE)) == ("two", TWO)
        # What is no longer so when its turn comes is not kept: another process has read what came after it.
        keep_described(log, SITE, PLACE, ONE, now=NOW, is_so=lambda: False)
        assert content_of(log, PLACE) == "two"
        assert content_of(log, "another place") == ""


@pytest.mark.parametrize("rubbish", [b"", b"no gzip", b"\x1f\x8b\x08" + b"\0" * 20])
def test_what_is_damaged_is_as_if_it_were_not_there(url: str, rubbish: bytes) -> None:
    with open_log(url) as log:
        keep_described(log, SITE, PLACE, ONE, now=NOW, is_so=lambda: True)
        assert log._engine is not None
        with log._engine.begin() as connection:
            connection.execute(sa.text("UPDATE described SET body = :body"), {"body": rubbish})
        assert last_described(log, PLACE) is None


def test_there_is_nothing_without_a_log(tmp_path) -> None:
    with open_log(f"sqlite:///{tmp_path}/none.db", create=False) as log:
        assert (content_of(log, PLACE), last_described(log, PLACE)) == ("", None)
    assert list(tmp_path.iterdir()) == []
