"""`pondround remind` through a real mail server: who is told what, and when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from support.mail_server import MailServer, certificate
from support.reminding import ALARM, TUESDAY, fen, parts, post, remind, weeks
from support.rota.shared_out import MONDAY, ok, stand

__all__ = ["certificate", "fen", "post", "weeks"]


def test_mails_as_they_read(fen: Path, post: MailServer, golden: Callable[[str, str], None]) -> None:
    """The morning's round; then a part of it goes to somebody else, and all of Tuesday's."""
    assert remind() == (
        0,
        "Ines: Today: brush the pane Sedge\nNoor: Today: brush the pane Reed, 1 more\n",
        "",
    )
    ok("swap enclosures.toml 2026-12-07 noor ben reed")
    ok("swap enclosures.toml 2026-12-09 noor ben")
    ok("did enclosures.toml landing look --by noor")
    remind("08:00")
    ok("swap enclosures.toml 2026-12-09 ben noor pump", today=TUESDAY)
    remind("08:00", TUESDAY)
    shown = [f"To: {mail['To']}\nSubject: {mail['Subject']}\n\n{parts(mail)[0]}" for _, mail in post.mails]
    golden("remind-mails.txt", "\n=====\n".join(shown))
    golden("remind-mail.html", parts(post.mails[1][1])[1])


def test_a_mail_is_one_that_any_program_can_read(fen: Path, post: MailServer) -> None:
    """RFC 5322 and RFC 2046: plain text before HTML, nothing fetched from anywhere, and no note of absence in answer."""
    remind()
    mail = post.mails[1][1]
    assert {name: mail[name] for name in ("From", "To", "Auto-Submitted")} == {
        "From": "Fen Lane <turtles@fen.example>",
        "To": "Noor <noor@example.org>",
        "Auto-Submitted": "auto-generated",
    }
    assert mail["Date"].datetime == dt.datetime(2026, 12, 7, 6, tzinfo=dt.UTC)
    assert [part.get_content_type() for part in mail.walk()] == [
        "multipart/alternative",
        "text/plain",
        "text/html",
    ]
    assert all(not part.defects for part in mail.walk())
    html = parts(mail)[1]
    assert not any(sign in html for sign in ("http", "src=", "url(", "<script", "<img", "<link"))


def test_names_of_any_letters_stay_what_they_are(
    tmp_path: Path, post: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    odd = 'Zoë <b>&"Q" 亀'
    text = ALARM.replace('"Noor"', f"'{odd}'").replace("Rill", "Weiher & Söhne").replace("changes", "morning")
    stand(tmp_path, text, monkeypatch)
    code, _, err = remind()
    assert (code, err) == (0, "")
    mail = post.mails[0][1]
    assert mail["To"].addresses[0].display_name == odd
    assert mail["From"].addresses[0].display_name == "Weiher & Söhne"
    plain, html = parts(mail)
    assert plain.startswith(f"{odd}, this is your round")
    assert "<p>Zoë &lt;b&gt;&amp;&quot;Q&quot; 亀, this is" in html


def test_each_mail_is_sent_once(fen: Path, post: MailServer) -> None:
    for at in ("06:00", "06:05", "07:00", "18:29"):
        assert remind(at)[0] == 0
    assert [to for to, _ in post.mails] == ["ines@example.org", "noor@example.org"]
    ok("swap enclosures.toml 2026-12-07 noor ben reed")
    for at in ("08:00", "08:05"):
        remind(at)
    assert post.boxes()[2:] == [
        ("ben@example.org", "Changed: today also brush the pane Reed"),
        ("noor@example.org", "Changed: today without brush the pane Reed"),
    ]


HOURS = [
    # site.times, at, whether the morning's mails go
    ("", "05:29", False),
    ("", "05:30", True),
    ("", "18:29", True),
    ("", "18:30", False),
    ("", "23:00", False),
    ('[site.times]\nmorning = "05:00"\n', "02:59", False),
    ('[site.times]\nmorning = "05:00"\n', "03:00", True),
    ('[site.times]\nremind = "04:15"\n', "04:14", False),
    ('[site.times]\nremind = "04:15"\n', "04:15", True),
]


@pytest.mark.parametrize(("times", "at", "goes"), HOURS)
def test_when_the_mail_of_the_morning_goes(
    fen: Path, post: MailServer, times: str, at: str, goes: bool
) -> None:
    """From two hours before the morning's work on, to the evening's: then the day is nearly over."""
    file = fen / "enclosures.toml"
    file.write_text(file.read_text("utf-8").replace("[[keeper]]", times + "[[keeper]]", 1), "utf-8")
    code, out, _ = remind(at)
    assert (code, out.count("Today: ")) == (0, 2 if goes else 0)


def test_who_has_nothing_to_do_gets_no_mail(fen: Path, post: MailServer) -> None:
    """On Saturday only Olu has a round, who asks for nothing."""
    for day in (MONDAY, "2026-12-08", "2026-12-09", "2026-12-10", "2026-12-11"):
        for keeper, places in (("noor", "sedge reed"),):
            ok(f"did enclosures.toml {places} brush --by {keeper}", today=day)
    ok("did enclosures.toml landing look --by ben", today="2026-12-11")
    ok("did enclosures.toml sedge pump --by noor", today="2026-12-09")
    assert remind(today="2026-12-12") == (0, "", "")
    assert post.mails == []


def test_what_was_done_is_no_news(fen: Path, post: MailServer) -> None:
    remind()
    ok("did enclosures.toml reed brush --by noor")
    ok("did enclosures.toml landing look --by ben")
    assert remind("08:00") == (0, "", "")
    # Taken back, it is to be done as before.
    ok("undo enclosures.toml")
    assert remind("08:10") == (0, "", "")


def test_who_is_left_with_nothing_is_told_who_takes_it(fen: Path, post: MailServer) -> None:
    remind()
    ok("swap enclosures.toml 2026-12-07 noor ben")
    remind("08:00")
    to, mail = post.mails[-1]
    assert (to, mail["Subject"]) == ("noor@example.org", "Changed: nothing for you today")
    assert parts(mail)[0].split("\n\n")[1:3] == [
        "What is new\n"
        "- No longer yours: Reed: brush the pane. Ben Ash takes it.\n"
        "- No longer yours: Landing: look and listen. Ben Ash takes it.",
        "Nothing is left for you today.",
    ]


def test_taken_and_given_back_and_taken_again_is_told_each_time(fen: Path, post: MailServer) -> None:
    """Three mails with other Message-IDs, though the first and the last of them say the same."""
    remind()
    for n, line in enumerate(("noor ben", "ben noor", "noor ben")):
        ok(f"swap enclosures.toml 2026-12-07 {line} reed")
        assert remind(f"08:0{n}")[0] == 0
    of_ben = [(str(m["Subject"]), str(m["Message-ID"])) for to, m in post.mails if to == "ben@example.org"]
    assert [subject for subject, _ in of_ben] == [
        "Changed: today also brush the pane Reed",
        "Changed: nothing for you today",
        "Changed: today also brush the pane Reed",
    ]
    assert len({identity for _, identity in of_ben}) == 3
    # What came and went between two runs is nothing that anybody saw.
    for line in ("ben noor", "noor ben"):
        ok(f"swap enclosures.toml 2026-12-07 {line} reed")
    assert remind("08:10") == (0, "", "")


def test_somebody_falls_ill(fen: Path, post: MailServer) -> None:
    remind()
    ok("rota enclosures.toml --weeks 1 --ill noor --publish")
    code, out, _ = remind("08:00")
    assert code == 0
    assert "Noor: Changed: nothing for you today\n" in out
    assert "Noor: Changed: nothing for you tomorrow" not in out


def test_tomorrow_is_told_at_once_and_the_day_after_is_not(fen: Path, post: MailServer) -> None:
    ok("swap enclosures.toml 2026-12-09 noor ben")
    assert remind("20:00") == (0, "", "")
    assert remind("20:00", TUESDAY)[1] == ""
    ok("swap enclosures.toml 2026-12-09 ben noor pump", today=TUESDAY)
    assert remind("20:05", TUESDAY)[1] == (
        "Ben Ash: Changed: tomorrow without rinse the pump Sedge\n"
        "Noor: Changed: tomorrow also rinse the pump Sedge\n"
    )


def test_before_the_mail_of_the_morning_nothing_of_that_day_is_told(fen: Path, post: MailServer) -> None:
    """At night Noor's round of the day gets larger: the mail of the morning says so; Ben, who gets none, is told at once."""
    ok("swap enclosures.toml 2026-12-07 noor ben reed")
    assert remind("03:00")[1] == "Ben Ash: Changed: today also brush the pane Reed\n"
    assert "Noor: Today: look and listen Landing\n" in remind("06:00")[1]


