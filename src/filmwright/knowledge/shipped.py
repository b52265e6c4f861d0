"""The shipped facts, from the data files beside this module: names at once, what stands behind a name when it
is asked for."""

from __future__ import annotations

import contextlib
import functools
import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from filmwright.knowledge.bottles import LAMP_LINES
from filmwright.knowledge.facts import Absence, Exposure, Substance
from filmwright.knowledge.names import Index
from filmwright.knowledge.reading import Sources, absence, bare, curve, exposure, fact, rate, yields
from filmwright.knowledge.sections import Later, Sections
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
        A key of :data:`filmwright.units.DIMENSIONS`; empty for a curve or a set of coefficients.
    low, high : float [SI]
        Nothing plausible lies outside.
    what : str
    asked_of : frozenset of str
        Kinds of material, or ``resist``, that must answer with a value, ``does not apply`` or ``not known``.
    elsewhere : str
        Why it does not apply to the other kinds; empty when they may have it or not.
    """

    name: str
    dimension: str
    low: float
    high: float
    what: str
    asked_of: frozenset[str] = frozenset()
    elsewhere: str = ""


class Book:
    """Materials, media, resists, deposition methods, substances and hazards by name, alias or symbol.

    Attributes
    ----------
    sources : mapping from key to Source
    properties : mapping from name to Property
    materials, media, resists, methods, hazards, substances : mappings by their own name
    models : mapping from name to mapping from constant to Value
        What models take: ``quartz crystal``, ``dry oxidation (100)``, ``argon``, ``mercury lamp`` …
    baths : mapping from medium to mapping from name to Value
        ``concentration`` of the reagent, ``fade time``, ``longest age``, ``per MATERIAL`` (molecules for a formula unit).
    drifts : mapping from calibrated quantity to Value
        How far it wanders in a day, per square root of day, relative or in its own unit.
    jumps : mapping from calibrated quantity to Value
        How far it may lie off after a maintenance, relative or in its own unit.
    wears : mapping from calibrated quantity to Value
        How far it wanders with a use, per square root of use, relative or in its own unit.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files: dict[str, list[Sections]] = {}
        self._sources = Sources(Later(lambda: self.sources))
        self.materials = self._things("materials", _material)
        self.media = self._things("media", _medium)
        self.resists = self._things("resists.toml", _resist)
        self.methods = self._things("methods.toml", _method)
        self._material = Index(
            "material", self.materials, {m.name: (*m.aliases, m.symbol) for m in self.materials.values()}
        )
        self._medium = Index("medium", self.media, {m.name: m.aliases for m in self.media.values()})
        self._resist = Index("resist", self.resists, {r.name: r.aliases for r in self.resists.values()})
        self._method = Index(
            "deposition method", self.methods, {m.name: m.aliases for m in self.methods.values()}
        )

    @functools.cached_property
    def sources(self) -> Mapping[str, Source]:
        """Where the numbers were read, by key."""
        return self._things("sources.toml", lambda _, entry, *__: Source(**entry))

    @functools.cached_property
    def properties(self) -> Mapping[str, Property]:
        """What a value may be called, with its dimension and plausible range."""
        return self._things("properties.toml", lambda name, entry, *_: _property(name, entry))

    @functools.cached_property
    def drifts(self) -> Mapping[str, Value]:
        """How far a calibrated quantity wanders."""
        return self._things("drift.toml", lambda _, text, __, sources: fact(text, sources))

    @functools.cached_property
    def jumps(self) -> Mapping[str, Value]:
        """How far a calibrated quantity may lie off after a maintenance."""
        return self._things("maintenance.toml", lambda _, text, __, sources: fact(text, sources))

    @functools.cached_property
    def wears(self) -> Mapping[str, Value]:
        """How far a calibrated quantity wanders with each use."""
        return self._things("use.toml", lambda _, text, __, sources: fact(text, sources))

    @functools.cached_property
    def models(self) -> Mapping[str, Mapping[str, Value]]:
        """Constants that models take."""
        return self._things("models.toml", lambda _, entry, __, sources: _facts(entry, sources)[0])

    @functools.cached_property
    def baths(self) -> Mapping[str, Mapping[str, Value]]:
        """Of the baths that are on file: concentration of the reagent, how it fades, what a film takes of it."""
        return self._things("baths.toml", lambda _, entry, __, sources: _facts(entry, sources)[0])

    @functools.cached_property
    def hazards(self) -> Mapping[str, Hazard]:
        """What hurts, and what is usual against it."""
        return self._things("hazards.toml", _hazard)

    @functools.cached_property
    def substances(self) -> Mapping[str, Substance]:
        """Chemicals and gases with their classification and limits."""
        return self._things("substances.toml", _substance)

    @functools.cached_property
    def _hazard(self) -> Index[Hazard]:
        return Index("hazard", self.hazards, {})

    @functools.cached_property
    def _substance(self) -> Index[Substance]:
        formulas = {each.name: (each.formula,) for each in self.substances.values()}
        return Index("substance", self.substances, formulas)

    def _things(
        self, where: str, make: Callable[[str, Any, Sections, Sources], _Made]
    ) -> Mapping[str, _Made]:
        made: dict[str, _Made] = {}
        at = self._folder / where
        for path in sorted(at.glob("*.toml")) if at.is_dir() else [at]:
            sections = Sections(path.read_text(encoding="utf-8"), path.relative_to(self._folder).as_posix())
            self._files.setdefault(where.removesuffix(".toml"), []).append(sections)
            for name, entry in sections.entries.items():
                if name in made:
                    raise ValueError(f"{sections.file}: {name} stands in another file too")
                with _about(name):
                    made[name] = make(name, entry, sections, self._sources)
        return MappingProxyType(made)

    def files(self, group: str) -> tuple[Sections, ...]:
        """The data files of a group: ``materials``, ``media``, ``resists``, ``substances`` …"""
        return tuple(self._files.get(group, ()))

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

    def substance(self, name: str) -> Substance:
        """The chemical or gas of that name or formula, else :class:`UnknownName`."""
        return self._substance[name]

    def known(self, thing: Material | Resist, name: str) -> Value | Absence:
        """A property of a material or resist: its value, or which of the two kinds of nothing there is.

        Parameters
        ----------
        thing : Material or Resist
        name : str
            A key of :attr:`properties`.
        """
        if name in thing.values:
            return thing.values[name]
        if name in thing.missing:
            return thing.missing[name]
        asked = self.properties[name]
        if isinstance(thing, Resist):
            if "resist" not in asked.asked_of and asked.asked_of:
                return Absence(says="does not apply", why=f'asked of the material "{thing.material}"')
        elif asked.elsewhere and thing.kind not in asked.asked_of:
            return Absence(says="does not apply", why=asked.elsewhere)
        return Absence(says="not known", why="nothing is on file")


