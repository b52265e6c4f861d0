"""What a surface sees of the sky and what grows there, against closed forms (nm)."""

from math import atan, atan2, cos, gamma, hypot, pi, sin, sqrt

import numpy as np
import pytest

from filmwright.numerics import Region, beam_sky, cone_sky, cosine_sky, crossings, deposited
from filmwright.numerics.flux import Surface, received

FAR = 1e7


def ambient(*line):
    """The outside over a surface."""
    return Region.of([[*line, (line[-1][0], 1e6), (line[0][0], 1e6)]])


def block(height, half=1000.0, wide=20_000.0):
    return ambient((-wide, 0), (-half, 0), (-half, height), (half, height), (half, 0), (wide, 0))


def top_at(film, x):
    """Height of the lowest stretch of a film at a place; none where it is bare."""
    found = crossings(film.parts(), x)
    return found[0][2] if found else None


@pytest.mark.analytic
@pytest.mark.parametrize(("exponent", "share"), [(0, 1 / 2), (1, 1 / pi), (2, 1 / 4), (3, 2 / (3 * pi))])
def test_a_wall_that_stands_free_receives_the_closed_form(exponent, share):
    # Over flat ground the integral of cos^(p+1) from -pi/2 to pi/2, on a wall that of sin cos^p from 0 to pi/2: 1 / (p + 1).
    surface = Surface(np.array([(-FAR, 0.0), (0, 0), (0, 1000), (FAR, 1000)]))
    flux = received(surface, cosine_sky(exponent), np.array([[0.0, 500.0]]), np.array([1]))
    assert -flux[0, 0] == pytest.approx(share, rel=1e-9)
    assert share == pytest.approx(
        gamma(exponent / 2 + 1.5) / ((exponent + 1) * sqrt(pi) * gamma(exponent / 2 + 1))
    )


@pytest.mark.analytic
@pytest.mark.parametrize("away", [10.0, 250.0, 2000.0])
def test_the_floor_beside_a_wall_of_finite_height(away):
    # An even sky from -pi/2 to the angle under which the wall's top stands: (1 + sin a) / 2.
    surface = Surface(np.array([(-FAR, 0.0), (0, 0), (0, 500), (FAR, 500)]))
    flux = received(surface, cosine_sky(0), np.array([[-away, 0.0]]), np.array([0]))
    assert flux[0, 1] == pytest.approx((1 + sin(atan(away / 500))) / 2, rel=1e-6)


@pytest.mark.analytic
def test_the_floor_and_the_wall_of_a_trench():
    width, depth = 400.0, 1000.0
    line = [(-FAR, depth), (0, depth), (0, 0), (width, 0), (width, depth), (FAR, depth)]
    surface = Surface(np.array(line))
    at = np.array([[width / 2, 0.0], [0.0, 300.0]])
    floor, wall = received(surface, cosine_sky(0), at, np.array([2, 1]))
    assert floor[1] == pytest.approx(sin(atan2(width / 2, depth)), rel=1e-6)
    # From the left wall the sky goes from straight up to the right upper edge: (1 - cos a) / 2.
    assert wall[0] == pytest.approx((1 - cos(atan2(width, depth - 300))) / 2, rel=1e-6)


@pytest.mark.analytic
def test_a_cone_of_directions_on_a_wall_and_in_its_shadow():
    tilt = 0.2
    surface = Surface(np.array([(-FAR, 0.0), (0, 0), (0, 500), (FAR, 500)]))
    at = np.array([[0.0, 250.0], [-1e-6, 0.0], [-50.0, 0.0], [-500 * np.tan(tilt) * 1.001, 0.0]])
    flux = received(surface, cone_sky([tilt], [1.0]), at, np.array([1, 0, 0, 0]))
    # Half of the azimuths strike the wall: the mean of sin(tilt) cos(f) over them, over cos(tilt).
    assert -flux[0, 0] == pytest.approx(np.tan(tilt) / pi, rel=1e-9)
    # Right at its foot half of the azimuths are hidden; half way into the penumbra those with tan(tilt) cos(f) > x / h.
    assert flux[1, 1] == pytest.approx(0.5, abs=1e-6)
    assert flux[2, 1] == pytest.approx(1 - np.arccos(0.1 / np.tan(tilt)) / pi, rel=1e-9)
    assert flux[3, 1] == pytest.approx(1.0, rel=1e-9)


@pytest.mark.analytic
def test_a_surface_that_curls_over_sees_nothing():
    # A hook over the point: the sky is hidden although nothing stands straight to its side.
    line = [
        (-FAR, 0.0),
        (0, 0),
        (0, 300),
        (-400, 300),
        (-400, 100),
        (-410, 100),
        (-410, 310),
        (10, 310),
        (10, 0),
        (FAR, 0),
    ]
    low, high = Surface(np.array(line[:2] + line[2:])).seen(
        np.array([[-200.0, 0.0]]), np.array([0]), np.array([1])
    )
    # Below the hook's tip at (-410, 100) only rays to the left of it are open, under less than a right angle.
    assert high[0] == pytest.approx(-atan2(210, 100), rel=1e-6)
    assert low[0] == pytest.approx(-pi / 2, abs=1e-4)


