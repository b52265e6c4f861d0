"""Limits of the review and nominal wafers, from their data file."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

from filmwright.sources import Source, Value
from filmwright.units import read


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A limit that a lab may change.

    Attributes
    ----------
    name : str
    value : float [SI]
    dimension : str
    unit : str
        As written.
    means : str
    source : Source
    """

    name: str
    value: float
    dimension: str
    unit: str
    means: str
    source: Source


@functools.cache
def _data() -> dict[str, Any]:
    text = resources.files("filmwright.knowledge").joinpath("data/limits.toml").read_text("utf-8")
    return tomllib.loads(text)


@functools.cache
def limits() -> Mapping[str, Limit]:
    """All limits by name, as shipped."""
    data = _data()
    source = Source(citation=data["source"]["citation"], kind=data["source"]["kind"])
    found = {}
    for name, row in data["limits"].items():
        quantity = read(row["value"], row["dimension"], name)
        found[name] = Limit(
            name=name,
            value=quantity.value,
            dimension=row["dimension"],
            unit=quantity.unit,
            means=row["means"],
            source=source,
        )
    return found


def wafer_thickness(diameter: float) -> float:
    """Nominal thickness [m] of a wafer of a diameter [m]: the nearest size of SEMI M1 (from memory)."""
    table = {
        read(size, "length").value: read(depth, "length").value
        for size, depth in _data()["wafers"]["thickness"].items()
    }
    return table[min(table, key=lambda size: abs(size - diameter))]


@functools.cache
def usual_time(kind: str) -> Value:
    """The usual time [s] in a bath or plasma of a kind, for a step whose plan names none; from half to twice
    of it."""
    data = _data()["baths"]
    time = read(data["time"][kind], "time").value
    source = Source(citation=data["citation"], kind=data["kind"])
    return Value(value=time, low=time / 2, high=time * 2, unit="min", source=source)


@functools.cache
def electrode_potential(material: str) -> float | None:
    """Standard electrode potential [V] of a metal against hydrogen (CRC Handbook, from memory); None where it is not on file."""
    text = _data()["potentials"]["potential"].get(material)
    return None if text is None else read(text, "voltage").value


@functools.cache
def halide_leaves_at(material: str, halogen: str) -> tuple[str, float] | None:
    """What a halogen makes of a material, of its elements the one that leaves last, and the temperature [K] at which it does.

    Boiling or subliming points at one atmosphere (CRC Handbook, from memory): a hint, never a rate. None where the
    name of the material holds no element on file.

    Parameters
    ----------
    material : str
    halogen : str
        ``fluorine`` or ``chlorine``.
    """
    table = _data()["halides"][halogen]
    found = {
        name: read(text, "temperature").value for name, text in table.items() if name in material.split()
    }
    if not found:
        return None
    last = max(found, key=lambda name: found[name])
    return f"{last} {halogen.removesuffix('ine')}ide", found[last]
