"""What a figure shows, free of how it is drawn: axes with units, curves, bands, tangents, windows, marks.

One description is drawn twice: as a vector figure for paper and as a live figure for pages. All numbers are in the unit
of their axis.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Scale = Literal["linear", "log", "names"]

INKS = ("#0d5566", "#b5701a", "#a2417f", "#4a6fa8", "#6b6b2a", "#7a4030", "#2f2f2f")
"""Colours of curves on paper, apart for the common kinds of colour blindness and different in lightness."""

DARK_INKS = ("#7cc6d6", "#f0bd6a", "#e79ac9", "#a9c1ef", "#cfcf7d", "#dfa68f", "#d8d6cf")
"""The same on a dark page."""

DASHES: tuple[tuple[float, ...], ...] = ((), (6, 2), (1.2, 1.8), (6, 2, 1.2, 2), (9, 2), (3, 2), (9, 2, 3, 2))
"""Lengths of line and gap, in line widths."""

MARKS = ("circle", "square", "diamond", "triangle", "cross", "x", "ring")
"""Shapes of points; the first six stand apart in grey, the ring is for points that are counted but do not stand."""


@dataclass(frozen=True, kw_only=True)
class Axis:
    """One axis.

    Attributes
    ----------
    label, unit : str
        What is drawn and in which unit, as printed; ``1`` for a pure number. An axis of names has none.
    scale : "linear", "log" or "names"
    low, high : float or None
        Ends; None lets the data tell.
    names : tuple of str
        For an axis of names: what stands at 0, 1, 2 …
    """

    label: str
    unit: str = ""
    scale: Scale = "linear"
    low: float | None = None
    high: float | None = None
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if (self.scale == "names") != bool(self.names):
            raise ValueError("an axis of names, and no other, has names")
        if self.scale != "names" and not self.unit:
            raise ValueError(f'the axis "{self.label}" has no unit; write 1 for a pure number')

    @property
    def text(self) -> str:
        """Label with its unit."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


@dataclass(frozen=True, kw_only=True, eq=False)
class Series:
    """A curve, or points.

    Attributes
    ----------
    x, y : array (n,)
    label : str
        In the legend; empty leaves it out.
    ink, dash : int
        Which of ``INKS`` and ``DASHES``.
    mark : str
        One of ``MARKS``, or empty for none.
    line : bool
        Whether the points are joined.
    thin : bool
        Drawn thin: of less weight than the others.
    low, high : array (n,) or None
        95 % band of a line, error bars of points.
    notes : tuple of str
        What is said of each point; empty or one for each.
    """

    x: FloatArray
    y: FloatArray
    label: str = ""
    ink: int = 0
    dash: int = 0
    mark: str = ""
    line: bool = True
    thin: bool = False
    low: FloatArray | None = None
    high: FloatArray | None = None
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.x.ndim != 1 or self.x.shape != self.y.shape:
            raise ValueError("x and y must be one-dimensional and of equal length")
        if (self.low is None) != (self.high is None):
            raise ValueError("a band has two ends")
        if self.notes and len(self.notes) != len(self.x):
            raise ValueError("one note for each point")
        if self.mark and self.mark not in MARKS:
            raise ValueError(f"mark must be one of {MARKS}, got {self.mark!r}")
        if not (self.line or self.mark):
            raise ValueError("without a line the points need a mark")


@dataclass(frozen=True, kw_only=True)
class Arrow:
    """The direction in which a curve was measured, from its tail to its head; in the look of its curve."""

    tail: tuple[float, float]
    head: tuple[float, float]
    ink: int = 0
    label: str = ""


@dataclass(frozen=True, kw_only=True)
class Tangent:
    """A line that was laid through a window, from ``start`` to ``end``; ``foot`` is the point that was read from it."""

    start: tuple[float, float]
    end: tuple[float, float]
    foot: tuple[float, float] | None = None
    label: str = ""
    ink: int = 0


@dataclass(frozen=True, kw_only=True)
class Span:
    """The window of the horizontal axis over which something was read."""

    low: float
    high: float
    label: str = ""
    ink: int = 0


