"""A whole record into another: row by row from one moment of time, with every digest as it was."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select, text

from filmwright.record import kept_files, tables
from filmwright.record.backend import Backend
from filmwright.record.checks import digest
from filmwright.record.opening import told

Tell = Callable[[int, int, str], None]
_ROWS_AT_ONCE = 500
_PAGES_AT_ONCE = 256


def is_empty(backend: Backend) -> bool:
    """Whether no table has a row."""
    return backend.read(lambda connection: not any(_count(connection, each) for each in _tables()))


def copy_rows(source: Backend, target: Backend, tell: Tell) -> None:
    """Copy every row of one moment into an empty record, in one transaction.

    Parameters
    ----------
    source, target : Backend
    tell : callable
        Called with rows done, rows in all and the table; what it raises stops the copy, and nothing is kept.
    """

    def read(there: Connection) -> None:
        _hold_moment(there)
        total = sum(_count(there, each) for each in _tables())

        def write(here: Connection) -> None:
            done = 0
            for table in _tables():
                for rows in _batches(there, table):
                    here.execute(insert(table), rows)
                    done += len(rows)
                    tell(done, total, table.name)
            _count_on(here)

        target.write(write, ["tables"])

    source.read(read)


def copy_files(
    source: Backend, target: Path, tell: Tell, but: frozenset[str] = frozenset()
) -> frozenset[str]:
    """Copy the kept files that lie in a folder into another, each checked by its digest; gives their digests.

    Parameters
    ----------
    source : Backend
    target : Path
        Folder of kept files.
    tell : callable
        Called with files done, files in all and their digest.
    but : frozenset of str
        Digests of files that are there already.
    """
    table, older = tables.kept_files, tables.raw_files
    inside = select(older.c.sha256)
    query = select(table.c.sha256).where(table.c.sha256.not_in(inside)).order_by(table.c.number)
    names = source.read(
        lambda connection: [str(each) for each in connection.scalars(query) if each not in but]
    )
    for done, sha256 in enumerate(names, start=1):
        raw = kept_files.get(source.folder, sha256)
        if raw is None or digest(raw) != sha256:
            source.refuse(
                f"with its files in {source.folder}",
                f"{'no' if raw is None else 'changed bytes in'} file {sha256[:12]} there",
                "entries point to it", "run record verify, and bring the folder back from an older backup",
            )  # fmt: skip
        kept_files.put(target, sha256, raw)
        tell(done, len(names), sha256[:12])
    return but | frozenset(names)


def copy_database(source: Path, target: Path, patience: float, tell: Tell) -> None:
    """Copy an SQLite file as it is at one moment, while others go on writing.

    Parameters
    ----------
    source, target : Path
    patience : float [s]
    tell : callable
        Called with pages done, pages in all and a word.
    """

    def progress(_: int, remaining: int, total: int) -> None:
        tell(total - remaining, total, "pages")

    with (
        told(source),
        contextlib.closing(sqlite3.connect(source, timeout=patience, isolation_level=None)) as there,
        contextlib.closing(sqlite3.connect(target, isolation_level=None)) as here,
    ):
        # An open reading transaction holds the moment; else every entry written meanwhile would start the copy anew.
        there.execute("BEGIN")
        there.execute("SELECT count(*) FROM sqlite_master").fetchone()
        there.backup(here, pages=_PAGES_AT_ONCE, progress=progress, sleep=0.0)
        there.execute("COMMIT")
        here.execute("PRAGMA journal_mode = DELETE")


def _tables() -> list[Table]:
    return list(tables.metadata.sorted_tables)


def _count(connection: Connection, table: Table) -> int:
    return int(connection.scalar(select(func.count()).select_from(table)) or 0)


def _hold_moment(connection: Connection) -> None:
    """See one moment throughout; SQLite does so by itself in a transaction."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"))
        connection.execute(text("SET LOCAL statement_timeout = 0"))
        connection.execute(text("SET LOCAL idle_in_transaction_session_timeout = 0"))


def _batches(connection: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    key = next(iter(table.primary_key.columns))
    last: Any = None
    while True:
        query = select(table).order_by(key).limit(_ROWS_AT_ONCE)
        if last is not None:
            query = query.where(key > last)
        rows = [dict(row) for row in connection.execute(query).mappings()]
        if not rows:
            return
        yield rows
        last = rows[-1][key.name]


def _count_on(connection: Connection) -> None:
    """Have PostgreSQL give the next rows numbers after those that were copied."""
    if connection.dialect.name != "postgresql":
        return
    for table in _tables():
        if "number" in table.c:
            connection.execute(
                text(
                    f"SELECT setval(pg_get_serial_sequence('{table.name}', 'number'), "
                    f"GREATEST((SELECT COALESCE(MAX(number), 0) FROM {table.name}), 1), "
                    f"EXISTS (SELECT 1 FROM {table.name}))"
                )
            )
