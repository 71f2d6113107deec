"""Run by alembic: use the connection and the transaction that the caller opened."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