@pytest.mark.analytic
def test_flat_ground_gets_the_thickness_and_a_corner_an_arc():
    thickness = 50.0
    film = deposited(block(500.0), cosine_sky(0), thickness, 1, 0.01)
    assert top_at(film, 0.0) == pytest.approx(500 + thickness, abs=1e-3)
    # Under an even sky a corner's film is a disc of half the thickness about a point that far above the corner.
    ring = film.rings()[0]
    arc = ring[(ring[:, 0] > 1000.1) & (ring[:, 1] > 526)]
    assert np.hypot(arc[:, 0] - 1000, arc[:, 1] - 525) == pytest.approx(thickness / 2, abs=0.03)
    assert top_at(film, 1024.9) > 500
    assert top_at(film, 1025.1) < 50


@pytest.mark.convergence
def test_shadows_converge_with_the_first_power_of_the_stages():
    line = [(-5000, 1000), (-200, 1000), (-200, 0), (200, 0), (200, 1000), (5000, 1000)]
    areas = [deposited(ambient(*line), cosine_sky(0), 300.0, stages, 0.01).area for stages in (2, 4, 8, 16)]
    steps = np.abs(np.diff(areas))
    assert steps[0] / steps[1] == pytest.approx(2.0, abs=0.4)
    assert steps[1] / steps[2] == pytest.approx(2.0, abs=0.4)


@pytest.mark.analytic
def test_four_stages_are_enough_beside_a_wall():
    found = [top_at(deposited(block(500.0), cosine_sky(0), 50.0, stages, 0.02), 1035.0) for stages in (4, 32)]
    assert found[0] == pytest.approx(found[1], abs=0.25)


@pytest.mark.analytic
def test_a_narrow_mouth_closes_over_a_keyhole():
    line = [(-5000, 1000), (-200, 1000), (-200, 0), (200, 0), (200, 1000), (5000, 1000)]
    film = deposited(ambient(*line), cosine_sky(0), 700.0, 4, 0.05)
    holes = [hole for part in film.parts() for hole in part.rings()[1:]]
    assert len(holes) == 1
    # Mirror symmetric, inside the trench, its tip above the mouth.
    assert holes[0][:, 0].min() == -holes[0][:, 0].max()
    assert holes[0][:, 1].max() > 1000
    assert hypot(*np.ptp(holes[0], axis=0)) > 1000


@pytest.mark.analytic
def test_a_beam_from_one_side_leaves_a_shadow_bounded_by_its_direction():
    lean = 0.3
    film = deposited(block(500.0), beam_sky([lean], [1.0], 0.0), 40.0, 4, 0.05)
    # From the right: bare ground to the left of the block as long as the height over the slope; the film's rim leans on the ray.
    bare = [x for x in range(-1400, -1000, 2) if top_at(film, float(x)) is None]
    assert len(bare) * 2 == pytest.approx(500 * np.tan(lean), abs=15)
    assert top_at(film, 1005.0) > 500


@pytest.mark.analytic
def test_light_through_a_mouth_far_from_the_middle_of_the_floor_is_not_missed():
    # A cavity from -200 to 5000, its mouth from 0 to 300 far from its middle: both ends and the middle of its floor are dark.
    line = [
        (-3e4, 900),
        (0, 900),
        (0, 800),
        (-200, 800),
        (-200, 0),
        (5000, 0),
        (5000, 800),
        (300, 800),
        (300, 900),
        (3e4, 900),
    ]
    film = deposited(ambient(*line), cone_sky([0.02, 0.04], [1.0, 1.0]), 50.0, 4, 0.05)
    floor = [part for part in film.parts() if part.bounds[1] < 1]
    assert len(floor) == 1
    # The penumbra reaches beyond the mouth by the height of the lips times the slope.
    assert floor[0].bounds[0] == pytest.approx(-800 * np.tan(0.04), abs=4)
    assert floor[0].bounds[2] == pytest.approx(300 + 800 * np.tan(0.04), abs=4)
    assert top_at(film, 150.0) == pytest.approx(50.0, abs=0.1)


@pytest.mark.analytic
def test_what_cannot_be_a_sky_is_refused():
    with pytest.raises(ValueError, match="exponent"):
        cosine_sky(-1.0)
    with pytest.raises(ValueError, match="share"):
        cone_sky([0.1], [])
    with pytest.raises(ValueError, match="right angle"):
        cone_sky([2.0], [1.0])
