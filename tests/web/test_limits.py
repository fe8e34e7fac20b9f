"""How much one client may ask, by a clock of the test's own."""

from __future__ import annotations

import pytest

from scheduler.web.rate_limit import MOST_CLIENTS, TokenBucket


def test_a_bucket_empties_and_fills_up_again() -> None:
    now = [0.0]
    limit = TokenBucket(3, 0.5, lambda: now[0])
    assert [limit.wait("a") for _ in range(3)] == [0.0] * 3
    assert limit.is_out("a") and not limit.is_out("b")
    # One more every two seconds; who asks too early loses nothing by it.
    assert limit.wait("a") == pytest.approx(2.0)
    now[0] = 1.5
    assert limit.wait("a") == pytest.approx(0.5)
    now[0] = 2.0
    assert not limit.is_out("a")
    assert limit.wait("a") == 0.0
    assert limit.wait("a") == pytest.approx(2.0)
    # Never more than there were at once, however long nobody asked; and a clock that goes back gives none.
    now[0] = 1e6
    assert [limit.wait("a") for _ in range(3)] == [0.0] * 3
    now[0] = 0.0
    assert limit.wait("a") > 0.0
    assert limit.wait("b") == 0.0


def test_who_came_longest_ago_is_forgotten_where_there_are_too_many() -> None:
    limit = TokenBucket(1, 0.0, lambda: 0.0)
    for number in range(MOST_CLIENTS):
        assert limit.wait(str(number)) == 0.0
    assert limit.is_out("0")
    assert limit.wait("one more") == 0.0
    assert not limit.is_out("0") and limit.is_out("1")
