"""Growth along a cut, against answers known by hand (nm unless said otherwise)."""

from math import pi, radians

import pytest
import shapely

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Coat, EtchRate, Grow, Print, Remove
from filmwright.wafer.section import Section

LENGTH = 10_000.0


def nm(value):
    return to_si(value, "nm")


def bare(length=LENGTH, films=()):
    cut = Polyline(((0.0, 0.0), (length, 0.0)))
    return Section.start(cut, "silicon", [(material, film, nm(t)) for material, film, t in films])


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def block(section, height, x0, x1, material="metal"):
    """A block with upright walls, made by growth, resist and a vertical etch."""
    rate = {material: EtchRate(down=nm(height), sideways=0.0)}
    section = section.apply(Grow(material=material, film="block", thickness=nm(height)))
    section = section.apply(Coat(material="resist", film="mask", thickness=nm(1000), levelling=nm(5000)))
    section = section.apply(Print(material="resist", keep=strip(x0, x1)))
    section = section.apply(Remove(rates=rate, time=1.0))
    return section.apply(Remove(rates={"resist": EtchRate(down=nm(1e4), sideways=0.0)}, time=1.0))


def wide(section):
    x0, _, x1, _ = section.window
    return x1 - x0


@pytest.mark.analytic
def test_flat_films_have_their_thickness_and_area():
    section = bare(films=[("silicon dioxide", "oxide", 300.0)]).apply(
        Grow(material="alumina", film="insulator", thickness=nm(40))
    )
    assert section.column(LENGTH / 2) == (
        ("silicon", "silicon", -10000.0, 0.0),
        ("silicon dioxide", "oxide", 0.0, 300.0),
        ("alumina", "insulator", 300.0, 340.0),
    )
    assert section.thickness("insulator", 100.0) == pytest.approx(nm(40), rel=1e-12)
    assert section.area("alumina") == pytest.approx(40 * wide(section), rel=1e-12)


@pytest.mark.analytic
def test_conformal_film_over_a_block_has_two_quarter_circles():
    height, thickness = 200.0, 100.0
    section = block(bare(), height, 3000.0, 7000.0)
    after = section.apply(Grow(material="alumina", film="insulator", thickness=nm(thickness)))
    # Along the whole surface, plus two quarter circles, less the two squares at the feet that would count
    # twice.
    area = thickness * (wide(section) + 2 * height) + 2 * (pi / 4 - 1) * thickness**2
    # Corners may be 0.1 nm too thick over an arc of 157 nm.
    assert after.area("insulator") == pytest.approx(area, abs=2 * 0.1 * pi / 2 * thickness)
    assert after.thinnest("insulator").ratio == pytest.approx(1.0, abs=1e-4)


@pytest.mark.analytic
@pytest.mark.parametrize("share", [0.3, 0.5, 0.8])
def test_wall_film_is_the_side_wall_fraction(share):
    section = block(bare(), 400.0, 3000.0, 7000.0)
    after = section.apply(Grow(material="nitride", film="cover", thickness=nm(100), side_wall=share))
    wall = [z for _, film, low, z in after.column(7000.0 + 100 * share - 0.1) if film == "cover"]
    foot = [z for _, film, low, z in after.column(7000.0 + 100 * share + 0.1) if film == "cover"]
    assert wall[0] > 390.0
    assert foot[0] == pytest.approx(100.0, abs=0.01)
    assert after.thickness("cover", 5000.0) == pytest.approx(nm(100), abs=nm(0.01))
    assert after.thinnest("cover").ratio == pytest.approx(share, abs=0.002)


@pytest.mark.analytic
def test_line_of_sight_leaves_walls_bare():
    section = block(bare(), 200.0, 3000.0, 7000.0)
    after = section.apply(Grow(material="gold", film="contact", thickness=nm(50), line_of_sight=True))
    assert after.area("gold") == pytest.approx(50 * wide(section), rel=1e-9)
    assert after.exposed()["metal"] == pytest.approx(2 * 150.0, abs=0.01)
    assert len([piece for piece in after.pieces if piece.material == "gold"]) == 3


@pytest.mark.analytic
def test_line_of_sight_is_shaded_by_an_overhang():
    resist = bare().apply(Coat(material="resist", film="mask", thickness=nm(1000), levelling=nm(1000)))
    keep = strip(-1e6, 4000.0).union(strip(6000.0, 1e6))
    resist = resist.apply(Print(material="resist", keep=keep, undercut=nm(300)))
    after = resist.apply(Grow(material="gold", film="contact", thickness=nm(50), line_of_sight=True))
    # The lips lie 300 nm in front of the feet, so 1400 of the 2000 nm between the feet are open to the sky.
    # The resist carries 0.05 nm of levelling error.
    low = [p for p in after.pieces if p.material == "gold" and p.shape.bounds[1] < 1.0]
    assert len(low) == 1
    x0, z0, x1, z1 = low[0].shape.bounds
    assert (x0, x1) == (pytest.approx(4300.0, abs=0.5), pytest.approx(5700.0, abs=0.5))
    assert (z0, z1) == (0.0, 50.0)


