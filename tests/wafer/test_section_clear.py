"""Solvents, lift-off, coats and prints along a cut (nm unless said otherwise)."""

from math import radians, sqrt, tan

import numpy as np
import pytest

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Alter, Clear, Coat, EtchRate, Grow, Heat, Print, Remove
from filmwright.wafer.section import Section


def nm(value):
    return to_si(value, "nm")


def bare(films=(), length=10_000.0):
    cut = Polyline(((0.0, 0.0), (length, 0.0)))
    return Section.start(cut, "silicon", [(material, film, nm(t)) for material, film, t in films])


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def opened(section, x0, x1, *, film="mask", undercut=0.0, angle=90.0, thickness=1000.0):
    """Resist everywhere but between two places."""
    section = section.apply(Coat(material="resist", film=film, thickness=nm(thickness), levelling=nm(5000)))
    keep = strip(-1e6, x0).union(strip(x1, 1e6))
    return section.apply(
        Print(material="resist", keep=keep, undercut=nm(undercut), side_wall_angle=radians(angle))
    )


STRIP = Clear(materials=frozenset({"resist"}))


@pytest.mark.analytic
def test_lift_off_leaves_the_metal_in_the_opening():
    section = opened(bare(), 4000.0, 6000.0, undercut=200.0)
    section = section.apply(Grow(material="gold", film="contact", thickness=nm(70), line_of_sight=True))
    after = section.apply(STRIP)
    pieces = [piece for piece in after.pieces if piece.material == "gold"]
    assert len(pieces) == 1
    x0, z0, x1, z1 = pieces[0].shape.bounds
    assert (x0, x1) == (pytest.approx(4200.0, abs=0.5), pytest.approx(5800.0, abs=0.5))
    assert (z0, z1) == (0.0, 70.0)
    assert after.area("resist") == 0.0
    assert [event.kind for event in after.events] == ["floated", "floated"]
    assert sum(body.area for body in after.floated) == pytest.approx(70 * (20_000 - 1600), rel=1e-3)


@pytest.mark.analytic
def test_a_conformal_film_seals_the_resist_and_nothing_lifts():
    section = opened(bare(), 4000.0, 6000.0, undercut=200.0)
    section = section.apply(Grow(material="alumina", film="cover", thickness=nm(70)))
    after = section.apply(STRIP)
    assert after.area("resist") == section.area("resist")
    assert after.floated == ()


@pytest.mark.analytic
def test_sputtered_film_bridges_an_upright_wall_and_stays_as_a_fence():
    section = opened(bare(), 4000.0, 6000.0)
    section = section.apply(Grow(material="metal", film="metal", thickness=nm(100), side_wall=0.4))
    section = section.apply(Remove(rates={"metal": EtchRate(down=nm(120), sideways=0.0)}, time=1.0))
    after = section.apply(STRIP)
    fences = [piece for piece in after.pieces if piece.material == "metal"]
    assert len(fences) == 2
    assert all(piece.shape.bounds[3] > 850.0 for piece in fences)


@pytest.mark.analytic
def test_what_hangs_on_over_dissolved_resist_is_told_as_bridged():
    section = bare([("sacrificial", "below", 200.0)])
    section = opened(section, 4000.0, 6000.0)
    section = section.apply(Remove(rates={"sacrificial": EtchRate(down=nm(200), sideways=0.0)}, time=1.0))
    section = section.apply(STRIP)
    section = section.apply(Grow(material="metal", film="metal", thickness=nm(100)))
    section = opened(section, 8000.0, 9000.0, film="second")
    section = section.apply(Remove(rates={"metal": EtchRate(down=nm(100), sideways=0.0)}, time=1.0))
    after = section.apply(Clear(materials=frozenset({"sacrificial", "resist"})))
    assert [event.kind for event in after.events if event.film == "metal"] == ["floated", "bridged"]


@pytest.mark.analytic
def test_a_film_on_forgotten_resist_floats_off_with_it_later():
    section = opened(bare(), 4000.0, 6000.0)
    section = section.apply(Grow(material="oxide", film="oxide", thickness=nm(50), line_of_sight=True))
    section = opened(section, 4500.0, 5500.0, film="second")
    section = section.apply(Remove(rates={"oxide": EtchRate(down=nm(50), sideways=0.0)}, time=1.0))
    after = section.apply(STRIP)
    assert {body.film for body in after.floated} == {"oxide"}
    kept = [piece.shape.bounds for piece in after.pieces if piece.material == "oxide"]
    assert [(round(x0), round(x1)) for x0, _, x1, _ in kept] == [(4000, 4500), (5500, 6000)]


