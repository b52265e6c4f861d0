"""Which light of a plasma tells the end of an etch."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from typing import Literal

from filmwright.sources import Source
from filmwright.units import read


@dataclass(frozen=True, kw_only=True)
class EmissionLine:
    """A line to watch.

    Attributes
    ----------
    species : str
    wavelength : float [m]
    end : str
        What it does when the film is gone: ``falls`` or ``rises``.
    source : Source
    """

    species: str
    wavelength: float
    end: Literal["falls", "rises"]
    source: Source


@functools.cache
def _rows() -> tuple[tuple[str, frozenset[str], EmissionLine], ...]:
    data = tomllib.loads(
        resources.files("filmwright.knowledge").joinpath("data/end_points.toml").read_text("utf-8")
    )
    source = Source(citation=data["source"]["citation"], kind=data["source"]["kind"])
    return tuple(
        (
            row["family"],
            frozenset(row["materials"]),
            EmissionLine(
                species=row["species"],
                wavelength=read(row["wavelength"], "length", f"line of {row['species']}").value,
                end=row["end"],
                source=source,
            ),
        )
        for row in data["lines"]
    )


def emission_line(families: Iterable[str], material: str) -> EmissionLine | None:
    """The line to watch when a plasma of some families etches a material; None where none is on file."""
    known = set(families)
    return next(
        (line for family, materials, line in _rows() if family in known and material in materials), None
    )
