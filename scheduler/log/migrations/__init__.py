"""How the tables of the log came to be as they are, step by step (Alembic)."""
