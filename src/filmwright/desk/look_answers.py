"""The answer on how the die looks at a step, for people and for programs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.units import convert, show, to_si

if TYPE_CHECKING:
    from filmwright.emulate import Look, MarkContrast, Seen


@dataclass(frozen=True, kw_only=True)
class LookAnswer:
    """How the die looks after a step.

    Attributes
    ----------
    flow, step : str
        The plan; the step in words.
    look : Look
    places : tuple of Seen
        Those that are told: all kinds, the largest first, or the one that was asked for.
    at : (x, y) [nm] or None
        The place that was asked for.
    spectrum : tuple of (wavelength [m], reflectance)
        Of the place that was asked for, else of the largest; empty where optics are not known.
    marks : tuple of MarkContrast
        Of every exposure of the flow.
    symbols : mapping from material to short sign
    written : tuple of Path
    """

    flow: str
    step: str
    look: Look
    places: tuple[Seen, ...]
    at: tuple[float, float] | None = None
    spectrum: tuple[tuple[float, float], ...] = ()
    marks: tuple[MarkContrast, ...] = ()
    symbols: Mapping[str, str] = field(default_factory=dict)
    written: tuple[Path, ...] = ()

    @property
    def seen_with(self) -> str:
        """Lamp and objective in words."""
        lens = f"numerical aperture {self.look.aperture:g}" if self.look.aperture else "straight down"
        return f"{self.look.light}, {lens}"

    def films(self, seen: Seen) -> str:
        """The films of a place from the top, the body last without its thickness."""
        *films, body = reversed(seen.column.layers)
        parts = [f"{self._sign(layer.material)} {show(layer.thickness, 'length')}" for layer in films]
        return " / ".join([*parts, self._sign(body.material)])

    def _sign(self, material: str) -> str:
        return self.symbols.get(material, material)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "flow": self.flow,
            "step": self.step,
            "light": self.look.light,
            "aperture": self.look.aperture,
            "places": [place_fields(seen) for seen in self.places],
            "at": None if self.at is None else {"x": _um(self.at[0]), "y": _um(self.at[1]), "unit": "um"},
            "spectrum": {
                "wavelength": {"values": [_figure(convert(w, "nm")) for w, _ in self.spectrum], "unit": "nm"},
                "reflectance": [_figure(r) for _, r in self.spectrum],
            }
            if self.spectrum
            else None,
            "alignment_marks": [mark_fields(each) for each in self.marks],
            "optical_data": list(self.look.data),
            "notes": list(self.look.notes),
            "written": [str(path) for path in self.written],
        }


def _figure(number: float) -> float:
    return float(f"{number:.6g}")


def _um(nanometres: float) -> float:
    return _figure(convert(to_si(nanometres, "nm"), "um"))


def place_fields(seen: Seen) -> dict[str, Any]:
    """One kind of place."""
    return {
        "films": [
            {
                "material": layer.material,
                "thickness": {"value": _figure(convert(layer.thickness, "nm")), "unit": "nm"},
            }
            for layer in reversed(seen.column.layers)
        ],
        "area": {"value": _figure(convert(seen.area, "mm^2")), "unit": "mm^2"},
        "colour": seen.name or None,
        "hex": seen.hex or None,
        "luminance": None if seen.luminance is None else _figure(seen.luminance),
        "unknown": list(seen.unknown),
    }


def mark_fields(each: MarkContrast) -> dict[str, Any]:
    """Contrast of a mark at one exposure."""
    return {
        "step": each.state.step.number,
        "mask": each.state.step.mask,
        "viewing": None if each.viewing is None else _figure(each.viewing),
        "lines": {name: _figure(value) for name, value in each.lines.items()},
        "step_height": {"value": _figure(convert(each.step, "nm")), "unit": "nm"},
        "mark_on_the_drawing": each.drawn,
    }
