"""Triggers that keep a table append-only, also for other programs that open the file."""

from __future__ import annotations

from alembic import op


def append_only(table: str, key: str) -> None:
    """Abort every change, removal and replacement of a row of ``table``, known by its column ``key``."""
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'append-only: {table} take no {verb.lower()}'); END"
        )
    # INSERT OR REPLACE removes the old row without firing the trigger on DELETE.
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key}) "
        f"BEGIN SELECT RAISE(ABORT, 'append-only: {table} take no replacement'); END"
    )
    if key != "sha256":
        op.execute(
            f"CREATE TRIGGER {table}_no_renumber BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE number = NEW.number) "
            f"BEGIN SELECT RAISE(ABORT, 'append-only: {table} take no replacement'); END"
        )
