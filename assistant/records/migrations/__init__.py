"""Steps that bring a database to the present tables (alembic)."""
