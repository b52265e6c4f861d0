"""A drawing: its layers as planar regions and its labels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType

from filmwright.errors import BadInput, Problem
from filmwright.numerics import Region

LayerNumber = tuple[int, int]
"""Layer and datatype."""

FRAME: LayerNumber = (0, 0)
"""Layer on which a drawing may show the outline of its die."""

_MARGIN_NM = 50_000.0


@dataclass(frozen=True, kw_only=True)
class Label:
    """A text on the drawing.

    Attributes
    ----------
    text : str
        A terminal is written ``NAME:TERMINAL``.
    layer : (layer, texttype)
    x_nm, y_nm : float [nm]
    """

    text: str
    layer: LayerNumber
    x_nm: float
    y_nm: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Drawing:
    """A mask drawing, its hierarchy resolved.

    Attributes
    ----------
    name : str
        Name of the top cell.
    layers : mapping from (layer, datatype) to Region
    labels : tuple of Label
    file : str
        Where it was read; empty when it was not.
    notes : tuple of str
        What was decided in reading, e.g. which of several top cells was taken.
    marks : tuple of (x0, y0, x1, y1) [nm]
        Boxes round the alignment marks: the cells that are called so.
    """

    name: str
    layers: Mapping[LayerNumber, Region]
    labels: tuple[Label, ...] = ()
    file: str = ""
    notes: tuple[str, ...] = field(default=())
    marks: tuple[tuple[float, float, float, float], ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "layers", MappingProxyType(dict(self.layers)))

    def region(self, layer: LayerNumber) -> Region:
        """The shapes of a layer; :class:`BadInput` names the layers that are there when it is missing."""
        if layer not in self.layers:
            there = ", ".join(f"{a}/{b}" for a, b in sorted(self.layers))
            raise BadInput(
                Problem(
                    what=f"the mask layer {layer[0]}/{layer[1]}",
                    expected=f"one of the layers of the drawing: {there}",
                    got="a layer without shapes",
                    why="a plate without shapes prints nothing",
                    remedy="correct the layer number in the plan or draw the layer",
                    file=self.file,
                )
            )
        return self.layers[layer]

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of everything drawn [nm]."""
        boxes = [region.bounds for region in self.layers.values()]
        x0, y0, x1, y1 = zip(*boxes, strict=True)
        return min(x0), min(y0), max(x1), max(y1)

    @cached_property
    def die(self) -> Region:
        """The outline of the die: the box round the frame on layer 0/0, else round everything with a margin of 50 µm."""
        if FRAME in self.layers:
            return Region.box(*self.layers[FRAME].bounds)
        x0, y0, x1, y1 = self.bounds
        return Region.box(x0 - _MARGIN_NM, y0 - _MARGIN_NM, x1 + _MARGIN_NM, y1 + _MARGIN_NM)
