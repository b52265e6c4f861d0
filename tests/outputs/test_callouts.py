"""What a section picture points at, on sections grown by the wafer's own operations."""

import math

import pytest

from filmwright.numerics import Polyline, Region
from filmwright.outputs import Legend, callouts_of
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
    wall = 0.5
    section = patterned[1].apply(Clear(materials=frozenset({RESIST})))
    grown = section.apply(Grow(material="silicon nitride", film="nitride", thickness=nm(100), side_wall=wall))
    found = [c for c in callouts_of(grown, section, LEGEND) if "thinnest" in c.text]
    assert len(found) == 1
    thin = grown.thinnest("nitride")
    assert f"{thin.thickness / nm(1):.3g} nm, {100 * thin.ratio:.0f} % of 100 nm" in found[0].text
    assert "edge of Ti" in found[0].text
    conformal = section.apply(Grow(material="silicon nitride", film="nitride", thickness=nm(100)))
    assert not [c for c in callouts_of(conformal, section, LEGEND) if "thinnest" in c.text]


@pytest.mark.analytic
def test_a_stringer_is_called_a_residue():
    section = Section.start(Polyline(((0, 0), (20e3, 0))), "silicon", [("silicon dioxide", "oxide", nm(300))])
    for action in (
        Coat(material=RESIST, film="step", thickness=nm(200), levelling=nm(100)),
        Print(material=RESIST, keep=Region.box(5e3, -1e4, 15e3, 1e4)),
        Grow(material="titanium", film="titanium (step 2)", thickness=nm(50)),
    ):
        section = section.apply(action)
    after = section.apply(Remove(rates={"titanium": EtchRate(down=nm(1), sideways=0.0)}, time=60))
    texts = [c.text for c in callouts_of(after, section, LEGEND)]
    assert any("Ti residue, 50 nm wide and" in text and "in 2 places" in text for text in texts)
