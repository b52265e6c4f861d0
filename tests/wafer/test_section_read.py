"""What is read off a section, and what a section must not lose (nm unless said otherwise)."""

from math import hypot, radians, tan

import numpy as np
import pytest
import shapely

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Clear, Coat, EtchRate, Grow, Print, Remove
from filmwright.wafer.section import Section

STRIP = Clear(materials=frozenset({"resist"}))


def nm(value):
    return to_si(value, "nm")


def bare(films=(), length=10_000.0):
    cut = Polyline(((0.0, 0.0), (length, 0.0)))
    return Section.start(cut, "silicon", [(material, film, nm(t)) for material, film, t in films])


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def masked(section, x0, x1, **shape):
    section = section.apply(Coat(material="resist", film="mask", thickness=nm(1000), levelling=nm(5000)))
    return section.apply(Print(material="resist", keep=strip(x0, x1), **shape))


def etched(section, material, depth, sideways=0.0):
    rates = {material: EtchRate(down=nm(1), sideways=nm(sideways))}
    return section.apply(Remove(rates=rates, time=depth))


def gate(height=100.0):
    return etched(masked(bare([("metal", "gate", height)]), 3000.0, 7000.0), "metal", height).apply(STRIP)


@pytest.mark.analytic
def test_overlap_of_two_films():
    section = gate().apply(Grow(material="oxide", film="oxide", thickness=nm(30)))
    section = section.apply(Grow(material="gold", film="contact", thickness=nm(50)))
    section = etched(masked(section, 6000.0, 9000.0), "gold", 60.0).apply(STRIP)
    # From 6000 to the gate's edge; the fence on the gate's other side, over the 50 beside the film on its wall, is none.
    assert section.overlap("contact", "gate") == pytest.approx(nm(1000.0), abs=nm(0.1))
    assert section.overlap("gate", "contact") == section.overlap("contact", "gate")
    assert section.overlap("gate", "nothing") == 0.0


@pytest.mark.analytic
def test_undercut_is_the_rate_sideways_times_the_time_after_break_through():
    section = etched(masked(bare([("metal", "metal", 80.0)]), 3000.0, 7000.0), "metal", 80.0)
    section = etched(section, "metal", 120.0, sideways=1.0)
    left, right = section.undercuts("metal", "resist")
    assert (left.x, right.x) == (3000.0, 7000.0)
    for edge in (left, right):
        assert edge.top == pytest.approx(nm(120.0), abs=nm(0.05))
        assert edge.foot == pytest.approx(nm(120.0), abs=nm(0.05))


@pytest.mark.analytic
def test_undercut_at_top_and_foot_of_an_isotropic_etch():
    section = etched(masked(bare([("metal", "metal", 80.0)]), 3000.0, 7000.0), "metal", 100.0, sideways=1.0)
    for edge in section.undercuts("metal", "resist"):
        assert edge.top == pytest.approx(nm(100.0), abs=nm(0.2))
        assert edge.foot == pytest.approx(nm(60.0), abs=nm(0.5))


@pytest.mark.analytic
def test_step_heights():
    left, right = gate(100.0).steps()
    assert (left.x, right.x) == (3000.0, 7000.0)
    assert (left.height, right.height) == (pytest.approx(nm(100.0)), pytest.approx(nm(-100.0)))
    assert gate(100.0).steps(least=nm(150.0)) == ()


@pytest.mark.analytic
def test_volume_along_a_straight_edge():
    section = gate(100.0)
    assert section.volume("metal", 2e-3) == pytest.approx(4e-6 * 100e-9 * 2e-3, rel=1e-6)


@pytest.mark.analytic
def test_coverage_of_a_film_over_an_edge_is_told_with_its_place():
    section = gate(100.0).apply(Grow(material="gold", film="contact", thickness=nm(50), side_wall=0.4))
    thin = section.thinnest("contact")
    assert thin.ratio == pytest.approx(0.4, abs=0.005)
    assert min(abs(thin.x - 3000.0), abs(thin.x - 7000.0)) < 20.0
    assert 0.0 < thin.z < 150.0


@pytest.mark.analytic
def test_what_the_next_bath_touches():
    section = etched(masked(bare([("metal", "metal", 80.0)]), 3000.0, 7000.0), "metal", 80.0)
    exposed = section.exposed()
    x0, _, x1, _ = section.window
    assert exposed["silicon"] == pytest.approx(x1 - x0 - 4000.0, abs=0.1)
    assert exposed["metal"] == pytest.approx(160.0, abs=0.1)
    assert exposed["resist"] == pytest.approx(4000.0 + 2000.0, abs=0.5)


