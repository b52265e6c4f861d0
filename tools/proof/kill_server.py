"""Kills the server at random moments while tablets log: every acknowledged entry is there, none twice, the chain whole.

python tools/proof/kill_server.py [--kills 200] [--tablets 8] [--on sqlite|postgres]
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
from bench_server import Served, Tablet, Tap, judged, start_lots
from kill_writers import WELL, places
from starter import Starter

from filmwright.record import Store

AWAKE = 0.2
"""Share of the kills that do not wait until the server answers: it dies while it opens the record."""


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
    starter = Starter()
    served = Served(place, folder / "log", starter=starter)
    served.start()
    loggers = [Logger(served.port, lots[k % 2], k) for k in range(tablets)]
    for each in loggers:
        each.start()
    try:
        for _ in range(kills):
            time.sleep(chance.uniform(0.0, 1.5))
            served.kill()
            served.start(wait=chance.random() > AWAKE)
        served.kill()
        served.start()
        for each in loggers:
            each.over.set()
        for each in loggers:
            each.join(60)
    finally:
        served.kill()
        starter.end()
    held = [each.tablet for each in loggers]
    wrong = judged(place, lots, held) + twice(place, lots)
    wrong += [
        f"{len(each.sent - each.kept)} of {each.who} never answered" for each in held if each.sent - each.kept
    ]
    return sum(len(each.kept) for each in held), wrong


def twice(place: str | Path, lots: tuple[str, ...]) -> list[str]:
    """Notes that are kept more than once, whatever their id: each tablet never writes the same words twice."""
    with Store.open(place) as store:
        told = Counter((each.who, each.text) for lot in lots for each in store.events(lot))
    return [f"{who} is kept {count} times with {text!r}" for (who, text), count in told.items() if count > 1]


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
    return int(lost)


if __name__ == "__main__":
    sys.exit(main())