@contextlib.contextmanager
def _about(name: str) -> Iterator[None]:
    """Puts the name of the entry before whatever is wrong in it."""
    try:
        yield
    except (ValueError, TypeError, KeyError, AttributeError) as trouble:
        raise ValueError(f'the facts about "{name}": {trouble}') from trouble


def _property(name: str, entry: _Entry) -> Property:
    unit = entry.get("unit", "")
    low, high = (bare(f"{bound:.12g} {unit}") for bound in entry.get("plausible", (0.0, 0.0)))
    return Property(
        name=name,
        dimension=entry.get("dimension", ""),
        low=low,
        high=high,
        what=entry["what"],
        asked_of=frozenset(entry.get("asked_of", ())),
        elsewhere=entry.get("elsewhere", ""),
    )


def _facts(entry: _Entry, sources: Sources) -> tuple[Mapping[str, Value], Mapping[str, Absence]]:
    """What has a value, and what says that it has none."""
    values, missing = {}, {}
    for key, text in entry.items():
        with _about(key):
            nothing = absence(text)
            if nothing is None:
                values[key] = fact(text, sources)
            else:
                missing[key] = nothing
    return MappingProxyType(values), MappingProxyType(missing)


def _read_once(
    name: str, sections: Sections, sources: Sources
) -> Callable[[], tuple[Mapping[str, Value], Mapping[str, Absence]]]:
    @functools.cache
    def read() -> tuple[Mapping[str, Value], Mapping[str, Absence]]:
        with _about(name):
            return _facts(sections.part(name, "values"), sources)

    return read


def _table(
    name: str, part: str, sections: Sections, make: Callable[[str, str], _Made]
) -> Callable[[], Mapping[str, _Made]]:
    def read() -> Mapping[str, _Made]:
        with _about(name):
            return {key: make(key, text) for key, text in sections.part(name, part).items()}

    return read


def _material(name: str, entry: _Entry, sections: Sections, sources: Sources) -> Material:
    read = _read_once(name, sections, sources)
    return Material(
        name=name,
        symbol=entry["symbol"],
        kind=entry["kind"],
        aliases=tuple(entry.get("aliases", ())),
        families=frozenset(entry.get("families", ())),
        values=Later(lambda: read()[0]),
        missing=Later(lambda: read()[1]),
        vapour=Later(_table(name, "vapour", sections, lambda key, text: curve(key, text, sources))),
        sputtering=Later(_table(name, "sputtering", sections, lambda key, text: yields(key, text, sources))),
        formula=entry.get("formula", ""),
        composition=Later(_table(name, "composition", sections, lambda key, text: fact(text, sources))),
        needs_adhesion_layer=entry.get("needs_adhesion_layer", False),
    )


