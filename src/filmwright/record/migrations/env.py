"""Runs revisions inside the transaction of the caller, so that a record is never half changed."""

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
context.run_migrations()
