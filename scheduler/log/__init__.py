"""The log: what was done and what was measured, kept by SQLite or PostgreSQL. Nothing else loads SQLAlchemy.

Decisions
---------

An entry is what was recorded for which day, and not when
    Its identity is a UUID of that, so that recording twice is harmless, two processes that do so at once
    leave one entry, and the logs of two machines can be joined. `turn` tells apart what really happened
    twice. Nothing is changed or deleted: an entry that is wrong is voided by another.

SQLite or PostgreSQL
    SQLAlchemy Core, no ORM. SQLite: WAL, synchronous=FULL (what is acknowledged survives a power cut),
    BEGIN IMMEDIATE for whoever writes. The day on which each job was last done stands in a table of its own
    (`latest`), made anew from the entries in the transaction that adds one: to walk from job to job through
    a million entries took 0.3 s on SQLite and 0.7 s on PostgreSQL, more than all the rest that a plan
    reads. Alembic is loaded only where the form of the log is not the newest; an advisory lock or the write
    lock lets one process migrate while others wait. Reading never writes, but that it brings a log of an
    older form up to date: a log in a folder that is read-only is read, and no file is made by looking. A
    log of a newer version is refused and stays untouched.
"""

from scheduler.log.rotas import Published, Worked
from scheduler.log.store import Log, open_log

__all__ = ["Log", "Published", "Worked", "open_log"]
