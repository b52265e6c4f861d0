"""The frame of a section picture: window, vertical exaggeration, scale bars."""

from __future__ import annotations

import math
from dataclasses import dataclass

from filmwright.outputs.geometry import FloatArray
from filmwright.units import show, to_si

_STEPS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)


def round_down(value: float, steps: tuple[float, ...] = _STEPS) -> float:
    """The largest round number (``steps`` times a power of ten) that is not above ``value``."""
    decade = 10.0 ** math.floor(math.log10(value))
    fitting = [step * decade for step in steps if step * decade <= value * (1 + 1e-9)]
    return fitting[-1]


def length_text(length_nm: float) -> str:
    """A length of a drawing as people read it, e.g. ``40 nm``."""
    return show(to_si(length_nm, "nm"), "length") if abs(length_nm) >= 0.001 else "0"


@dataclass(frozen=True, kw_only=True)
class Frame:
    """Where a piece of a section lies in a picture.

    Attributes
    ----------
    x0, x1, z0, z1 : float [nm]
        The window.
    left, top : float [px]
        Its upper left corner in the picture.
    across, up : float [px/nm]
        Scales along the cut and along the height.
    """

    x0: float
    x1: float
    z0: float
    z1: float
    left: float
    top: float
    across: float
    up: float

    @property
    def width(self) -> float:
        """Width [px]."""
        return (self.x1 - self.x0) * self.across

    @property
    def height(self) -> float:
        """Height [px]."""
        return (self.z1 - self.z0) * self.up

    @property
    def exaggeration(self) -> float:
        """Vertical over horizontal scale."""
        return self.up / self.across

    def place(self, points: FloatArray) -> FloatArray:
        """Points (n, 2) [nm] as points of the picture [px]; what lies deep stops just below the frame."""
        moved = points.copy()
        moved[:, 0] = self.left + (points[:, 0] - self.x0) * self.across
        moved[:, 1] = self.top + (self.z1 - points[:, 1].clip(self.z0 - 20 / self.up, None)) * self.up
        return moved

    def x(self, x_nm: float) -> float:
        """Picture x [px] of a place on the cut [nm]."""
        return self.left + (x_nm - self.x0) * self.across

    def y(self, z_nm: float) -> float:
        """Picture y [px] of a height [nm]."""
        return self.top + (self.z1 - z_nm) * self.up


@dataclass(frozen=True, kw_only=True)
class Window:
    """A piece of a section to show: x0, x1, and the heights z0 (may crop the wafer body) and z1 [nm]."""

    x0: float
    x1: float
    z0: float
    z1: float


def fitted(window: Window, left: float, top: float, width: float, height: float) -> Frame:
    """A frame of the given width whose exaggeration is the largest round number that fits the height.

    A window that is higher than wide is shown in scale, narrower than ``width``.
    """
    across = width / (window.x1 - window.x0)
    wanted = height / (window.z1 - window.z0) / across
    if wanted < 1.0:
        across, exaggeration = across * wanted, 1.0
    else:
        exaggeration = round_down(wanted)
    return Frame(
        x0=window.x0,
        x1=window.x1,
        z0=window.z0,
        z1=window.z1,
        left=left,
        top=top,
        across=across,
        up=across * exaggeration,
    )


def bar_length(available_nm: float) -> float:
    """A round length for a scale bar [nm], at most ``available_nm``."""
    return round_down(available_nm, (1.0, 2.0, 5.0))
