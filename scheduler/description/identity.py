"""Ids: what keeps a name's calendar entries and file name stable, made from the name where the keeper gives
none."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from typing import Any


def slug(name: str) -> str:
    """Return a name as small letters, digits and single hyphens; letters without a Latin base fall away.

    A name of which nothing is left (an emoji, another script) gets a short hash, so that it is still safe as
    a file name and the same on every run.
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    found = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-")
    return found or f"n-{_digest(name)}"


def _digest(name: str) -> str:
    return hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:8]


def _is_plain(name: str) -> bool:
    return name.lower().replace(" ", "-") == slug(name) and "-" not in name


def name_groups(enclosure: dict[str, Any]) -> None:
    """Give each group of residents without a name one, and an id that stays when their number changes, in
    place.

    Of two such groups in one enclosure the ids are alike, which is a mistake that asks for an id.
    """
    residents, home = enclosure.get("resident"), enclosure.get("id")
    if not isinstance(residents, list) or not isinstance(home, str):
        return
    for table in residents:
        count = table.get("count") if isinstance(table, dict) else None
        if type(count) is int and count > 1 and "name" not in table:
            table["name"] = f"the group of {count}"
            table.setdefault("id", f"{home[:54]}-group")


def fill_ids(tables: list[Any]) -> None:
    """Give each table that has a name and no id its id, in place.

    Names that differ but come to the same slug get distinct ids: the one that is written in plain words keeps
    the slug, the others add a hash of the name. That does not depend on their order in the file.
    """
    named = [
        (table, " ".join(table["name"].split()))
        for table in tables
        if isinstance(table, dict) and "id" not in table and isinstance(table.get("name"), str)
    ]
    taken = {t["id"] for t in tables if isinstance(t, dict) and isinstance(t.get("id"), str)}
    groups: dict[str, set[str]] = {}
    for _, name in named:
        groups.setdefault(slug(name), set()).add(name.lower())
    for table, name in named:
        base = slug(name)
        clash = base in taken or len(groups[base]) > 1
        table["id"] = f"{base}-{_digest(name)}" if clash and not _is_plain(name) else base
