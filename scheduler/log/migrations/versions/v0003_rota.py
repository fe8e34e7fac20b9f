"""The table of published rotas."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "rota",
        sa.Column(
            "number",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            primary_key=True,
            autoincrement=True,
        ),
        sa.Column("site", text, nullable=False),
        sa.Column("first", sa.Date, nullable=False),
        sa.Column("last", sa.Date, nullable=False),
        sa.Column("recorded", sa.DateTime, nullable=False),
        sa.Column("body", text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("rota_site", "rota", ["site", "number"])
