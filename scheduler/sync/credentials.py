"""Who logs in to a CalDAV server, and the password: from the environment, else from the keyring of the
machine."""

from __future__ import annotations

import importlib
import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass

USER, PASSWORD = "PONDROUND_CALDAV_USER", "PONDROUND_CALDAV_PASSWORD"
KEYRING = "pondround"
"""The service under which a keyring knows the password."""


def credentials(user: str | None) -> tuple[str | None, str | None]:
    """Return who logs in and the password, each None where nobody says: the environment, else the keyring of
    the machine.

    `user` is who the URL names; the environment goes before.
    """
    user = os.environ.get(USER) or user
    password = os.environ.get(PASSWORD)
    if user and not password:
        password = _from_keyring(user)
    return user, password or None


def _from_keyring(user: str) -> str | None:
    try:
        keyring = importlib.import_module("keyring")
    except ImportError:
        return None
    try:
        found = keyring.get_password(KEYRING, user)
    except keyring.errors.KeyringError:
        # A machine without a desktop has none that is open.
        return None
    return str(found) if found else None
