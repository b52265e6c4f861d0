"""How fast the life of a lot is told: of many entries, and of few lots among many finished ones."""

from __future__ import annotations

import datetime
import json
import statistics
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path

from filmwright.desk.bench import Bench, grid, progress_of, today, where_was_i
from filmwright.flow import Step
from filmwright.record import Event, Lot, Store, digest, lot_name

Row = tuple[str, float, str, float, str]
"""What, ours [s], the peer, its time [s], size."""

START = datetime.datetime(2021, 5, 4, 8, tzinfo=datetime.UTC)
PLAN = """\
flow: Two films and a gap
invented: yes
wafer: {body: silicon, diameter: 100 mm}
masks:
  drawing: none.oas
  pads: {layer: 1/0, drawn: opaque}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
  - pattern: pads
    resist: positive 1.3 um
  - etch: titanium
    in: dilute hydrofluoric acid
    time: 20 s
  - strip: resist
    in: acetone
"""
GOING, WAFERS = 10, ("W1", "W2", "W3")


def _median(call: Callable[[], object], repeats: int = 9) -> float:
    """Of processor time, which a busy machine does not change."""
    times = []
    for _ in range(repeats):
        begin = time.process_time()
        call()
        times.append(time.process_time() - begin)
    return statistics.median(times)


def _lot(number: int) -> Lot:
    return Lot(
        name=lot_name(number), flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1",
        code_version="1", wafers=WAFERS, started=START.isoformat(), invented=True,
    )  # fmt: skip


def _entries(lot: str, steps: tuple[Step, ...], rounds: int = 1) -> Iterator[Event]:
    """Every step begun, set and finished on each wafer, hold points decided; so many rounds over the first two steps."""
    moment = START
    for step in (*(steps[:2] * (rounds - 1)), *steps):
        for wafer in WAFERS:
            for kind, name in (("start", ""), ("set", "time"), ("finish", ""), ("hold", "go")):
                if kind == "hold" and not step.hold:
                    continue
                moment += datetime.timedelta(seconds=20)
                yield Event(
                    id=str(uuid.uuid4()), lot=lot, wafer=wafer, step=step.number, kind=kind, name=name,
                    value=41.0 if kind == "set" else None, unit="s" if kind == "set" else "", who="AB",
                    happened=moment.isoformat(), written=moment.isoformat(), invented=True,
                )  # fmt: skip


def _told(entries: int) -> tuple[float, float, int]:
    """Times of a progress of at least so many entries and of reading them as JSON [s], and how many they are."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "r.sqlite", create=True) as store:
        store.start_lot(_lot(0))
        steps = Bench(store).flow(lot_name(0)).steps
    events = tuple(_entries(lot_name(0), steps, entries // (6 * len(WAFERS)) - 3))
    text = json.dumps([asdict(each) for each in events])
    return (
        _median(lambda: progress_of(lot_name(0), steps, events, WAFERS)),
        _median(lambda: json.loads(text)),
        len(events),
    )


def _pages(lots: int) -> tuple[float, float, float, float]:
    """First look, and then today, the grid and where-was-I with so many lots of which ten are under way [s]."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "r.sqlite", create=True) as store:
        first = _lot(0)
        store.start_lot(first)
        steps = Bench(store).flow(first.name).steps
        kept: list[Event] = []
        for number in range(lots):
            if number:
                store.start_lot(_lot(number))
            whole = list(_entries(lot_name(number), steps))
            kept += whole[: len(whole) // 2] if number < GOING else whole
        store.append(kept)
        bench = Bench(store)
        begin = time.process_time()
        today(bench)
        cold = time.process_time() - begin

        def tap() -> None:
            store.append([next(_entries(first.name, steps))])
            today(bench)

        return (
            cold,
            _median(tap) - _median(lambda: store.append([next(_entries(first.name, steps))])),
            _median(lambda: grid(bench, first.name)),
            _median(lambda: where_was_i(bench, first.name)),
        )


def rows() -> list[Row]:
    """The life of one lot beside reading its entries as JSON, and the pages with many lots beside those with ten."""
    ours, theirs, count = _told(1000)
    found: list[Row] = [
        ("progress of a lot with 3 wafers", ours, "json.loads of its entries", theirs, f"{count} entries")
    ]
    few = _pages(10)
    names = ("first look at today", "today after an entry", "grid of a lot", "where was I in a lot")
    for lots in (10, 100, 1000):
        many = few if lots == 10 else _pages(lots)
        found += [
            (name, spent, "the same with 10 lots", least, f"{lots} lots, {GOING} under way")
            for name, spent, least in zip(names, many, few, strict=True)
        ]
    return found


if __name__ == "__main__":
    for name, ours, _, _, size in rows():
        print(f"{name:<36}{1e3 * ours:>10.2f} ms  {size}")
