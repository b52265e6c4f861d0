"""Many tablets at one server for some minutes: how long a tap waits for its answer, and whether all of it is kept, once.

python tools/proof/tablets.py [--tablets 50] [--seconds 300] [--on sqlite|postgres] [--pause 4 6]

Each tablet takes one wafer through its flow: it opens the page of a step, starts, enters what was planned, writes a note, finishes,
decides hold points, and rests some seconds between two touches as a person does. After each touch it does what the script and the worker
of the pages do: the page is loaded again, and the pages of the lot that changed are kept for work without network. One tap in twenty
is sent twice, one in twenty loses its line before the answer comes.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from html import unescape
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
from bench_server import Served, Tablet, Tap, attribute, judged, start_lots
from kill_writers import places

from filmwright.record import Store

WELL = "all there, once, in sound chains"
_PER_LOT = 5


@dataclass(frozen=True, kw_only=True)
class Found:
    """What came out: times [s], processor seconds of the server and of its worker, and what is wrong."""

    taps: tuple[float, ...]
    pages: tuple[float, ...]
    seconds: float
    server: float
    worker: float
    kept: int
    wrong: tuple[str, ...]
    refused: tuple[str, ...]

    def told(self) -> str:
        """In some lines."""
        return (
            f"{len(self.taps)} taps in {self.seconds:.0f} s ({len(self.taps) / self.seconds:.1f} a second), answer "
            f"p50 {_part(self.taps, 0.5)}, p95 {_part(self.taps, 0.95)}, longest {_part(self.taps, 1.0)} ms\n"
            f"  {len(self.pages)} pages, p50 {_part(self.pages, 0.5)}, p95 {_part(self.pages, 0.95)}, longest "
            f"{_part(self.pages, 1.0)} ms\n  processor: server {self.server:.1f} s, emulation {self.worker:.1f} s\n"
            f"  {self.kept} entries acknowledged, {'; '.join(self.wrong) or WELL}"
            + "".join(f"\n  not kept: {each}" for each in sorted(set(self.refused))[:5])
        )


def _part(times: tuple[float, ...], part: float) -> str:
    ordered = sorted(times) or [float("nan")]
    return f"{ordered[min(int(part * len(ordered)), len(ordered) - 1)] * 1e3:.0f}"


class Person(threading.Thread):
    """One tablet with one wafer."""

    def __init__(
        self, tablet: Tablet, lot: str, wafer: str, pause: tuple[float, float], until: float
    ) -> None:
        super().__init__(daemon=True)
        self.tablet, self.lot, self.wafer, self.pause, self.until = tablet, lot, wafer, pause, until
        self.marks: dict[str, str] | None = None
        self.again = 0.0
        self.trouble = ""

    def run(self) -> None:
        """Go on until the time is over."""
        try:
            self._rest(self.tablet.chance.random())
            code = self._first()
            while code and time.monotonic() < self.until:
                code = self._step(code)
        except (OSError, ValueError, KeyError, RuntimeError) as trouble:
            self.trouble = f"{type(trouble).__name__}: {trouble}"
        finally:
            self.tablet.hang_up()

    def _first(self) -> str:
        found = re.search(rf'href="/lot/{self.lot}/step/([0-9A-Z]+)', self._page(f"/lot/{self.lot}"))
        return found[1] if found else ""

    def _step(self, code: str) -> str:
        """One step from its page to the next one's code."""
        path = f"/lot/{self.lot}/step/{code}?wafer={self.wafer}"
        for _ in range(8):
            text = self._page(path)
            if time.monotonic() > self.until:
                return ""
            stage = attribute(text, "stage")
            entries = self._entries(text, stage)
            if not entries:
                break
            self._tap(text, entries)
            if stage == "running" and self.tablet.chance.random() < 0.5:
                self._rest()
                self._tap(text, ({"kind": "note", "text": "colour even, no comets"},))
            self._keep(text)
            self._rest()
        following = re.search(r'href="/lot/[^/]+/step/([0-9A-Z]+)[^"]*">After:', text)
        return following[1] if following else ""

    def _entries(self, text: str, stage: str) -> tuple[dict[str, str], ...]:
        if stage == "ready":
            return ({"kind": "start"},)
        if stage == "held":
            return ({"kind": "hold", "name": "go", "text": "as it should be"},)
        if stage != "running":
            return ()
        planned = [
            json.loads(unescape(each)) for each in re.findall(r'data-set="[^"]*"[^>]*value="([^"]*)"', text)
        ]
        planned += [
            json.loads(unescape(each)) for each in re.findall(r'value="([^"]*)"[^>]*data-set="', text)
        ]
        return (*planned, {"kind": "finish"})

    def _tap(self, text: str, entries: tuple[dict[str, str], ...]) -> None:
        seen = attribute(text, "seen")
        tap = Tap(self.lot, attribute(text, "step"), (self.wafer,), entries, int(seen) if seen else None)
        dice = self.tablet.chance.random()
        if dice < 0.05:
            threading.Thread(target=self._send_and_hang_up, args=(tap,), daemon=True).start()
        self.tablet.tap(tap, self.until + 20)
        if dice > 0.95:
            self.tablet.tap(tap, self.until + 20)

    def _send_and_hang_up(self, tap: Tap) -> None:
        """The same tap over another line that breaks before the answer."""
        other = Tablet(self.tablet.port, self.tablet.who)
        other.cookies, other.token = dict(self.tablet.cookies), self.tablet.token
        try:
            other.send(tap)
        except (OSError, ValueError):
            return
        finally:
            other.hang_up()

    def _page(self, path: str) -> str:
        while True:
            try:
                text = self.tablet.open(path)
                self.tablet.ask("GET", f"/lot/{self.lot}/timers")
                return text
            except ConnectionError as trouble:
                if time.monotonic() > self.until:
                    return ""
                self.tablet.said.append(str(trouble))
                self._rest(0.1)

    def _keep(self, text: str) -> None:
        """The pages near a tap are fetched, and now and then what others changed, as the worker of the pages does it."""
        following = re.search(r'rel="next" href="([^"]*)"', text)
        here = re.search(rf'"(/lot/{self.lot}/step/[0-9A-Z]+)\?wafer={self.wafer}"', text)
        for found in (following, here):
            if found and time.monotonic() < self.until:
                self.tablet.open(unescape(found[1]))
        if time.monotonic() < self.again:
            return
        status, raw = self.tablet.ask("GET", f"/lot/{self.lot}/offline")
        if status != 200:
            return
        looked = json.loads(raw)
        self.again = time.monotonic() + looked["wait"]
        marks = dict(looked["paths"])
        known, self.marks = self.marks, marks
        for path, mark in marks.items():
            # What the tablet knew of this morning need not be fetched for the first time now.
            if known is not None and known.get(path) != mark and time.monotonic() < self.until:
                self.tablet.open(path)

    def _rest(self, part: float = 1.0) -> None:
        time.sleep(part * self.tablet.chance.uniform(*self.pause))


