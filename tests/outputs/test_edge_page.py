"""The page of the edges: each kind once, with what its section shows, ids of its own, nothing from outside."""

import re
from dataclasses import dataclass, field

import pytest

from filmwright.numerics import Polyline, Region
from filmwright.outputs import Legend
from filmwright.outputs.edge_page import edges_html
from filmwright.units import to_si
from filmwright.wafer import Column, Layer
from filmwright.wafer.actions import Coat, Grow, Print
from filmwright.wafer.edge_profile import Crossing, Ending, Fence
from filmwright.wafer.section import Section

LEGEND = Legend(
    kinds={"silicon": "substrate", "oxide": "insulator", "titanium": "conductor", "resist": "organic"},
    symbols={"titanium": "Ti", "silicon": "Si", "oxide": "Ox"},
)


def nm(value):
    return to_si(value, "nm")


@dataclass(frozen=True)
class Kind:
    place: tuple
    length: float
    sides: tuple


@dataclass(frozen=True)
class Profile:
    crossings: tuple = ()
    endings: tuple = ()
    fences: tuple = ()
    ears: dict = field(default_factory=dict)
    voids: tuple = ()


@dataclass(frozen=True)
class Seen:
    kind: Kind
    section: Section
    profile: Profile
    note: str = ""


@dataclass(frozen=True)
class Edges:
    seen: tuple


@pytest.fixture(scope="module")
def page():
    section = Section.start(Polyline(((0, 0), (6e3, 0))), "silicon", [("oxide", "oxide", nm(100))])
    for action in (
        Coat(material="resist", film="block", thickness=nm(200), levelling=nm(100)),
        Print(material="resist", keep=Region.box(3e3, -1e4, 1e4, 1e4)),
        Grow(material="titanium", film="lead", thickness=nm(50), side_wall=0.4),
    ):
        section = section.apply(action)
    low = Column(
        (
            Layer(material="silicon", film="silicon", thickness=nm(5e5), born=0),
            Layer(material="titanium", film="lead", thickness=nm(50), born=2),
        )
    )
    high = Column(
        (low.layers[0], Layer(material="resist", film="block", thickness=nm(200), born=1), low.layers[1])
    )
    profile = Profile(
        crossings=(
            Crossing(
                films=("lead",),
                materials=("titanium",),
                kind="conductor",
                thickness=nm(50),
                least=nm(20),
                whole=True,
            ),
            Crossing(
                films=("x",), materials=("oxide",), kind="insulator", thickness=nm(9), least=0.0, whole=False
            ),
        ),
        endings=(Ending(film="block", material="oxide", foot=nm(-12), top=nm(30)),),
        fences=(Fence(film="lead", material="titanium", height=nm(150), width=nm(20), beside="oxide"),),
    )
    seen = Seen(
        kind=Kind((1e6, 2e6), to_si(3.2, "mm"), (low, high)), section=section, profile=profile, note="<odd>"
    )
    return edges_html(Edges((seen, seen)), LEGEND, "A <die>", invented=True)


@pytest.mark.analytic
def test_numbers_of_an_edge_are_told(page):
    for words in (
        "Ti goes across: 20 nm at its narrowest, 40 % of 50 nm",
        "Ox is interrupted (flat: 9 nm)",
        "Ox ends: bottom 12 nm before, top 30 nm behind the foot of the resist",
        "fence of Ti, 150 nm high and 20 nm wide along Ox",
        "3.2 mm on the die, cut at x 1000.0 µm, y 2000.0 µm",
        "resist | Ti",
    ):
        assert words in page, words


@pytest.mark.property
def test_the_page_is_safe_whole_and_says_that_it_is_invented(page):
    assert "A &lt;die&gt;" in page
    assert "&lt;odd&gt;" in page
    assert "invented example" in page
    names = re.findall(r' id="([^"]+)"', page)
    assert len(names) == len(set(names))
    assert set(re.findall(r"url\(#([^)]*)\)", page)) <= set(names)
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")
