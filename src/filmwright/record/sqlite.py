"""The record in one SQLite file: write-ahead log, full sync, foreign keys on."""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as NoneFree

from filmwright.record.backend import Backend, Result, bring_up_to_date
from filmwright.record.opening import SCHEMAS, refuse, told
from filmwright.record.opening import tell as tell_sqlite
from filmwright.record.place import files_folder

_CONNECTIONS = 8
_CONNECTIONS_MORE = 32


class SqliteFile(Backend):
    """One SQLite file; writers of this process wait in line, those of other processes for the file's lock."""

    def __init__(self, path: Path, patience: float) -> None:
        self.path = path
        self.place = str(path)
        self.folder = files_folder(path)
        self.patience = patience
        self._engine = _engine(path, patience)
        self._line = threading.Lock()

    @classmethod
    def opened(cls, path: Path, *, found: str, patience: float) -> SqliteFile:
        """Open the file and run what is missing of the revisions.

        Parameters
        ----------
        path : Path
        found : str
            The revision that was found in the file; empty for a new one.
        patience : float [s]
        """
        file = cls(path, patience)
        try:
            if found != SCHEMAS[-1]:
                file.write(bring_up_to_date, ())
            else:
                file.read(lambda _: None)
        except BaseException:
            file.close()
            raise
        return file

    def read(self, work: Callable[[Connection], Result]) -> Result:
        """Do some reading in one transaction."""
        with self._transaction(self._engine) as connection:
            return work(connection)

    def write(self, work: Callable[[Connection], Result], topics: Iterable[str]) -> Result:
        """Do some writing in one transaction; in SQLite it is alone on every topic."""
        if not self._line.acquire(timeout=self.patience):
            self._refuse_busy()
        try:
            with self._transaction(self._engine.execution_options(writes=True)) as connection:
                return work(connection)
        finally:
            self._line.release()

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    @contextmanager
    def _transaction(self, engine: Engine) -> Iterator[Connection]:
        try:
            with told(self.path), engine.begin() as connection:
                yield connection
        except NoneFree:
            self._refuse_busy()
        except DBAPIError as trouble:
            if isinstance(trouble.orig, sqlite3.Error):
                tell_sqlite(self.path, trouble.orig)
            raise

    def _refuse_busy(self) -> None:
        self.refuse(
            "free to write", "kept busy by others of this program", "nothing was written",
            "repeat in a moment; if it stays so, the disk is too slow for that many writers",
        )  # fmt: skip


def _engine(path: Path, patience: float) -> Engine:
    engine = create_engine(
        URL.create("sqlite+pysqlite", database=str(path)),
        connect_args={"timeout": patience},
        pool_size=_CONNECTIONS,
        max_overflow=_CONNECTIONS_MORE,
        pool_timeout=patience,
    )

    @event.listens_for(engine, "connect")
    def _settle(connection: Any, _: Any) -> None:
        connection.isolation_level = None
        _switch_to_log(path, connection, patience)
        for pragma in (
            "synchronous = FULL",
            "fullfsync = ON",
            "foreign_keys = ON",
            "recursive_triggers = ON",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _switch_to_log(path: Path, connection: sqlite3.Connection, patience: float) -> None:
    """Turn the write-ahead log on; SQLite itself does not wait when two processes make a record at once."""
    until = time.monotonic() + patience
    while True:
        try:
            mode = str(connection.execute("PRAGMA journal_mode = WAL").fetchone()[0])
            break
        except sqlite3.OperationalError as trouble:
            if trouble.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)
    if mode != "wal":
        refuse(
            path, "on a disk that allows a write-ahead log", f"journal mode {mode}",
            "without it an entry could be lost when the power fails", "put the record on a local disk",
        )  # fmt: skip
