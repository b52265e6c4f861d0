"""Durable entries of the record in SQLite and PostgreSQL beside a bare INSERT by the driver; a lot of 1,000 entries opened."""

from __future__ import annotations

import os
import sqlite3
import statistics
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[1] / "tools"))
from postgres_server import Server

from filmwright.record import Event, Lot, Store, digest

Row = tuple[str, float, str, float, str]

NOON = "2031-05-04T12:00:00+02:00"
WRITERS, ENTRIES, LONG = 8, 200, 1000
_BARE = "CREATE TABLE bare (number INTEGER PRIMARY KEY, id TEXT UNIQUE, lot TEXT, value REAL, text TEXT, digest TEXT)"


def _lot(number: int) -> str:
    return f"LOT-{number}"


def _entry(lot: str) -> Event:
    return Event(id=str(uuid.uuid4()), lot=lot, step="3.2", kind="set", name="time", value=45.0, unit="s",
                 text="as planned", happened=NOON, written=NOON, who="n.n.", invented=True)  # fmt: skip


def _filled(place: str | Path) -> Store:
    flow = "flow: invented\n"
    store = Store.open(place, create=True, patience=60.0)
    for number in range(WRITERS + 1):
        store.start_lot(Lot(name=_lot(number), flow_text=flow, flow_digest=digest(flow), knowledge_version="1",
                            code_version="0", wafers=("A",), started=NOON, invented=True))  # fmt: skip
    store.append([_entry(_lot(WRITERS)) for _ in range(LONG)])
    return store


def _per_entry(write: Callable[[int], object], writers: int) -> float:
    """Seconds per durable entry when that many write at once."""
    each = ENTRIES // writers

    def some(number: int) -> None:
        for _ in range(each):
            write(number)

    begin = time.perf_counter()
    with ThreadPoolExecutor(writers) as pool:
        list(pool.map(some, range(writers)))
    return (time.perf_counter() - begin) / (each * writers)


def _in_turns(ours: Callable[[], float], peer: Callable[[], float]) -> tuple[float, float]:
    times = [(ours(), peer()) for _ in range(3)]
    return statistics.median(one for one, _ in times), statistics.median(two for _, two in times)


@contextmanager
def _sqlite(folder: Path) -> Iterator[tuple[str | Path, Callable[[int], object], Callable[[], object]]]:
    """A place, a bare durable INSERT and a bare reading of 1,000 rows."""
    path, bare = folder / "run.sqlite", folder / "bare.sqlite"
    with closing(sqlite3.connect(bare, isolation_level=None, check_same_thread=False, timeout=60.0)) as other:
        other.execute("PRAGMA journal_mode = WAL")
        other.execute("PRAGMA synchronous = FULL")
        other.execute(_BARE)
        insert = "INSERT INTO bare (id, lot, value, text, digest) VALUES (?, ?, ?, ?, ?)"

        def write(number: int) -> None:
            other.execute(insert, (str(uuid.uuid4()), _lot(number), 45.0, "as planned", "0" * 64))

        def read() -> object:
            with closing(sqlite3.connect(path)) as there:
                return there.execute("SELECT * FROM events WHERE lot = ?", (_lot(WRITERS),)).fetchall()

        yield path, write, read


@contextmanager
def _postgres(folder: Path) -> Iterator[tuple[str | Path, Callable[[int], object], Callable[[], object]]]:
    import psycopg

    os.environ["FILMWRIGHT_FILES"] = str(folder / "kept")
    server = Server(safe=True)
    try:
        with server.database() as url, server.database() as bare:
            others = [psycopg.connect(bare, autocommit=True) for _ in range(WRITERS)]
            others[0].execute(_BARE.replace("INTEGER", "SERIAL"))
            there = psycopg.connect(url, autocommit=True)
            insert = "INSERT INTO bare (id, lot, value, text, digest) VALUES (%s, %s, %s, %s, %s)"

            def write(number: int) -> None:
                others[number].execute(
                    insert, (str(uuid.uuid4()), _lot(number), 45.0, "as planned", "0" * 64)
                )

            def read() -> object:
                return there.execute("SELECT * FROM events WHERE lot = %s", (_lot(WRITERS),)).fetchall()

            yield url, write, read
            for other in (*others, there):
                other.close()
    finally:
        server.remove()


def rows() -> list[Row]:
    """Seconds per durable entry with one writer and with eight, and of opening a lot of 1,000 entries."""
    found: list[Row] = []
    for name, made in (("SQLite", _sqlite), ("PostgreSQL", _postgres)):
        with (
            tempfile.TemporaryDirectory(prefix="filmwright-bench-") as folder,
            made(Path(folder)) as (place, bare, read),
            _filled(place) as store,
        ):
            for writers in (1, WRITERS):
                ours, theirs = _in_turns(
                    partial(_per_entry, lambda number: store.append([_entry(_lot(number))]), writers),
                    partial(_per_entry, bare, writers),
                )
                said = f"{1 / ours:.0f} against {1 / theirs:.0f} entries a second"
                found.append((f"durable entry, {name}, {writers} at once", ours, "bare INSERT, full sync", theirs,
                              said))  # fmt: skip
            ours, theirs = _in_turns(
                partial(_wall, partial(store.events, _lot(WRITERS))), partial(_wall, read)
            )
            found.append((f"open a lot, {name}", ours, "SELECT and fetch", theirs, f"{LONG} entries"))
    return found


def _wall(call: Callable[[], object]) -> float:
    begin = time.perf_counter()
    call()
    return time.perf_counter() - begin


if __name__ == "__main__":
    for row in rows():
        print(f"{row[0]:<40}{row[1] * 1e3:9.2f} ms  {row[2]:<24}{row[3] * 1e3:9.2f} ms  {row[4]}")
