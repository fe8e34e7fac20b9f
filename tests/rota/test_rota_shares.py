"""Fair shares, wishes, and who knows an enclosure: a description in, the whole rota out."""

from __future__ import annotations

from copy import copy
from dataclasses import replace

import pytest
from support.rota.in_short import POND, SEDGE, job, keeper, made, rota, text
from support.rota.small_sites import Case, duties

from scheduler.rota import Past


def test_half_a_share_is_half_the_minutes():
    days = range(7, 13)
    found = made(duties(keeper("Noor") + keeper("Ivo", share=0.5) + SEDGE + job("sweep", *days)))
    assert found.loads == {"noor": 80, "ivo": 40}
    assert (found.fairness.jain, found.fairness.gini, found.fairness.spread) == pytest.approx((1.0, 0.0, 0.0))


def test_who_has_no_share_is_asked_only_where_nobody_else_is_there():
    assert rota(keeper("Noor", weekdays=["Mon"]), keeper("Ivo", share=0), SEDGE, job("a", 7), job("b", 7), job("c", 8)) == text("""
        Mon 07 Dec Noor 40 min: Sedge a, Sedge b
        Tue 08 Dec Ivo 20 min: Sedge c
        minutes: ivo 20, noor 40
    """)  # fmt: skip


def shareless(some: Case) -> Case:
    """Return a case in which all shares are nothing. A description that says so is refused; nothing else guards the rota."""
    site = copy(some.site)
    site.keepers = tuple(k.model_copy(update={"share": 0.0}) for k in site.keepers)
    return some.but(site=site)


def test_where_nobody_has_a_share_all_have_the_same():
    found = made(shareless(duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8, 9, 10))))
    assert found.loads == {"noor": 40, "ivo": 40}
    assert found.fairness.jain == pytest.approx(1.0)


def test_who_has_done_more_before_does_less_now():
    past = Past(ahead={"noor": 20.0, "ivo": -20.0})
    found = made(duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8, 9, 10), past=past))
    assert found.loads == {"noor": 20, "ivo": 60}
    assert found.fairness.jain == pytest.approx(1.0)


def test_nobody_makes_up_for_more_than_half_a_fair_load_at_once():
    past = Past(ahead={"noor": 4000.0, "ivo": -4000.0})
    found = made(duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8, 9, 10), past=past))
    assert found.loads == {"noor": 20, "ivo": 60}


@pytest.mark.parametrize(("who", "other"), [("Noor", "Ivo"), ("Ivo", "Noor")])
@pytest.mark.parametrize("name", ["Alder", "alder", "sweep"])
def test_who_likes_a_job_or_an_enclosure_gets_it(who, other, name):
    """Whichever of the two comes first by name, by weekdays or by skills."""
    for more in ({}, {"weekdays": ["Mon", "Tue"]}):
        some = duties(
            keeper(who, prefers=[name], **more)
            + keeper(other)
            + POND
            + job("sweep", 7)
            + SEDGE
            + job("rake", 7)
        )
        assert {t.item.job.key: t.keeper.name for t in made(some).tasks()} == {"sweep": who, "rake": other}


@pytest.mark.parametrize(("who", "other"), [("Noor", "Ivo"), ("Ivo", "Noor")])
def test_who_would_rather_not_does_the_other_job(who, other):
    for more in ({}, {"weekdays": ["Mon", "Tue"]}):
        some = duties(
            keeper(who, avoids=["sweep"], **more)
            + keeper(other)
            + POND
            + job("sweep", 7)
            + SEDGE
            + job("rake", 7)
        )
        assert {t.item.job.key: t.keeper.name for t in made(some).tasks()} == {"sweep": other, "rake": who}


def test_a_wish_is_no_rule():
    assert rota(keeper("Noor", avoids=["sweep"]), SEDGE, job("sweep", 7)) == text("""
        Mon 07 Dec Noor 20 min: Sedge sweep
        minutes: noor 20
    """)


def test_the_keeper_who_knows_the_enclosure():
    for knows in ("noor", "ivo"):
        past = Past(knows={(knows, "alder"): 500.0})
        some = duties(
            keeper("Noor") + keeper("Ivo") + POND + job("sweep", 7) + SEDGE + job("rake", 7), past=past
        )
        assert {t.item.job.key: t.keeper.id for t in made(some).tasks()}["sweep"] == knows


def test_unloved_jobs_go_to_who_did_them_least():
    wipe = '[[enclosure.extra_job]]\nkey = "{}"\ntitle = "Duty"\non = [2026-12-07]\nminutes = 20\n'
    for turns in ("noor", "ivo"):
        past = Past(turns={(turns, "wipe-down"): 3})
        some = duties(
            keeper("Noor") + keeper("Ivo") + POND + wipe.format("dry") + SEDGE + wipe.format("look"),
            past=past,
        ).with_jobs(lambda j: replace(j, key="wipe-down" if j.key == "dry" else j.key))
        found = made(some)
        assert {t.item.job.key: t.keeper.id for t in found.tasks()}["wipe-down"] != turns


def test_where_the_bound_says_little_is_said():
    """A job of twenty minutes is more than all that is fair for somebody with a thousandth of a share."""
    some = duties(keeper("Noor", share=1000) + keeper("Ivo") + SEDGE + job("sweep", 7, 8))
    assert made(some).fairness.coarse == ("ivo",)
    even = duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 7, 8))
    assert made(even).fairness.coarse == ()
