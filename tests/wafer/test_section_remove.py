"""Removal along a cut, against answers known by hand (nm unless said otherwise)."""

from math import hypot, radians, sqrt

import numpy as np
import pytest
import shapely

from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer.actions import Clear, Coat, EtchRate, Grow, Print, Remove
from filmwright.wafer.section import Section


def nm(value):
    return to_si(value, "nm")


def rate(down, sideways=0.0):
    return EtchRate(down=nm(down), sideways=nm(sideways))


def bare(films=(), length=10_000.0):
    cut = Polyline(((0.0, 0.0), (length, 0.0)))
    return Section.start(cut, "silicon", [(material, film, nm(t)) for material, film, t in films])


def strip(x0, x1):
    return Region.box(x0, -1e3, x1, 1e3)


def masked(section, x0, x1, thickness=1000.0, angle=90.0):
    section = section.apply(Coat(material="resist", film="mask", thickness=nm(thickness), levelling=nm(5000)))
    return section.apply(Print(material="resist", keep=strip(x0, x1), side_wall_angle=radians(angle)))


STRIP = Clear(materials=frozenset({"resist"}))


def step(height=200.0, film=100.0):
    """A block of metal from 3000 to 7000 under a conformal film."""
    section = masked(bare([("metal", "block", height)]), 3000.0, 7000.0)
    section = section.apply(Remove(rates={"metal": rate(height)}, time=1.0)).apply(STRIP)
    return section.apply(Grow(material="film", film="film", thickness=nm(film)))


@pytest.mark.analytic
def test_stringer_is_as_high_as_the_step():
    after = step().apply(Remove(rates={"film": rate(100.0)}, time=1.0))
    stringers = [piece for piece in after.pieces if piece.material == "film"]
    assert len(stringers) == 2
    for piece in stringers:
        assert piece.shape.bounds[3] - piece.shape.bounds[1] == pytest.approx(200.0, abs=0.01)
        # The wall film below the corner, and the quarter circle lowered by its radius: 100 × 200 less the
        # part above the arc, 100² (1 - pi / 4).
        assert piece.area == pytest.approx(100 * 200 - 100**2 * (1 - np.pi / 4), abs=20.0)


@pytest.mark.analytic
@pytest.mark.parametrize(("over_etch", "left"), [(190.0, 2), (200.2, 0)])
def test_over_etch_of_the_step_height_removes_the_stringer(over_etch, left):
    after = step().apply(Remove(rates={"film": rate(100.0)}, time=1.0 + over_etch / 100.0))
    assert len([piece for piece in after.pieces if piece.material == "film"]) == left


@pytest.mark.analytic
@pytest.mark.parametrize("over", [0.25, 0.5, 1.0])
def test_isotropic_undercut_at_top_and_foot(over):
    depth = 100.0
    section = masked(bare([("film", "film", depth)]), 3000.0, 7000.0)
    after = section.apply(Remove(rates={"film": rate(1.0, 1.0)}, time=depth * (1 + over)))
    rings = next(body for body in after.bodies if body.film == "film").shape.rings()[0]
    top = rings[np.abs(rings[:, 1] - depth) < 0.01][:, 0].min() - 3000.0
    foot = rings[np.abs(rings[:, 1]) < 0.01][:, 0].min() - 3000.0
    # A surface etched at one rate from a straight opening is a circle about the mask's edge; arcs are etched
    # up to 0.1 nm too far, which the slope of the arc at the foot enlarges.
    assert top == pytest.approx(depth * (1 + over), abs=0.15)
    assert foot == pytest.approx(depth * sqrt((1 + over) ** 2 - 1), abs=0.6)


@pytest.mark.analytic
def test_undercut_after_a_vertical_break_through_is_rate_times_time():
    section = masked(bare([("film", "film", 100.0)]), 3000.0, 7000.0)
    section = section.apply(Remove(rates={"film": rate(100.0)}, time=1.0))
    after = section.apply(Remove(rates={"film": rate(1.0, 1.0)}, time=50.0))
    x0, _, x1, _ = next(piece for piece in after.pieces if piece.material == "film").shape.bounds
    assert (x0, x1) == (pytest.approx(3050.0, abs=0.01), pytest.approx(6950.0, abs=0.01))


