"""The only things that a wafer understands.

``process`` says how much, ``emulate`` turns that into these actions in order, ``wafer`` says what shape results.
Thicknesses are metres, rates metres per second, times seconds, temperatures kelvin; regions are planar regions of
the mask drawing in nanometres (see ``docs/conventions.md``).
"""

from __future__ import annotations

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
        The film arrives along the wafer normal only (``side_wall`` is then 0): walls stay bare, overhangs shade.
    consumed : float [m]
        Thickness of ``consumes`` that turns into the film beneath it (oxidation).
    consumes : str
        The material that is consumed; empty when none.
    """

    material: str
    film: str
    thickness: float
    side_wall: float = 1.0
    line_of_sight: bool = False
    consumed: float = 0.0
    consumes: str = ""


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
    """

    material: str
    keep: Region
    bias: float = 0.0
    side_wall_angle: float = 1.5707963267948966
    undercut: float = 0.0


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
    """

    materials: frozenset[str]


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
