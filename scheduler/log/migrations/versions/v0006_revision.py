"""The table of what was published of each feed's entries."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "revision",
        *(sa.Column(name, text, primary_key=True) for name in ("site", "form", "name")),
        sa.Column("body", sa.LargeBinary, nullable=False),
    )
