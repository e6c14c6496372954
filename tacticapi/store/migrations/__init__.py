"""Alembic migrations, shipped with the package. Run by `schema.upgrade`."""