def _rates(entry: _Entry, rates: _Entry, sources: Sources) -> Iterator[tuple[str, Rate]]:
    usual = fact(entry["sideways"], sources).value if "sideways" in entry else 1.0
    for line in entry.get("not_attacked", ()):
        names, _, rest = line.partition("|")
        for material in names.split(","):
            yield material.strip(), rate(f"none |{rest}", usual, sources)
    for material, text in rates.items():
        with _about(material):
            yield material, rate(text, usual, sources)


def _once(rates: Iterator[tuple[str, Rate]]) -> Mapping[str, Rate]:
    once: dict[str, Rate] = {}
    for material, found in rates:
        if material in once:
            raise ValueError(f"{material} has two rates")
        once[material] = found
    return MappingProxyType(once)


def _medium(name: str, entry: _Entry, sections: Sections, sources: Sources) -> Medium:
    def rates() -> Mapping[str, Rate]:
        with _about(name):
            return _once(_rates(entry, sections.part(name, "rates"), sources))

    return Medium(
        name=name,
        kind=entry["kind"],
        aliases=tuple(entry.get("aliases", ())),
        families=frozenset(entry.get("families", ())),
        rates=Later(rates),
        dissolves=frozenset(entry.get("dissolves", ())),
        temperature=bare(entry["temperature"]) if "temperature" in entry else None,
        hazard=entry.get("hazard", ""),
        contains=tuple(entry.get("contains", ())),
        gases=tuple(entry.get("gases", ())),
        note=entry.get("note", ""),
    )


def _resist(name: str, entry: _Entry, sections: Sections, sources: Sources) -> Resist:
    read = _read_once(name, sections, sources)
    return Resist(
        name=name,
        material=entry["material"],
        tone=entry["tone"],
        developer=entry["developer"],
        strippers=tuple(entry["strippers"]),
        aliases=tuple(entry.get("aliases", ())),
        lines=tuple(entry.get("lines", LAMP_LINES)),
        values=Later(lambda: read()[0]),
        missing=Later(lambda: read()[1]),
    )


def _method(name: str, entry: _Entry, _: Sections, sources: Sources) -> Method:
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
        arrival={key: fact(value, sources) for key, value in entry.get("arrival", {}).items()},
    )


def _hazard(key: str, entry: _Entry, _: Sections, sources: Sources) -> Hazard:
    return Hazard(
        key=key,
        cautions=tuple(entry["cautions"]),
        gear=tuple(entry.get("gear", ())),
        waste=entry.get("waste", ""),
        never_with=frozenset(entry.get("never_with", ())),
        substances=tuple(entry.get("substances", ())),
        second_person=entry.get("second_person", False),
        interlock=entry.get("interlock", ""),
        sources=tuple(sources[reference] for reference in entry["sources"]),
    )


def _substance(name: str, entry: _Entry, _: Sections, sources: Sources) -> Substance:
    limits = entry["limits"]
    alarm = entry.get("alarm", "does not apply | no gas")
    flammable = entry["flammable"]
    warming = entry.get("warming", "does not apply | no greenhouse gas to speak of")
    return Substance(
        name=name,
        formula=entry["formula"],
        registry_number=entry["number"],
        state=entry["state"],
        classes=tuple(entry["classes"]),
        phrases=tuple(entry["phrases"]),
        classified_by=sources[entry["classified_by"]],
        limits=_limits(limits, sources),
        alarm=absence(alarm) or exposure(alarm, sources),
        flammable=_limits(flammable, sources),
        warming=absence(warming) or exposure(warming, sources),
        never_with=tuple(entry.get("never_with", ())),
        condition=entry.get("condition", ""),
    )


def _limits(written: str | list[str], sources: Sources) -> tuple[Exposure, ...] | Absence:
    if isinstance(written, str):
        nothing = absence(written)
        if nothing is None:
            raise ValueError(f'"{written}" must be a list of limits, or say "not known | why"')
        return nothing
    return tuple(exposure(text, sources) for text in written)


def _files(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.toml"))


def read_book(folder: Path) -> Book:
    """The facts of a folder of data files, laid out like the shipped one.

    Parameters
    ----------
    folder : Path

    Raises
    ------
    ValueError
        When a name cannot be read; what stands behind a name is read when it is asked for, and judged by
        :func:`filmwright.knowledge.checking.problems`.
    """
    return Book(folder)


@functools.cache
def book() -> Book:
    """The shipped facts; read at the first call, the same object afterwards."""
    return read_book(_DATA)


@functools.cache
def version() -> str:
    """Digest of the shipped facts, 12 hex digits: what a run was predicted with."""
    digest = hashlib.sha256()
    for path in _files(_DATA):
        digest.update(path.relative_to(_DATA).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]
