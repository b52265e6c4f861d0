"""A served record in a process of its own, and tablets that use it as the pages do; for proofs and the bench."""

from __future__ import annotations

import html
import http.client
import json
import os
import random
import re
import signal
import socket
import subprocess
import sys
import time
import uuid
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from filmwright.desk.files import load
from filmwright.desk.lots import keep_drawing, new_lot
from filmwright.desk.planning import new
from filmwright.record import Store

sys.path.insert(0, str(Path(__file__).resolve().parent))
from starter import Child, Starter

PATIENCE = 30.0
"""Seconds that a tablet waits for an answer before it sends the same again."""


def start_lots(place: str | Path, folder: Path, lots: int, wafers: int) -> tuple[str, ...]:
    """Lots of the example that nobody has begun, in a new record."""
    flow = folder / "flow"
    folder.mkdir(exist_ok=True)
    new(flow)
    path = flow / "plan.yaml"
    work, names = load(path), []
    with Store.open(place, create=True, patience=30.0) as store:
        for number in range(lots):
            lot = new_lot(work, path, wafers, "invented", now(), number + 1)
            store.start_lot(lot)
            keep_drawing(store, lot, path, work)
            names.append(lot.name)
    return tuple(names)


def now() -> str:
    """The clock of this machine."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as door:
        return int(door.getsockname()[1])


@dataclass
class Served:
    """``filmwright serve`` on this machine alone, in a process group of its own."""

    place: str | Path
    log: Path
    port: int = 0
    limit: int = 0
    """Bytes that one of its files may have; 0: any."""
    process: subprocess.Popen[bytes] | Child | None = None
    starter: Starter | None = None
    """Starts it sooner, when it is started again and again."""

    def start(self, wait: bool = True) -> None:
        """Start it and, unless told otherwise, wait until it answers."""
        self.port = self.port or free_port()
        if self.starter is not None:
            self.process = self.starter.start(self.place, self.port, self.log)
        else:
            self._begin()
        if wait:
            self._wait()

    def _begin(self) -> None:
        # Whatever becomes of the proof, Linux ends the server with it.
        code = "import ctypes, signal; ctypes.CDLL(None).prctl(1, signal.SIGKILL)\n"
        code += "import sys; sys.argv[1:] = ['serve', '--record', sys.argv[1], '--port', sys.argv[2]]\n"
        code += "from filmwright.cli import main; main()"
        if self.limit:
            code = (
                "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
                f"resource.setrlimit(resource.RLIMIT_FSIZE, ({self.limit}, resource.RLIM_INFINITY))\n{code}"
            )
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-c", code, str(self.place), str(self.port)], stdin=subprocess.DEVNULL,
                stdout=log, stderr=log, start_new_session=True, cwd=self.log.parent,
            )  # fmt: skip

    def _wait(self) -> None:
        assert self.process is not None
        until = time.monotonic() + 120
        while time.monotonic() < until:
            if self.process.poll() is not None:
                break
            try:
                if answer(self.port, "GET", "/healthz")[0] == 200:
                    return
            except OSError:
                time.sleep(0.05)
        raise RuntimeError(f"the server did not start: {self.log.read_text()[-2000:]}")

    def kill(self, how: int = signal.SIGKILL) -> None:
        """End it and what it started, and wait for its end."""
        if self.process is None:
            return
        if how == signal.SIGKILL:
            os.killpg(self.process.pid, how)
        else:
            self.process.send_signal(how)
        self.process.wait(60)
        self.process = None

    def spent(self) -> tuple[float, float]:
        """Processor time [s] of the server itself and of what it started."""
        assert self.process is not None
        own, others = 0.0, 0.0
        for each in Path("/proc").glob("[0-9]*/stat"):
            try:
                words = each.read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(words[2]) == self.process.pid:
                seconds = (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")
                if int(each.parent.name) == self.process.pid:
                    own = seconds
                else:
                    others += seconds
        return own, others


def answer(port: int, method: str, path: str, **more: Any) -> tuple[int, bytes]:
    """One request over a line of its own."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    try:
        line.request(method, path, **more)
        got = line.getresponse()
        return got.status, got.read()
    finally:
        line.close()


@dataclass
class Tap:
    """What one touch sends; sent again under the same id until it is answered."""

    lot: str
    step: str
    wafers: tuple[str, ...]
    entries: tuple[dict[str, str], ...]
    seen: int | None = None
    id: str = field(default_factory=lambda: str(uuid.uuid4()))
    happened: str = field(default_factory=now)

    def fields(self, who: str) -> dict[str, Any]:
        """As the script of the pages sends it."""
        return {**vars(self), "who": who, "sure": True}


