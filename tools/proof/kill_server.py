"""Kills the server at random moments while tablets log, and takes its record away for a while: nothing that was acknowledged is lost.

python tools/proof/kill_server.py [--kills 200] [--tablets 8] [--on sqlite|postgres]
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import sqlite3
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
from bench_server import Served, Tablet, Tap, judged, start_lots
from kill_writers import WELL, places
from postgres_server import Server


class Logger(threading.Thread):
    """A tablet that writes one note after the other, each until it is acknowledged."""

    def __init__(self, port: int, lot: str, seed: int) -> None:
        super().__init__(daemon=True)
        self.tablet, self.lot, self.over = Tablet(port, f"P{seed}", seed), lot, threading.Event()

    def run(self) -> None:
        """Go on until the time is over; the last one is still sent."""
        while not self.over.is_set():
            tap = Tap(self.lot, "", (), ({"kind": "note", "text": f"looked at {len(self.tablet.sent)}"},))
            until = time.monotonic() + 120
            try:
                if not self.tablet.token:
                    self.tablet.open("/")
                self.tablet.tap(tap, until)
            except (ConnectionError, ValueError):
                time.sleep(0.1)
        self.tablet.hang_up()


def prove_kills(
    place: str | Path, folder: Path, kills: int, tablets: int, seed: int = 1
) -> tuple[int, list[str]]:
    """Kill the server so many times; how many entries were acknowledged, and what does not fit."""
    chance = random.Random(seed)
    lots = start_lots(place, folder, 2, 2)
    served = Served(place, folder / "log")
    served.start()
    loggers = [Logger(served.port, lots[k % 2], k) for k in range(tablets)]
    for each in loggers:
        each.start()
    try:
        for _ in range(kills):
            time.sleep(chance.uniform(0.0, 1.5))
            served.kill()
            served.start()
        for each in loggers:
            each.over.set()
        for each in loggers:
            each.join(60)
    finally:
        served.kill()
    held = [each.tablet for each in loggers]
    wrong = judged(place, lots, held)
    wrong += [
        f"{len(each.sent - each.kept)} of {each.who} never answered" for each in held if each.sent - each.kept
    ]
    return sum(len(each.kept) for each in held), wrong


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Another program holds the file and does not let go."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield


@contextmanager
def full(served: Served, path: Path) -> Iterator[None]:
    """No file of the server may grow any more, as on a full disk."""
    assert served.process is not None
    log = path.with_name(path.name + "-wal")
    most = log.stat().st_size if log.exists() else 0
    before = resource.prlimit(served.process.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(served.process.pid, resource.RLIMIT_FSIZE, (most, before[1]))
    try:
        yield
    finally:
        resource.prlimit(served.process.pid, resource.RLIMIT_FSIZE, before)


@contextmanager
def gone(server: Server) -> Iterator[None]:
    """The database server is stopped as by a power cut, and comes back."""
    server.stop("immediate")
    try:
        yield
    finally:
        server.start()


def prove_trouble(
    place: str | Path, folder: Path, trouble: Callable[[Served], object], name: str
) -> tuple[str, list[str]]:  # fmt: skip
    """One tap while the record is out of reach, the same again afterwards; what the tablet was told, and what is wrong."""
    lots = start_lots(place, folder / name, 1, 1)
    served = Served(place, folder / "log", limit=1 << 40 if name == "full disk" else 0)
    served.start()
    tablet, wrong = Tablet(served.port, "AB"), []
    try:
        tablet.open(f"/lot/{lots[0]}")
        note = ({"kind": "note", "text": "before, and long enough to fill a page " * 100},)
        tablet.send(Tap(lots[0], "", (), note))
        tap = Tap(lots[0], "", (), ({"kind": "note", "text": "meanwhile " * 1000},))
        with trouble(served):  # type: ignore[attr-defined]
            status, said = tablet.send(tap)
        problem = (said.get("problems") or [{}])[0]
        told = f"{status}: {said.get('said', '')} {problem.get('got', '')}; {problem.get('remedy', '')}"
        if status != 503 or not problem.get("remedy"):
            wrong.append("the tablet was not told that the record does not answer, and what to do")
        if tablet.tap(tap, time.monotonic() + 60) != "kept":
            wrong.append("the server did not go on afterwards")
    finally:
        tablet.hang_up()
        served.kill()
    return told, [*wrong, *judged(place, lots, [tablet])]


def troubles(
    on: str, folder: Path, place: str | Path, server: Server | None, *only: str
) -> Iterator[tuple[str, str, list[str]]]:
    """What is told, and what is wrong, in each trouble of a database, or only in some."""
    if on == "postgres":
        assert server is not None
        kept = server
        yield "server stopped", *prove_trouble(place, folder, lambda _: gone(kept), "server stopped")
        return
    for name in only or ("locked", "full disk"):  # each with a record of its own
        path = folder / f"{name.replace(' ', '-')}.sqlite"
        (folder / name).mkdir()
        act: Callable[[Served], object] = (
            (lambda _, path=path: locked(path))
            if name == "locked"
            else (lambda served, path=path: full(served, path))
        )
        yield name, *prove_trouble(path, folder, act, name)


def main() -> int:
    """Prove it for one database or both; 1 when something was lost."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--kills", type=int, default=200)
    words.add_argument("--tablets", type=int, default=8)
    words.add_argument("--on", choices=("sqlite", "postgres"), action="append")
    given = words.parse_args()
    lost = False
    for on in given.on or ("sqlite", "postgres"):
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder, places(on, folder) as place:
            count, wrong = prove_kills(place, Path(folder), given.kills, given.tablets)
        lost = lost or bool(wrong)
        print(f"{on}: {given.kills} kills of the server in {time.monotonic() - began:.0f} s, {count} entries "
              f"acknowledged to {given.tablets} tablets, {'; '.join(wrong) or WELL}", flush=True)  # fmt: skip
        with tempfile.TemporaryDirectory() as folder:
            os.environ["FILMWRIGHT_FILES"] = str(Path(folder) / "kept")
            server = Server(safe=True) if on == "postgres" else None
            try:
                if server is not None:
                    server.run("CREATE DATABASE shared")
                there = server.of("shared") if server is not None else Path(folder) / "none.sqlite"
                for name, told, wrong in troubles(on, Path(folder), there, server):
                    lost = lost or bool(wrong)
                    print(f"{on}, {name}: told {told!r}; {'; '.join(wrong) or WELL}", flush=True)
            finally:
                if server is not None:
                    server.remove()
    return int(lost)


if __name__ == "__main__":
    sys.exit(main())
