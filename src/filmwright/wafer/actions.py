"""The only things that a wafer understands.

``process`` says how much, ``emulate`` turns that into these actions in order, ``wafer`` says what shape results.
Thicknesses are metres, rates metres per second, times seconds, temperatures kelvin; regions are planar regions of
the mask drawing in nanometres (see ``docs/conventions.md``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from filmwright.numerics import Region


@dataclass(frozen=True, kw_only=True)
class EtchRate:
    """How fast one material goes.

    Attributes
    ----------
    down : float [m/s]
        Rate along the wafer normal.
    sideways : float [m/s]
        Rate along the surface: equal to ``down`` for an isotropic etch, 0 for a vertical one.
    """

    down: float
    sideways: float


@dataclass(frozen=True, kw_only=True)
class Flux:
    """Over which angles atoms arrive that stay where they strike: either from the whole sky, or from a far source.

    Attributes
    ----------
    exponent : float or None
        Of the cosine (angle from the wafer normal) to which the radiance is proportional, above -1; 0 is a sky of even
        brightness. None for a far source.
    tilts : tuple of float [rad]
        Angles between the wafer normal and the directions to a far source, 0 to below 90°.
    shares : tuple of float
        What arrives from each on a surface that faces it, above 0.
    azimuth : float or None [rad]
        Of the far source in the drawing, from its x axis, for a wafer that stands still; None: it turns, all are alike.
    """

    exponent: float | None = None
    tilts: tuple[float, ...] = ()
    shares: tuple[float, ...] = ()
    azimuth: float | None = None

    def __post_init__(self) -> None:
        if (self.exponent is None) != bool(self.tilts):
            raise ValueError(f"a flux has an exponent or tilts, one of them, got {self}")
        if self.exponent is not None and not self.exponent > -1:
            raise ValueError(f"the exponent of a flux lies above -1, got {self.exponent}")
        if len(self.tilts) != len(self.shares):
            raise ValueError(f"a flux has one share per tilt, got {self.tilts} and {self.shares}")
        if not all(0 <= tilt < math.pi / 2 for tilt in self.tilts) or not all(s > 0 for s in self.shares):
            raise ValueError(f"tilts lie from 0 to below a right angle and shares above 0, got {self}")


@dataclass(frozen=True, kw_only=True)
class Grow:
    """A film grows on every surface that it can reach.

    Attributes
    ----------
    material : str
    film : str
        Label of this growth, unique on the wafer, e.g. ``titanium (step 2)``.
    thickness : float [m]
        Over flat, open ground.
    side_wall : float
        Thickness on a vertical wall over that on the flat, 0 to 1; 1 is conformal.
    line_of_sight : bool
        The film arrives from where the wafer normal points, or nearly: walls stay bare (``side_wall`` is then 0), overhangs
        shade.
    flux : Flux or None
        Over which angles it arrives, where that is known: along a cut each place then gets what it sees of it, whatever
        ``side_wall`` and ``line_of_sight`` say; where no cut runs those two stand for it.
    consumed : float [m]
        Thickness of ``consumes`` that turns into the film beneath it (oxidation).
    consumes : str
        The material that is consumed; empty when none.
    through : tuple of (over, grows) [m]
        What grows where so much of the film's own material lies over what is consumed already, ``over`` increasing; between
        two of them on the straight line, beyond the last as there. Empty: it grows only where that is bare.
    """

    material: str
    film: str
    thickness: float
    side_wall: float = 1.0
    line_of_sight: bool = False
    consumed: float = 0.0
    consumes: str = ""
    flux: Flux | None = None
    through: tuple[tuple[float, float], ...] = ()

    def beneath(self, over: float) -> float:
        """What grows [m] beneath so much [m] of its own material."""
        if over <= 0 or not self.through:
            return 0.0 if over > 0 else self.thickness
        low = (0.0, self.thickness)
        for high in self.through:
            if over <= high[0]:
                share = (over - low[0]) / (high[0] - low[0]) if high[0] > low[0] else 1.0
                return low[1] + share * (high[1] - low[1])
            low = high
        return low[1]


@dataclass(frozen=True, kw_only=True)
class Coat:
    """A liquid is spun on and levels the topography.

    Attributes
    ----------
    material, film : str
    thickness : float [m]
        On flat, open ground.
    levelling : float [m]
        Length over which the liquid levels; steps narrower than it vanish at the top.
    """

    material: str
    film: str
    thickness: float
    levelling: float


@dataclass(frozen=True, kw_only=True)
class Print:
    """A resist keeps what the exposure and development leave.

    Attributes
    ----------
    material : str
        The resist.
    keep : Region
        Where the resist remains, in drawing coordinates, before the edge bias.
    bias : float [m]
        By how much each remaining edge moves outward at its foot (negative: inward).
    side_wall_angle : float [rad]
        Angle of the resist wall from the substrate; above 90° the wall overhangs.
    undercut : float [m]
        By how much the foot lies behind the upper edge in a lift-off profile (0: none).
    under_layer : float [m]
        Thickness of the lower of two layers: its wall is upright and stands back by the whole undercut, the upper one begins
        at the printed edge and has the side-wall angle. 0: one layer, whose undercut is one slanted wall.
    foot : float [m]
        Length of the toe that runs out at the bottom of a wall, as high as it is long; it is part of the printed width.
    """

    material: str
    keep: Region
    bias: float = 0.0
    side_wall_angle: float = 1.5707963267948966
    undercut: float = 0.0
    under_layer: float = 0.0
    foot: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Remove:
    """An etch: a time at a rate per material. Materials that are not named are not touched.

    Attributes
    ----------
    rates : mapping from material to EtchRate
    time : float [s]
    """

    rates: Mapping[str, EtchRate]
    time: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "rates", MappingProxyType(dict(self.rates)))


@dataclass(frozen=True, kw_only=True)
class Clear:
    """A solvent dissolves materials wherever it reaches them; what loses its footing floats off.

    Attributes
    ----------
    materials : frozenset of str
    tear : float [m]
        Films that hang over what dissolved tear where they are thinner than this; 0: none tears.
    """

    materials: frozenset[str]
    tear: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Heat:
    """The whole wafer is heated.

    Attributes
    ----------
    temperature : float [K]
    time : float [s]
    atmosphere : str
    """

    temperature: float
    time: float
    atmosphere: str = "air"


@dataclass(frozen=True, kw_only=True)
class Alter:
    """A material changes its state where it is exposed, without changing its shape.

    Attributes
    ----------
    material : str
    mark : str
        The state, e.g. ``plasma-hardened``.
    """

    material: str
    mark: str


Action = Grow | Coat | Print | Remove | Clear | Heat | Alter
"""Everything that can happen to a wafer."""