def test_an_alarm_is_told_at_once(
    tmp_path: Path, post: MailServer, monkeypatch: pytest.MonkeyPatch, golden: Callable[[str, str], None]
) -> None:
    """Ammonia of 2 mg/L asks for a change of water today, whoever measured it, and for a test tomorrow."""
    stand(tmp_path, ALARM, monkeypatch)
    ok("rota enclosures.toml --weeks 2 --publish", today="2026-12-01")
    assert remind("07:00", "2026-12-01") == (0, "", "")
    values = 'tejo ammonia="2 mg/L as N" ph=7.8 temperature="25 degC"'
    ok(f"reading enclosures.toml {values} --sure", today="2026-12-01")
    assert remind("07:05", "2026-12-01")[::2] == (0, "")
    shown = [f"Subject: {mail['Subject']}\n\n{parts(mail)[0]}" for _, mail in post.mails]
    golden("remind-alarm.txt", "\n=====\n".join(shown))


def test_a_stop_of_food_is_news_of_a_meal_that_was_told(
    tmp_path: Path, post: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The meal of the day was in the mail of the morning; it is the same one, and its note says to feed nothing now."""
    for what in ('["morning", "changes"]', '["changes"]'):
        folder = tmp_path / str(len(what))
        folder.mkdir()
        stand(folder, ALARM.replace('["changes"]', what), monkeypatch)
        ok("rota enclosures.toml --weeks 2 --publish", today="2026-12-01")
        remind("07:00", "2026-12-02")
        ok("reading enclosures.toml tejo ammonia='2 mg/L as N' --sure", today="2026-12-02")
        remind("07:05", "2026-12-02")
        mail = next(m for _, m in reversed(post.mails) if "today" in str(m["Subject"]))
        assert mail["Subject"] == "Changed: today Feed: see note, also Extra change"
        news = parts(mail)[0].split("\n\n")[1].splitlines()
        assert news[1] == "- Read its note again: Tejo: feed (read the note first)."
        assert "feed nothing until a test is clean" in parts(mail)[0]
        # It was mistyped.
        ok("undo enclosures.toml", today="2026-12-02")
        remind("07:10", "2026-12-02")
        mail = next(m for _, m in reversed(post.mails) if "today" in str(m["Subject"]))
        assert "- As usual again: Tejo: feed." in parts(mail)[0]
