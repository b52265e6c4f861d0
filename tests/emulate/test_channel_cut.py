"""A channel read off a section: lengths and thicknesses known from how the section was made."""

import numpy as np
import pytest

from filmwright.emulate.channel_cut import UnreadableChannelError, read_channel
from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer import Clear as Dissolve
from filmwright.wafer import Coat, Device, EtchRate, Grow, Print, Remove, Section

KINDS = {
    "glass": "insulator",
    "gate metal": "conductor",
    "insulator": "insulator",
    "film": "semiconductor",
    "contact metal": "conductor",
    "resist": "organic",
}
CLOSED = to_si(3, "nm")


def nm(value):
    return to_si(value, "nm")


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def kept(section, material, film, thickness, *spans, wall=1.0):
    """A film that covers some spans along the cut only."""
    section = section.apply(
        Grow(material=material, film=film, thickness=nm(thickness), side_wall=wall, line_of_sight=wall == 0)
    )
    keep = Region.joined(strip(*span) for span in spans)
    section = section.apply(Coat(material="resist", film="mask", thickness=nm(1000), levelling=nm(5000)))
    section = section.apply(Print(material="resist", keep=keep))
    rate = {material: EtchRate(down=nm(4 * thickness), sideways=0.0)}
    section = section.apply(Remove(rates=rate, time=1.0))
    return section.apply(Dissolve(materials=frozenset({"resist"})))


def transistor(gate=(2000.0, 8000.0), contacts=((500.0, 3000.0), (7000.0, 9500.0)), film=25.0, wall=1.0):
    """Gate of 60 nm under 40 nm of insulator and a film, contacts on top; everything along a cut of 10 µm."""
    section = Section.start(Polyline(((0.0, 0.0), (10_000.0, 0.0))), "glass", [], margin=0.0)
    section = kept(section, "gate metal", "gate", 60.0, gate)
    section = section.apply(Grow(material="insulator", film="insulator", thickness=nm(40)))
    section = kept(section, "film", "film", film, (200.0, 9800.0), wall=wall)
    return kept(section, "contact metal", "contact", 50.0, *contacts)


def device(**more):
    made = {"place": (5000.0, 0.0), "towards": (1.0, 0.0), "semiconductor": (("film", nm(25)),), **more}
    return Device(
        kind="transistor",
        name="T1",
        terminals={},
        nets={},
        area=1e-10,
        width=nm(10_000),
        length=nm(4000),
        dielectric=(("insulator", nm(40)),),
        **made,
    )


@pytest.mark.analytic
def test_over_a_flat_gate_the_channel_is_as_long_and_as_thick_as_made():
    cut = read_channel(transistor(), device(), KINDS, CLOSED)
    assert cut.length == pytest.approx(nm(4000), abs=nm(3))
    inside = (cut.along > cut.source_ends) & (cut.along < cut.drain_begins)
    np.testing.assert_allclose(cut.film[inside], nm(25), atol=nm(0.01))
    np.testing.assert_allclose(cut.insulator[inside], nm(40), atol=nm(0.01))
    assert cut.contacts == "far"
    assert cut.contact == "contact metal"


@pytest.mark.analytic
def test_the_wall_of_the_gate_is_followed_and_its_thin_film_seen():
    section = transistor(gate=(4000.0, 8000.0), wall=0.6)
    cut = read_channel(section, device(), KINDS, CLOSED)
    # The channel goes down the wall of the gate: as much longer as the wall is high, but for the rounded corners.
    assert nm(4000) + nm(40) < cut.length < nm(4000) + nm(62)
    inside = (cut.along > cut.source_ends) & (cut.along < cut.drain_begins)
    assert cut.film[inside].min() == pytest.approx(nm(25 * 0.6), abs=nm(0.8))
    # Beyond the edge of the gate, over the insulator on the glass, the gate is as far as the ground is.
    bare = inside & (cut.path[:, 0] < 3800)
    x, z = cut.path[bare].T
    np.testing.assert_allclose(
        cut.insulator[bare], nm(np.hypot(4000 - x, np.maximum(0.0, 0.0 * z))), rtol=0.05
    )


@pytest.mark.property
def test_a_cut_from_drain_to_source_is_turned_round():
    section = transistor(contacts=((500.0, 3000.0), (6000.0, 9500.0)))
    there = read_channel(section, device(), KINDS, CLOSED)
    back = read_channel(section, device(towards=(-1.0, 0.0)), KINDS, CLOSED)
    assert back.length == pytest.approx(there.length, rel=1e-3)
    assert there.path[0, 0] < there.path[-1, 0]
    assert back.path[0, 0] > back.path[-1, 0]


@pytest.mark.property
@pytest.mark.parametrize("columns", [80, 300, 600])
def test_there_are_about_as_many_columns_as_asked_for_and_they_gather_at_the_contacts(columns):
    cut = read_channel(transistor(), device(), KINDS, CLOSED, columns)
    assert len(cut.along) == pytest.approx(columns, abs=12)
    gaps = np.diff(cut.along)
    place = int(np.argmin(np.abs(cut.along - cut.source_ends)))
    assert gaps[place] < gaps.max() / 4


@pytest.mark.property
def test_a_foot_of_metal_that_is_not_closed_is_no_contact():
    section = kept(transistor(), "contact metal", "foot", 1.0, (3000.0, 3400.0))
    cut = read_channel(section, device(), KINDS, CLOSED)
    assert cut.length == pytest.approx(nm(4000), abs=nm(3))


@pytest.mark.property
@pytest.mark.parametrize(
    ("section", "made", "why"),
    [
        (transistor(contacts=((500.0, 3000.0),)), {}, "both sides"),
        (transistor(), {"semiconductor": (("another film", 1e-9),)}, "no another film"),
        (transistor(), {"gate_above": True}, "no conductor lies on the gate's side"),
    ],
)
def test_what_is_no_channel_is_refused_with_the_reason(section, made, why):
    with pytest.raises(UnreadableChannelError, match=why):
        read_channel(section, device(**made), KINDS, CLOSED)


@pytest.mark.property
def test_a_film_broken_on_the_wall_is_refused_with_its_place():
    section = transistor(gate=(4000.0, 8000.0), film=20.0, wall=0.0)
    with pytest.raises(UnreadableChannelError, match=r"broken|does not reach|both sides"):
        read_channel(section, device(), KINDS, CLOSED)
