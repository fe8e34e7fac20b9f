"""The table of entries."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of entries with its indexes."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "entry",
        sa.Column(
            "number",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            primary_key=True,
            autoincrement=True,
        ),
        sa.Column("uid", text, nullable=False),
        sa.Column("site", text, nullable=False),
        sa.Column("kind", text, nullable=False),
        sa.Column("enclosure", text, nullable=False),
        sa.Column("name", text, nullable=False),
        sa.Column("of_", text, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("time", sa.Time),
        sa.Column("value", sa.Double),
        sa.Column("given", text, nullable=False),
        sa.Column("keeper", text, nullable=False),
        sa.Column("title", text, nullable=False),
        sa.Column("minutes", sa.Integer, nullable=False),
        sa.Column("note", text, nullable=False),
        sa.Column("turn", sa.Integer, nullable=False),
        sa.Column("recorded", sa.DateTime, nullable=False),
        sa.Column("voids", text),
        sa.CheckConstraint("kind IN ('done', 'reading', 'void')", name="entry_kind"),
        sqlite_autoincrement=True,
    )
    taken_back = sa.text("voids IS NOT NULL")
    op.create_index("entry_uid", "entry", ["uid"], unique=True)
    op.create_index(
        "entry_voids", "entry", ["voids"], unique=True, sqlite_where=taken_back, postgresql_where=taken_back
    )
    op.create_index("entry_name", "entry", ["site", "kind", "enclosure", "name", "of_", "day"])
    op.create_index("entry_day", "entry", ["site", "kind", "name", "day"])
    op.create_index("entry_number", "entry", ["site", "number"])