@dataclass(frozen=True, kw_only=True)
class Level:
    """A line across the panel, at a value of the vertical axis (or the horizontal one), with its name."""

    value: float
    label: str
    across: Literal["y", "x"] = "y"


@dataclass(frozen=True, kw_only=True, eq=False)
class Dots:
    """Places that carry a value, as on a map.

    Attributes
    ----------
    x, y, value : array (n,)
        NaN in ``value`` where the device gave none: drawn as a cross, never left out.
    label, unit : str
        Of the value.
    names, notes : tuple of str
        Of each place; notes say why there is no value, or what stands out.
    outlier : tuple of bool
        Ringed and named.
    """

    x: FloatArray
    y: FloatArray
    value: FloatArray
    label: str
    unit: str
    names: tuple[str, ...]
    notes: tuple[str, ...]
    outlier: tuple[bool, ...]

    def __post_init__(self) -> None:
        count = len(self.x)
        sizes = {len(each) for each in (self.y, self.value, self.names, self.notes, self.outlier)}
        if sizes != {count}:
            raise ValueError("one value, name and note for each place")
        if not self.unit:
            raise ValueError("a value has a unit; write 1 for a pure number")

    @property
    def text(self) -> str:
        """Label with its unit."""
        return f"{self.label} [{self.unit}]"


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """A fitted surface, drawn as lines of equal value: ``z`` has a row for each ``y``; NaN outside the wafer."""

    x: FloatArray
    y: FloatArray
    z: FloatArray
    label: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Outline:
    """The rim of a wafer or die."""

    x: FloatArray
    y: FloatArray
    thick: bool = False


@dataclass(frozen=True, kw_only=True)
class Box:
    """The summary of values at one place of an axis of names: quartiles, median and the ends of the whiskers."""

    place: float
    low: float
    quarter: float
    median: float
    three_quarters: float
    high: float
    label: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Matrix:
    """Numbers from -1 to 1 in rows and columns; both axes are axes of names. NaN: not known."""

    values: FloatArray
    notes: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Panel:
    """One pair of axes with what is drawn on it.

    Attributes
    ----------
    x, y : Axis
    title : str
    series, arrows, tangents, spans, levels, outlines, boxes : tuple
    dots, surface, matrix : at most one each
    note : str
        A short sentence above the axes, at the right.
    equal : bool
        Both axes have the same scale, as on a map.
    """

    x: Axis
    y: Axis
    title: str = ""
    series: tuple[Series, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    tangents: tuple[Tangent, ...] = ()
    spans: tuple[Span, ...] = ()
    levels: tuple[Level, ...] = ()
    outlines: tuple[Outline, ...] = ()
    boxes: tuple[Box, ...] = ()
    dots: Dots | None = None
    surface: Surface | None = None
    matrix: Matrix | None = None
    note: str = ""
    equal: bool = False

    @property
    def told(self) -> str:
        """The panel in words, for those who hear it."""
        parts = [f"{self.dots.text} by place" if self.dots else f"{self.y.text} against {self.x.text}"]
        names = [each.label for each in self.series if each.label]
        if names:
            parts.append(": " + ", ".join(dict.fromkeys(names)))
        read = [
            *(each.label for each in self.tangents),
            *(each.label for each in self.spans),
            *(each.label for each in self.levels),
        ]
        if any(read):
            parts.append("; drawn in: " + ", ".join(dict.fromkeys(label for label in read if label)))
        if self.arrows:
            parts.append("; arrows show the direction of the sweep")
        if self.note:
            parts.append(f"; {self.note}")
        return "".join(parts)


@dataclass(frozen=True, kw_only=True)
class Plot:
    """A figure of one or more panels.

    Attributes
    ----------
    title, caption : str
    panels : tuple of Panel
    columns : int
        Of panels on a wide page.
    """

    title: str
    panels: tuple[Panel, ...]
    caption: str = ""
    columns: int = field(default=2)

    def __post_init__(self) -> None:
        if not self.panels:
            raise ValueError("a figure has at least one panel")

    @property
    def told(self) -> str:
        """The figure in words."""
        return f"{self.title}. " + " ".join(f"{panel.told}." for panel in self.panels)
