"""The tables of the log; whoever changes one writes a migration too (a test compares).

Entries and published rotas are only ever added. What stands in `latest` follows from them, and is made anew
with each that is added. `link`, `feed`, `described`, `revision` and `to_do` are what feeds and a CalDAV
collection have to remember, `reminder` is what keepers were told by mail.
"""

from __future__ import annotations

import sqlalchemy as sa

metadata = sa.MetaData()

# Compared byte by byte, so that an index serves whatever language the server speaks.
_Text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
# SQLite counts by itself only for INTEGER.
_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

entry = sa.Table(
    "entry",
    metadata,
    sa.Column("number", _Number, primary_key=True, autoincrement=True),
    sa.Column("uid", _Text, nullable=False),
    sa.Column("site", _Text, nullable=False),
    sa.Column("kind", _Text, nullable=False),
    sa.Column("enclosure", _Text, nullable=False),
    sa.Column("name", _Text, nullable=False),
    sa.Column("of_", _Text, nullable=False),
    sa.Column("day", sa.Date, nullable=False),
    sa.Column("time", sa.Time),
    sa.Column("value", sa.Double),
    sa.Column("given", _Text, nullable=False),
    sa.Column("keeper", _Text, nullable=False),
    sa.Column("title", _Text, nullable=False),
    sa.Column("minutes", sa.Integer, nullable=False),
    sa.Column("note", _Text, nullable=False),
    sa.Column("turn", sa.Integer, nullable=False),
    sa.Column("recorded", sa.DateTime, nullable=False),
    sa.Column("voids", _Text),
    # A number is never given out a second time, whatever becomes of the file.
    sqlite_autoincrement=True,
)

sa.Index("entry_uid", entry.c.uid, unique=True)
_taken_back = entry.c.voids.is_not(None)
sa.Index("entry_voids", entry.c.voids, unique=True, sqlite_where=_taken_back, postgresql_where=_taken_back)
# What was recorded under one name, and the latest of each name.
sa.Index("entry_name", entry.c.site, entry.c.kind, entry.c.enclosure, entry.c.name, entry.c.of_, entry.c.day)
# What all enclosures did or measured lately.
sa.Index("entry_day", entry.c.site, entry.c.kind, entry.c.name, entry.c.day)
# A site's entries in their order, first and last.
sa.Index("entry_number", entry.c.site, entry.c.number)

# When each job was last done, without what was taken back: 20,000 rows where the entries are a million.
latest = sa.Table(
    "latest",
    metadata,
    sa.Column("site", _Text, primary_key=True),
    sa.Column("enclosure", _Text, primary_key=True),
    sa.Column("name", _Text, primary_key=True),
    sa.Column("of_", _Text, primary_key=True),
    sa.Column("day", sa.Date, nullable=False),
    sqlite_with_rowid=False,
)

# What an entry changed in the text of the description, so that taking it back can change it back: the entries
# of one change have the uid of the first of them in `first`, and its row the change.
edit = sa.Table(
    "edit",
    metadata,
    sa.Column("uid", _Text, primary_key=True),
    sa.Column("site", _Text, nullable=False),
    sa.Column("first", _Text, nullable=False),
    sa.Column("patch", _Text, nullable=False),
)
sa.Index("edit_first", edit.c.first)

# A rota as it was published, whole; the newest one holds.
rota = sa.Table(
    "rota",
    metadata,
    sa.Column("number", _Number, primary_key=True, autoincrement=True),
    sa.Column("site", _Text, nullable=False),
    sa.Column("first", sa.Date, nullable=False),
    sa.Column("last", sa.Date, nullable=False),
    sa.Column("recorded", sa.DateTime, nullable=False),
    sa.Column("body", _Text, nullable=False),
    sqlite_autoincrement=True,
)
sa.Index("rota_site", rota.c.site, rota.c.number)

