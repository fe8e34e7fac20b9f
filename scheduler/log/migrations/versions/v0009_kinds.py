"""Any kind of entry: what bends the plan, and who is away. `rows.check` says which kinds there are."""

from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let the table of entries have other kinds than done, reading and void.

    A list of them in the table would have to be made anew with each kind, and all entries copied for it.
    """
    # SQLite drops a constraint with its table alone: the entries are copied into one without it.
    with op.batch_alter_table("entry", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.drop_constraint("entry_kind", type_="check")