@pytest.mark.analytic
@pytest.mark.parametrize("sideways", [0.0, 1.0])
def test_what_is_uncovered_midway_is_attacked_midway(sideways):
    section = bare([("below", "below", 500.0), ("above", "above", 37.0)])
    rates = {"above": rate(1.0, sideways), "below": rate(2.0, 2 * sideways)}
    after = section.apply(Remove(rates=rates, time=100.0))
    assert after.thickness("above", 5000.0) == 0.0
    # 37 s for the upper film, 63 s at 2 nm/s below; a step goes past a border by 1e-4 of its time.
    assert after.thickness("below", 5000.0) == pytest.approx(nm(500 - 126), abs=nm(0.02))


@pytest.mark.analytic
def test_resist_that_is_consumed_leaves_a_facet_in_the_film():
    section = masked(bare([("film", "film", 100.0)]), 3000.0, 7000.0, thickness=800.0, angle=60.0)
    after = section.apply(Remove(rates={"film": rate(1.0), "resist": rate(0.5)}, time=60.0))
    film = next(body for body in after.bodies if body.film == "film").shape.rings()[0]
    top = film[np.abs(film[:, 1] - 100.0) < 0.01][:, 0]
    # The resist's foot retreats by 0.5 × 60 / tan 60°.
    retreat = 30.0 / np.tan(radians(60.0))
    assert top.min() == pytest.approx(3000.0 + retreat, abs=0.1)
    assert top.max() == pytest.approx(7000.0 - retreat, abs=0.1)
    assert after.thickness("film", 1000.0) == pytest.approx(nm(40.0), abs=nm(0.01))
    # Half way up the facet the film has been open for half of the time.
    assert after.thickness("film", 3000.0 + retreat / 2) == pytest.approx(nm(70.0), abs=nm(0.1))


@pytest.mark.analytic
def test_mixture_goes_down_at_one_rate_and_sideways_at_the_other():
    section = masked(bare([("film", "film", 400.0)]), 3000.0, 7000.0)
    after = section.apply(Remove(rates={"film": rate(2.0, 0.5)}, time=100.0))
    assert after.thickness("film", 1000.0) == pytest.approx(nm(200.0), abs=nm(0.02))
    rings = next(body for body in after.bodies if body.film == "film").shape.rings()[0]
    top = rings[np.abs(rings[:, 1] - 400.0) < 0.01][:, 0]
    assert top.min() == pytest.approx(3050.0, abs=0.2)


@pytest.mark.analytic
def test_a_closed_barrier_of_one_nanometre_holds():
    films = [("film", "film", 300.0), ("barrier", "barrier", 1.0), ("film", "cover", 30.0)]
    after = bare(films).apply(Remove(rates={"film": rate(1.0, 1.0)}, time=200.0))
    assert after.thickness("cover", 5000.0) == 0.0
    assert after.thickness("film", 5000.0) == pytest.approx(nm(300.0), abs=nm(0.01))


@pytest.mark.analytic
def test_a_ridge_narrower_than_two_undercuts_is_gone_and_its_resist_floats():
    section = masked(bare([("film", "film", 100.0)]), 4950.0, 5050.0)
    after = section.apply(Remove(rates={"film": rate(1.0, 1.0)}, time=130.0))
    assert after.area("film") == 0.0
    assert [(event.kind, event.material) for event in after.events] == [("floated", "resist")]


@pytest.mark.analytic
def test_no_rate_or_no_time_changes_nothing():
    section = step()
    for action in (Remove(rates={}, time=10.0), Remove(rates={"film": rate(1.0, 1.0)}, time=0.0)):
        assert section.apply(action).bodies == section.bodies or section.apply(action).area(
            "film"
        ) == section.area("film")


def undercut_along_the_interface(lower_rate, stages):
    section = masked(bare([("lower", "lower", 100.0), ("upper", "upper", 100.0)]), 5000.0, 1e6)
    rates = {"upper": rate(1.0, 1.0), "lower": rate(lower_rate, lower_rate)}
    after = section.apply(Remove(rates=rates, time=250.0), stages=stages)
    lower = next(body for body in after.bodies if body.film == "lower").shape.rings()[0]
    return lower[np.abs(lower[:, 1] - 100.0) < 0.1][:, 0].min() - 5000.0


@pytest.mark.analytic
@pytest.mark.parametrize("stages", [1, 4, 16])
def test_a_front_is_refracted_at_the_border_to_a_faster_film(stages):
    # Through the upper film straight down takes 100 s; along the way below the interface sin a = 1 / 3: the
    # fastest path leaves the upper film at 100 tan a and spends 100 / cos a seconds there.
    slope = 1 / 3 / sqrt(1 - 1 / 9)
    exact = 100 * slope + 3 * (250 - hypot(100, 100 * slope))
    # Each step may take 0.1 nm too much at a corner, enlarged threefold along the faster film.
    assert undercut_along_the_interface(3.0, stages) == pytest.approx(exact, abs=0.8)


