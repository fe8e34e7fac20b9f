"""The table of what entries changed in the text of a description; nothing did before."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "edit",
        sa.Column("uid", text, primary_key=True),
        sa.Column("site", text, nullable=False),
        sa.Column("first", text, nullable=False),
        sa.Column("patch", text, nullable=False),
    )
    op.create_index("edit_first", "edit", ["first"])
