"""The table of mails that keepers were sent; nobody was told anything before."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "reminder",
        sa.Column("number", number, primary_key=True, autoincrement=True),
        sa.Column("site", text, nullable=False),
        sa.Column("keeper", text, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("kind", text, nullable=False),
        sa.Column("message_id", text, nullable=False),
        sa.Column("recipient", text, nullable=False),
        sa.Column("state", text, nullable=False),
        sa.Column("recorded", sa.DateTime, nullable=False),
        sa.Column("claimed", sa.DateTime),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.CheckConstraint("kind IN ('morning', 'changes')", name="reminder_kind"),
        sa.CheckConstraint("state IN ('begun', 'sent', 'refused')", name="reminder_state"),
        sqlite_autoincrement=True,
    )
    op.create_index("reminder_day", "reminder", ["site", "day", "keeper"])
