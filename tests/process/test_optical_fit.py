"""Thickness and index from spectra and ellipsometric angles: every order, with honest intervals."""

from __future__ import annotations

import math

import numpy as np
import pytest
import tmm
from scipy import optimize

from filmwright.knowledge import optical
from filmwright.process import (
    Stacks,
    film_orders,
    illuminated,
    measured_angles,
    measured_reflectance,
    psi_delta,
    stacks,
)
from filmwright.units import to_si

NM, RED = to_si(1, "nm"), to_si(632.8, "nm")
WAVES = np.arange(400, 805, 5) * NM
STEEP = math.radians(70)


def oxide(nm: float, waves: np.ndarray = WAVES) -> Stacks:
    index = {name: optical(name).index(waves) for name in ("silicon dioxide", "silicon")}
    return stacks(waves, [[("silicon dioxide", nm * NM), ("silicon", 0.0)]], index)


def clear_film(nm: float, n: float, waves: np.ndarray) -> Stacks:
    return stacks(waves, [[("film", nm * NM), ("body", 0.0)]], {"film": n, "body": 3.874 - 0.0162j})


@pytest.mark.analytic
@pytest.mark.parametrize("nm", [0.0, 3.0, 43.0, 120.0, 437.0, 1290.0])
def test_a_spectrum_gives_back_its_thickness(nm: float):
    shares = illuminated(oxide(nm)).reflectance[0]
    best = film_orders(oxide(0), 0, measured_reflectance(shares, 0.003), (0, 1500 * NM))[0]
    assert best.thickness == pytest.approx(nm * NM, abs=0.01 * NM)
    assert best.odds == 1.0
    assert best.reduced_chi2 < 1e-3


@pytest.mark.analytic
def test_one_wavelength_gives_every_order():
    # ψ and Δ at one wavelength repeat after λ/(2·√(n² − sin²θ)): all of them are listed, equally likely.
    psi, delta = psi_delta(clear_film(120, 1.457, np.array([RED])), STEEP)
    data = measured_angles([STEEP], psi, delta, math.radians(0.05), math.radians(0.1))
    found = film_orders(clear_film(0, 1.457, np.array([RED])), 0, data, (0, 1000 * NM))
    period = RED / (2 * math.sqrt(1.457**2 - math.sin(STEEP) ** 2))
    likely = sorted(each.thickness for each in found if each.odds > 0.5)
    assert likely == pytest.approx([120 * NM + k * period for k in range(4)], abs=0.01 * NM)
    assert all(each.odds < 1e-9 for each in found[4:])


@pytest.mark.reference
def test_the_best_order_is_that_of_two_libraries():
    # tmm 0.2.0 predicts, scipy fits thickness and index from the truth's neighbourhood (reference).
    rng = np.random.default_rng(5)
    incidences, spread = np.radians([55.0, 62.0, 70.0]), math.radians(0.1)

    def told(d: float, n: float) -> np.ndarray:
        # The library's n + i·k and Δ of −r_p/r_s are our n − i·k and 180° − Δ.
        both = [tmm.ellips([1, n, 3.874 + 0.0162j], [math.inf, d, math.inf], a, 632.8) for a in incidences]
        return np.array([[each["psi"], math.pi - each["Delta"]] for each in both])

    data = told(85.0, 1.62) + rng.normal(0, spread, (3, 2))

    def off(x: np.ndarray) -> np.ndarray:
        apart = told(*x) - data
        return ((np.mod(apart + math.pi, 2 * math.pi) - math.pi) / spread).ravel()

    library = optimize.least_squares(off, [80.0, 1.6], x_scale=[1.0, 0.01], xtol=1e-12, ftol=1e-12)
    fitted = measured_angles(incidences.tolist(), data[:, :1], data[:, 1:], spread, spread)
    best = film_orders(clear_film(0, 1.6, np.array([RED])), 0, fitted, (0, 300 * NM), 0.2)[0]
    assert best.thickness / NM == pytest.approx(library.x[0], abs=2e-3)
    assert 1.6 + best.shift == pytest.approx(library.x[1], abs=2e-5)
    assert best.reduced_chi2 == pytest.approx(2 * library.cost / 4, rel=1e-4)


