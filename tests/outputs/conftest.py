"""A section of a bottom-gate transistor, built by hand from known thicknesses."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
import shapely

from filmwright.numerics import Region
from filmwright.outputs import Legend

MARGIN, GATE = 22_000.0, 20_000.0
SPAN = 2 * MARGIN + GATE
CLIP = shapely.box(0, -500_000, SPAN, 10_000)


@dataclass(frozen=True)
class HandBody:
    material: str
    film: str
    shape: Region


@dataclass(frozen=True)
class HandSection:
    bodies: tuple[HandBody, ...]


def body(material, film, shape):
    parts = [part for part in shapely.get_parts(shape.intersection(CLIP)) if part.geom_type == "Polygon"]
    return HandBody(material, film, Region(shapely.union_all(parts)))


def lifted(solid, thickness, x0, x1):
    """A film of line of sight on flat pieces of ground between x0 and x1."""
    pieces = []
    for low, high in zip(
        [x0, *range(int(x0) + 200, int(x1), 200)], [*range(int(x0) + 200, int(x1), 200), x1], strict=True
    ):
        top = solid.intersection(shapely.box(low, 0, high, 10_000)).bounds[3]
        pieces.append(shapely.box(low, top, high, top + thickness))
    return shapely.union_all(pieces).difference(solid)


@pytest.fixture(scope="session")
def stages():
    """The sections after the main steps of a transistor, by name; every thickness known by hand."""
    ground = shapely.box(-2_000, -500_000, SPAN + 2_000, 0)
    oxide = shapely.box(-2_000, 0, SPAN + 2_000, 300)
    parts = [
        body("silicon", "silicon", ground),
        body("silicon dioxide", "silicon dioxide (as bought)", oxide),
    ]
    found = {"start": HandSection(tuple(parts))}
    blanket = body("titanium", "titanium (step 2)", shapely.box(-2_000, 300, SPAN + 2_000, 360))
    found["blanket"] = HandSection((*parts, blanket))
    gate = shapely.Polygon(
        [(MARGIN - 60, 300), (MARGIN + GATE + 60, 300), (MARGIN + GATE, 360), (MARGIN, 360)]
    )
    parts.append(body("titanium", "titanium (step 2)", gate))
    found["gate"] = HandSection(tuple(parts))
    solid = shapely.union_all([ground, oxide, gate])
    parts.append(
        body("aluminium oxide", "aluminium oxide (step 5)", solid.buffer(40, quad_segs=24).difference(solid))
    )
    found["dielectric"] = HandSection(tuple(parts))
    solid = solid.buffer(40, quad_segs=24)
    film = solid.buffer(25, quad_segs=24).difference(solid)
    island = film.intersection(shapely.box(MARGIN - 5_000, 0, MARGIN + GATE + 5_000, 9e3))
    parts.append(body("indium gallium zinc oxide", "IGZO (step 6)", island))
    found["island"] = HandSection(tuple(parts))
    solid = solid.union(island)
    for material, thickness in (("titanium", 10.0), ("gold", 90.0)):
        metal = lifted(solid, thickness, 6_000, MARGIN + 5_000).union(
            lifted(solid, thickness, MARGIN + GATE - 5_000, SPAN - 6_000)
        )
        parts.append(body(material, f"{material} (step 9)", metal))
        solid = solid.union(metal)
    found["contacts"] = HandSection(tuple(parts))
    return found


@pytest.fixture(scope="session")
def legend():
    return Legend(
        kinds={
            "silicon": "substrate",
            "silicon dioxide": "insulator",
            "titanium": "conductor",
            "aluminium oxide": "insulator",
            "indium gallium zinc oxide": "semiconductor",
            "gold": "conductor",
            "positive resist": "organic",
        },
        symbols={
            "silicon": "Si",
            "silicon dioxide": "SiO₂",
            "titanium": "Ti",
            "aluminium oxide": "Al₂O₃",
            "indium gallium zinc oxide": "IGZO",
            "gold": "Au",
        },
    )