class Tablet:
    """A browser: one line that is kept open, its cookies, the token of its pages, and what it was told is kept."""

    def __init__(self, port: int, who: str, seed: int = 0) -> None:
        self.port, self.who = port, who
        self.chance = random.Random(seed)
        self.cookies: dict[str, str] = {"who": who}
        self.token = ""
        self.times: list[float] = []
        self.pages: list[float] = []
        self.kept: set[str] = set()
        self.sent: set[str] = set()
        self.said: list[str] = []
        self._line: http.client.HTTPConnection | None = None

    def ask(self, method: str, path: str, body: bytes | None = None) -> tuple[int, bytes]:
        """One request; an OSError when there is no answer."""
        if self._line is None:
            self._line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        head = {
            "cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()),
            "accept": "text/html" if body is None else "application/json",
            "accept-encoding": "gzip",
        }
        if body is not None:
            head |= {"content-type": "application/json", "x-form-token": self.token}
        try:
            self._line.request(method, path, body=body, headers=head)
            got = self._line.getresponse()
            raw = got.read()
        except (OSError, http.client.HTTPException) as trouble:
            self.hang_up()
            raise ConnectionError(str(trouble)) from trouble
        for name, value in got.getheaders():
            if name.lower() == "set-cookie":
                word, _, rest = value.partition("=")
                self.cookies[word] = rest.partition(";")[0]
        if got.getheader("content-encoding") == "gzip":
            import gzip

            raw = gzip.decompress(raw)
        return got.status, raw

    def hang_up(self) -> None:
        """Let go of the line, as when the network goes."""
        if self._line is not None:
            self._line.close()
        self._line = None

    def open(self, path: str) -> str:
        """Open a page; its text."""
        begin = time.perf_counter()
        status, raw = self.ask("GET", path)
        self.pages.append(time.perf_counter() - begin)
        if status != 200:
            raise ConnectionError(f"{status} at {path}")
        text = raw.decode()
        found = re.search(r'data-token="([0-9a-f]+)"', text)
        if found:
            self.token = found[1]
        return text

    def send(self, tap: Tap) -> tuple[int, dict[str, Any]]:
        """Send a tap once."""
        self.sent.add(tap.id)
        body = json.dumps({"clock": now(), "who": self.who, "taps": [tap.fields(self.who)]}).encode()
        begin = time.perf_counter()
        status, raw = self.ask("POST", "/queue", body)
        took = time.perf_counter() - begin
        said = json.loads(raw)
        if status == 200:
            said = said["answers"][0]
            self.times.append(took)
            if said["state"] in ("kept", "already there"):
                self.kept.update(said["events"])
        return status, said

    def tap(self, tap: Tap, until: float) -> str:
        """Send a tap until it is answered, always under its id; its state, empty when there was no more time."""
        while time.monotonic() < until:
            try:
                status, said = self.send(tap)
            except (ConnectionError, ValueError):
                time.sleep(0.1 + 0.2 * self.chance.random())
                continue
            if status == 200:
                if said["state"] not in ("kept", "already there"):
                    self.said.append(f"{said['state']}: {said['said']}")
                return str(said["state"])
            self.said.append(f"{status}: {said.get('said', '')}")
            if status == 403:
                self.open(f"/lot/{tap.lot}")
            time.sleep(0.3)
        return ""


def attribute(text: str, name: str) -> str:
    """What the card of a page of a step carries."""
    found = re.search(rf'<div id="card"[^>]* data-{name}="([^"]*)"', text)
    return html.unescape(found[1]) if found else ""


def judged(place: str | Path, lots: tuple[str, ...], tablets: list[Tablet], before: int = 0) -> list[str]:
    """What does not fit between the record and what the tablets were told; empty when all is well."""
    wrong: list[str] = []
    with Store.open(place, patience=30.0) as store:
        kept = [each.id for lot in lots for each in store.events(lot)]
        wrong += [checked.why for lot in lots if not (checked := store.verify(lot)).sound]
    told = set().union(*(each.kept for each in tablets))
    if missing := told - set(kept):
        wrong.append(f"{len(missing)} acknowledged entries are not there")
    if len(kept) != len(set(kept)):
        wrong.append(f"{len(kept) - len(set(kept))} entries are there twice")
    waiting = sum(len(each.sent) for each in tablets)
    if len(set(kept)) - before > len(told) + waiting:
        wrong.append("more entries than were sent")
    return wrong


def port_of(address: str) -> int:
    """The port in the address of a server."""
    return urlsplit(address).port or 0
