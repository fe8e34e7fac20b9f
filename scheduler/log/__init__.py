"""The log: what was done and what was measured, kept by SQLite or PostgreSQL. Nothing else loads SQLAlchemy."""

from scheduler.log.rotas import Published, Worked
from scheduler.log.store import Log, open_log

__all__ = ["Log", "Published", "Worked", "open_log"]
