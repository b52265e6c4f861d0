"""Two-layer resist, toes, and films that tear in a lift-off (nm unless said otherwise)."""

from itertools import pairwise
from math import radians, tan

import numpy as np
import pytest

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Clear, Coat, EtchRate, Flux, Grow, Print, Remove
from filmwright.wafer.section import Section


def nm(value):
    return to_si(value, "nm")


def bare(films=()):
    cut = Polyline(((0.0, 0.0), (10_000.0, 0.0)))
    return Section.start(cut, "silicon", [(material, film, nm(t)) for material, film, t in films])


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def opened(x0=4000.0, x1=6000.0, thickness=1000.0, section=None, **shape):
    coat = Coat(material="resist", film="resist", thickness=nm(thickness), levelling=nm(5000))
    section = (section or bare()).apply(coat)
    return section.apply(Print(material="resist", keep=strip(-1e6, x0).union(strip(x1, 1e6)), **shape))


def lift(tear=0.0):
    return Clear(materials=frozenset({"resist"}), tear=nm(tear))


def walls(section, film, z):
    """Places where the outline of a film crosses a height."""
    found = set()
    for piece in section.pieces:
        if piece.film == film:
            for ring in piece.shape.rings():
                for (xa, za), (xb, zb) in pairwise(ring):
                    if (za - z) * (zb - z) < 0:
                        found.add(round(xa + (z - za) / (zb - za) * (xb - xa), 1))
    return sorted(found)


@pytest.mark.analytic
def test_two_layers_stand_upright_with_the_lower_one_behind():
    after = opened(undercut=nm(300), bias=nm(-300), under_layer=nm(400))
    assert walls(after, "resist", 200.0)[1:3] == [3700.0, 6300.0]
    assert walls(after, "resist", 700.0)[1:3] == [4000.0, 6000.0]
    # The step lies at the top of the lower layer.
    assert walls(after, "resist", 399.0)[1] == 3700.0
    assert walls(after, "resist", 401.0)[1] == 4000.0


@pytest.mark.analytic
def test_the_upper_layer_leans_by_its_angle():
    after = opened(undercut=nm(300), bias=nm(-300), under_layer=nm(400), side_wall_angle=radians(80))
    assert walls(after, "resist", 900.0)[1] == pytest.approx(4000.0 - 500.0 / tan(radians(80)), abs=0.1)


@pytest.mark.analytic
def test_a_line_narrower_than_two_undercuts_is_lost():
    section = bare().apply(Coat(material="resist", film="resist", thickness=nm(1000), levelling=nm(5000)))
    shape = {"undercut": nm(300), "bias": nm(-300), "under_layer": nm(400)}
    assert section.apply(Print(material="resist", keep=strip(4000, 4500), **shape)).area("resist") == 0.0
    kept = section.apply(Print(material="resist", keep=strip(4000, 5000), **shape))
    assert kept.area("resist") == pytest.approx(400 * 400 + 600 * 1000, rel=1e-3)


@pytest.mark.analytic
def test_a_toe_is_part_of_the_printed_width():
    section = bare().apply(Coat(material="resist", film="resist", thickness=nm(1000), levelling=nm(5000)))
    after = section.apply(Print(material="resist", keep=strip(4000, 6000), foot=nm(80)))
    assert walls(after, "resist", 0.5)[0] == pytest.approx(4000.5, abs=0.1)
    assert walls(after, "resist", 40.0)[0] == pytest.approx(4040.0, abs=0.1)
    assert walls(after, "resist", 500.0)[0] == pytest.approx(4080.0, abs=0.1)


@pytest.mark.analytic
def test_metal_in_a_two_layer_opening_has_the_width_of_the_upper_layer():
    section = opened(undercut=nm(300), bias=nm(-300), under_layer=nm(400))
    after = section.apply(Grow(material="gold", film="gold", thickness=nm(70), line_of_sight=True)).apply(
        lift(25)
    )
    (gold,) = [piece for piece in after.pieces if piece.film == "gold"]
    assert gold.shape.bounds == (4000.0, 0.0, 6000.0, 70.0)
    assert {event.kind for event in after.events} == {"floated"}


