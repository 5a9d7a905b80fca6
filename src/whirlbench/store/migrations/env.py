"""What Alembic runs to reach the database: on the connection that the store holds already."""

from alembic import context

from whirlbench.store.schema import Base

context.configure(connection=context.config.attributes["connection"], target_metadata=Base.metadata)
context.run_migrations()
