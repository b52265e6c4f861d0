"""Many tablets at one server for some minutes: how long a tap waits for its answer, and whether all of it is kept, once.

python tools/proof/tablets.py [--tablets 50] [--seconds 300] [--on sqlite|postgres] [--pause 4 6]

One tablet is alone first; then all work, and in their middle the record is backed up; at last all tap at the same moment. The backup is
brought back and must hold, in sound chains, all that was acknowledged before it began.

Each tablet takes one wafer through its flow: it opens the page of a step, starts, enters what was planned, writes a note, finishes,
decides hold points, and rests some seconds between two touches as a person does. After each touch it does what the script and the worker
of the pages do: the page is loaded again, the pages near it are kept, and now and then those of the lot that changed.
A tap is one or more entries: who finishes a step enters what was planned with it. One tap in twenty
is sent twice, one in twenty loses its line before the answer comes.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
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

    phases: dict[str, tuple[float, ...]]
    pages: tuple[float, ...]
    seconds: float
    server: float
    worker: float
    kept: int
    wrong: tuple[str, ...]
    refused: tuple[str, ...]
    backup: str = ""

    @property
    def taps(self) -> tuple[float, ...]:
        """Times of all taps."""
        return tuple(time for times in self.phases.values() for time in times)

    def told(self) -> str:
        """In some lines."""
        lines = [
            f"{len(self.taps)} taps in {self.seconds:.0f} s ({len(self.taps) / self.seconds:.1f} a second)"
        ]
        lines += [f"{name}: {len(times)} taps, {_parts(times)}" for name, times in self.phases.items()]
        lines.append(f"{len(self.pages)} pages, {_parts(self.pages)}")
        lines.append(f"processor: server {self.server:.1f} s, emulation {self.worker:.1f} s")
        lines += [self.backup] if self.backup else []
        lines.append(f"{self.kept} entries acknowledged, {'; '.join(self.wrong) or WELL}")
        lines += [f"not kept: {each}" for each in sorted(set(self.refused))[:5]]
        return "\n  ".join(lines)


def _parts(times: tuple[float, ...]) -> str:
    said = (f"p{100 * part:.0f} {_part(times, part)}" for part in (0.5, 0.95, 0.99))
    return f"{', '.join(said)}, longest {_part(times, 1.0)} ms"


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
        self.trouble = ""
        self.again = 0.0

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
    place: str | Path, folder: Path, tablets: int = 50, seconds: float = 300.0, pause: tuple[float, float] = (4.0, 6.0),
    full: bool = False,
) -> Found:  # fmt: skip
    """Serve a new record to so many tablets for so long; ``full``: with one alone before, a backup in the middle, all at once after."""
    lots = start_lots(place, folder, -(-tablets // _PER_LOT), _PER_LOT)
    with Store.open(place) as store:
        wafers = {name: store.lot(name).wafers for name in lots}
    served = Served(place, folder / "log")
    served.start()
    held = [Tablet(served.port, f"P{k}", k) for k in range(tablets)]
    places = [(lots[k // _PER_LOT], wafers[lots[k // _PER_LOT]][k % _PER_LOT]) for k in range(tablets)]
    phases, backup, trouble = {}, Backup(place, folder / "backup", held), []
    begin = time.monotonic()
    try:
        if full:
            trouble += _work(held[:1], places, (0.3, 0.6), min(20.0, seconds / 4))
            phases["one tablet"] = _since(held, {})
            threading.Timer(seconds / 2, backup.take).start()
        before = {each.who: len(each.times) for each in held}
        trouble += _work(held, places, pause, seconds)
        phases[f"{tablets} tablets"] = _since(held, before)
        if full:
            before = {each.who: len(each.times) for each in held}
            _all_at_once(held, places)
            phases["all at once"] = _since(held, before)
        took = time.monotonic() - begin
        server, worker = served.spent()
    finally:
        served.kill()
    wrong = [*judged(place, lots, held), *sorted(set(trouble))]
    if full:
        wrong += backup.wrong(lots)
    return Found(
        phases=phases, pages=tuple(time for each in held for time in each.pages), seconds=took, server=server, worker=worker,
        kept=len(set().union(*(each.kept for each in held))), wrong=tuple(wrong),
        refused=tuple(said for each in held for said in each.said), backup=backup.said,
    )  # fmt: skip


def _work(
    held: list[Tablet], places: list[tuple[str, str]], pause: tuple[float, float], seconds: float
) -> list[str]:
    """All of them work for so long; what went wrong."""
    until = time.monotonic() + seconds
    people = [
        Person(tablet, lot, wafer, pause, until) for tablet, (lot, wafer) in zip(held, places, strict=False)
    ]
    for each in people:
        each.start()
    for each in people:
        each.join(seconds + 120)
    return [each.trouble for each in people if each.trouble]


def _all_at_once(held: list[Tablet], places: list[tuple[str, str]]) -> None:
    """Every tablet sends a note at the same moment."""
    gate = threading.Barrier(len(held))

    def one(tablet: Tablet, lot: str, wafer: str) -> None:
        tablet.open(f"/lot/{lot}/timers")
        gate.wait(60)
        tap = Tap(lot, "", (wafer,), ({"kind": "note", "text": "lights flickered"},))
        tablet.tap(tap, time.monotonic() + 60)
        tablet.hang_up()

    each = [threading.Thread(target=one, args=(tablet, *place)) for tablet, place in zip(held, places, strict=True)]  # fmt: skip
    for thread in each:
        thread.start()
    for thread in each:
        thread.join(120)


def _since(held: list[Tablet], before: dict[str, int]) -> tuple[float, ...]:
    return tuple(time for each in held for time in each.times[before.get(each.who, 0) :])


class Backup:
    """A backup while others write, and what it must hold: all that was acknowledged before it began."""

    def __init__(self, place: str | Path, target: Path, held: list[Tablet]) -> None:
        self.place, self.target, self.held = place, target, held
        self.owed: set[str] = set()
        self.said = ""
        self.trouble = ""
        self._done = threading.Event()

    def take(self) -> None:
        """Take it, as a person at the command line does."""
        begin = time.monotonic()
        try:
            self.owed = set().union(*(set(each.kept) for each in self.held))
            self.trouble = self._call("backup", str(self.target), str(self.place))
        except (OSError, RuntimeError, subprocess.SubprocessError) as trouble:
            self.trouble = f"backup: {trouble}"
        self.said = f"backup in the middle: {time.monotonic() - begin:.1f} s, {len(self.owed)} entries owed"
        self._done.set()

    def wrong(self, lots: tuple[str, ...]) -> list[str]:
        """Bring it back as a new file and look; empty when all is well."""
        if not self._done.wait(120):
            return ["the backup did not end"]
        back = self.target.with_name("back.sqlite")
        if trouble := self.trouble or self._call("restore", str(self.target), str(back)):
            return [trouble]
        with Store.open(back) as store:
            kept = {each.id for lot in lots for each in store.events(lot)}
            found = [f"restored: {bad.why}" for lot in lots if not (bad := store.verify(lot)).sound]
        if missing := self.owed - kept:
            found.append(f"{len(missing)} entries are missing in the backup")
        return found

    def _call(self, verb: str, folder: str, record: str) -> str:
        code = "from filmwright.cli import main; main()"
        done = subprocess.run(
            [sys.executable, "-c", code, "record", verb, folder, "--record", record], capture_output=True, text=True,
            timeout=120, check=False,
        )  # fmt: skip
        return f"{verb}: {(done.stderr or done.stdout).strip()[-300:]}" if done.returncode else ""


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
            found = prove(place, Path(folder), given.tablets, given.seconds, tuple(given.pause), True)
        lost = lost or bool(found.wrong)
        print(f"{on}, {given.tablets} tablets: {found.told()}", flush=True)
    return int(lost)


if __name__ == "__main__":
    sys.exit(main())
