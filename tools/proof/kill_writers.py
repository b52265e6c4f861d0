"""Kills writing processes at random moments and proves that nothing that was acknowledged is lost or doubled.

python tools/proof/kill_writers.py [--kills 200] [--writers 8] [--on sqlite|postgres]
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from postgres_server import Server

from filmwright.record import Event, Lot, Store, digest

LOT = "K7M-4H7"
NOON = "2031-05-04T12:00:00+02:00"
WELL = "all there, once, in one chain"
_ID = 37
"""Length of an id and its line end: written to a pipe at once, so that a line is there whole or not at all."""


@dataclass
class Writer:
    """A process that appends until it is killed, and what it said it had kept."""

    process: int
    pipe: int
    heard: bytes = b""

    def listen(self) -> None:
        """Take what it said so far."""
        while True:
            try:
                said = os.read(self.pipe, 1 << 16)
            except BlockingIOError:
                return
            if not said:
                return
            self.heard += said


def begin(place: str | Path) -> None:
    """Start the lot that is written to."""
    flow = "flow: invented\n"
    with Store.open(place, create=True) as store:
        store.start_lot(Lot(name=LOT, flow_text=flow, flow_digest=digest(flow), knowledge_version="1",
                            code_version="0", wafers=("A",), started=NOON, invented=True))  # fmt: skip


def prove(place: str | Path, kills: int, writers: int, seed: int = 1) -> tuple[int, list[str]]:
    """Keep some writers going, kill one after the other, and compare what is kept with what was acknowledged.

    Returns
    -------
    acknowledged : int
        How many entries the writers had been told are kept.
    wrong : list of str
        What does not fit; empty when all is well.
    """
    chance = random.Random(seed)
    alive = [_start(place) for _ in range(writers)]
    gone: list[Writer] = []
    for _ in range(kills):
        time.sleep(chance.uniform(0.0, 0.3))
        for each in alive:
            each.listen()
        index = chance.randrange(writers)
        gone.append(_kill(alive[index]))
        alive[index] = _start(place)
    gone.extend(_kill(each) for each in alive)
    acknowledged = [line for each in gone for line in each.heard.decode().split()]
    with Store.open(place, patience=30.0) as store:
        kept = [each.id for each in store.events(LOT)]
        checked = store.verify(LOT)
    wrong = []
    if missing := set(acknowledged) - set(kept):
        wrong.append(f"{len(missing)} acknowledged entries are not there")
    if len(kept) != len(set(kept)):
        wrong.append(f"{len(kept) - len(set(kept))} entries are there twice")
    if len(kept) > len(acknowledged) + len(gone):
        wrong.append("more entries than were sent")
    if not checked.sound:
        wrong.append(checked.why)
    return len(acknowledged), wrong


def _start(place: str | Path) -> Writer:
    reading, writing = os.pipe()
    os.set_blocking(reading, False)
    process = os.fork()
    if process:
        os.close(writing)
        return Writer(process, reading)
    try:
        with Store.open(place, patience=30.0) as store:
            while True:
                entry = Event(id=str(uuid.uuid4()), lot=LOT, step="1", kind="note", text="x", happened=NOON,
                              written=NOON)  # fmt: skip
                store.append([entry])
                os.write(writing, f"{entry.id}\n".encode())
    finally:
        os._exit(1)


def _kill(writer: Writer) -> Writer:
    os.kill(writer.process, signal.SIGKILL)
    os.waitpid(writer.process, 0)
    writer.listen()
    os.close(writer.pipe)
    whole = len(writer.heard) // _ID * _ID
    writer.heard = writer.heard[:whole]
    return writer


@contextmanager
def places(on: str, folder: str) -> Iterator[str | Path]:
    """A new place for a record in one of the two databases; PostgreSQL with its full sync on."""
    if on == "sqlite":
        yield Path(folder) / "run.sqlite"
        return
    os.environ["FILMWRIGHT_FILES"] = str(Path(folder) / "kept")
    server = Server(safe=True)
    try:
        with server.database() as url:
            yield url
    finally:
        server.remove()


def main() -> int:
    """Prove it for one database or both; 1 when something was lost."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--kills", type=int, default=200)
    words.add_argument("--writers", type=int, default=8)
    words.add_argument("--on", choices=("sqlite", "postgres"), action="append")
    words.add_argument("--place", help="a new file or an empty database, instead of throw-away ones")
    given = words.parse_args()
    lost = False
    if given.place:
        begin(given.place)
        acknowledged, wrong = prove(given.place, given.kills, given.writers)
        print(f"{acknowledged} entries acknowledged, " + ("; ".join(wrong) or WELL))
        return int(bool(wrong))
    for on in given.on or ("sqlite", "postgres"):
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder, places(on, folder) as place:
            begin(place)
            acknowledged, wrong = prove(place, given.kills, given.writers)
        lost = lost or bool(wrong)
        print(f"{on}: {given.kills} kills of {given.writers} writers in {time.monotonic() - began:.0f} s, "
              f"{acknowledged} entries acknowledged, " + ("; ".join(wrong) or WELL))  # fmt: skip
    return int(lost)


if __name__ == "__main__":
    sys.exit(main())