@pytest.mark.analytic
def test_coat_levels_and_keeps_its_volume():
    section = bare([("metal", "line", 300.0)])
    section = opened(section, 4000.0, 6000.0)
    section = section.apply(Remove(rates={"metal": EtchRate(down=nm(300), sideways=0.0)}, time=1.0)).apply(
        STRIP
    )
    after = section.apply(Coat(material="resist", film="coat", thickness=nm(1000), levelling=nm(8000)))
    x0, _, x1, _ = after.window
    assert after.area("coat") == pytest.approx(1000 * (x1 - x0), rel=1e-6)
    # A tent of half-width 8000 over a trench 2000 wide: at its middle the mean depth is
    # 300 × (2 × 1000 / 8000 - (1000 / 8000)²).
    dip = 300 * (2 * 1000 / 8000 - (1000 / 8000) ** 2)
    assert after.thickness("coat", 5000.0) == pytest.approx(nm(1000 + 300 - dip), abs=nm(0.2))
    flat = bare().apply(Coat(material="resist", film="coat", thickness=nm(1000), levelling=nm(8000)))
    assert flat.thickness("coat", 1234.0) == pytest.approx(nm(1000), rel=1e-9)


@pytest.mark.analytic
def test_coat_thinner_than_the_step_leaves_its_top_bare_and_keeps_its_volume():
    section = opened(bare([("metal", "line", 2000.0)]), 4000.0, 9000.0)
    section = section.apply(Remove(rates={"metal": EtchRate(down=nm(2000), sideways=0.0)}, time=1.0)).apply(
        STRIP
    )
    after = section.apply(Coat(material="resist", film="coat", thickness=nm(100), levelling=nm(9000)))
    x0, _, x1, _ = after.window
    assert after.area("coat") == pytest.approx(100 * (x1 - x0), rel=2e-5)
    assert after.thickness("coat", 3900.0) == 0.0


@pytest.mark.analytic
def test_print_walls_bias_and_open_ends():
    section = bare().apply(Coat(material="resist", film="mask", thickness=nm(1000), levelling=nm(5000)))
    action = Print(material="resist", keep=strip(-1e6, 4000.0), bias=nm(50), side_wall_angle=radians(80))
    after = section.apply(action)
    x0, _, x1, _ = next(piece for piece in after.pieces if piece.material == "resist").shape.bounds
    assert x0 == after.window[0]
    assert x1 == pytest.approx(4050.0, abs=0.01)
    # The wall leans inward by the height over the tangent of its angle.
    low, high = 4050.0 - 500.0 / tan(radians(80)), 4050.0 - 600.0 / tan(radians(80))
    assert after.thickness("mask", (low + high) / 2) == pytest.approx(nm(550), abs=nm(0.1))


@pytest.mark.analytic
def test_alter_marks_what_is_exposed_and_heat_changes_no_shape():
    section = bare([("resist", "buried", 100.0), ("oxide", "cap", 50.0)])
    section = section.apply(Coat(material="resist", film="top", thickness=nm(500), levelling=nm(5000)))
    after = section.apply(Alter(material="resist", mark="plasma-hardened"))
    marks = {body.film: body.marks for body in after.bodies}
    assert marks == {
        "silicon": frozenset(),
        "buried": frozenset(),
        "cap": frozenset(),
        "top": frozenset({"plasma-hardened"}),
    }
    assert after.apply(Heat(temperature=400.0, time=60.0)).pieces == after.pieces


@pytest.mark.analytic
def test_clear_twice_is_clear_once():
    section = opened(bare(), 4000.0, 6000.0, undercut=200.0)
    section = section.apply(Grow(material="gold", film="contact", thickness=nm(70), line_of_sight=True))
    once = section.apply(STRIP)
    again = once.apply(STRIP)
    assert again.pieces == once.pieces
    assert again.events == ()


