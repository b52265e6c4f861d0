"""A small flow, entries as one writes them, and a record with one lot."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from filmwright.desk.bench import Bench
from filmwright.flow import Flow, flow_from_text
from filmwright.knowledge import Lab
from filmwright.record import Event, Lot, Store, digest

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
  - measure: step height
    of: titanium
"""

START = datetime.datetime.fromisoformat("2021-05-04T08:00:00+02:00")


@pytest.fixture(scope="session")
def flow() -> Flow:
    return flow_from_text(PLAN, "plan.yaml", Lab(name="no lab file"))


@pytest.fixture
def entry() -> Callable[..., Event]:
    """Makes entries a minute apart; ``entry("finish", "2.1", wafer="W1")``."""
    count = 0

    def make(kind: str, step: str = "", **more: Any) -> Event:
        nonlocal count
        count += 1
        moment = more.pop("at", START + datetime.timedelta(minutes=count))
        text = moment if isinstance(moment, str) else moment.isoformat(timespec="seconds")
        return Event(
            id=str(uuid.UUID(int=count)), kind=kind, step=step, happened=text, written=text, **{"lot": "K7M-4H7", "who": "AB", **more},
        )  # fmt: skip

    return make


@pytest.fixture(scope="session")
def lot_named() -> Callable[..., Lot]:
    """Makes lots of the small flow."""
    return _lot


def _lot(name: str, wafers: tuple[str, ...] = ("W1", "W2"), plan: str = PLAN) -> Lot:
    """A lot of the small flow."""
    return Lot(
        name=name, flow_text=plan, flow_digest=digest(plan), knowledge_version="1", code_version="1",
        wafers=wafers, started=START.isoformat(), invented=True,
    )  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A record with the lot K7M-4H7 of two wafers."""
    with Store.open(tmp_path / "record.sqlite", create=True) as store:
        store.start_lot(_lot("K7M-4H7"))
        yield Bench(store)