@pytest.mark.analytic
@pytest.mark.parametrize("stages", [1, 4])
def test_a_front_arrives_at_the_border_to_a_slower_film_through_the_faster_one(stages):
    exact = sqrt(250**2 - 100**2)
    assert undercut_along_the_interface(0.5, stages) == pytest.approx(exact, abs=0.2)


@pytest.mark.analytic
def test_thin_films_of_one_pile_are_uncovered_one_after_the_other_within_a_step():
    films = [("c", "c", 300.0), ("b", "b", 4.0), ("a", "a", 6.0)]
    rates = {"a": rate(1.0, 1.0), "b": rate(2.0, 2.0), "c": rate(3.0, 3.0)}
    after = bare(films).apply(Remove(rates=rates, time=50.0), stages=1)
    # 6 s and 2 s for the two upper films, 42 s at 3 nm/s for the lowest.
    assert after.thickness("c", 5000.0) == pytest.approx(nm(300.0 - 126.0), abs=nm(0.02))


@pytest.mark.analytic
def test_many_lines_over_a_slowly_etched_body_keep_what_their_resist_covers():
    period, count = 4000.0, 6
    section = bare([("metal", "metal", 100.0)], length=period * count)
    section = section.apply(Coat(material="resist", film="mask", thickness=nm(1000), levelling=nm(5000)))
    keep = strip(1000.0, 3000.0)
    for k in range(1, count):
        keep = keep.union(strip(period * k + 1000.0, period * k + 3000.0))
    section = section.apply(Print(material="resist", keep=keep))
    rates = {"metal": rate(1.0, 1.0), "silicon": rate(0.1, 0.1)}
    after = section.apply(Remove(rates=rates, time=130.0))
    # Undercut 130 at the top, sqrt(130² - 100²) = 83 at the foot of both edges of each line.
    for edge in after.undercuts("metal", "resist"):
        assert edge.top == pytest.approx(nm(130.0), abs=nm(0.3))
        assert edge.foot == pytest.approx(nm(sqrt(6900.0)), abs=nm(0.6))
    assert len(after.undercuts("metal", "resist")) == 2 * count
    # The body between the lines is open for 30 s.
    assert section.area("silicon") - after.area("silicon") == pytest.approx(
        3.0 * 2000.0 * (count - 1) + 6.0 * 6000.0, rel=0.05
    )


@pytest.mark.convergence
def test_a_mixture_of_down_and_sideways_converges_with_the_first_order():
    def left(stages):
        section = masked(bare([("film", "film", 400.0)]), 3000.0, 7000.0)
        return section.apply(Remove(rates={"film": rate(2.0, 0.5)}, time=100.0), stages=stages).area("film")

    steps = np.abs(np.diff([left(stages) for stages in (1, 2, 4, 8)]))
    orders = np.log2(steps[:-1] / steps[1:])
    assert (orders > 0.9).all()
    assert (orders < 1.6).all()


@pytest.mark.reference
def test_isotropic_front_against_arrival_times_on_a_grid():
    skfmm = pytest.importorskip("skfmm")
    size, time = 2.0, 150.0
    section = masked(step(height=100.0), 2950.0, 1e6)
    after = section.apply(Remove(rates={"film": rate(1.0, 1.0)}, time=time), stages=16)
    x, z = np.meshgrid(np.arange(2601.0, 3300.0, size), np.arange(1.0, 260.0, size))

    def inside(section, films):
        shapes = [body.shape.shape for body in section.bodies if body.film in films]
        return shapely.contains_xy(shapely.union_all(shapes), x, z)

    film = inside(section, {"film"})
    blocked = inside(section, {"silicon", "block", "mask"})
    exposed = section.layers.cover.exposed
    exposed = exposed.where(np.array([section.pieces[k].film == "film" for k in exposed.cell]))
    lines = shapely.multilinestrings(np.stack([exposed.start, exposed.end], axis=1))
    distance = shapely.distance(lines, shapely.points(x, z))
    arrival = skfmm.travel_time(
        np.ma.MaskedArray(np.where(film, distance, -distance), blocked), np.ones_like(distance), dx=size
    )
    arrival = np.ma.filled(arrival, np.inf)
    kept = inside(after, {"film"})
    assert int((film & ~kept).sum()) > 5000
    # The front has turned round the upper corner of the block. It lags by less than 1.5 cells: a grid's
    # second-order scheme is of first order at the corner that shades.
    differ = film & (kept != (arrival > time))
    assert np.abs(arrival[differ] - time).max() < 1.5 * size
