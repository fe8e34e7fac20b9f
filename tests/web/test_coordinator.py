"""The pages of whoever answers for a whole site: what they show, what is done from them, and who cannot."""

from __future__ import annotations

import datetime as dt
import html
import re

import pytest
from support.web.ford import FORD, Ford, ford
from support.web.http_client import TODAY, ask, forms, page_path

from scheduler.web.coordinator.origin import Origin, origin_in
from scheduler.workflow import open_workspace, read_site
from scheduler.workflow.feeds.links import links_of, revoke_link
from scheduler.workflow.rota.site_rota import rota_to_export

__all__ = ["ford"]

DAY = dt.date.fromisoformat(TODAY)


def after(days: int) -> str:
    return str(DAY + dt.timedelta(days=days))


def words(page: str) -> str:
    """Return the text of a page below its head."""
    found = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.partition("<main")[2])).split())
    return re.sub(r" ([,;:.)])", r"\1", found).replace("( ", "(")


def row(page: str, tank: str) -> str:
    (found,) = [part for part in page.split("<tr ") if f">{tank}</bdi></a>" in part]
    return words(f"<main {found}")


# --- what is shown ---


def test_the_site_today_says_what_the_rota_says(ford: Ford) -> None:
    page = ford.page()
    space = open_workspace(ford.file, TODAY)
    tasks = [task for task in rota_to_export(space, DAY).rota.tasks() if task.day == DAY]
    for enclosure in space.site.enclosures:
        own = [task for task in tasks if task.item.job.enclosure.id == enclosure.id]
        line = row(page, enclosure.name)
        for task in own:
            assert task.item.job.short.lower() in line.lower()
            assert task.keeper.name in line
    assert f"{len(tasks)} of {len(tasks)} jobs open" in page
    assert page.index(">Alder<") < page.index(">Birch<") < page.index(">Quay<")


def test_a_reading_has_its_verdict_in_the_line_of_its_tank(ford: Ford) -> None:
    read = ford.form("/tank?id=alder", "reading")
    assert ford.send(read, reading="nitrate", value="12 mg/L").status == 303
    assert ford.send(read, reading="temperature", value="24 degC").status == 303
    assert "24 °C, fine; nitrate 12 mg/L, fine (today)" in row(ford.page(), "Alder")
    assert ford.send(read, reading="temperature", value="33 degC", sure="yes").status == 303
    page = ford.page()
    assert "33 °C, act; nitrate 12 mg/L, fine (today)" in row(page, "Alder")
    assert "at once" in row(page, "Alder")
    assert words(page).startswith('id="main" class="desk"> Alder: Unplug the heater now')


def test_a_tank_an_animal_the_rota_and_the_review(ford: Ford) -> None:
    tank = words(ford.page("/tank?id=alder"))
    assert "Fern painted turtle (Chrysemys picta)" in tank
    assert "gross volume 240 L 120 cm x 50 cm x 40 cm of water = 240 L" in tank
    assert "Recorded in the last 60 days Nothing." in tank
    animal = words(ford.page("/animal?id=fern"))
    assert "painted turtle (Chrysemys picta); lives in Alder" in animal
    assert "Alder not known" in animal
    rota = words(ford.page("/rota"))
    assert "Week of 14 December 2026: minutes, and how many tanks" in rota
    assert "Somebody cannot come" in rota
    review = ford.page("/review")
    assert "To act on" in review and f"{page_path(ford.ada)}/tank?id=alder" in review


@pytest.mark.parametrize(
    "part", ["/tank", "/tank?id=", "/tank?id=nowhere", "/animal?id=nobody", "/give?id=nobody", "/sites"]
)
def test_what_is_not_there(ford: Ford, part: str) -> None:
    assert ford.ask(part).status == 404


# --- a day ---


