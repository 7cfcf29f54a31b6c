"""Run migrations on the connection that `heelstamp.store.versions` hands over."""

from alembic import context

from heelstamp.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    transactional_ddl=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
