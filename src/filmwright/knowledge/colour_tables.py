"""Published tables of colour: the standard observer of 1931, the standard illuminants, and colour names.

The tables come with the package ``colour-science``. Importing it takes seconds, so the two dictionaries are read
from its files as literals; a test compares them with what the package itself says.
"""

from __future__ import annotations

import ast
import functools
import importlib.util
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from filmwright.knowledge.reading import Sources, fact
from filmwright.knowledge.shipped import book
from filmwright.sources import Value
from filmwright.units import to_si

Real = NDArray[np.float64]
_OBSERVER = ("colorimetry/datasets/cmfs.py", "CIE 1931 2 Degree Standard Observer")
_LAMPS = "colorimetry/datasets/illuminants/sds.py"
_NAMES = Path(__file__).parent / "data" / "colours.toml"
_LIGHTS: Mapping[str, str] = MappingProxyType(
    {
        "daylight D65": "D65",
        "daylight D50": "D50",
        "incandescent A": "A",
        "fluorescent": "FL2",
        "white LED": "LED-B3",
    }
)
"""Our name of each light to that of its table; halogen is computed where it is used, from its temperature."""


@dataclass(frozen=True, kw_only=True)
class Tabulated:
    """A spectrum at rising wavelengths.

    Attributes
    ----------
    wavelength : array (w,) [m]
    values : array (w,) or (w, 3)
    source : str
    """

    wavelength: Real
    values: Real
    source: str

    def at(self, wavelength: Real) -> Real:
        """Linear between the tabulated wavelengths, zero outside them.

        Parameters
        ----------
        wavelength : array (n,) [m]
        """
        columns = self.values.reshape(self.wavelength.size, -1).T
        found = np.array([np.interp(wavelength, self.wavelength, c, left=0.0, right=0.0) for c in columns])
        return found[0] if self.values.ndim == 1 else found.T


@dataclass(frozen=True, kw_only=True)
class ColourName:
    """An everyday name for a colour.

    Attributes
    ----------
    name : str
    lab : tuple of three floats
        Lightness, red–green and yellow–blue under daylight D65.
    """

    name: str
    lab: tuple[float, float, float]


def _literal(file: str, key: str) -> dict[int, Any]:
    """The dictionary that stands behind a key in a file of tables, without running the file."""
    spec = importlib.util.find_spec("colour")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("the package colour-science is not installed")
    text = (Path(spec.origin).parent / file).read_text(encoding="utf-8")
    start = text.index(f'    "{key}": {{\n') + len(f'    "{key}": ')
    table: dict[int, Any] = ast.literal_eval(text[start : text.index("\n    }", start) + len("\n    }")])
    return table


def _tabulated(table: Mapping[int, Any], source: str) -> Tabulated:
    return Tabulated(
        wavelength=np.array([to_si(float(wave), "nm") for wave in table]),
        values=np.array(list(table.values()), dtype=float),
        source=source,
    )


@functools.cache
def observer() -> Tabulated:
    """Colour matching functions x̄, ȳ, z̄ of the CIE 1931 standard observer (2°), 360 to 830 nm, array (w, 3)."""
    return _tabulated(_literal(*_OBSERVER), "CIE 1931 standard observer, 2°")


def lights() -> tuple[str, ...]:
    """Names of the tabulated illuminants."""
    return tuple(_LIGHTS)


@functools.cache
def tabulated_light(name: str) -> Tabulated:
    """Relative spectral power of a tabulated illuminant.

    Parameters
    ----------
    name : str
        One of :func:`lights`.

    Raises
    ------
    ValueError
        When there is none of that name.
    """
    if name not in _LIGHTS:
        raise ValueError(f'no light is known as "{name}"; use one of: {", ".join(_LIGHTS)}')
    return _tabulated(_literal(_LAMPS, _LIGHTS[name]), f"CIE illuminant {_LIGHTS[name]}")


@functools.cache
def lamp_temperatures() -> Mapping[str, Value]:
    """Temperatures [K] of lamps that glow as a black body does, by name."""
    entries = tomllib.loads(_NAMES.read_text(encoding="utf-8"))["lamps"]
    sources = Sources(book().sources)
    return MappingProxyType({name: fact(text, sources) for name, text in entries.items()})


@functools.cache
def colour_names() -> tuple[ColourName, ...]:
    """The everyday names of colours and where they lie."""
    entries = tomllib.loads(_NAMES.read_text(encoding="utf-8"))["names"]
    return tuple(ColourName(name=name, lab=(lab[0], lab[1], lab[2])) for name, lab in entries.items())