@pytest.mark.analytic
def test_a_film_of_one_nanometre_survives_in_one_piece_on_a_long_cut():
    section = block(bare(length=5e6), 60.0, 2.4e6, 2.6e6)
    for k in range(3):
        section = section.apply(Grow(material=f"m{k}", film=f"film {k}", thickness=nm(1)))
    for k in range(3):
        pieces = [piece for piece in section.pieces if piece.film == f"film {k}"]
        assert len(pieces) == 1
        corners = 2 * (pi / 4 - 1) * ((k + 1) ** 2 - k**2)
        # The grid of 0.001 nm may move each of some forty vertices.
        assert section.area(f"film {k}") == pytest.approx(wide(section) + 2 * 60.0 + corners, abs=0.05)


@pytest.mark.analytic
def test_oxidation_takes_its_share_from_below_and_leaves_other_surfaces_alone():
    section = block(bare(), 100.0, 3000.0, 7000.0)
    oxide = Grow(material="oxide", film="oxide", thickness=nm(100), consumed=nm(44), consumes="silicon")
    after = section.apply(oxide)
    assert after.column(1000.0)[-1] == ("oxide", "oxide", pytest.approx(-44.0), pytest.approx(56.0))
    assert after.thickness("oxide", 5000.0) == 0.0
    lost = section.area("silicon") - after.area("silicon")
    # Half discs of radius 44 reach under the block on both sides.
    open_ground = wide(section) - 4000.0
    assert lost == pytest.approx(44 * open_ground + 2 * pi / 4 * 44**2, abs=20.0)


@pytest.mark.analytic
def test_a_mouth_that_closes_seals_a_void():
    resist = bare().apply(Coat(material="wall", film="wall", thickness=nm(1000), levelling=nm(1000)))
    keep = strip(-1e6, 4800.0).union(strip(5200.0, 1e6))
    section = resist.apply(Print(material="wall", keep=keep, side_wall_angle=radians(90), undercut=nm(120)))
    after = section.apply(Grow(material="nitride", film="cover", thickness=nm(300)))
    # The mouth is 400 - 2 × 120 = 160 nm wide at the lips and closes after 80 nm along the lips' normal; the
    # void is what lies further than that from walls and floor: a trapezoid without arcs, for its corners are
    # re-entrant.
    lean = 120.0 / 1000.0
    closing = 80.0
    run = closing * (1 + lean**2) ** 0.5
    half_foot = 200.0 - run - lean * closing
    apex = half_foot / lean
    assert [event.kind for event in after.events] == ["sealed"]
    assert len(after.voids()) == 1
    # Round the sharp lip the film is a disc, which takes a small part off the tip of the triangle.
    assert after.voids()[0].area == pytest.approx(half_foot * apex, rel=0.02)


@pytest.mark.convergence
def test_corner_area_converges_with_the_tolerance():
    exact = 100 * (wide(bare()) + 400) + 2 * (pi / 4 - 1) * 100**2
    errors = []
    for tolerance in (1.6, 0.4, 0.1):
        section = block(bare(), 200.0, 3000.0, 7000.0)
        section = Section(section.cut, section.layers, section.nominal, tolerance)
        after = section.apply(Grow(material="alumina", film="insulator", thickness=nm(100)))
        errors.append(after.area("insulator") - exact)
    assert errors[0] > errors[1] > errors[2] > 0
    # Tangents exceed an arc in proportion to the tolerance: a quarter of it gives about a quarter of the
    # error; the number of facets is whole, hence the wide band.
    assert errors[2] / errors[0] < 1 / 8


@pytest.mark.analytic
def test_growth_in_many_steps_is_growth_in_one():
    section = block(bare(), 200.0, 3000.0, 7000.0)
    at_once = section.apply(Grow(material="a", film="a", thickness=nm(100)))
    stepped = section
    for k in range(20):
        stepped = stepped.apply(Grow(material="a", film=f"a{k}", thickness=nm(5)))
    # Facets do not multiply; each step may be 0.1 nm too thick at the two corners only.
    assert stepped.area("a") == pytest.approx(at_once.area("a"), abs=60.0)
    rings = sum(shapely.get_num_coordinates(piece.shape.shape) for piece in stepped.pieces)
    assert rings < 20 * 80
