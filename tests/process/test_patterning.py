"""Exposure and development against closed forms and published rules that this project did not make."""

import math

import numpy as np
import pytest

from filmwright.process import (
    coupled_light,
    dark_loss,
    dill_bleaching,
    edge_shift,
    extinction_of_absorption,
    fresnel_slit,
    mack_rate,
    swing_share,
    time_to_clear,
)


@pytest.mark.literature
def test_an_edge_moves_as_the_fresnel_integrals_say():
    # M. Born, E. Wolf, Principles of Optics, 8.7 (from memory): intensity ¼ on the edge; its slope here by differences.
    # The slit is so wide that its other edge ripples by less than a hundred-thousandth.
    wavelength, gap, resist, wide, change = 436e-9, 2e-6, 1.3e-6, 0.2, 0.02
    reach = gap + resist / 2
    places = wide / 2 + np.linspace(-1e-7, 1e-7, 4001)
    light = fresnel_slit(places, wide, reach, wavelength)
    assert float(light[2000]) == pytest.approx(0.25, rel=1e-3)
    # A dose larger by a part prints where the light is smaller by that part.
    more, less = (float(np.interp(-0.25 / (1 + part), -light, places)) for part in (change, -change))
    assert edge_shift(change, wavelength, gap, resist) == pytest.approx((more - less) / 2, rel=0.01)


@pytest.mark.literature
@pytest.mark.parametrize(("over", "index"), [("nitride", 2.1 - 0j), ("glass", 1.47 - 0j)])
def test_the_swing_of_a_film_on_a_body(over, index):
    # T. A. Brunner, Proc. SPIE 1466, 297 (1991) (from memory): S = 4·√(R₁·R₂)·exp(−α·d), for small reflections
    wavelength, n, absorption, depth = 365e-9, 1.68, 0.3e6, 1.2e-6
    seen = n - 1j * extinction_of_absorption(absorption, wavelength)
    period = wavelength / (2 * n)
    depths = depth + period * np.linspace(-0.5, 0.5, 201)
    found = coupled_light(depths, [wavelength], [seen], [(over, 0.0)], {over: np.array([index])})[:, 0]
    level = found - np.linspace(found[0], found[-1], found.size) + found.mean()
    top, bottom = abs((1 - n) / (1 + n)), abs((n - index) / (n + index))
    rule = 4 * top * bottom * math.exp(-absorption * depth)
    assert swing_share(level) == pytest.approx(rule, rel=0.25)
    least = depths[int(np.argmin(level))], depths[int(np.argmax(level))]
    assert abs(least[0] - least[1]) == pytest.approx(period / 2, rel=0.1)


@pytest.mark.literature
def test_nothing_swings_where_nothing_comes_back():
    seen = 1.68 - 0.01j
    found = coupled_light(
        np.linspace(1.0e-6, 1.11e-6, 40), [365e-9], [seen], [("same", 0.0)], {"same": np.array([seen])}
    )[:, 0]
    # Lambert and Beer, with one reflection at the top: A = (1 − R)·(1 − exp(−α·d))
    alpha = 4 * math.pi * 0.01 / 365e-9
    expected = (1 - abs((1 - seen) / (1 + seen)) ** 2) * (
        1 - np.exp(-alpha * np.linspace(1.0e-6, 1.11e-6, 40))
    )
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.literature
def test_the_ends_and_the_turn_of_the_rate_law():
    # C. A. Mack, J. Electrochem. Soc. 134, 148 (1987) (from memory): R(0) = R_max + R_min, R(1) = R_min, and M_th is the point of
    # inflection of the rate
    law = {"most": 100e-9, "least": 0.1e-9, "exponent": 5.0, "threshold": 0.4}
    assert mack_rate(0.0, **law) == pytest.approx(100.1e-9)
    assert mack_rate(1.0, **law) == pytest.approx(0.1e-9)
    places = np.linspace(0.2, 0.6, 401)
    bend = np.diff([mack_rate(float(m), **law) for m in places], 2)
    turn = places[1:-1][int(np.argmin(np.abs(bend)))]
    assert turn == pytest.approx(0.4, abs=0.01)


@pytest.mark.analytic
def test_time_to_clear_of_an_even_film_and_of_a_steady_slope():
    assert time_to_clear(1e-6, [0.3, 0.3, 0.3], lambda m: 20e-9) == pytest.approx(50.0)
    # R rises linearly with M along the depth: ∫ dz/R = d·ln(R₂/R₁)/(R₂ − R₁)
    profile = np.linspace(0.0, 1.0, 4001)
    found = time_to_clear(1e-6, profile, lambda m: 10e-9 + 20e-9 * m)
    assert found == pytest.approx(1e-6 * math.log(3) / 20e-9, rel=1e-5)
    assert dark_loss(8e-9 / 60, 60.0) == pytest.approx(8e-9)


@pytest.mark.reference
def test_the_bottom_bleaches_as_tabulated_even_with_few_layers():
    # An independent quadrature of F. H. Dill's equations with A, B, C of 404.7 nm (check values, recomputed arithmetic)
    for dose, bottom in zip(
        (20, 50, 100, 150, 200), (0.85511, 0.64044, 0.34785, 0.16862, 0.07681), strict=True
    ):
        assert dill_bleaching(dose * 10, 1e-6, 0.86e6, 0.07e6, 0.0018, 24)[-1] == pytest.approx(
            bottom, rel=1e-3
        )


@pytest.mark.analytic
@pytest.mark.parametrize(
    "wrong",
    [
        lambda: edge_shift(0.1, 0.0, 1e-6, 1e-6),
        lambda: mack_rate(1.2, 1e-7, 0.0, 5.0, 0.3),
        lambda: mack_rate(0.5, 1e-7, 0.0, 1.0, 0.3),
        lambda: time_to_clear(1e-6, [0.5], lambda m: 1e-9),
        lambda: time_to_clear(1e-6, [0.5, 0.5], lambda m: 0.0),
        lambda: dark_loss(-1.0, 1.0),
        lambda: swing_share([0.0, 0.0]),
    ],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError, match=r".+"):
        wrong()
