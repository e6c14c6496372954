"""Alembic migrations, shipped with the package. Run by `schema.upgrade`.

Not here: the tables as they are now (`store.tables`), when to migrate (`store.schema`).
Next: `env` (how all steps run at once), `versions/` (a step a file).
"""
