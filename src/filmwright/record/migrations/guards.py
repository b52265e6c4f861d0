"""Triggers that keep a table append-only, also for other programs that open the record."""

from __future__ import annotations

from alembic import op


def is_sqlite() -> bool:
    """Whether the revision runs on an SQLite file; else it runs on PostgreSQL."""
    return op.get_bind().dialect.name == "sqlite"


def make_refusal() -> None:
    """Make the function that the guards of PostgreSQL call; SQLite needs none."""
    if not is_sqlite():
        op.execute(
            "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            "RAISE EXCEPTION 'append-only: % take no %', TG_TABLE_NAME, lower(TG_OP) "
            "USING ERRCODE = 'restrict_violation'; END $$"
        )


def append_only(table: str, key: str) -> None:
    """Abort every change, removal and replacement of a row of ``table``, known by its column ``key``."""
    if not is_sqlite():
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
        return
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
    if table != "raw_files":
        op.execute(
            f"CREATE TRIGGER {table}_no_renumber BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE number = NEW.number) "
            f"BEGIN SELECT RAISE(ABORT, 'append-only: {table} take no replacement'); END"
        )


def in_order(table: str, chain: str) -> None:
    """Abort an entry that does not follow the last one of its chain, known by the column ``chain``."""
    wrong = (
        f"NEW.position <> 1 + (SELECT COALESCE(MAX(position), 0) FROM {table} WHERE {chain} = NEW.{chain})"
    )
    words = f"append-only: an entry must follow the last one of its {chain}"
    if is_sqlite():
        op.execute(
            f"CREATE TRIGGER {table}_in_order BEFORE INSERT ON {table} WHEN {wrong} "
            f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
        )
        return
    op.execute(
        f"CREATE FUNCTION {table}_follow() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {wrong} THEN RAISE EXCEPTION '{words}' USING ERRCODE = 'restrict_violation'; END IF; "
        "RETURN NEW; END $$"
    )
    op.execute(
        f"CREATE TRIGGER {table}_in_order BEFORE INSERT ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {table}_follow()"
    )
