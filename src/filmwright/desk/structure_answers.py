"""What a test structure told, as every verb of test structures answers it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from filmwright.units import plain

if TYPE_CHECKING:
    from filmwright.measure import Parameter
    from filmwright.outputs import Plot


@dataclass(frozen=True, kw_only=True)
class Drawable:
    """An array for a picture: numbers [SI] and the unit in which they are given to programs."""

    values: NDArray[np.float64]
    unit: str

    def fields(self) -> dict[str, Any]:
        """For programs; what is not finite is null."""
        shown = np.asarray(self.values, dtype=float) / (1 / plain(1.0, self.unit) if self.unit else 1.0)
        return {"unit": self.unit, "values": _listed(shown)}


def _listed(values: NDArray[np.float64]) -> Any:
    if values.ndim == 0:
        return float(f"{float(values):.9g}") if math.isfinite(float(values)) else None
    return [_listed(each) for each in values]


@dataclass(frozen=True, kw_only=True)
class StructurePart:
    """One structure or file.

    Attributes
    ----------
    title : str
    parameters : mapping from name to Parameter
    said, warnings : tuple of str
    arrays : mapping from name to Drawable
    """

    title: str
    parameters: Mapping[str, Parameter]
    said: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    arrays: Mapping[str, Drawable] = field(default_factory=dict)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "title": self.title,
            "parameters": {name: each.fields() for name, each in self.parameters.items()},
            "said": list(self.said),
            "warnings": list(self.warnings),
            "arrays": {name: each.fields() for name, each in self.arrays.items()},
        }


@dataclass(frozen=True, kw_only=True)
class StructureAnswer:
    """What test structures told.

    Attributes
    ----------
    kind : str
        "lengths", "sheet resistance", "capacitance" or "step height".
    parts : tuple of StructurePart
    problems : tuple of str
        Files that could not be read, while others could.
    keep : str
        How to write the result down in the record; empty where it has no name there.
    source : object
        The result of ``measure`` of the first part, for pictures.
    others : tuple of object
        Those of the other parts, where they are drawn too.
    """

    kind: str
    parts: tuple[StructurePart, ...]
    problems: tuple[str, ...] = ()
    keep: str = ""
    source: object = None
    others: tuple[object, ...] = ()

    def plots(self) -> tuple[Plot, ...]:
        """The figures of gated length sets or of a capacitance curve; none of the others."""
        from filmwright.measure import CapacitanceResult, GatedLengths
        from filmwright.outputs import capacitance_result_plot, gated_lengths_plot

        if isinstance(self.source, GatedLengths):
            gated = [each for each in (self.source, *self.others) if isinstance(each, GatedLengths)]
            # With several sets, each figure says of which it is.
            titles = [part.title if len(gated) > 1 else "" for part in self.parts if part.parameters]
            return tuple(gated_lengths_plot(each, title) for each, title in zip(gated, titles, strict=False))
        return (capacitance_result_plot(self.source),) if isinstance(self.source, CapacitanceResult) else ()

    @property
    def stopped(self) -> bool:
        """Whether a file was refused beside others that were read."""
        return bool(self.problems)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "kind": self.kind,
            "parts": [each.fields() for each in self.parts],
            "problems": list(self.problems),
            "keep": self.keep,
        }
