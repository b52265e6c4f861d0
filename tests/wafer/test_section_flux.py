"""Films under a flux along a cut (nm unless said otherwise)."""

from math import atan, pi, radians, sin

import numpy as np
import pytest
import shapely

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Clear, Coat, EtchRate, Flux, Grow, Print, Remove
from filmwright.wafer.section import Section

EVEN = Flux(exponent=0.0)
NEARLY_UPRIGHT = Flux(tilts=(0.02, 0.06), shares=(1.0, 1.0))


def nm(value):
    return to_si(value, "nm")


def bare(films=(), ends=((0.0, 0.0), (10_000.0, 0.0))):
    return Section.start(Polyline(ends), "silicon", [(material, film, nm(t)) for material, film, t in films])


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def opened(section, x0, x1, thickness=1000.0, material="resist", **shape):
    coat = Coat(material=material, film=material, thickness=nm(thickness), levelling=nm(5000))
    return section.apply(coat).apply(
        Print(material=material, keep=strip(-1e6, x0).union(strip(x1, 1e6)), **shape)
    )


def film(thickness, flux, material="metal"):
    return Grow(material=material, film=material, thickness=nm(thickness), flux=flux)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("flux", "share"), [(EVEN, 1 / 2), (Flux(exponent=1.0), 1 / pi), (Flux(exponent=2.0), 1 / 4)]
)
def test_wall_of_a_step_gets_its_share(flux, share):
    section = opened(bare(), 5000.0, 1e6, thickness=400.0, material="wall")
    after = section.apply(film(10.0, flux))
    wide = sum(high - low for _, name, low, high in after.column(5000 + 10 * share - 0.1) if name == "metal")
    assert wide > 250.0
    assert after.thickness("metal", 5000 + 10 * share + 0.2) < nm(8.0)
    assert after.thickness("metal", 1000.0) == pytest.approx(nm(10.0), abs=nm(0.01))


@pytest.mark.analytic
def test_floor_beside_a_wall_gets_what_the_wall_leaves_open():
    section = opened(bare(), 5000.0, 1e6, thickness=500.0, material="wall")
    after = section.apply(film(2.0, EVEN))
    for away in (100.0, 500.0, 2000.0):
        expected = (1 + sin(atan(away / 500.0))) / 2
        assert after.thickness("metal", 5000.0 + away) == pytest.approx(nm(2.0 * expected), abs=nm(0.02))


@pytest.mark.analytic
def test_an_overhang_leaves_a_gap_and_the_lift_off_is_clean():
    section = opened(bare(), 4000.0, 6000.0, undercut=nm(300), bias=nm(-300))
    after = section.apply(film(60.0, NEARLY_UPRIGHT))
    low = [piece for piece in after.pieces if piece.film == "metal" and piece.shape.bounds[1] < 1.0]
    assert len(low) == 1
    x0, _, x1, _ = low[0].shape.bounds
    # The penumbra under a lip 1000 above the floor is that times the slope of the widest cone, on both sides of its edge.
    assert (x0, x1) == (pytest.approx(4000 - 60, abs=5), pytest.approx(6000 + 60, abs=5))
    floor = [high - low for _, name, low, high in after.column(4000.0) if name == "metal"]
    assert floor == [pytest.approx(30.0, abs=3.0), pytest.approx(60.0, abs=0.1)]
    lifted = after.apply(Clear(materials=frozenset({"resist"})))
    assert [piece.material for piece in lifted.pieces] == ["silicon", "metal"]


@pytest.mark.analytic
def test_a_mouth_that_closes_is_told_as_sealed():
    section = opened(bare(), 4800.0, 5200.0, material="wall")
    after = section.apply(film(700.0, EVEN))
    assert [event.kind for event in after.events] == ["sealed"]
    assert after.events[0].x == pytest.approx(5000.0, abs=0.01)
    assert len(after.voids()) == 1


@pytest.mark.analytic
@pytest.mark.parametrize("flux", [EVEN, NEARLY_UPRIGHT])
def test_a_mirrored_cut_gives_a_mirrored_film(flux):
    def flow(turned):
        x0, x1 = (10_000 - 6000.0, 10_000 - 2345.5) if turned else (2345.5, 6000.0)
        section = bare([("oxide", "oxide", 100.0)])
        coat = Coat(material="resist", film="resist", thickness=nm(900), levelling=nm(4000))
        section = section.apply(coat).apply(
            Print(material="resist", keep=strip(x0, x1), side_wall_angle=radians(82))
        )
        section = section.apply(Remove(rates={"oxide": EtchRate(down=nm(1), sideways=nm(0.5))}, time=100.0))
        return section.apply(film(70.0, flux))

    one, other = flow(False), flow(True)
    for body, twin in zip(one.bodies, other.bodies, strict=True):
        image = Region.of([np.column_stack([10_000 - ring[:, 0], ring[:, 1]]) for ring in twin.shape.rings()])
        # Differences come from the grid of 0.001 nm along each body's surface.
        assert body.shape.difference(image).area < 1e-4 * body.shape.perimeter
        assert image.difference(body.shape).area < 1e-4 * body.shape.perimeter


@pytest.mark.analytic
def test_a_standing_wafer_is_shaded_on_the_side_away_from_the_source():
    flux = Flux(tilts=(0.3,), shares=(1.0,), azimuth=0.0)

    def bare_ground(ends):
        section = opened(bare(ends=ends), -1e6, 1e6, thickness=1.0)
        coat = Coat(material="wall", film="wall", thickness=nm(500), levelling=nm(5000))
        section = section.apply(coat).apply(Print(material="wall", keep=Region.box(4000, -1e3, 6000, 1e3)))
        after = section.apply(film(20.0, flux))
        return [after.thickness("metal", x) == 0.0 for x in (3950.0, 6050.0)]

    # The source stands over the drawing's right; a cut that runs the other way sees it over its left.
    assert bare_ground(((0.0, 0.0), (10_000.0, 0.0))) == [True, False]
    assert bare_ground(((10_000.0, 0.0), (0.0, 0.0))) == [False, True]


@pytest.mark.property
@pytest.mark.parametrize("flux", [EVEN, Flux(exponent=0.8), NEARLY_UPRIGHT])
def test_many_films_stay_sound_and_few_in_vertices(flux):
    section = opened(bare(), 4000.0, 6000.0, thickness=300.0, material="wall", side_wall_angle=radians(80))
    for k in range(12):
        section = section.apply(Grow(material=f"m{k % 3}", film=f"f{k}", thickness=nm(15), flux=flux))
        shapes = [piece.shape.shape for piece in section.pieces]
        assert shapely.coverage_is_valid(shapes)
        assert len([piece for piece in section.pieces if piece.film == f"f{k}"]) <= 3
    assert sum(len(ring) for piece in section.pieces for ring in piece.shape.rings()) < 12 * 500


@pytest.mark.analytic
def test_a_flux_that_cannot_be_is_refused():
    for wrong in (
        {},
        {"exponent": 0.0, "tilts": (0.1,), "shares": (1.0,)},
        {"exponent": -1.0},
        {"tilts": (0.1,)},
        {"tilts": (1.6,), "shares": (1.0,)},
        {"tilts": (0.1,), "shares": (0.0,)},
    ):
        with pytest.raises(ValueError, match=r"flux|tilts"):
            Flux(**wrong)