def pierced(section, material="gold", depth=100.0):
    """A film opened far from what is looked at, so that a solvent gets under it."""
    section = opened(8000.0, 9000.0, section=section)
    return section.apply(Remove(rates={material: EtchRate(down=nm(depth), sideways=0.0)}, time=1.0))


def over_upright_walls(thickness=60.0):
    return opened().apply(Grow(material="gold", film="gold", thickness=nm(thickness), side_wall=0.4))


@pytest.mark.analytic
def test_a_wall_film_thinner_than_the_tear_thickness_tears_and_leaves_a_fence():
    before = over_upright_walls()
    after = before.apply(lift(30.0))
    torn = [event for event in after.events if event.kind == "torn"]
    assert len(torn) == 2
    # A wall film of even thickness, 0.4 × 60, gives way half way up; its two sides are mirror images.
    assert [event.height for event in torn] == pytest.approx([500.0, 500.0], abs=40.0)
    assert sum(event.x for event in torn) / 2 == pytest.approx(5000.0, abs=0.01)
    (kept,) = [piece for piece in after.pieces if piece.film == "gold"]
    assert kept.shape.bounds[3] == pytest.approx(torn[0].z, abs=1.0)
    assert [event.kind for event in after.events].count("floated") == 2
    # What went and what stays is what was there, less two slots of 1 nm through 24 nm.
    gone = sum(body.area for body in after.floated if body.film == "gold")
    assert gone + kept.area == pytest.approx(before.area("gold") - 2 * 24, abs=8.0)


@pytest.mark.analytic
@pytest.mark.parametrize("tear", [0.0, 20.0])
def test_a_thicker_wall_film_holds_and_is_told_as_bridged(tear):
    after = pierced(over_upright_walls()).apply(lift(tear))
    # To the right of the window nothing holds it; the rest hangs on over both walls.
    assert [event.kind for event in after.events] == ["floated", "bridged"]
    assert len([piece for piece in after.pieces if piece.film == "gold"]) == 1


@pytest.mark.analytic
def test_a_closed_film_keeps_the_solvent_out_unless_it_is_thinner_than_the_tear_thickness():
    section = over_upright_walls()
    assert section.apply(lift(20.0)).area("resist") == section.area("resist")
    assert section.apply(lift(30.0)).area("resist") == 0.0


@pytest.mark.analytic
def test_a_film_thin_everywhere_tears_near_both_footings():
    section = bare().apply(Coat(material="resist", film="resist", thickness=nm(300), levelling=nm(5000)))
    section = section.apply(Print(material="resist", keep=strip(4000, 6000)))
    section = section.apply(Grow(material="gold", film="gold", thickness=nm(8)))
    after = section.apply(lift(25.0))
    torn = [event for event in after.events if event.kind == "torn"]
    assert len(torn) == 2
    assert sum(event.x for event in torn) / 2 == pytest.approx(5000.0, abs=1.0)
    assert after.area("resist") == 0.0
    assert [body.film for body in after.floated] == ["gold"]


@pytest.mark.analytic
def test_a_stack_tears_as_a_whole():
    section = opened()
    for film, thickness in (("titanium", 10.0), ("gold", 40.0)):
        section = section.apply(Grow(material=film, film=film, thickness=nm(thickness), side_wall=0.4))
    # 4 and 16 on the wall: together 20.
    assert section.apply(lift(18.0)).area("resist") == section.area("resist")
    torn = section.apply(lift(22.0))
    assert [event.film for event in torn.events if event.kind == "torn"].count("titanium") == 2
    assert {piece.film for piece in torn.pieces} == {"silicon", "titanium", "gold"}


@pytest.mark.analytic
def test_a_film_under_a_slanting_flux_tears_where_it_is_thinnest():
    section = opened(side_wall_angle=radians(84)).apply(
        Grow(
            material="gold", film="gold", thickness=nm(100), flux=Flux(tilts=(0.02, 0.05), shares=(1.0, 1.0))
        )
    )
    after = section.apply(lift(25.0))
    torn = [event for event in after.events if event.kind == "torn"]
    assert len(torn) == 2
    floor = [piece for piece in after.pieces if piece.film == "gold"]
    assert len(floor) == 1
    top = floor[0].shape.bounds[3]
    assert top == pytest.approx(max(event.z for event in torn), abs=15.0)
    assert 0 < np.mean([event.height for event in torn]) < 1000