def prove(
    place: str | Path, folder: Path, tablets: int = 50, seconds: float = 300.0, pause: tuple[float, float] = (4.0, 6.0)
) -> Found:  # fmt: skip
    """Serve a new record to so many tablets for so long."""
    lots = start_lots(place, folder, -(-tablets // _PER_LOT), _PER_LOT)
    with Store.open(place) as store:
        wafers = {name: store.lot(name).wafers for name in lots}
    served = Served(place, folder / "log")
    served.start()
    try:
        begin, until = time.monotonic(), time.monotonic() + seconds
        people = []
        for k in range(tablets):
            lot = lots[k // _PER_LOT]
            people.append(
                Person(Tablet(served.port, f"P{k}", k), lot, wafers[lot][k % _PER_LOT], pause, until)
            )
        for each in people:
            each.start()
        for each in people:
            each.join(seconds + 120)
        took = time.monotonic() - begin
        server, worker = served.spent()
    finally:
        served.kill()
    held = [each.tablet for each in people]
    wrong = [*judged(place, lots, held), *sorted({each.trouble for each in people if each.trouble})]
    return Found(
        taps=tuple(time for each in held for time in each.times),
        pages=tuple(time for each in held for time in each.pages),
        seconds=took, server=server, worker=worker, kept=len(set().union(*(each.kept for each in held))),
        wrong=tuple(wrong), refused=tuple(said for each in held for said in each.said),
    )  # fmt: skip


def main() -> int:
    """Prove it for one database or both; 1 when something was lost."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--tablets", type=int, default=50)
    words.add_argument("--seconds", type=float, default=300.0)
    words.add_argument("--pause", type=float, nargs=2, default=(4.0, 6.0), help="between two touches [s]")
    words.add_argument("--on", choices=("sqlite", "postgres"), action="append")
    given = words.parse_args()
    lost = False
    for on in given.on or ("sqlite", "postgres"):
        with tempfile.TemporaryDirectory() as folder, places(on, folder) as place:
            found = prove(place, Path(folder), given.tablets, given.seconds, tuple(given.pause))
        lost = lost or bool(found.wrong)
        print(f"{on}, {given.tablets} tablets: {found.told()}", flush=True)
    return int(lost)


if __name__ == "__main__":
    sys.exit(main())
