"""Any kind of link. `links.LinkKind` says which kinds there are."""

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let the table of links have other kinds than site, enclosure, rounds and page."""
    # SQLite drops a constraint with its table alone: the links are copied into one without it.
    with op.batch_alter_table("link", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.drop_constraint("link_kind", type_="check")
