"""What several rooms' tests share: the demo, made once, and the command line as a person types it."""

from __future__ import annotations

import fcntl
import functools
import gc
import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import typer.testing
from hypothesis import HealthCheck, settings

sys.path.append(str(Path(__file__).parents[1] / "tools"))
from postgres_server import Server

# The same examples on every run, so that a red run tells of a change; new ones are looked for with FILMWRIGHT_EXPLORE=1.
settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("explore", deadline=None)
settings.load_profile("explore" if os.environ.get("FILMWRIGHT_EXPLORE") else "steady")

# The verbs are built from their functions once, as in the command itself; building them takes longer than most answers.
typer.testing._get_command = functools.cache(typer.testing._get_command)


def pytest_collection_finish() -> None:
    """Thousands of tests are in memory to the end: looking for garbage among them again and again is a good part of the time."""
    gc.collect()
    gc.freeze()
    # As the command line sets it for itself.
    gc.set_threshold(200_000, 20, 100)


@dataclass(frozen=True)
class Said:
    """What a command said and how it ended."""

    code: int
    out: str
    err: str

    @property
    def fields(self) -> Any:
        """Its answer for programs; fails when anything but one JSON text was printed."""
        return json.loads(self.out)


@pytest.fixture
def filmwright(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., Said]:
    """The command line, called in this process, in a folder of its own; any other end than an exit code is an error."""
    from filmwright.cli.app import app

    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "160")

    def call(*words: object) -> Said:
        result = typer.testing.CliRunner().invoke(app, [str(word) for word in words])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return Said(result.exit_code, result.stdout, result.stderr)

    return call


def _once(root: Path, name: str, make: Callable[[Path], object]) -> Path:
    """A folder that the first worker to ask for it makes, and that the others wait for; made anew when making it failed."""
    with open(root / f"{name}.lock", "w", encoding="utf-8") as lock:
        # The system takes the lock back from a worker that ends, so nobody waits for one that is gone.
        fcntl.flock(lock, fcntl.LOCK_EX)
        try:
            folder, done = root / name, root / f"{name}.done"
            if not done.exists():
                shutil.rmtree(folder, ignore_errors=True)
                make(folder)
                done.touch()
        finally:
            fcntl.flock(lock, fcntl.LOCK_UN)
    return folder


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory, worker: str) -> Path:
    """The folder that all workers of this run have in common."""
    root = tmp_path_factory.getbasetemp()
    return root.parent if worker else root


@pytest.fixture(scope="session")
def made(shared: Path) -> Path:
    """The folder of the demo, made once for all tests and all workers; nobody writes into it."""
    from filmwright.desk import demo

    return _once(shared, "demo", demo)


@pytest.fixture(scope="session")
def probed(shared: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of an invented lot of one wafer with the curves of eight devices; who writes into it takes a copy of its folder."""
    # A record that another worker may have open is not copied; each has one that was copied while it was closed.
    master = _once(shared, "probed", _probe)
    return Path(shutil.copytree(master, tmp_path_factory.mktemp("probed") / "lot")) / "record.sqlite"


def _probe(folder: Path) -> None:
    from filmwright.desk.demonstration import DAY, SEED, STARTED
    from filmwright.desk.files import load
    from filmwright.desk.invent import invent
    from filmwright.desk.lots import keep_drawing, new_lot
    from filmwright.desk.planning import new
    from filmwright.emulate import walk
    from filmwright.record import Store

    plan, record = folder / "plan" / "plan.yaml", folder / "record.sqlite"
    new(plan.parent, "humidity-switch", on=DAY)
    work = load(plan)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=DAY, sections=False)
    lot = new_lot(work, plan, 1, "a few devices", STARTED, SEED)
    with Store.open(record, create=True) as store:
        store.start_lot(lot)
        keep_drawing(store, lot, plan, work)
        invent(store, lot, trace, work.drawing, work.facts, most=8)


@pytest.fixture(scope="session")
def worker(request: pytest.FixtureRequest) -> str:
    """Name of the worker when tests are shared out; empty when they are not."""
    return getattr(request.config, "workerinput", {}).get("workerid", "")


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Server]:
    """A throw-away PostgreSQL server, one per worker."""
    try:
        server = Server()
    except FileNotFoundError as missing:
        pytest.skip(f"{missing}; install the Debian package postgresql to run this")
    yield server
    server.remove()


@pytest.fixture(scope="session")
def postgres_url(postgres_server: Server) -> str:
    """The URL of its maintenance database; make databases of your own beside it."""
    return postgres_server.url


@pytest.fixture
def postgres_place(postgres_server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The URL of an empty database, and a folder of its own for kept files."""
    monkeypatch.setenv("FILMWRIGHT_FILES", str(tmp_path / "kept"))
    with postgres_server.database() as url:
        yield url
