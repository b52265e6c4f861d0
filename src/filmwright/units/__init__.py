"""Quantities as people write them at the edges, plain SI floats inside.

``read("850 Å", "length").value`` is ``8.5e-8`` (metres). Every symbol that a clean-room keyboard lacks has an ASCII
twin (``ang``, ``um``, ``+-``, ``cm^2``, ``degC``). ``show`` and ``write`` go the other way.
"""

from filmwright.units.constants import (
    AVOGADRO,
    BOLTZMANN,
    ELECTRON_MASS,
    ELEMENTARY_CHARGE,
    PLANCK,
    ROOM_TEMPERATURE,
    SPEED_OF_LIGHT,
    STANDARD_ATMOSPHERE,
    VACUUM_PERMITTIVITY,
    ZERO_CELSIUS,
)
from filmwright.units.dimensions import DIMENSIONS, Dimension
from filmwright.units.quantity import Quantity, UnitProblem, convert, plain, pretty, read, show, to_si, write

__all__ = [
    "AVOGADRO",
    "BOLTZMANN",
    "DIMENSIONS",
    "ELECTRON_MASS",
    "ELEMENTARY_CHARGE",
    "PLANCK",
    "ROOM_TEMPERATURE",
    "STANDARD_ATMOSPHERE",
    "SPEED_OF_LIGHT",
    "VACUUM_PERMITTIVITY",
    "ZERO_CELSIUS",
    "Dimension",
    "Quantity",
    "UnitProblem",
    "convert",
    "plain",
    "pretty",
    "read",
    "show",
    "to_si",
    "write",
]
