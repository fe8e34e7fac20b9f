"""The form of the tables: which one a log has, and bringing it to ours."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import sqlalchemy as sa

from scheduler.errors import LogError
from scheduler.log.engine import WRITES, begin_alone, make_engine
from scheduler.log.faults import telling
from scheduler.log.location import LogLocation

FORMS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009", "0010", "0011")
"""The forms in their order; a test compares them with the migrations, which are only loaded when they are
needed."""


State = Literal["none", "older", "ours"]

VERSION_TABLE = "pondround_version"
"""Where Alembic keeps the form of a log; not its usual name, which another program in the same database may
use."""


MIGRATIONS = Path(__file__).parent / "migrations"


def form_of(connection: sa.Connection) -> str | None:
    """Return the form of a log; None where there is none yet."""
    if not sa.inspect(connection).has_table(VERSION_TABLE):
        return None
    found = connection.execute(sa.text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    return None if found is None else str(found)


def state_of(connection: sa.Connection, place: LogLocation) -> State:
    """Return which log is there; LogError when it is of a form that this version does not know."""
    form = form_of(connection)
    if form is None:
        return "none"
    if form not in FORMS:
        raise LogError(f"the log {place} was written by a newer version of pondround; update pondround")
    return "ours" if form == FORMS[-1] else "older"


def bring_up_to_date(place: LogLocation) -> None:
    """Make the tables, or what they lack. Whoever comes at the same time waits, and finds them made."""
    engine = make_engine(place, "create")
    try:
        with telling(place, "open"):
            with engine.begin() as connection:
                if state_of(connection, place) == "ours":
                    return
            with engine.execution_options(**{WRITES: True}).begin() as connection:
                begin_alone(connection, "tables")
                if state_of(connection, place) != "ours":
                    _migrate(connection)
    finally:
        engine.dispose()


def _migrate(connection: sa.Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
