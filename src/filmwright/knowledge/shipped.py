"""The shipped facts, read once from the data files beside this module."""

from __future__ import annotations

import functools
import hashlib
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from filmwright.knowledge.names import Index
from filmwright.knowledge.reading import Sources, bare, fact, rate
from filmwright.knowledge.types import Hazard, Material, Medium, Method, Rate, Resist
from filmwright.sources import Source, Value

_DATA = Path(__file__).parent / "data"
_Entry = Mapping[str, Any]
_Made = TypeVar("_Made")


@dataclass(frozen=True, kw_only=True)
class Property:
    """What a material's or resist's value may be.

    Attributes
    ----------
    name : str
    dimension : str
        A key of :data:`filmwright.units.DIMENSIONS`.
    low, high : float [SI]
        Nothing plausible lies outside.
    what : str
    """

    name: str
    dimension: str
    low: float
    high: float
    what: str


class Book:
    """Materials, media, resists, deposition methods and hazards by name, alias or symbol.

    Attributes
    ----------
    sources : mapping from key to Source
    properties : mapping from name to Property
    materials, media, resists, methods, hazards : mappings by their own name
    models : mapping from name to mapping from constant to Value
        What models take: ``quartz crystal``, ``dry oxidation (100)``, ``argon``, ``mercury lamp`` …
    drifts : mapping from calibrated quantity to Value
        How far it wanders in a day, per square root of day, relative or in its own unit.
    """

    def __init__(self, files: Mapping[str, _Entry]) -> None:
        self.sources: Mapping[str, Source] = _made(files["sources.toml"], lambda _, entry: Source(**entry))
        sources = Sources(self.sources)
        self.properties = _made(files["properties.toml"], _property)
        self.drifts = _made(files["drift.toml"], lambda _, entry: fact(entry, sources))
        self.models = _made(files["models.toml"], lambda _, entry: _values({"values": entry}, sources))
        self.materials = _made(_joined(files, "materials/"), lambda n, e: _material(n, e, sources))
        self.media = _made(_joined(files, "media/"), lambda n, e: _medium(n, e, sources))
        self.resists = _made(files["resists.toml"], lambda n, e: _resist(n, e, sources))
        self.methods = _made(files["methods.toml"], lambda n, e: _method(n, e, sources))
        self.hazards = _made(files["hazards.toml"], lambda n, e: _hazard(n, e, sources))
        self._material = Index(
            "material", self.materials, {m.name: (*m.aliases, m.symbol) for m in self.materials.values()}
        )
        self._medium = Index("medium", self.media, {m.name: m.aliases for m in self.media.values()})
        self._resist = Index("resist", self.resists, {r.name: r.aliases for r in self.resists.values()})
        self._method = Index(
            "deposition method", self.methods, {m.name: m.aliases for m in self.methods.values()}
        )
        self._hazard = Index("hazard", self.hazards, {})

    def material(self, name: str) -> Material:
        """The material of that name, alias or symbol, else :class:`UnknownName`."""
        return self._material[name]

    def medium(self, name: str) -> Medium:
        """The bath, solvent, developer or plasma of that name, else :class:`UnknownName`."""
        return self._medium[name]

    def resist(self, name: str) -> Resist:
        """The resist of that name, else :class:`UnknownName`."""
        return self._resist[name]

    def method(self, name: str) -> Method:
        """The deposition method of that name, else :class:`UnknownName`."""
        return self._method[name]

    def hazard(self, key: str) -> Hazard:
        """The hazard of that key, else :class:`UnknownName`."""
        return self._hazard[key]


def _made(entries: _Entry, make: Callable[[str, Any], _Made]) -> Mapping[str, _Made]:
    made = {}
    for name, entry in entries.items():
        try:
            made[name] = make(name, entry)
        except (ValueError, TypeError, KeyError) as trouble:
            raise ValueError(f'the shipped facts about "{name}": {trouble}') from trouble
    return MappingProxyType(made)


def _joined(files: Mapping[str, _Entry], folder: str) -> dict[str, Any]:
    joined: dict[str, Any] = {}
    for file, entries in files.items():
        if file.startswith(folder):
            twice = joined.keys() & entries.keys()
            if twice:
                raise ValueError(f"{file}: {', '.join(sorted(twice))} stand in another file too")
            joined |= entries
    return joined


