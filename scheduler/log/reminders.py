"""Mails to keepers: noted before the server is asked to take one, and once it has; of two processes one
sends.

A mail is kept from before it is sent until it is known what became of it, so that whoever was killed in
between sends the same one again: the same bytes, under the same message id. What is known not to be taken is
forgotten, and made anew.
"""

from __future__ import annotations

import datetime as dt
import gzip
import json
import zlib
from dataclasses import dataclass
from typing import Any, Literal, cast

import sqlalchemy as sa

from scheduler.history import OccurrenceRef
from scheduler.log.rows import unreadable
from scheduler.log.store import Log
from scheduler.log.tables import reminder

MailKind = Literal["morning", "changes"]
State = Literal["begun", "sent", "refused"]

CLAIM = dt.timedelta(minutes=3)
"""So long who has begun a mail is left alone with it: whoever sends gives up sooner, so then its process has
ended."""


@dataclass(frozen=True, slots=True)
class MailedDuty:
    """Something of a keeper's round: which occurrence, and whether it is another one's, in which the keeper
    lends a hand.

    `read_first` says that its note held something that what was measured brought, as a stop of food.
    """

    ref: OccurrenceRef
    helps: bool = False
    read_first: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminder:
    """A mail to a keeper about the round of a day.

    `recorded` is when it was begun, UTC without zone, of the site's day.

    `told` is what the round holds by it. Subject, text and HTML are empty once it was sent. `recipient` is a
    fingerprint of the address. The log gives the number.
    """

    keeper: str
    day: dt.date
    kind: MailKind
    message_id: str
    recipient: str
    recorded: dt.datetime
    told: tuple[MailedDuty, ...]
    subject: str = ""
    text: str = ""
    html: str = ""
    state: State = "begun"
    claimed: dt.datetime | None = None
    number: int = 0

    def is_claimed(self, now: dt.datetime) -> bool:
        """Tell whether somebody may be sending it."""
        return self.state == "begun" and _holds(self.claimed, now)


def _holds(claimed: dt.datetime | None, now: dt.datetime) -> bool:
    """Tell whether a claim holds. One that is further off than a claim lasts is of a clock that was wrong."""
    return claimed is not None and now <= claimed <= now + CLAIM


def reminders(log: Log, site: str, since: dt.date) -> list[Reminder]:
    """Return the mails about days from `since` on, in the order in which they were begun."""
    query = (
        sa.select(reminder)
        .where(reminder.c.site == site, reminder.c.day >= since)
        .order_by(reminder.c.number)
    )
    with log.reading() as connection:
        if connection is None:
            return []
        with unreadable():
            return [_reminder(row) for row in connection.execute(query)]


def begin(log: Log, site: str, mail: Reminder, *, after: int, now: dt.datetime) -> int | None:
    """Note that a mail is about to be sent, for this process alone; return its number.

    None where the last one about that round is not the one of the number `after`: somebody else was faster.
    """
    with log.writing(site) as connection:
        of_round = sa.and_(
            reminder.c.site == site, reminder.c.keeper == mail.keeper, reminder.c.day == mail.day
        )
        last = connection.execute(sa.select(sa.func.max(reminder.c.number)).where(of_round)).scalar() or 0
        if last != after:
            return None
        made = connection.execute(
            sa.insert(reminder).values(
                site=site,
                keeper=mail.keeper,
                day=mail.day,
                kind=mail.kind,
                message_id=mail.message_id,
                recipient=mail.recipient,
                state="begun",
                recorded=mail.recorded,
                claimed=now + CLAIM,
                body=_body(mail.told, mail),
            )
        )
        # Nobody asks any more what was told of days that are over.
        over = sa.and_(reminder.c.site == site, reminder.c.day < mail.recorded.date() - dt.timedelta(days=2))
        connection.execute(sa.update(reminder).where(over, reminder.c.body != b"").values(body=b""))
        key = made.inserted_primary_key
        return None if key is None else int(key[0])


def take_up(log: Log, site: str, mail: Reminder, *, now: dt.datetime) -> bool:
    """Claim a mail that somebody began and of which nobody knows what became; False where somebody else has
    done so."""
    with log.writing(site) as connection:
        here = sa.and_(reminder.c.site == site, reminder.c.number == mail.number, reminder.c.state == "begun")
        row = connection.execute(sa.select(reminder.c.claimed).where(here)).first()
        if row is None or _holds(row.claimed, now):
            return False
        connection.execute(sa.update(reminder).where(here).values(claimed=now + CLAIM))
        return True


def note_sent(log: Log, site: str, mail: Reminder) -> None:
    """Note that the server took a mail. Of the mail it is kept what it told of the round."""
    _end(log, site, mail, {"state": "sent", "claimed": None, "body": _body(mail.told)})


def note_refused(log: Log, site: str, mail: Reminder) -> None:
    """Note that the server refused a mail for good."""
    _end(log, site, mail, {"state": "refused", "claimed": None, "body": b""})


def release(log: Log, site: str, mail: Reminder) -> None:
    """Give up a mail of which nobody knows whether the server took it: whoever comes next sends the same
    again."""
    _end(log, site, mail, {"claimed": None})


def forget(log: Log, site: str, mail: Reminder) -> None:
    """Forget a mail that the server has not taken, for certain: it is made anew, as things are then."""
    with log.writing(site) as connection:
        connection.execute(
            sa.delete(reminder).where(
                reminder.c.site == site, reminder.c.number == mail.number, reminder.c.state == "begun"
            )
        )


def _end(log: Log, site: str, mail: Reminder, values: dict[str, Any]) -> None:
    with log.writing(site) as connection:
        # Taken is taken, whoever says so: it is never begun again.
        here = sa.and_(reminder.c.site == site, reminder.c.number == mail.number, reminder.c.state == "begun")
        connection.execute(sa.update(reminder).where(here).values(**values))


def _body(told: tuple[MailedDuty, ...], mail: Reminder | None = None) -> bytes:
    rows = [[*one.ref.job, str(one.ref.due), one.helps, one.read_first] for one in told]
    whole: dict[str, Any] = {"told": rows}
    if mail is not None:
        whole |= {"subject": mail.subject, "text": mail.text, "html": mail.html}
    return gzip.compress(json.dumps(whole, ensure_ascii=False, separators=(",", ":")).encode(), 6, mtime=0)


def _reminder(row: sa.Row[Any]) -> Reminder:
    """Return a row as it was written; ValueError where a failing disk has damaged it."""
    try:
        whole = json.loads(gzip.decompress(row.body)) if row.body else {"told": []}
        rows = whole["told"]
    except (OSError, EOFError, zlib.error, KeyError) as error:
        raise ValueError("the body of a mail is damaged") from error
    told = tuple(
        MailedDuty(
            OccurrenceRef(str(place), str(job), str(of), dt.date.fromisoformat(due)), bool(helps), bool(first)
        )
        for place, job, of, due, helps, first in rows
    )
    return Reminder(
        keeper=row.keeper,
        day=row.day,
        kind=cast("MailKind", row.kind),
        message_id=row.message_id,
        recipient=row.recipient,
        recorded=row.recorded,
        told=told,
        subject=str(whole.get("subject", "")),
        text=str(whole.get("text", "")),
        html=str(whole.get("html", "")),
        state=cast("State", row.state),
        claimed=row.claimed,
        number=row.number,
    )
