"""Takes the record of a served bench away in every way that a lab knows: the tablet is told, keeps its taps, and nothing is lost.

python tools/proof/record_trouble.py [--on sqlite|postgres]
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))
from bench_server import Served, Tablet, Tap, answer, judged, start_lots
from postgres_server import Server

Trouble = Callable[[Served, Path], AbstractContextManager[None]]


@contextmanager
def locked(_served: Served, path: Path) -> Iterator[None]:
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
def crowded(_served: Served, path: Path) -> Iterator[None]:
    """The small disk of the record has no byte left: another program filled it."""
    filling = path.with_name("somebody else's")
    with filling.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"\0" * 4096)
        except OSError:
            pass
    try:
        yield
    finally:
        filling.unlink()


@contextmanager
def read_only(_served: Served, path: Path) -> Iterator[None]:
    """The files of the record may not be changed any more, as when a disk with errors is put on read only."""
    files = [each for each in path.parent.glob(path.name + "*") if each.is_file()]
    subprocess.run(["chattr", "+i", *files], check=True)
    try:
        yield
    finally:
        subprocess.run(["chattr", "-i", *files], check=True)


@contextmanager
def small_disk(folder: Path) -> Iterator[bool]:
    """A disk of a few megabytes at a folder; whether there is one: it takes the right to mount."""
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=16m", "tmpfs", str(folder)], check=False, capture_output=True
    )
    try:
        yield not made.returncode
    finally:
        if not made.returncode:
            subprocess.run(["umount", str(folder)], check=True)


def can_be_frozen(folder: Path) -> bool:
    """Whether files of this folder can be made unchangeable, which takes the right to and a file system that knows it."""
    if shutil.which("chattr") is None:
        return False
    probe = folder / "probe"
    probe.touch()
    done = subprocess.run(["chattr", "+i", str(probe)], check=False, capture_output=True)
    subprocess.run(["chattr", "-i", str(probe)], check=False, capture_output=True)
    probe.unlink()
    return not done.returncode


@contextmanager
def gone(server: Server) -> Iterator[None]:
    """The database server is stopped as by a power cut, and comes back."""
    server.stop("immediate")
    try:
        yield
    finally:
        server.start()


def prove_trouble(
    place: str | Path, folder: Path, trouble: Callable[[Served], AbstractContextManager[None]], name: str
) -> tuple[str, list[str]]:
    """Taps and a page while the record is out of reach, the same again afterwards; what was told, and what is wrong."""
    lots = start_lots(place, folder / f"{name} flow", 1, 1)
    served = Served(place, folder / "log", limit=1 << 40 if name == "full disk" else 0)
    served.start()
    tablet, wrong = Tablet(served.port, "AB"), []
    try:
        tablet.open(f"/lot/{lots[0]}")
        note = ({"kind": "note", "text": "before, and long enough to fill a page " * 100},)
        tablet.send(Tap(lots[0], "", (), note))
        tap = Tap(lots[0], "", (), ({"kind": "note", "text": "meanwhile " * 1000},))
        with trouble(served):
            status, said = tablet.send(tap)
            alive = answer(served.port, "GET", "/healthz")[0]
        problem = (said.get("problems") or [{}])[0]
        told = f"{status}: {said.get('said', '')} {problem.get('got', '')}; {problem.get('remedy', '')}"
        if status != 503 or not problem.get("remedy"):
            wrong.append("the tablet was not told that the record does not answer, and what to do")
        if alive != 200:
            wrong.append("the server itself did not live through it")
        if tablet.tap(tap, time.monotonic() + 60) != "kept":
            wrong.append("the server did not go on afterwards")
        tablet.open(f"/lot/{lots[0]}")
    finally:
        tablet.hang_up()
        served.kill()
    return told, [*wrong, *judged(place, lots, [tablet])]


def prove_restarts(
    server: Server, place: str, folder: Path, times: int, tablets: int
) -> tuple[str, list[str]]:
    """Stop and start the database again and again while tablets log; the server of the pages goes on by itself."""
    from kill_server import Logger

    lots = start_lots(place, folder / "restarts flow", 1, 1)
    served = Served(place, folder / "log")
    served.start()
    loggers = [Logger(served.port, lots[0], k) for k in range(tablets)]
    for each in loggers:
        each.start()
    try:
        for number in range(times):
            time.sleep(0.7)
            server.stop("immediate" if number % 2 else "fast")
            time.sleep(0.3)
            server.start()
        for each in loggers:
            each.over.set()
        for each in loggers:
            each.join(60)
    finally:
        served.kill()
    held = [each.tablet for each in loggers]
    wrong = judged(place, lots, held)
    wrong += [f"{len(each.sent - each.kept)} of {each.who} lost" for each in held if each.sent - each.kept]
    return f"{sum(len(each.kept) for each in held)} entries acknowledged through {times} restarts", wrong


def prove_start(place: str | Path, folder: Path, name: str) -> tuple[str, list[str]]:
    """Start the pages over a record that cannot be reached: words and exit code 2, never a traceback or an open port."""
    code = "import sys; sys.argv[1:] = ['serve', '--record', sys.argv[1], '--port', '0']\n"
    code += "from filmwright.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, str(place)],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        timeout=120,
    )
    wrong = [] if done.returncode == 2 else [f"it ended with {done.returncode}"]
    said = " ".join(done.stderr.split())
    if "Traceback" in said or not said:
        wrong.append(f"{name} was not told in words")
    return said, wrong


def on_sqlite(folder: Path, *only: str) -> Iterator[tuple[str, str, list[str]]]:
    """What is told, and what is wrong, in each trouble of a file, or only in some."""
    acts: dict[str, Trouble] = {
        "locked": locked,
        "full disk": full,
        "no room left": crowded,
        "read-only file": read_only,
    }
    for name in only or acts:
        own = folder / name.replace(" ", "-")
        with small_disk(own) as small:
            if (name == "no room left" and not small) or (
                name == "read-only file" and not can_be_frozen(folder)
            ):
                yield name, "this machine does not allow it: not proved", []
                continue
            # What cannot be changed any more lies on an ordinary disk: one in memory knows no such mark.
            path = (folder if name == "read-only file" else own) / "record.sqlite"
            act = acts[name]
            yield (
                name,
                *prove_trouble(path, folder, lambda served, act=act, path=path: act(served, path), name),
            )
    if not only:
        broken = folder / "broken.sqlite"
        broken.write_bytes(b"no record at all")
        yield "start on a file of another kind", *prove_start(broken, folder, "the file")


def on_postgres(folder: Path, server: Server, times: int = 6) -> Iterator[tuple[str, str, list[str]]]:
    """What is told, and what is wrong, in each trouble of a database server."""
    server.run("CREATE DATABASE shared", "CREATE DATABASE again")
    place = server.of("shared")
    yield "server stopped", *prove_trouble(place, folder, lambda _: gone(server), "server stopped")
    yield "server restarted while tablets log", *prove_restarts(server, server.of("again"), folder, times, 4)
    with gone(server):
        yield "start while the server is away", *prove_start(place, folder, "the server that is away")


def main() -> int:
    """Prove it for one database or both; 1 when something was lost."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--on", choices=("sqlite", "postgres"), action="append")
    given = words.parse_args()
    lost = False
    for on in given.on or ("sqlite", "postgres"):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            os.environ["FILMWRIGHT_FILES"] = str(folder / "kept")
            server = Server(safe=True) if on == "postgres" else None
            try:
                for what, told, wrong in (
                    on_postgres(folder, server) if server is not None else on_sqlite(folder)
                ):
                    lost = lost or bool(wrong)
                    print(f"{on}, {what}: told {told!r}; {'; '.join(wrong) or 'as it should be'}", flush=True)
            finally:
                if server is not None:
                    server.remove()
    return int(lost)


if __name__ == "__main__":
    sys.exit(main())
