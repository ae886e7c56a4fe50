"""Runs the migrations on the connection, and inside the transaction, that `analyzer.logbook.upgrade` opened."""

from alembic import context

from analyzer.logbook.schema import VERSION_TABLE, metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
