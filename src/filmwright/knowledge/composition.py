"""What a formula unit is made of, and which parts of a film's metals are usual."""

from __future__ import annotations

import re
from collections.abc import Mapping

from filmwright.knowledge.types import Material

_TABLE = (
    "H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr Rb Sr Y Zr Nb Mo Tc Ru Rh "
    "Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho Er Tm Yb Lu Hf Ta W Re Os Ir Pt Au Hg Tl Pb Bi"
)
ELEMENTS = frozenset(_TABLE.split())
_FROM_GAS = frozenset({"O", "N", "H"})
"""Of these a film takes as much as the gas gives it, so they are not counted among its parts."""

_PIECE = re.compile(r"([A-Z][a-z]?)(\d*)")
_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")


def atoms_of(material: Material) -> Mapping[str, int]:
    """Atoms of each element in a formula unit, oxygen, nitrogen and hydrogen left out; empty where the formula is not on file.

    Parameters
    ----------
    material : Material
        Its ``formula``, else its sign where that is one: ``In2O3`` gives two of In, ``ITO`` nothing.
    """
    text = (material.formula or material.symbol).translate(_SUBSCRIPTS)
    pieces = _PIECE.findall(text)
    if "".join(element + count for element, count in pieces) != text:
        return {}
    found: dict[str, int] = {}
    for element, count in pieces:
        if element not in ELEMENTS:
            return {}
        found[element] = found.get(element, 0) + int(count or 1)
    # The sign of an alloy names its metals and not how much of each.
    if not material.formula and len(found) > 1 and not _FROM_GAS & set(found):
        return {}
    return {element: count for element, count in found.items() if element not in _FROM_GAS}