@pytest.mark.analytic
def test_a_facet_of_a_wet_etch_keeps_its_slope_and_retreats_by_the_rate():
    """A plane that is etched at one rate moves along its normal by rate × time, so sideways by that over its sine."""
    angle = radians(50)
    section = masked(bare([("film", "film", 1000.0)]), 3000.0, 1e6, side_wall_angle=angle)
    rates = {name: EtchRate(down=nm(1), sideways=0.0) for name in ("film", "resist")}
    # Resist and film at one rate: the resist's slope is copied into the film.
    section = section.apply(Remove(rates=rates, time=400.0)).apply(STRIP)

    def slope_at(section, z):
        ring = next(body for body in section.bodies if body.film == "film").shape
        return ring.along(Polyline(((-6000.0, z), (20_000.0, z))))[0][0] - 6000.0

    assert slope_at(section, 900.0) - slope_at(section, 700.0) == pytest.approx(200.0 / tan(angle), abs=0.5)
    after = etched(section, "film", 60.0, sideways=1.0)
    moved = slope_at(after, 800.0) - slope_at(section, 800.0)
    assert moved == pytest.approx(60.0 / np.sin(angle), abs=0.5)


@pytest.mark.analytic
def test_an_over_etch_makes_a_foot_in_the_film_below_but_not_under_the_mask():
    section = masked(bare([("oxide", "oxide", 300.0), ("metal", "metal", 60.0)]), 3000.0, 7000.0)
    rates = {"metal": EtchRate(down=nm(1), sideways=0.0), "oxide": EtchRate(down=nm(0.5), sideways=0.0)}
    after = section.apply(Remove(rates=rates, time=100.0))
    assert after.thickness("oxide", 1000.0) == pytest.approx(nm(300.0 - 0.5 * 40.0), abs=nm(0.01))
    assert after.thickness("oxide", 5000.0) == pytest.approx(nm(300.0), abs=nm(0.01))


@pytest.mark.analytic
def test_a_film_of_one_nanometre_is_etched_and_kept_on_a_cut_of_five_millimetres():
    section = bare(
        [("oxide", "oxide", 100.0), ("nitride", "thin", 1.0), ("metal", "metal", 50.0)], length=5e6
    )
    section = masked(section, 2.4e6, 2.5e6)
    section = etched(section, "metal", 55.0).apply(STRIP)
    x0, _, x1, _ = section.window
    assert section.area("thin") == pytest.approx(x1 - x0, abs=0.05)
    section = etched(masked(section, 2.3e6, 2.45e6), "nitride", 1.0).apply(STRIP)
    assert section.area("thin") == pytest.approx(150_000.0 + 50_000.0, abs=0.5)
    assert section.thickness("thin", 2.31e6) == pytest.approx(nm(1.0), abs=nm(0.002))


@pytest.mark.property
def test_a_hundred_steps_keep_area_and_bound_the_vertices():
    """One conformal film of 100 in 100 steps over a step: the tolerance of a corner is 0.1 in each, and must not add up."""
    generator = np.random.default_rng(7)
    section = gate(200.0)
    exact_before = section.area("gate")
    for k in range(100):
        thickness = float(generator.uniform(0.6, 1.4))
        section = section.apply(Grow(material=f"m{k % 2}", film=f"f{k}", thickness=nm(thickness)))
        if k % 10 == 9:
            centre = float(generator.uniform(1000.0, 9000.0))
            section = masked(section, centre, centre + 600.0)
            section = etched(section, f"m{k % 2}", 0.8, sideways=0.0).apply(STRIP)
    shapes = [piece.shape.shape for piece in section.pieces]
    assert shapely.coverage_is_valid(shapes)
    vertices = sum(len(ring) for piece in section.pieces for ring in piece.shape.rings())
    # Two rounded edges per film, and ten patterned films whose two edges every later film copies.
    assert vertices < 100 * 2 * 40 + 10 * 2 * 100 * 12
    # A vertex goes only when its triangle is below 0.05² nm², so even all of them together take no more than this.
    assert section.area("gate") == pytest.approx(exact_before, abs=100 * 0.05**2 * 40)


@pytest.mark.analytic
def test_pinholes_of_rounding_do_not_appear_where_two_slopes_meet():
    section = masked(bare([("metal", "metal", 80.0)]), 3000.0, 7000.0, side_wall_angle=radians(75))
    section = etched(section, "metal", 90.0, sideways=0.6).apply(STRIP)
    section = section.apply(Grow(material="oxide", film="oxide", thickness=nm(40), side_wall=0.7))
    assert section.voids() == ()
    assert len([piece for piece in section.pieces if piece.film == "oxide"]) == 1
    assert hypot(*np.ptp(section.surface(), axis=0)) > 20_000.0
