"""What can be measured of a wafer: on which instrument, where, and what to write down."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import Literal

from filmwright.knowledge.names import Index
from filmwright.sources import Source

ReadingOf = Literal["film", "level", "line", "cross", "capacitor", "nothing"]


@dataclass(frozen=True, kw_only=True)
class ReadingKind:
    """One quantity that a step may measure.

    Attributes
    ----------
    name : str
    of : ReadingOf
        What the step must name besides.
    needs_of : bool
        Whether a film must be named; else the one on top of the place is meant.
    unit : str
        In which it is written; empty for a pure number or words.
    instrument : str
        Entry of the models with the errors of one reading: ``relative`` and ``floor``; empty where there is none.
    sites : int
        How many places of a wafer are usual.
    places : str
    writes : tuple of str
        What to write down.
    source : Source
    """

    name: str
    of: ReadingOf
    needs_of: bool
    unit: str
    instrument: str
    sites: int
    places: str
    writes: tuple[str, ...]
    source: Source

    def __post_init__(self) -> None:
        if self.sites < 1 or not self.writes or not self.places:
            raise ValueError(f"{self.name}: a reading has sites, places and something to write down")


@functools.cache
def _read() -> tuple[Mapping[str, ReadingKind], Index[ReadingKind]]:
    data = tomllib.loads(
        resources.files("filmwright.knowledge").joinpath("data/readings.toml").read_text("utf-8")
    )
    source = Source(citation=data["source"]["citation"], kind=data["source"]["kind"])
    rows = {name: row for name, row in data.items() if name != "source"}
    found = {
        name: ReadingKind(
            name=name,
            of=row["of"],
            needs_of=row["of"] == "film" and not row.get("film on top", False),
            unit=row["unit"],
            instrument=row["instrument"],
            sites=row["sites"],
            places=row["places"],
            writes=tuple(row["writes"]),
            source=source,
        )
        for name, row in rows.items()
    }
    aliases = {name: row["aliases"] for name, row in rows.items()}
    return MappingProxyType(found), Index("quantity", found, aliases)


def readings() -> Mapping[str, ReadingKind]:
    """All quantities that can be measured, by name."""
    return _read()[0]


def reading(name: str) -> ReadingKind:
    """A quantity by its name or one of its other names.

    Raises
    ------
    UnknownName
        With the nearest one.
    """
    return _read()[1][name]
