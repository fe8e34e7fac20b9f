"""The table of when each job was last done, filled from the entries."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and fill it."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "latest",
        sa.Column("site", text, primary_key=True),
        sa.Column("enclosure", text, primary_key=True),
        sa.Column("name", text, primary_key=True),
        sa.Column("of_", text, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sqlite_with_rowid=False,
    )
    op.execute(
        "INSERT INTO latest (site, enclosure, name, of_, day) "
        "SELECT site, enclosure, name, of_, max(day) FROM entry WHERE kind = 'done' "
        "AND NOT EXISTS (SELECT 1 FROM entry AS v WHERE v.voids = entry.uid) "
        "GROUP BY site, enclosure, name, of_"
    )
