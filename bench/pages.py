"""How long pages take by HTTP with many lots in the record, beside the same with ten; and a wafer with many entries."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from starlette.testclient import TestClient

from bench.lots import GOING, WAFERS, Row, _entries, _lot
from filmwright.desk.bench import Bench
from filmwright.record import Event, Store
from filmwright.web import Settings, application

HERE = "http://127.0.0.1:8537"
REPEATS = 9


def _record(folder: Path, lots: int, rounds: int = 1) -> tuple[Path, dict[str, str]]:
    """A record with so many lots of which ten are under way, and the pages of the first of them."""
    place = folder / "r.sqlite"
    with Store.open(place, create=True) as store:
        first = _lot(0)
        store.start_lot(first)
        steps = Bench(store).flow(first.name).steps
        kept: list[Event] = []
        for number in range(lots):
            if number:
                store.start_lot(_lot(number))
            whole = list(_entries(_lot(number).name, steps, rounds))
            kept += whole[: len(whole) // 2] if number < GOING else whole
        store.append(kept)
    code = steps[3].code
    pages = {
        "today": "/",
        "all lots": "/lots",
        "grid": f"/lot/{first.name}",
        "step": f"/lot/{first.name}/step/{code}?wafer={WAFERS[0]}",
        "wafer": f"/lot/{first.name}/wafer/{WAFERS[0]}",
        "tools": "/tools",
    }
    return place, pages


def _spent(call: Callable[[], object]) -> float:
    begin = time.process_time()
    call()
    return time.process_time() - begin


def _got(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200, (path, answer.status_code)


def page_times(lots: int) -> dict[str, float]:
    """Processor time of the first look of a process at today, and of each page after it [s]."""
    with tempfile.TemporaryDirectory() as folder:
        place, pages = _record(Path(folder), lots)
        with Bench.open(place) as before:
            before.going()  # whoever looks after a lot ended writes its end down; once per lot, not per process
        with Bench.open(place) as bench, TestClient(application(bench, Settings()), base_url=HERE) as client:
            _got(client, "/parts")
            found = {"today, first look of a process": _spent(lambda: _got(client, "/"))}
            for name, path in pages.items():
                if name == "step":
                    found["step, first look of a process"] = _spent(lambda path=path: _got(client, path))  # type: ignore[misc]
                _got(client, path)
                found[name] = statistics.median(
                    _spent(lambda path=path: _got(client, path))  # type: ignore[misc]
                    for _ in range(REPEATS)
                )
            return found


def wafer_times(entries: int) -> tuple[float, int]:
    """Processor time of the page of a wafer with at least so many entries [s], and how many it has."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "r.sqlite", create=True) as store:
        lot = _lot(0)
        store.start_lot(lot)
        steps = Bench(store).flow(lot.name).steps
        own = [each for each in _entries(lot.name, steps, max(1, entries // 6)) if each.wafer == WAFERS[0]]
        store.append(own[:entries])
        bench = Bench(store)
        with TestClient(application(bench, Settings()), base_url=HERE) as client:
            path = f"/lot/{lot.name}/wafer/{WAFERS[0]}"
            _got(client, path)
            return statistics.median(_spent(lambda: _got(client, path)) for _ in range(REPEATS)), len(
                own[:entries]
            )


def rows() -> list[Row]:
    """Each page with a hundred and a thousand lots beside ten, and a wafer with a thousand entries beside one with ten."""
    few = page_times(10)
    found: list[Row] = []
    for lots in (100, 1000):
        many = page_times(lots)
        found += [
            (
                f"page by HTTP: {name}",
                many[name],
                "the same with 10 lots",
                few[name],
                f"{lots} lots, {GOING} under way",
            )
            for name in many
        ]
    (least, small), (most, large) = wafer_times(10), wafer_times(1000)
    found.append(("page by HTTP: wafer", most, f"a wafer with {small} entries", least, f"{large} entries"))
    return found


if __name__ == "__main__":
    for name, ours, _, theirs, size in rows():
        print(f"{name:<50}{1e3 * ours:>9.2f} ms {ours / theirs:>7.2f} times as long  {size}")
