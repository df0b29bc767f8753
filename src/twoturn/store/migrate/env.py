"""Alembic runs this: one transaction on the connection it is handed, for all steps together."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"], transactional_ddl=True, transaction_per_migration=False
)
context.run_migrations()
