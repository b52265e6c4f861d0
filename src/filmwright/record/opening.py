"""What can be wrong with the file of a record, found out before anything heavy is loaded."""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import NoReturn

from filmwright.errors import OutOfReach, Problem

APPLICATION_ID = 0x66777263
"""Marks the file as a record of this project ("fwrc")."""

SCHEMAS = ("0001", "0002", "0003", "0004", "0005", "0006")
"""Revisions of the tables, oldest first; the last is the one that this version writes."""

_MAGIC = b"SQLite format 3\0"


def refuse(path: Path, expected: str, got: str, why: str, remedy: str) -> NoReturn:
    """Raise the refusal of a record."""
    raise OutOfReach(
        Problem(what="the record", expected=expected, got=got, why=why, remedy=remedy, file=str(path))
    )


def look(path: Path, *, create: bool, patience: float) -> str:
    """The revision of the tables in a file; empty for a file that is still to be made.

    Parameters
    ----------
    path : Path
    create : bool
    patience : float [s]

    Raises
    ------
    BadInput
    """
    if not _is_there(path, create):
        return ""
    with (
        told(path),
        _a_database(path),
        closing(sqlite3.connect(path, timeout=patience, isolation_level=None)) as database,
    ):
        tables = {
            str(row[0]) for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        }
        owner = int(database.execute("PRAGMA application_id").fetchone()[0])
        if not tables and owner == 0:
            if create:
                return ""
            _refuse_empty(path)
        if owner != APPLICATION_ID or "alembic_version" not in tables:
            refuse(
                path, "a record of this program", "a database of another program",
                "its tables mean something else",
                "name the right file",
            )  # fmt: skip
        row = database.execute("SELECT version_num FROM alembic_version").fetchone()
    revision = str(row[0]) if row else ""
    if revision not in SCHEMAS:
        refuse(
            path, f"of form {SCHEMAS[-1]} or older", f"form {revision or 'unknown'}",
            "it was written by a newer version, and an older one could spoil it",
            "install the newer version and open it with that",
        )  # fmt: skip
    return revision


def _is_there(path: Path, create: bool) -> bool:
    try:
        if path.is_dir():
            refuse(
                path,
                "a file",
                "a folder",
                "a record is one file",
                f"name a file in it, such as {path / 'run.sqlite'}",
            )
        if not path.exists():
            _may_be_made(path, create)
            return False
        size = path.stat().st_size
        if not os.access(path, os.R_OK):
            _refuse_unread(path, os.strerror(errno.EACCES))
    except OSError as trouble:
        _refuse_unread(path, trouble.strerror or "an error of the disk")
    if not size and not create:
        _refuse_empty(path)
    return True


def _refuse_unread(path: Path, got: str) -> NoReturn:
    refuse(
        path, "a file that can be read", got, "nothing can be taken from it",
        "ask its owner for access, or check the disk",
    )  # fmt: skip


@contextmanager
def _a_database(path: Path) -> Iterator[None]:
    """Say of a file that is no database what it is.

    Only then is it opened here: whoever closes a file drops all locks that the process holds on it, those of SQLite too, and
    another process would then clear away the log of a record that is still written to.
    """
    try:
        yield
    except sqlite3.DatabaseError as trouble:
        if getattr(trouble, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_NOTADB:
            with path.open("rb") as file:
                if file.read(len(_MAGIC)) != _MAGIC:
                    refuse(
                        path, "a record", "a file of another kind", "a record is an SQLite database",
                        "name the right file; a record that was overwritten must come back from a copy",
                    )  # fmt: skip
        raise


def _may_be_made(path: Path, create: bool) -> None:
    if not create:
        refuse(
            path, "a record that exists", "no file", "entries are only added to a lot that was started",
            "start a lot first, or check folder and name",
        )  # fmt: skip
    if not path.parent.is_dir():
        refuse(
            path, "in a folder that exists", f"no folder {path.parent}",
            "a new record would end up in an unexpected place",
            "make the folder first, or check its name",
        )  # fmt: skip


def _refuse_empty(path: Path) -> NoReturn:
    refuse(
        path, "a record", "an empty file", "there is nothing in it to add to",
        "remove it and start a lot, or bring the record back from a copy",
    )  # fmt: skip


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn an error of SQLite into a refusal that says what to do."""
    try:
        yield
    except sqlite3.Error as trouble:
        tell(path, trouble)


def tell(path: Path, trouble: sqlite3.Error) -> NoReturn:
    """Raise the refusal for an error of SQLite, or the error itself when it is a mistake of ours."""
    code = getattr(trouble, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        holder = ", ".join(holders(path))
        refuse(
            path, "free to write", f"locked by {holder or 'another process'}",
            "two writers at once would lose entries; nothing was written",
            f"finish or close {holder or 'the other program that has it open'}, then repeat",
        )  # fmt: skip
    if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
        refuse(
            path, "an undamaged record", str(trouble), "what is read from it could be wrong",
            "set the file aside unchanged and go on with a copy from before",
        )  # fmt: skip
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        refuse(
            path, "in a place that can be written", str(trouble),
            "an entry counts only once it is on the disk, and the file keeps a log beside it",
            "copy it to a folder of your own, or ask for the right to write to file and folder",
        )  # fmt: skip
    if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
        refuse(
            path, "on a disk that takes it", str(trouble), "the entry was not kept",
            "make room or check the disk, then repeat",
        )  # fmt: skip
    raise trouble


def holders(path: Path) -> tuple[str, ...]:
    """Other processes that have the file open, e.g. ``process 4711 (python)``, where the system says so."""
    found = []
    try:
        target = os.path.realpath(path)
        numbers = [each for each in os.listdir("/proc") if each.isdigit() and int(each) != os.getpid()]
    except OSError:
        return ()
    for number in numbers:
        try:
            opened = {os.readlink(f"/proc/{number}/fd/{each}") for each in os.listdir(f"/proc/{number}/fd")}
            if target in opened:
                name = Path(f"/proc/{number}/comm").read_text(encoding="utf-8").strip()
                found.append(f"process {number} ({name})")
        except OSError:
            continue
    return tuple(sorted(found))
