"""The tables of a server of feeds and of CalDAV collections."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "link",
        sa.Column(
            "number",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            primary_key=True,
            autoincrement=True,
        ),
        *(
            sa.Column(name, text, nullable=False)
            for name in ("site", "name", "kind", "of_", "form", "hash", "calendar_hash")
        ),
        sa.Column("made", sa.DateTime, nullable=False),
        sa.Column("revoked", sa.DateTime),
        sa.Column("fetched", sa.DateTime),
        sa.CheckConstraint("kind IN ('site', 'enclosure', 'rounds', 'page')", name="link_kind"),
        sqlite_autoincrement=True,
    )
    op.create_index("link_site", "link", ["site", "number"])
    op.create_index("link_hash", "link", ["hash"], unique=True)
    op.create_table(
        "feed",
        *(sa.Column(name, text, primary_key=True) for name in ("site", "form", "name")),
        sa.Column("etag", text, nullable=False),
        sa.Column("modified", sa.DateTime, nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "served",
        *(sa.Column(name, text, primary_key=True) for name in ("site", "form")),
        sa.Column("of_", text, nullable=False),
    )
    op.create_table(
        "to_do",
        *(sa.Column(name, text, primary_key=True) for name in ("site", "collection", "uid")),
        *(sa.Column(name, text, nullable=False) for name in ("href", "etag", "body")),
    )
