"""What a section picture points at, on sections grown by the wafer's own operations."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.numerics import Polyline, Region
from filmwright.outputs import Legend, callouts_of
from filmwright.outputs.edge_shapes import flank, neck
from filmwright.outputs.geometry import films
from filmwright.units import to_si
from filmwright.wafer.actions import Clear, Coat, EtchRate, Grow, Print, Remove
from filmwright.wafer.section import Section

RESIST = "positive novolak resist"
LEGEND = Legend(
    kinds={
        "silicon": "substrate",
        "silicon dioxide": "insulator",
        "titanium": "conductor",
        RESIST: "organic",
        "silicon nitride": "insulator",
    },
    symbols={"titanium": "Ti", "silicon nitride": "SiN"},
)


def nm(value):
    return to_si(value, "nm")


def stepped(height):
    """A block between 5 and 15 µm with upright walls, ``height`` nm high, on oxide."""
    section = Section.start(Polyline(((0, 0), (20e3, 0))), "silicon", [("silicon dioxide", "oxide", nm(300))])
    coat = Coat(material=RESIST, film="step", thickness=nm(height), levelling=nm(100))
    return section.apply(coat).apply(Print(material=RESIST, keep=Region.box(5e3, -1e4, 15e3, 1e4)))


@pytest.fixture(scope="module")
def patterned():
    """Titanium of 60 nm under a resist, before and after an isotropic etch of 75 nm."""
    section = Section.start(Polyline(((0, 0), (20e3, 0))), "silicon", [("silicon dioxide", "oxide", nm(300))])
    for action in (
        Grow(material="titanium", film="titanium (step 2)", thickness=nm(60)),
        Coat(material=RESIST, film="resist", thickness=nm(1300), levelling=nm(5000)),
        Print(material=RESIST, keep=Region.box(5e3, -1e4, 15e3, 1e4), side_wall_angle=math.radians(80)),
    ):
        section = section.apply(action)
    etch = Remove(rates={"titanium": EtchRate(down=nm(1), sideways=nm(1))}, time=75)
    return section, section.apply(etch)


@pytest.mark.analytic
def test_undercut_of_an_isotropic_etch_at_top_and_foot(patterned):
    """Rate × time at the top, sqrt((rate × time)² − thickness²) at the foot: 75 nm and 45 nm."""
    (found,) = callouts_of(patterned[1], patterned[0], LEGEND)
    assert found.text == "Ti undercut: 75 nm at its top, 45 nm behind the resist at its foot"
    assert min(abs(found.x - 5075), abs(found.x - 14925)) < 1


@pytest.mark.analytic
def test_a_thin_place_over_a_gate_edge_is_called_out_with_its_ratio(patterned):
    """The neck of the film is the distance between the bodies that it separates, as the section reads it."""
    section = patterned[1].apply(Clear(materials=frozenset({RESIST})))
    grown = section.apply(Grow(material="silicon nitride", film="nitride", thickness=nm(100), side_wall=0.5))
    (found,) = [c.text for c in callouts_of(grown, section, LEGEND) if "thinnest" in c.text]
    told = re.fullmatch(r"SiN thinnest over the edge of Ti: ([\d.]+) nm, (\d+) % of 100 nm", found)
    thin = grown.thinnest("nitride")
    assert float(told[1]) == pytest.approx(thin.thickness / nm(1), rel=0.01)
    assert float(told[2]) == pytest.approx(100 * thin.ratio, abs=1)
    conformal = section.apply(Grow(material="silicon nitride", film="nitride", thickness=nm(100)))
    assert not [c for c in callouts_of(conformal, section, LEGEND) if "thinnest" in c.text]


@pytest.mark.analytic
def test_a_film_along_an_upright_wall_is_as_thin_as_its_wall_fraction():
    """Over a step of 400 nm with upright walls, the neck of 100 nm at a wall fraction of 0.3 is 30 nm wide."""
    wall = stepped(400).apply(
        Grow(material="silicon nitride", film="nitride", thickness=nm(100), side_wall=0.3)
    )
    film = next(part for part in films(wall) if part.film == "nitride")
    found = neck(film.shape, 100.0)
    assert found.thickness == pytest.approx(30.0, rel=0.01)
    assert min(abs(found.x - 5e3), abs(found.x - 15e3)) < 100
    assert neck(Region.box(0, 0, 5e3, 100), 100.0) is None


@pytest.mark.property
@given(st.floats(20, 200), st.floats(0.2, 0.9))
def test_the_neck_between_two_blocks_is_the_bar_that_joins_them(thick, ratio):
    bar = Region.box(0, 0, 3e3, thick).union(Region.box(3e3, 0, 3.1e3, ratio * thick))
    bar = bar.union(Region.box(3.1e3, 0, 6e3, thick))
    found = neck(bar, thick)
    assert found.thickness == pytest.approx(ratio * thick, rel=0.01)
    assert 2.9e3 < found.x < 3.2e3


@pytest.mark.analytic
def test_the_lean_of_a_trapezium_and_an_ear_at_its_edge():
    """45° flanks lie as far out as they are high; an ear is what stands over the top further in."""
    trapezium = Region.of([[(0, 0), (5000, 0), (4940, 60), (60, 60)]])
    for side in (-1.0, 1.0):
        edge = flank(trapezium, side, 60.0)
        assert (edge.height, edge.outside, edge.ear) == pytest.approx((60, 60, 0), abs=0.1)
        assert edge.angle == pytest.approx(45, abs=0.1)
    eared = Region.box(0, 0, 5000, 60).union(Region.box(4990, 0, 5000, 95))
    assert flank(eared, 1.0, 60.0).ear == pytest.approx(35)
    assert flank(eared, -1.0, 60.0).ear == pytest.approx(0)


@pytest.mark.analytic
def test_the_bite_into_the_film_below_is_its_rate_times_the_time_after_break_through(patterned):
    """60 nm go in 60 s; the oxide then loses 0.2 nm/s for the 15 s that are left: 3 nm of 300."""
    rates = {
        "titanium": EtchRate(down=nm(1), sideways=0.0),
        "silicon dioxide": EtchRate(down=nm(0.2), sideways=0.0),
    }
    after = patterned[0].apply(Remove(rates=rates, time=75))
    texts = [c.text for c in callouts_of(after, patterned[0], LEGEND)]
    assert "silicon dioxide lost 3 nm here, 297 nm is left" in texts


@pytest.mark.analytic
def test_metal_that_parts_at_an_overhanging_resist_is_called_out_with_the_open_wall():
    section = Section.start(Polyline(((0, 0), (20e3, 0))), "silicon", [("silicon dioxide", "oxide", nm(300))])
    for action in (
        Coat(material=RESIST, film="resist", thickness=nm(1000), levelling=nm(100)),
        Print(material=RESIST, keep=Region.box(8e3, -1e4, 12e3, 1e4), side_wall_angle=math.radians(100)),
    ):
        section = section.apply(action)
    after = section.apply(Grow(material="titanium", film="metal", thickness=nm(100), line_of_sight=True))
    (text,) = [c.text for c in callouts_of(after, section, LEGEND) if "parts" in c.text]
    assert text == "Ti parts at the resist: 900 nm of open wall let the solvent in"


@pytest.mark.analytic
def test_what_an_upright_etch_leaves_along_a_wall_is_called_a_fence():
    section = Section.start(Polyline(((0, 0), (20e3, 0))), "silicon", [("silicon dioxide", "oxide", nm(300))])
    for action in (
        Coat(material=RESIST, film="step", thickness=nm(200), levelling=nm(100)),
        Print(material=RESIST, keep=Region.box(5e3, -1e4, 15e3, 1e4)),
        Grow(material="titanium", film="titanium (step 2)", thickness=nm(50)),
    ):
        section = section.apply(action)
    after = section.apply(Remove(rates={"titanium": EtchRate(down=nm(1), sideways=0.0)}, time=60))
    texts = [c.text for c in callouts_of(after, section, LEGEND)]
    assert any("Ti fence, 50 nm wide and" in text and "in 2 places" in text for text in texts)
    whole = [c.text for c in callouts_of(after, None, LEGEND)]
    assert any("Ti fence, 50 nm wide and" in text for text in whole), "it stays to be seen in later steps"


@pytest.mark.analytic
def test_what_thins_out_to_a_breath_is_no_foot():
    """A flank of 45° with a sliver of half an ångström before it has its foot where the flank ends."""
    ring = [(0.0, 0.0), (1000.0, 0.0), (900.0, 0.05), (880.0, 10.0), (870.0, 10.0), (0.0, 10.0)]
    edge = flank(Region.of([ring]), 1.0, 10.0)
    assert (edge.height, edge.outside) == pytest.approx((9.95, 20.0), abs=0.1)
