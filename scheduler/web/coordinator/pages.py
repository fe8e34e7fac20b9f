"""Which pages of a coordinator there are, and which of them shows a refused form again."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from starlette.responses import Response

from scheduler.web.coordinator.animal import animal_page
from scheduler.web.coordinator.links import links_page
from scheduler.web.coordinator.origin import Origin
from scheduler.web.coordinator.review import review_page
from scheduler.web.coordinator.rota import rota_page
from scheduler.web.coordinator.tank import tank_page
from scheduler.web.coordinator.today import today_page
from scheduler.web.handover import give_page
from scheduler.web.round import TOLD, round_page
from scheduler.web.visit import PageVisit

Shown = Callable[[PageVisit], Response]


def site_parts(asked: Mapping[str, str]) -> dict[str, Shown]:
    """Return what shows each page that a coordinator has besides the round, by its part of the address."""
    of, alert = asked.get("id", ""), TOLD.get(asked.get("told", ""), "")
    return {
        "site": lambda visit: today_page(visit, alert),
        "tank": lambda visit: tank_page(visit, of, alert),
        "animal": lambda visit: animal_page(visit, of, alert),
        "rota": lambda visit: rota_page(visit, alert),
        "review": review_page,
        "links": lambda visit: links_page(visit, alert),
        **({"give": lambda visit: give_page(visit, of, alert)} if of else {}),
    }


def page_again(visit: PageVisit, form: Mapping[str, str], told: str, status: int) -> Response:
    """Return the page from which a form was sent, with why it was not taken and what was typed."""
    origin = visit.came_from or Origin("site")
    shown: dict[str, Shown] = {
        "site": lambda visit: today_page(visit, told, status),
        "tank": lambda visit: tank_page(visit, origin.of, told, status, written=form),
        "animal": lambda visit: animal_page(visit, origin.of, told, status),
        "rota": lambda visit: rota_page(visit, told, status, written=form),
        "links": lambda visit: links_page(visit, told, status),
        "give": lambda visit: give_page(visit, origin.of, told, status),
    }
    again = shown.get(origin.part)
    return round_page(visit, told, status, written=form) if again is None else again(visit)