def test_a_normal_day_changes_exactly_the_lines_meant(ford: Ford) -> None:
    """Two alarms, somebody ill for three days, an animal in quarantine, a lamp replaced, a swap, a note for the vet."""
    read = ford.form("/tank?id=alder", "reading")
    ford.send(read, reading="temperature", value="33 degC", sure="yes")
    ford.send(ford.form("/tank?id=birch", "reading"), reading="ammonia", value="1 mg/L")
    alarms = [f for f in forms(ford.page(), "done") if f.fields["from"] == "site"]
    assert {f.fields["enclosure"] for f in alarms} == {"alder", "birch"}
    for alarm in alarms:
        answer = ford.send(alarm)
        assert (answer.status, answer["Location"].partition("#")[0]) == (303, f"{page_path(ford.ada)}/site")
    assert "at once" not in ford.page()

    asked = ford.send(ford.form("/rota", "away"), who="ben", on=TODAY, to=after(2), why="a cold")
    assert asked.status == 200 and "Nothing is recorded yet" in asked.text
    assert "Ben is away, 14 December 2026 to 16 December 2026" in words(asked.text)
    assert "Ben cannot come. Please also do on" in words(asked.text)
    (sure,) = forms(asked.text, "away")
    assert ford.send(sure)["Location"] == f"{page_path(ford.ada)}/rota#round"
    assert "Ben is away Mon 14 Dec to Wed 16 Dec" in words(ford.page("/rota"))
    assert not [t for t in rota_to_export(open_workspace(ford.file, TODAY), DAY).rota.tasks()
                if t.keeper.id == "ben" and t.day <= DAY + dt.timedelta(days=2)]  # fmt: skip

    arrival = ford.form("/tank?id=quay", "arrival")
    asked = ford.send(
        arrival, name="Wren", species="musk turtle", carapace="9 cm", mass="120 g", quarantine="yes"
    )
    assert asked.status == 200 and "Wren arrives on 14 December 2026. What it changes Quay, new:" in words(
        asked.text
    )
    (sure,) = forms(asked.text, "arrival")
    assert ford.send(sure)["Location"] == f"{page_path(ford.ada)}/tank?id=quay#round"
    assert words(ford.page("/animal?id=wren")).count("Quay") >= 2

    other = ford.form("/tank?id=alder", "done", which="")
    (lamp,) = [one for one in other.choices["which"] if one.startswith("uv-lamp-replace")]
    assert ford.send(other, which=lamp, note="the spare one").status == 303
    assert "Choose what was done" in ford.send(other, which="").text
    note = ford.form("/tank?id=alder", "note")
    assert ford.send(note, note="Fern scratches at the left eye.", vet="yes").status == 303

    given = next(f for f in forms(ford.page("/give?id=ada"), "hand-over") if "cora" in f.choices["to"])
    task = next(name for name in given.fields if name.startswith("task/"))
    for name in [n for n in given.fields if n.startswith("task/") and n != task]:
        del given.fields[name]
    assert ford.send(given, to="cora")["Location"] == f"{page_path(ford.ada)}/give?id=ada#round"

    assert {(e.kind, e.name, e.keeper) for e in ford.entries() if e.kind in {"away", "arrived"}} == {
        ("away", "ben", "ada"), ("arrived", "wren", "ada"),
    }  # fmt: skip
    assert {e.keeper for e in ford.entries()} == {"ada"}
    assert "Fern scratches at the left eye" in ford.page("/review")
    changed = ford.file.read_text("utf-8")
    added = [line for line in changed.splitlines() if line not in FORD.splitlines()]
    assert added == [
        'name = "Wren"', 'id = "wren"', 'species = "musk turtle"', 'carapace = "9 cm"', 'mass = "120 g"',
        "quarantine = true", "arrived = 2026-12-14",
    ]  # fmt: skip
    assert [line for line in FORD.splitlines() if line not in changed.splitlines()] == []


def test_somebody_is_here_again_before_the_days_are_over(ford: Ford) -> None:
    away = ford.form("/rota", "away")
    ford.send(forms(ford.send(away, who="ben", on=TODAY, to=after(4)).text, "away")[0])
    asked = ford.send(ford.form("/rota", "back", who="ben"))
    (sure,) = forms(asked.text, "back")
    assert "Ben is here again from today" in words(asked.text)
    assert ford.send(sure).status == 303
    assert "Ben is away" not in words(ford.page("/rota"))


def test_a_form_that_is_refused_comes_back_on_its_page_with_what_was_typed(ford: Ford) -> None:
    refused = ford.send(ford.form("/tank?id=quay", "arrival"), name="Wren", carapace="long", why="by post")
    assert refused.status == 422
    assert "enclosure[2].resident[0].carapace" in refused.text and "Nothing was changed" in refused.text
    (again,) = forms(refused.text, "arrival")
    assert (again.fields["name"], again.fields["carapace"], again.fields["why"]) == (
        "Wren",
        "long",
        "by post",
    )
    refused = ford.send(ford.form("/tank?id=alder", "reading"), reading="ph", value="acid")
    assert refused.status == 422 and 'value="acid"' in refused.text and "Last read" in refused.text
    refused = ford.send(ford.form("/rota", "away"), who="ben", on=after(3), to=after(1), why="a cold")
    assert refused.status == 422 and "the last day is before the first one" in refused.text.lower()
    assert forms(refused.text, "away")[0].fields["why"] == "a cold"
    assert ford.send(ford.form("/rota", "away"), who="zoe").status == 422
    assert ford.entries() == [] and ford.file.read_text("utf-8") == FORD


def test_a_page_of_yesterday_changes_nothing(ford: Ford) -> None:
    form = ford.form("/tank?id=quay", "arrival")
    old = ford.send(form, name="Wren", day=after(-1))
    assert old.status == 403
    assert ford.entries() == []


# --- links ---


