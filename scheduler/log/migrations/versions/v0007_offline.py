"""The columns of links whose pages may be kept for use without a network: none of those that were made
before."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns."""
    op.add_column("link", sa.Column("offline", sa.Boolean, nullable=False, server_default=sa.false()))
    op.add_column("link", sa.Column("changes", sa.Integer, nullable=False, server_default=sa.text("0")))