@pytest.mark.analytic
def test_a_mirrored_cut_gives_a_mirrored_section():
    def flow(turned):
        def keep(x0, x1):
            return strip(10_000 - x1, 10_000 - x0) if turned else strip(x0, x1)

        section = bare([("metal", "metal", 100.0)])
        coat = Coat(material="resist", film="mask", thickness=nm(900), levelling=nm(4000))
        section = section.apply(coat).apply(Print(material="resist", keep=keep(2345.67, 6000.0)))
        rates = {
            "metal": EtchRate(down=nm(1), sideways=nm(0.5)),
            "silicon": EtchRate(down=nm(0.1), sideways=nm(0.1)),
        }
        section = section.apply(Remove(rates=rates, time=140.0)).apply(STRIP)
        section = section.apply(Grow(material="alumina", film="insulator", thickness=nm(40)))
        section = section.apply(Grow(material="gold", film="gold", thickness=nm(30), side_wall=0.4))
        rates = {"gold": EtchRate(down=nm(1), sideways=0.0)}
        return section.apply(Remove(rates=rates, time=45.0))

    one, other = flow(False), flow(True)
    for body, twin in zip(one.bodies, other.bodies, strict=True):
        image = Region.of([np.column_stack([10_000 - ring[:, 0], ring[:, 1]]) for ring in twin.shape.rings()])
        # Differences come from the grid of 0.001 nm along each body's surface.
        assert body.shape.difference(image).area < 1e-4 * body.shape.perimeter
        assert image.difference(body.shape).area < 1e-4 * body.shape.perimeter


@pytest.mark.analytic
def test_thinnest_place_of_an_insulator_over_a_gate_edge():
    section = bare([("oxide", "oxide", 100.0), ("metal", "gate", 100.0)])
    section = section.apply(Coat(material="resist", film="mask", thickness=nm(900), levelling=nm(4000)))
    section = section.apply(Print(material="resist", keep=strip(3000.0, 7000.0)))
    section = section.apply(Remove(rates={"metal": EtchRate(down=nm(100), sideways=0.0)}, time=1.0)).apply(
        STRIP
    )

    def found(thickness):
        after = section.apply(
            Grow(material="nitride", film="insulator", thickness=nm(thickness), side_wall=0.5)
        ).apply(Grow(material="metal", film="contact", thickness=nm(80)))
        return after.thinnest("insulator", below=frozenset({"metal"}), above=frozenset({"metal"}))

    # A wall film of half the thickness, measured along its normal.
    assert found(60.0).thickness == pytest.approx(nm(30.0), abs=nm(0.02))
    assert found(60.0).ratio == pytest.approx(0.5, abs=1e-3)
    assert min(abs(found(60.0).x - 2985.0), abs(found(60.0).x - 7015.0)) < 1.0
    # A film thicker than the gate buries the wall: the nearest metal is where the film of the floor meets the
    # ellipse about the gate's upper edge, 100 above it and 100 × sqrt(1 - 1 / 4) beside it.
    assert found(200.0).thickness == pytest.approx(nm(sqrt(100**2 + 7500)), abs=nm(0.1))


@pytest.mark.analytic
def test_metal_that_climbs_a_patterned_insulator_touches_the_gate():
    def contact(patterned):
        section = bare([("oxide", "oxide", 100.0), ("metal", "gate", 100.0), ("alumina", "insulator", 40.0)])
        if patterned:
            section = opened(section, 5000.0, 1e6)
            section = section.apply(Remove(rates={"alumina": EtchRate(down=nm(40), sideways=0.0)}, time=1.0))
            section = section.apply(STRIP)
        section = section.apply(Grow(material="gold", film="contact", thickness=nm(80)))
        return section.contacts("gate", "contact")

    assert contact(False) == 0.0
    assert contact(True) == pytest.approx(15_000 - 5000.0, abs=1.0)


@pytest.mark.analytic
def test_exposed_lengths_and_surface():
    section = opened(bare(), 4000.0, 6000.0)
    exposed = section.exposed()
    assert exposed["silicon"] == pytest.approx(2000.0, abs=0.01)
    assert exposed["resist"] == pytest.approx(18_000 + 2 * 1000, abs=0.1)
    surface = section.surface()
    assert surface[:, 1].min() == 0.0
    assert surface[:, 1].max() == pytest.approx(1000.0, abs=0.1)
