"""Random flows: whatever is done in whatever order, the section stays a section."""

from math import radians

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Clear, Coat, EtchRate, Flux, Grow, Print, Remove
from filmwright.wafer.section import Section

LENGTH = 20_000.0
MATERIALS = ("a", "b", "c")
FLUXES = (
    Flux(exponent=0.0),
    Flux(exponent=0.8),
    Flux(tilts=(0.02, 0.05, 0.08), shares=(1.0, 2.0, 1.0)),
    Flux(tilts=(0.25, 0.3), shares=(1.0, 1.0), azimuth=0.4),
)


def nm(value):
    return to_si(value, "nm")


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


@st.composite
def grows(draw):
    share = draw(st.sampled_from([0.0, 0.3, 0.7, 1.0]))
    thickness = draw(st.sampled_from([1.0, 7.3, 40.0, 120.0]))
    flux = draw(st.sampled_from([None, None, *FLUXES]))
    material = draw(st.sampled_from(MATERIALS))
    return [Grow(material=material, film="", thickness=nm(thickness), side_wall=share, flux=flux)]


@st.composite
def prints(draw):
    x0 = draw(st.floats(-500.0, LENGTH))
    x1 = x0 + draw(st.floats(20.0, 8000.0))
    keep = strip(x0, x1)
    if draw(st.booleans()):
        keep = strip(-1e6, 1e6).difference(keep)
    angle = radians(draw(st.sampled_from([70.0, 90.0, 100.0])))
    bias = nm(draw(st.sampled_from([-30.0, 0.0, 30.0])))
    undercut = nm(draw(st.sampled_from([0.0, 150.0])))
    lower, toe = nm(draw(st.sampled_from([0.0, 200.0]))), nm(draw(st.sampled_from([0.0, 50.0])))
    coat = Coat(material="resist", film="", thickness=nm(700), levelling=nm(5000))
    return [
        coat,
        Print(
            material="resist",
            keep=keep,
            bias=bias,
            side_wall_angle=angle,
            undercut=undercut,
            under_layer=lower,
            foot=toe,
        ),
    ]


@st.composite
def removes(draw):
    rates = {}
    for material in draw(st.sets(st.sampled_from([*MATERIALS, "resist"]), min_size=1)):
        down = draw(st.sampled_from([0.2, 1.0, 2.0]))
        sideways = down * draw(st.sampled_from([0.0, 0.0, 0.3, 1.0]))
        rates[material] = EtchRate(down=nm(down), sideways=nm(sideways))
    return [Remove(rates=rates, time=draw(st.sampled_from([10.0, 60.0])))]


clears = st.sampled_from(
    [
        [Clear(materials=frozenset({"resist"}))],
        [Clear(materials=frozenset({"a", "resist"}))],
        [Clear(materials=frozenset({"resist"}), tear=nm(25))],
        [Clear(materials=frozenset({"b", "resist"}), tear=nm(60))],
    ]
)
flows = st.lists(st.one_of(grows(), prints(), removes(), clears), min_size=2, max_size=9)


def start():
    cut = Polyline(((0.0, 0.0), (LENGTH, 0.0)))
    return Section.start(cut, "silicon", [("a", "start", nm(200))])


def assert_sound(section):
    shapes = [piece.shape.shape for piece in section.pieces]
    assert all(shape.is_valid and shape.geom_type == "Polygon" for shape in shapes)
    assert shapely.coverage_is_valid(shapes)
    assert sum(shape.area for shape in shapes) == pytest.approx(shapely.union_all(shapes).area, abs=0.5)


def slack(section, name):
    """Rounding to 0.001 nm and simplification by 0.05² nm² per vertex, along the borders of a material."""
    return 2.0 + 2e-3 * sum(p.shape.perimeter for p in section.pieces if name in (p.material, p.film))


@pytest.mark.property
@settings(max_examples=150, deadline=None, derandomize=True)
@given(flow=flows)
def test_pieces_stay_valid_disjoint_and_matched_and_nothing_comes_from_nothing(flow):
    section = start()
    for k, actions in enumerate(flow):
        for action in actions:
            if isinstance(action, Grow | Coat):
                action = type(action)(**{**vars(action), "film": f"film {k}"})
            before, section = section, section.apply(action)
            assert_sound(section)
            lost = {body.material for body in section.floated}
            for name in {piece.material for piece in before.pieces}:
                gain = section.area(name) - before.area(name)
                room = slack(before, name)
                if isinstance(action, Remove | Clear | Print):
                    assert gain < room
                if isinstance(action, Remove) and name not in action.rates and name not in lost:
                    assert abs(gain) < room
                if isinstance(action, Grow | Coat) and name != action.material:
                    assert abs(gain) < room


@pytest.mark.property
@settings(max_examples=25, deadline=None, derandomize=True)
@given(actions=prints(), etch=removes())
def test_etching_twice_half_as_long_is_etching_once(actions, etch):
    section = start()
    for action in actions:
        section = section.apply(action)
    (whole,) = etch
    upright = {name: EtchRate(down=rate.down, sideways=0.0) for name, rate in whole.rates.items()}
    once = section.apply(Remove(rates=upright, time=whole.time))
    half = Remove(rates=upright, time=whole.time / 2)
    twice = section.apply(half).apply(half)
    for name in ("a", "resist", "silicon"):
        # A vertical etch is exact, so only the grid is left: 0.001 nm along the surface, and pieces that float off.
        assert once.area(name) == pytest.approx(twice.area(name), abs=slack(section, name))


@pytest.mark.property
def test_vertices_stay_bounded_over_a_hundred_steps():
    section = start()
    counts = []
    for k in range(20):
        centre = 3000.0 + 500.0 * k
        film = Grow(
            material=MATERIALS[k % 3], film=f"film {k}", thickness=nm(20), side_wall=(1.0, 0.5)[k % 2]
        )
        coat = Coat(material="resist", film=f"resist {k}", thickness=nm(700), levelling=nm(5000))
        keep = Print(material="resist", keep=strip(centre, centre + 4000.0), side_wall_angle=radians(80))
        etch = Remove(rates={film.material: EtchRate(down=nm(1), sideways=nm(1))}, time=25.0)
        for action in (film, coat, keep, etch, Clear(materials=frozenset({"resist"}))):
            section = section.apply(action)
        counts.append(sum(len(ring) for piece in section.pieces for ring in piece.shape.rings()))
    assert_sound(section)
    # Two edges per film, each copied by every film above it with some thirty vertices: 20 × 20 × 30 at the most.
    assert counts[-1] < 20 * 20 * 30
    # Quadratic, not exponential: doubling the films four-folds the vertices at the most.
    assert counts[19] < 4.5 * counts[9]