def test_a_link_is_made_shown_once_and_ended(ford: Ford) -> None:
    make = ford.form("/links", "link", do="make")
    assert "coordinator" not in " ".join(make.choices["opens"])
    shown = ford.send(make, opens="page/cora", name="Cora's telephone")
    (address,) = re.findall(r'class="address">([^<]*/round/[\w-]{27})<', shown.text)
    assert shown.status == 200 and shown["Cache-Control"] == "private, no-store"
    assert "On your telephone" in shown.text
    secret = address.rpartition("/")[2]
    assert "Cora" in ask(ford.served.url, f"/round/{secret}").text
    # Sent twice it is made once.
    again = ford.send(make, opens="page/cora")
    assert again.status == 422 and "The links have changed since the page was made" in again.text
    page = words(ford.page("/links"))
    assert "Cora&#x27;s telephone: the round of Cora" in page or "Cora's telephone: the round of Cora" in page
    assert "(this page)" in page and secret not in ford.page("/links")
    site = read_site(ford.file)
    number = next(str(one.number) for one in links_of(ford.file, site) if one.of == "cora")
    asked = ford.send(ford.form("/links", "link", do="revoke", link=number))
    assert "It opens nothing any more from the next request on" in words(asked.text)
    assert ask(ford.served.url, f"/round/{secret}").status == 200
    (sure,) = forms(asked.text, "link")
    assert ford.send(sure)["Location"] == f"{page_path(ford.ada)}/links#round"
    assert ask(ford.served.url, f"/round/{secret}").status == 404
    assert "there is no such link" in ford.send(sure, links=str(int(sure.fields["links"]) + 1)).text.lower()


def test_a_link_is_given_anew(ford: Ford) -> None:
    site = read_site(ford.file)
    number = next(str(one.number) for one in links_of(ford.file, site) if one.of == "ben")
    (sure,) = forms(ford.send(ford.form("/links", "link", do="renew", link=number)).text, "link")
    shown = ford.send(sure)
    (address,) = re.findall(r'class="address">([^<]*/round/[\w-]{27})<', shown.text)
    assert ask(ford.served.url, page_path(ford.ben)).status == 404
    assert ask(ford.served.url, f"/round/{address.rpartition('/')[2]}").status == 200


@pytest.mark.parametrize("opens", ["", "page/zoe", "coordinator/ben", "enclosure/nowhere", "site/alder"])
def test_what_no_link_opens(ford: Ford, opens: str) -> None:
    refused = ford.send(ford.form("/links", "link", do="make"), opens=opens)
    assert refused.status == 422 and "Choose what the link opens" in refused.text
    assert len(links_of(ford.file, read_site(ford.file))) == 2


# --- who may ---


def test_a_keeper_has_none_of_it(ford: Ford) -> None:
    for part in ("/site", "/tank?id=alder", "/rota", "/review", "/links"):
        assert ford.ask(part, ford.ben).status == 404
    # To that address forms are sent: it leads back to the round.
    assert ford.ask("/animal?id=fern", ford.ben)["Location"] == page_path(ford.ben)
    assert "Pages of the site" not in ford.page("", ford.ben)
    away = next(f for f in forms(ford.page("", ford.ben), "away"))
    # Whatever a form names, it is of the keeper of the page.
    asked = ford.send(away, who="ada", **{"from": "rota"})
    assert "Ben is away" in words(asked.text) and "Ada is away" not in words(asked.text)
    arrival = ford.form("/tank?id=quay", "arrival")
    seal = {name: away.fields[name] for name in ("day", "seen", "seal")}
    arrival.action = f"{page_path(ford.ben)}/arrival"
    refused = ford.send(arrival, name="Wren", **seal)
    assert refused.status == 422 and "is written into the description" in refused.text
    make = ford.form("/links", "link", do="make")
    make.action = f"{page_path(ford.ben)}/link"
    refused = ford.send(make, opens="site/", **seal)
    assert refused.status == 422 and "by whoever answers for the site" in refused.text
    assert len(links_of(ford.file, read_site(ford.file))) == 2
    assert ford.entries() == []


def test_a_link_that_is_revoked_opens_nothing_from_the_next_request_on(ford: Ford) -> None:
    form = ford.form("/tank?id=quay", "arrival")
    site = read_site(ford.file)
    revoke_link(ford.file, site, ford.ada.link.name)
    assert ford.ask("/site").status == 404
    answer = ford.send(form, name="Wren", sure="yes")
    # What was typed is not lost with the link.
    assert answer.status == 404 and "Wren" in answer.text
    assert ford.file.read_text("utf-8") == FORD


def test_the_round_of_who_answers_is_there_too(ford: Ford) -> None:
    page = ford.page("")
    assert 'aria-label="Pages of the site"' in page
    assert ask(ford.served.url, f"/feeds/{ford.ada.calendar}.ics").status == 200


@pytest.mark.parametrize(
    ("said", "found", "place"),
    [
        ("site", Origin("site"), "/site#x"),
        ("tank/alder", Origin("tank", "alder"), "/tank?id=alder#x"),
        ("tank/a b&c", Origin("tank", "a b&c"), "/tank?id=a%20b%26c#x"),
        ("tank", None, ""),
        ("site/alder", None, ""),
        ("../x", None, ""),
        ("https://example.org", None, ""),
        ("tank/" + "x" * 300, None, ""),
        ("", None, ""),
    ],
)
def test_where_a_form_leads_back_to(said: str, found: Origin | None, place: str) -> None:
    assert origin_in({"from": said}) == found
    if found is not None:
        assert found.at("#x") == place
        assert found.at("?told=taken-back#alert").startswith(place.removesuffix("#x"))
        assert found.at("/recorded?entry=1") == "/recorded?entry=1"
