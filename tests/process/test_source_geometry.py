"""Film over a wafer from where its source stands: closed forms, a sphere, and printed edges."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.process import Emitter, Stage, arriving_share, film_over_wafer, planetary_share, ring_share
from filmwright.units import to_si

MM = to_si(1, "mm")
TURNING = Stage(motion="turning")


@pytest.mark.literature
@pytest.mark.parametrize(("power", "printed"), [(1.0, 3.053), (0.0, 2.299)])
def test_edge_of_a_flat_and_of_a_point_source(power: float, printed: float):
    # L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952), from memory: (1 + (l/h)²)^-2 and ^-3/2; at 50 mm beside the axis of a throw of
    # 400 mm worked to 3.053 % and 2.299 % less
    source = Emitter(throw=400 * MM, power=power)
    middle, edge = (arriving_share(place, source, Stage()) for place in (0.0, 50 * MM))
    assert 100 * (1 - edge / middle) == pytest.approx(printed, abs=5e-3)


@pytest.mark.analytic
@pytest.mark.parametrize("power", [1.0, 2.0, 5.0])
def test_all_that_is_sent_arrives_somewhere(power: float):
    # ∫ c·2πl dl over a plane that reaches far: the whole of it
    source = Emitter(throw=1.0, power=power)
    edges = [math.tan(math.pi / 2 * k / 2000) for k in range(2000)]
    whole = sum(
        arriving_share((a + b) / 2, source, Stage()) * math.pi * (b**2 - a**2) for a, b in pairwise(edges)
    )
    assert whole == pytest.approx(1.0, abs=5e-3)


@pytest.mark.analytic
def test_closed_forms_of_rings_and_planets():
    # three closed forms of the room's own, each checked against print elsewhere: turning over a source beside the axis, an eroded
    # ring opposite, a planetary
    assert arriving_share(30 * MM, Emitter(throw=0.45, offset=0.1), TURNING) == pytest.approx(
        ring_share(30 * MM, 0.45, 0.1)
    )
    assert arriving_share(30 * MM, Emitter(throw=0.1, ring=0.02), Stage()) == pytest.approx(
        ring_share(30 * MM, 0.1, 0.02)
    )
    stage = Stage(motion="planetary", orbit=0.3, inclination=0.7)
    assert arriving_share(30 * MM, Emitter(throw=0.55, offset=0.2), stage) == pytest.approx(
        planetary_share(30 * MM, 0.55, 0.3, 0.7, 0.2)
    )


@pytest.mark.analytic
def test_a_gun_that_looks_at_the_middle():
    # target 60 mm out and 120 mm below leans by atan(1/2): cos θ = 1, cos α = h/D
    source = Emitter(throw=120 * MM, offset=60 * MM, tilt=math.atan(0.5))
    expected = math.cos(math.atan(0.5)) / math.pi / ((120 * MM) ** 2 + (60 * MM) ** 2)
    assert arriving_share(0.0, source, Stage()) == pytest.approx(expected)


@pytest.mark.literature
def test_wafers_and_source_on_one_sphere_get_the_same_everywhere():
    # K. L. Chopra, Thin Film Phenomena, ch. 2, from memory: a small flat source and wafers that touch one sphere of radius r:
    # 1/(4π·r²). A small wafer there lies level with the sphere: at 90° round it, it leans by 90° - too steep, so 60° is taken.
    radius, round_ = 0.3, math.radians(60)
    stage = Stage(motion="planetary", orbit=radius * math.sin(round_), inclination=round_)
    source = Emitter(throw=radius * (1 + math.cos(round_)))
    assert arriving_share(0.0, source, stage) == pytest.approx(1 / (4 * math.pi * radius**2))


@pytest.mark.analytic
def test_mean_by_area_of_a_small_source():
    # ∫ (1 + (l/h)²)^-2 over a disc of radius R: 1/(1 + (R/h)²) of the middle
    shape = film_over_wafer(50 * MM, Emitter(throw=0.1), Stage())
    assert 1 / shape.middle == pytest.approx(1 / 1.25, rel=1e-4)
    assert shape.edge / shape.middle == pytest.approx(1.25**-2, rel=1e-9)
    assert shape.uneven == pytest.approx((shape.middle - shape.edge) / 2)
    assert (shape.most, shape.least) == (shape.middle, shape.edge)


@pytest.mark.analytic
def test_a_wafer_at_rest_under_a_source_beside_it_is_thicker_on_that_side():
    source = Emitter(throw=120 * MM, offset=60 * MM, tilt=0.4)
    toward, away = (arriving_share(40 * MM, source, Stage(), azimuth) for azimuth in (0.0, math.pi))
    assert toward > away
    still, turned = (film_over_wafer(50 * MM, source, stage) for stage in (Stage(), TURNING))
    assert still.uneven > 2 * turned.uneven


@pytest.mark.property
@given(
    throw=st.floats(0.08, 1.0),
    offset=st.floats(0.0, 0.2),
    tilt=st.floats(0.0, 1.0),
    ring=st.floats(0.0, 0.04),
    motion=st.sampled_from(["at rest", "turning", "planetary"]),
)
def test_a_film_has_its_places_in_order(throw: float, offset: float, tilt: float, ring: float, motion: str):
    shape = film_over_wafer(
        50 * MM,
        Emitter(throw=throw, offset=offset, tilt=tilt, ring=ring),
        Stage(motion=motion, orbit=0.1 if motion == "planetary" else 0.0),
    )
    assert shape.least <= min(shape.middle, shape.edge) + 1e-12
    assert shape.most >= max(shape.middle, shape.edge) - 1e-12
    assert shape.least <= 1 <= shape.most
    assert shape.share > 0


@pytest.mark.property
@given(st.floats(0.1, 1.0), st.floats(1.05, 3.0))
def test_farther_is_more_even_and_less(throw: float, more: float):
    near, far = (film_over_wafer(50 * MM, Emitter(throw=h), Stage()) for h in (throw, throw * more))
    assert far.uneven < near.uneven
    assert far.share < near.share


@pytest.mark.convergence
def test_more_places_of_a_round_change_nothing():
    # the mean over the round against a sum over 2000 places
    source = Emitter(throw=110 * MM, offset=80 * MM, tilt=math.radians(25))
    fine = [arriving_share(50 * MM, source, Stage(), 2 * math.pi * (k + 0.5) / 2000) for k in range(2000)]
    assert arriving_share(50 * MM, source, TURNING) == pytest.approx(sum(fine) / 2000, rel=1e-9)


@pytest.mark.property
@pytest.mark.parametrize(
    "wrong",
    [
        {"throw": 0.0},
        {"throw": math.nan},
        {"offset": -1.0},
        {"tilt": 1.6},
        {"power": -1.0},
        {"ring": math.inf},
    ],
)
def test_a_source_that_is_none_is_refused(wrong: dict[str, float]):
    with pytest.raises(ValueError, match="must"):
        Emitter(**{"throw": 0.1, **wrong})


@pytest.mark.property
def test_a_stage_that_is_none_is_refused():
    with pytest.raises(ValueError, match="motion must"):
        Stage(motion="sideways")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="must"):
        Stage(inclination=1.6)
    with pytest.raises(ValueError, match="never faces"):
        film_over_wafer(
            0.05,
            Emitter(throw=0.1, offset=2.0, tilt=0.0),
            Stage(motion="at rest", orbit=0.0, inclination=1.57),
        )
    with pytest.raises(ValueError, match="must"):
        arriving_share(-1.0, Emitter(throw=0.1), Stage())