# Who may fetch what: of each secret only a keyed hash.
link = sa.Table(
    "link",
    metadata,
    sa.Column("number", _Number, primary_key=True, autoincrement=True),
    sa.Column("site", _Text, nullable=False),
    sa.Column("name", _Text, nullable=False),
    sa.Column("kind", _Text, nullable=False),
    sa.Column("of_", _Text, nullable=False),
    sa.Column("form", _Text, nullable=False),
    sa.Column("hash", _Text, nullable=False),
    sa.Column("calendar_hash", _Text, nullable=False),
    sa.Column("made", sa.DateTime, nullable=False),
    sa.Column("revoked", sa.DateTime),
    sa.Column("fetched", sa.DateTime),
    # Whether its page may be kept for use without a network, and how often that was changed.
    sa.Column("offline", sa.Boolean, nullable=False, server_default=sa.false()),
    sa.Column("changes", sa.Integer, nullable=False, server_default=sa.text("0")),
    sqlite_autoincrement=True,
)
sa.Index("link_site", link.c.site, link.c.number)
sa.Index("link_hash", link.c.hash, unique=True)

# A feed as it was last served: the record from which stamps and sequence numbers go on.
feed = sa.Table(
    "feed",
    metadata,
    sa.Column("site", _Text, primary_key=True),
    sa.Column("form", _Text, primary_key=True),
    sa.Column("name", _Text, primary_key=True),
    sa.Column("etag", _Text, nullable=False),
    sa.Column("modified", sa.DateTime, nullable=False),
    sa.Column("size", sa.Integer, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
)

# Of which state of things the feeds of a site are: a fingerprint.
served = sa.Table(
    "served",
    metadata,
    sa.Column("site", _Text, primary_key=True),
    sa.Column("form", _Text, primary_key=True),
    sa.Column("of_", _Text, nullable=False),
)

# A description as it was last without a mistake, by a keyed hash of where its file is.
described = sa.Table(
    "described",
    metadata,
    sa.Column("place", _Text, primary_key=True),
    sa.Column("site", _Text, nullable=False),
    sa.Column("content", _Text, nullable=False),
    sa.Column("recorded", sa.DateTime, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
)

# What was published of the entries of each feed, packed: stamps and sequence numbers of what is in it no more
# go on from here.
revision = sa.Table(
    "revision",
    metadata,
    sa.Column("site", _Text, primary_key=True),
    sa.Column("form", _Text, primary_key=True),
    sa.Column("name", _Text, primary_key=True),
    sa.Column("body", sa.LargeBinary, nullable=False),
)

# What was put into a CalDAV collection, as it was put there: nothing else is ever deleted from it.
to_do = sa.Table(
    "to_do",
    metadata,
    sa.Column("site", _Text, primary_key=True),
    sa.Column("collection", _Text, primary_key=True),
    sa.Column("uid", _Text, primary_key=True),
    sa.Column("href", _Text, nullable=False),
    sa.Column("etag", _Text, nullable=False),
    sa.Column("body", _Text, nullable=False),
)

# What a keeper is told by mail: `begun` before the server is asked to take it, `sent` once it has. The
# message id is fixed by keeper, day, kind and content; `recipient` is a fingerprint of the address, which
# itself is nowhere here. Until `claimed` nobody else sends it. The body is the mail while it may have to be
# sent again, and what was told of the round.
reminder = sa.Table(
    "reminder",
    metadata,
    sa.Column("number", _Number, primary_key=True, autoincrement=True),
    sa.Column("site", _Text, nullable=False),
    sa.Column("keeper", _Text, nullable=False),
    sa.Column("day", sa.Date, nullable=False),
    sa.Column("kind", _Text, nullable=False),
    sa.Column("message_id", _Text, nullable=False),
    sa.Column("recipient", _Text, nullable=False),
    sa.Column("state", _Text, nullable=False),
    sa.Column("recorded", sa.DateTime, nullable=False),
    sa.Column("claimed", sa.DateTime),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.CheckConstraint("kind IN ('morning', 'changes')", name="reminder_kind"),
    sa.CheckConstraint("state IN ('begun', 'sent', 'refused')", name="reminder_state"),
    sqlite_autoincrement=True,
)
sa.Index("reminder_day", reminder.c.site, reminder.c.day, reminder.c.keeper)