def _property(name: str, entry: _Entry) -> Property:
    unit = entry["unit"]
    low, high = (bare(f"{bound:.12g} {unit}") for bound in entry["plausible"])
    return Property(name=name, dimension=entry["dimension"], low=low, high=high, what=entry["what"])


def _values(entry: _Entry, sources: Sources) -> Mapping[str, Value]:
    read = {}
    for key, text in entry.get("values", {}).items():
        try:
            read[key] = fact(text, sources)
        except ValueError as trouble:
            raise ValueError(f"{key}: {trouble}") from trouble
    return MappingProxyType(read)


def _material(name: str, entry: _Entry, sources: Sources) -> Material:
    return Material(
        name=name,
        symbol=entry["symbol"],
        kind=entry["kind"],
        aliases=tuple(entry.get("aliases", ())),
        families=frozenset(entry.get("families", ())),
        values=_values(entry, sources),
        needs_adhesion_layer=entry.get("needs_adhesion_layer", False),
    )


def _rates(entry: _Entry, sources: Sources) -> Iterator[tuple[str, Rate]]:
    usual = fact(entry["sideways"], sources).value if "sideways" in entry else 1.0
    for line in entry.get("not_attacked", ()):
        names, _, rest = line.partition("|")
        for material in names.split(","):
            yield material.strip(), rate(f"none |{rest}", usual, sources)
    for material, text in entry.get("rates", {}).items():
        try:
            yield material, rate(text, usual, sources)
        except ValueError as trouble:
            raise ValueError(f"{material}: {trouble}") from trouble


def _once(rates: Iterator[tuple[str, Rate]]) -> Mapping[str, Rate]:
    once: dict[str, Rate] = {}
    for material, found in rates:
        if material in once:
            raise ValueError(f"{material} has two rates")
        once[material] = found
    return MappingProxyType(once)


def _medium(name: str, entry: _Entry, sources: Sources) -> Medium:
    return Medium(
        name=name,
        kind=entry["kind"],
        aliases=tuple(entry.get("aliases", ())),
        families=frozenset(entry.get("families", ())),
        rates=_once(_rates(entry, sources)),
        dissolves=frozenset(entry.get("dissolves", ())),
        temperature=bare(entry["temperature"]) if "temperature" in entry else None,
        hazard=entry.get("hazard", ""),
        gases=tuple(entry.get("gases", ())),
        note=entry.get("note", ""),
    )


def _resist(name: str, entry: _Entry, sources: Sources) -> Resist:
    return Resist(
        name=name,
        material=entry["material"],
        tone=entry["tone"],
        developer=entry["developer"],
        strippers=tuple(entry["strippers"]),
        aliases=tuple(entry.get("aliases", ())),
        values=_values(entry, sources),
    )


def _method(name: str, entry: _Entry, sources: Sources) -> Method:
    return Method(
        name=name,
        side_wall=fact(entry["side_wall"], sources),
        non_uniformity=fact(entry["non_uniformity"], sources),
        temperature=fact(entry["temperature"], sources),
        line_of_sight=entry.get("line_of_sight", False),
        aliases=tuple(entry.get("aliases", ())),
        families=frozenset(entry.get("families", ())),
        hazard=entry.get("hazard", ""),
        settings=tuple(entry.get("settings", ())),
    )


def _hazard(key: str, entry: _Entry, sources: Sources) -> Hazard:
    return Hazard(
        key=key,
        cautions=tuple(entry["cautions"]),
        gear=tuple(entry.get("gear", ())),
        waste=entry.get("waste", ""),
        never_with=frozenset(entry.get("never_with", ())),
        second_person=entry.get("second_person", False),
        interlock=entry.get("interlock", ""),
        sources=tuple(sources[reference] for reference in entry["sources"]),
    )


def _files() -> list[Path]:
    return sorted(_DATA.rglob("*.toml"))


@functools.cache
def book() -> Book:
    """The shipped facts; read at the first call, the same object afterwards."""
    read = {}
    for path in _files():
        try:
            read[path.relative_to(_DATA).as_posix()] = tomllib.loads(path.read_text(encoding="utf-8"))
        except tomllib.TOMLDecodeError as trouble:
            raise ValueError(f"{path.name}: {trouble}") from trouble
    return Book(read)


@functools.cache
def version() -> str:
    """Digest of the shipped facts, 12 hex digits: what a run was predicted with."""
    digest = hashlib.sha256()
    for path in _files():
        digest.update(path.relative_to(_DATA).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]
