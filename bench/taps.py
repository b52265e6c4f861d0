"""Durable taps by HTTP on SQLite and PostgreSQL, beside durable entries of the record and the bare fsync of the same disk."""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable
from functools import partial
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[1] / "tools" / "proof"))
from bench_server import Served, Tablet, Tap, now, start_lots
from kill_writers import places

from filmwright.record import Event, Store

Row = tuple[str, float, str, float, str]

TABLETS, EACH, TURNS = 8, 25, 3
_PAGE = 4096


def _in_threads(one: Callable[[int], object]) -> float:
    """Seconds per job when each tablet does its jobs one after the other, all tablets at once."""

    def some(number: int) -> None:
        for _ in range(EACH):
            one(number)

    threads = [threading.Thread(target=some, args=(number,)) for number in range(TABLETS)]
    begin = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return (time.perf_counter() - begin) / (TABLETS * EACH)


def _send(tablets: list[Tablet], lots: tuple[str, ...], number: int) -> None:
    tablet = tablets[number]
    status, said = tablet.send(Tap(lots[number], "", (), ({"kind": "note", "text": "colour even"},)))
    if status != 200 or said["state"] != "kept":
        raise RuntimeError(f"a tap was not kept: {status} {said}")


def _append(store: Store, lots: tuple[str, ...], number: int) -> None:
    moment = now()
    store.append([Event(id=str(uuid.uuid4()), lot=lots[number], step="", kind="note", text="colour even",
                        happened=moment, written=moment, who="n.n.", invented=True)])  # fmt: skip


def _fsync(folder: Path) -> float:
    """Seconds per page that is added to a file and on the disk."""
    with (folder / "bare").open("ab", buffering=0) as file:
        begin = time.perf_counter()
        for _ in range(TABLETS * EACH):
            file.write(bytes(_PAGE))
            os.fsync(file.fileno())
        return (time.perf_counter() - begin) / (TABLETS * EACH)


def rows() -> list[Row]:
    """Seconds per durable tap of eight tablets, beside the record's own entry and one fsync; all three take turns."""
    found: list[Row] = []
    for name, on in (("SQLite", "sqlite"), ("PostgreSQL", "postgres")):
        with tempfile.TemporaryDirectory(prefix="filmwright-bench-") as text, places(on, text) as place:
            folder = Path(text)
            lots = start_lots(place, folder, TABLETS, 1)
            served = Served(place, folder / "log")
            served.start()
            tablets = [Tablet(served.port, f"P{k}", k) for k in range(TABLETS)]
            try:
                with Store.open(place, patience=60.0) as store:
                    for tablet in tablets:
                        tablet.open("/parts")
                    turns = [
                        (_in_threads(partial(_send, tablets, lots)), _in_threads(partial(_append, store, lots)), _fsync(folder))
                        for _ in range(TURNS)
                    ]  # fmt: skip
            finally:
                for tablet in tablets:
                    tablet.hang_up()
                served.kill()
        tap, entry, bare = (statistics.median(each) for each in zip(*turns, strict=True))
        size = (
            f"{1 / tap:.0f} taps, {1 / entry:.0f} entries, {1 / bare:.0f} fsyncs a second, {TABLETS} at once"
        )
        found.append((f"durable tap by HTTP, {name}", tap, "durable entry of the record", entry, size))
        found.append((f"durable tap by HTTP, {name}", tap, "fsync of one page of 4 kB", bare, size))
    return found


if __name__ == "__main__":
    for row in rows():
        print(f"{row[0]:<32}{row[1] * 1e3:9.2f} ms  {row[2]:<28}{row[3] * 1e3:9.2f} ms  {row[4]}")
