"""What Alembic runs: the steps, in the transaction of the connection that is handed over."""

from alembic import context

from scheduler.log.schema import VERSION_TABLE
from scheduler.log.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    # SQLite takes back what was made in a transaction, like PostgreSQL; Alembic by itself does not count on
    # it.
    transactional_ddl=True,
)
context.run_migrations()
