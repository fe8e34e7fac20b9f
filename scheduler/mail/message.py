"""A letter as a mail on its way: RFC 5322, multipart/alternative, the same bytes each time."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from scheduler.mail.letter import Letter

DIGEST_LETTERS = 32
"""128 bits of a SHA-256: no two contents ever meet."""

BOUNDARY = "=_{}"
"""A boundary that neither quoted-printable nor base64 can hold (RFC 2045, section 6.7)."""


def message_id(sender: str, of: tuple[str, ...], letter: Letter) -> str:
    """Return the Message-ID of a mail: fixed by what it is `of`, and by its content; under the domain of the
    sender."""
    whole = json.dumps([*of, letter.subject, letter.text], ensure_ascii=False)
    digest = hashlib.sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LETTERS]
    return f"<{digest}@{sender.rpartition('@')[2]}>"


def make_message(  # noqa: PLR0917 - the lines of an envelope
    letter: Letter, site: str, sender: str, name: str, to: str, identity: str, recorded: dt.datetime
) -> bytes:
    """Return a mail as it is sent.

    `recorded` is UTC, without zone; `name` is whom it is to, `site` who sends it.
    """
    message = EmailMessage(policy=SMTP)
    message["From"] = Address(site, addr_spec=sender)
    message["To"] = Address(name, addr_spec=to)
    message["Subject"] = letter.subject
    message["Date"] = format_datetime(recorded.replace(tzinfo=dt.UTC))
    message["Message-ID"] = identity
    # Nobody's absence note answers it (RFC 3834, section 5).
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(letter.text, cte="quoted-printable")
    message.add_alternative(letter.html, subtype="html", cte="quoted-printable")
    message.set_boundary(BOUNDARY.format(identity[1 : 1 + DIGEST_LETTERS]))
    return message.as_bytes()
