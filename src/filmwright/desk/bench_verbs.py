"""Verbs that print what the pages of the bench show."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from filmwright.desk.bench.grid import grid as grid_of
from filmwright.desk.bench.today import today as today_of
from filmwright.desk.files import record_place

if TYPE_CHECKING:
    from filmwright.desk.bench.grid import GridAnswer
    from filmwright.desk.bench.today import TodayAnswer


def grid(lot: str, record: str | Path | None = None) -> GridAnswer:
    """The run of a lot as a table of steps and wafers."""
    from filmwright.desk.bench.house import Bench

    with Bench.open(record_place(record)) as bench:
        return grid_of(bench, lot)


def today(record: str | Path | None = None) -> TodayAnswer:
    """The lots that are under way, the most urgent first."""
    from filmwright.desk.bench.house import Bench

    with Bench.open(record_place(record)) as bench:
        return today_of(bench)
