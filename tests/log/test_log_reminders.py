"""Mails in the log of either database: one process sends, what became of it is kept, and a claim ends with time."""

from __future__ import annotations

import datetime as dt
import threading
from dataclasses import replace

import pytest
from support.logged import DAY, NOW, SITE

from scheduler.errors import LogError
from scheduler.history import OccurrenceRef
from scheduler.log import Log, Published, open_log
from scheduler.log.reminders import (
    CLAIM,
    MailedDuty,
    Reminder,
    begin,
    forget,
    note_refused,
    note_sent,
    release,
    reminders,
    take_up,
)

MAIL = Reminder(
    keeper="noor",
    day=DAY,
    kind="morning",
    message_id="<a@fen.example>",
    recipient="f00",
    recorded=NOW.replace(microsecond=0),
    told=(
        MailedDuty(OccurrenceRef("sedge", "feed", "adult", DAY)),
        MailedDuty(
            OccurrenceRef("sedge", "media-rinse", "", DAY - dt.timedelta(days=2)), helps=True, read_first=True
        ),
    ),
    subject="Today: Feed Sedge, 1 more",
    text="Schildkröten 亀\n",
    html="<p>",
)
SECOND = dt.timedelta(seconds=1)


def begun(log: Log, mail: Reminder = MAIL, after: int = 0) -> Reminder:
    number = begin(log, SITE, mail, after=after, now=NOW)
    assert number is not None
    return replace(mail, number=number, claimed=NOW + CLAIM)


def test_a_mail_is_kept_whole_until_it_is_known_what_became_of_it(url: str) -> None:
    with open_log(url) as log:
        mail = begun(log)
        assert reminders(log, SITE, DAY) == [mail]
        assert reminders(log, "other", DAY) == reminders(log, SITE, DAY + dt.timedelta(days=1)) == []
        note_sent(log, SITE, mail)
        kept = replace(mail, state="sent", claimed=None, subject="", text="", html="")
        assert reminders(log, SITE, DAY) == [kept]
        # Whoever comes late with another fate changes nothing.
        note_refused(log, SITE, mail)
        release(log, SITE, mail)
        forget(log, SITE, mail)
        assert reminders(log, SITE, DAY) == [kept]
        refused = begun(log, replace(MAIL, kind="changes"), after=mail.number)
        note_refused(log, SITE, refused)
        assert [(one.state, one.told) for one in reminders(log, SITE, DAY)] == [
            ("sent", MAIL.told),
            ("refused", ()),
        ]


def test_who_does_not_know_the_last_mail_about_a_round_begins_none(url: str) -> None:
    with open_log(url) as log:
        first = begun(log)
        assert begin(log, SITE, MAIL, after=0, now=NOW) is None
        # Of another keeper and another day it is the first one.
        begun(log, replace(MAIL, keeper="ben"))
        begun(log, replace(MAIL, day=DAY + dt.timedelta(days=1)))
        forget(log, SITE, first)
        assert begin(log, SITE, MAIL, after=0, now=NOW) is not None


def test_a_claim_ends_with_time_or_where_it_is_given_up(url: str) -> None:
    with open_log(url) as log:
        mail = begun(log)
        assert [take_up(log, SITE, mail, now=now) for now in (NOW, NOW + CLAIM)] == [False, False]
        assert take_up(log, SITE, mail, now=NOW + CLAIM + SECOND)
        assert not take_up(log, SITE, mail, now=NOW + CLAIM + 2 * SECOND)
        release(log, SITE, mail)
        assert take_up(log, SITE, mail, now=NOW)
        note_sent(log, SITE, mail)
        assert not take_up(log, SITE, mail, now=NOW + 10 * CLAIM)


def test_a_claim_of_a_clock_that_was_ahead_does_not_last_until_then(url: str) -> None:
    with open_log(url) as log:
        mail = begun(log)
        assert take_up(log, SITE, mail, now=NOW - dt.timedelta(days=365))


def test_of_many_who_begin_at_once_one_does(url: str) -> None:
    with open_log(url) as log:
        got: list[int | None] = []
        start = threading.Barrier(6)

        def run() -> None:
            start.wait()
            got.append(begin(log, SITE, MAIL, after=0, now=NOW))

        threads = [threading.Thread(target=run) for _ in range(6)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sum(number is not None for number in got) == 1
        assert len(reminders(log, SITE, DAY)) == 1


def test_what_was_told_of_days_long_over_is_let_go(url: str) -> None:
    with open_log(url) as log:
        note_sent(log, SITE, begun(log))
        later = NOW + dt.timedelta(days=3)
        begun(log, replace(MAIL, day=DAY + dt.timedelta(days=3), recorded=later))
        assert [bool(one.told) for one in reminders(log, SITE, DAY)] == [False, True]


def test_a_damaged_mail_is_said_to_be_so(url: str) -> None:
    with open_log(url) as log:
        begun(log)
        with log.writing(SITE) as connection:
            connection.exec_driver_sql(
                "UPDATE reminder SET body = message_id" + "::bytea" * ("postgres" in url)
            )
        with pytest.raises(LogError, match="damaged"):
            reminders(log, SITE, DAY)


def test_the_rota_that_held_at_an_instant(url: str) -> None:
    """Where none held yet it is the first one: nobody saw another."""

    def of(hour: int) -> Published:
        return Published(DAY, DAY, NOW.replace(hour=hour), ())

    with open_log(url) as log:
        assert log.published_before(SITE, NOW) is None
        for hour in (6, 8, 10):
            log.publish(SITE, of(hour))
        assert [
            found.recorded.hour
            for hour in (5, 6, 7, 9, 11)
            if (found := log.published_before(SITE, NOW.replace(hour=hour, minute=31)))
        ] == [6, 6, 6, 8, 10]
