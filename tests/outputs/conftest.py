"""A section of a bottom-gate transistor, built by hand from known thicknesses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
import shapely
import shapely.affinity

from filmwright.numerics import Region

MARGIN, GATE = 22_000.0, 20_000.0
SPAN = 2 * MARGIN + GATE


@dataclass(frozen=True)
class HandBody:
    material: str
    film: str
    shape: Region


@dataclass(frozen=True)
class HandSection:
    bodies: tuple[HandBody, ...]


def body(material, film, shape):
    return HandBody(material, film, Region(shape))


def lifted(solid, thickness, x0, x1):
    """A line-of-sight film over x0 … x1."""
    grown = shapely.union_all(
        [shapely.affinity.translate(solid, 0, dz) for dz in np.linspace(0, thickness, 40)]
    )
    return grown.difference(solid).intersection(shapely.box(x0, 0, x1, 10_000)).buffer(0)


def stages():
    """The sections after each deposit of the transistor, by name."""
    silicon = shapely.box(0, -500_000, SPAN, 0)
    parts = [body("silicon", "body", silicon)]
    wide = shapely.box(-2_000, -500_000, SPAN + 2_000, 0)
    oxide = shapely.box(-2_000, 0, SPAN + 2_000, 300)
    clip = shapely.box(0, -500_000, SPAN, 10_000)
    found = {}
    parts.append(body("silicon dioxide", "silicon dioxide (as bought)", oxide.intersection(clip)))
    found["start"] = HandSection(tuple(parts))
    gate = shapely.Polygon(
        [(MARGIN - 60, 300), (MARGIN + GATE + 60, 300), (MARGIN + GATE, 360), (MARGIN, 360)]
    )
    parts.append(body("titanium", "titanium (step 2)", gate))
    found["gate"] = HandSection(tuple(parts))
    solid = wide.union(oxide).union(gate)
    alumina = (
        solid.buffer(40, quad_segs=24)
        .difference(solid)
        .intersection(clip.intersection(shapely.box(0, 0, SPAN, 9e3)))
    )
    parts.append(body("aluminium oxide", "aluminium oxide (step 5)", alumina))
    found["dielectric"] = HandSection(tuple(parts))
    solid = solid.union(solid.buffer(40, quad_segs=24))
    blanket = solid.buffer(25, quad_segs=24).difference(solid).intersection(clip)
    island = blanket.intersection(shapely.box(MARGIN - 5_000, 0, MARGIN + GATE + 5_000, 9e3))
    found["channel blanket"] = HandSection(
        (
            *parts,
            body(
                "indium gallium zinc oxide",
                "indium gallium zinc oxide (step 6)",
                blanket.intersection(shapely.box(0, 0, SPAN, 9e3)),
            ),
        )
    )
    parts.append(body("indium gallium zinc oxide", "indium gallium zinc oxide (step 6)", island))
    found["island"] = HandSection(tuple(parts))
    solid = solid.union(island)
    for name, film, thickness in (("titanium", "titanium (step 9)", 10.0), ("gold", "gold (step 9)", 90.0)):
        left = lifted(solid, thickness, 6_000, MARGIN + 5_000)
        right = lifted(solid, thickness, MARGIN + GATE - 5_000, SPAN - 6_000)
        metal = shapely.union_all([left, right])
        parts.append(body(name, film, metal))
        solid = solid.union(metal)
    found["contacts"] = HandSection(tuple(parts))
    return found


KINDS = {
    "silicon": "substrate",
    "silicon dioxide": "insulator",
    "titanium": "conductor",
    "aluminium oxide": "insulator",
    "indium gallium zinc oxide": "semiconductor",
    "gold": "conductor",
    "positive resist": "organic",
}
SYMBOLS = {
    "silicon": "Si",
    "silicon dioxide": "SiO₂",
    "titanium": "Ti",
    "aluminium oxide": "Al₂O₃",
    "indium gallium zinc oxide": "IGZO",
    "gold": "Au",
    "positive resist": "resist",
}


@pytest.fixture(scope="session")
def transistor():
    return stages()


@pytest.fixture(scope="session")
def kinds():
    return KINDS


@pytest.fixture(scope="session")
def symbols():
    return SYMBOLS