@pytest.mark.property
def test_intervals_hold_nineteen_times_out_of_twenty():
    # 60 noisy spectra of 180 nm: a 95 % interval misses 3 times; more than 9 or none wide of the mark has odds below 1 in 300.
    rng = np.random.default_rng(8)
    waves = np.linspace(450, 750, 25) * NM
    shares = illuminated(oxide(180, waves)).reflectance[0]
    hits = 0
    for _ in range(60):
        data = measured_reflectance(shares + rng.normal(0, 0.01, waves.size), 0.01)
        best = film_orders(oxide(0, waves), 0, data, (100 * NM, 260 * NM), 0.1)[0]
        hits += best.thickness_interval[0] <= 180 * NM <= best.thickness_interval[1]
    assert 51 <= hits <= 60


@pytest.mark.analytic
def test_the_index_comes_out_beside_the_thickness():
    waves = np.arange(400, 805, 5) * NM
    shares = illuminated(clear_film(310, 1.72, waves)).reflectance[0]
    best = film_orders(
        clear_film(0, 1.65, waves), 0, measured_reflectance(shares, 0.002), (0, 800 * NM), 0.15
    )[0]
    assert best.thickness == pytest.approx(310 * NM, abs=0.05 * NM)
    assert 1.65 + best.shift == pytest.approx(1.72, abs=1e-4)


@pytest.mark.property
def test_a_model_that_misses_widens_its_interval():
    shares = illuminated(oxide(437)).reflectance[0]
    good = film_orders(oxide(0), 0, measured_reflectance(shares, 0.003), (0, 1000 * NM))[0]
    bad = film_orders(oxide(0), 0, measured_reflectance(0.93 * shares, 0.003), (0, 1000 * NM))[0]
    assert bad.reduced_chi2 > 5
    widths = [high - low for low, high in (good.thickness_interval, bad.thickness_interval)]
    assert widths[1] > 2 * widths[0]


@pytest.mark.property
def test_what_cannot_be_told_is_said():
    # 3 nm of oxide at one wavelength: thickness and index only come as a product.
    psi, delta = psi_delta(clear_film(3, 1.46, np.array([RED])), STEEP)
    more = [psi_delta(clear_film(3, 1.46, np.array([RED])), a) for a in (STEEP, STEEP + 0.05)]
    data = measured_angles(
        [STEEP, STEEP + 0.05],
        np.concatenate([more[0][0], more[1][0]]),
        np.concatenate([more[0][1], more[1][1]]),
        math.radians(0.05),
        math.radians(0.1),
    )
    best = film_orders(clear_film(0, 1.46, np.array([RED])), 0, data, (0, 20 * NM), 0.1)[0]
    assert any("not identifiable" in note for note in best.notes) or (
        best.shift_interval[1] - best.shift_interval[0] > 0.2
    )
    outside = film_orders(clear_film(0, 1.46, np.array([RED])), 0, measured_angles([STEEP], psi, delta, 1e-3, 1e-3), (5 * NM, 20 * NM))  # fmt: skip
    assert any("end of the range" in note for note in outside[0].notes)


@pytest.mark.property
@pytest.mark.parametrize("free_index", [0.0, 0.1])
def test_a_film_that_no_light_reaches_is_not_told(free_index: float):
    index = {name: optical(name).index(WAVES) for name in ("chromium", "silicon dioxide", "silicon")}
    column = [("chromium", 2000 * NM), ("silicon dioxide", 100 * NM), ("silicon", 0.0)]
    stack = stacks(WAVES, [column], index)
    data = measured_reflectance(illuminated(stack).reflectance[0], 0.003)
    for order in film_orders(stack, 1, data, (0, 500 * NM), free_index):
        assert any("not identifiable" in note for note in order.notes)
        assert order.thickness_interval == (0, 500 * NM)


@pytest.mark.property
def test_nonsense_is_refused():
    stack, data = oxide(100), measured_reflectance(np.full(WAVES.size, 0.3), 0.01)
    with pytest.raises(ValueError, match="one of its 1 films"):
        film_orders(stack, 1, data, (0, 100 * NM))
    with pytest.raises(ValueError, match="must rise"):
        film_orders(stack, 0, data, (100 * NM, 0))
    with pytest.raises(ValueError, match="need more than 2 data"):
        film_orders(stack, 0, measured_reflectance([0.3, 0.3], 0.01), (0, 100 * NM), 0.1)
    with pytest.raises(ValueError, match="above zero"):
        measured_reflectance([0.3], 0.0)
    with pytest.raises(ValueError, match="finite"):
        measured_reflectance([math.nan], 0.1)
