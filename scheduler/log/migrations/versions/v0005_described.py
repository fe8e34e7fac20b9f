"""The table of descriptions as they were last without a mistake."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "described",
        sa.Column("place", text, primary_key=True),
        sa.Column("site", text, nullable=False),
        sa.Column("content", text, nullable=False),
        sa.Column("recorded", sa.DateTime, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
    )
