"""Bakes, latent image, alignment and priming against closed forms, other solvers and published numbers."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from filmwright.process import (
    Input,
    adhesion_work,
    baking,
    coupled_light,
    dill_bleaching,
    extinction_of_absorption,
    latent,
    mack_rate,
    mack_rates,
    resist_laws,
    returned_from,
    run_out,
    standing_gap,
    turn_at_rim,
    undercut_of_layer,
)
from filmwright.sources import Source

WAVES = np.array([365.02e-9, 404.66e-9, 435.83e-9])
A, B, C = (
    np.array([0.74, 0.86, 0.54]) * 1e6,
    np.array([0.2, 0.07, 0.03]) * 1e6,
    np.array([1.2, 1.8, 1.4]) * 1e-3,
)


def lit(lines=slice(None), dose=300.0, depth=1.3e-6, beneath=0.0):
    waves = WAVES[lines]
    return latent.Bleached(
        wavelength=waves,
        dose=np.full(waves.size, dose),
        depth=np.array(depth),
        bleachable=A[lines],
        fixed=B[lines],
        sensitivity=C[lines],
        index=1.68,
        beneath=np.full(waves.size, beneath, dtype=complex),
    )


@pytest.mark.literature
def test_the_compound_goes_as_the_published_law_says():
    # C. A. Mack, Fundamental Principles of Optical Lithography, ch. 5 (from memory): E 30.3 kcal/mol, ln A 35.3 with A in 1/min.
    for celsius, minutes in ((85, 30), (100, 30), (110, 1), (120, 1)):
        rate = math.exp(35.3 - 30.3 / (1.987e-3 * (celsius + 273.15)))
        found = baking.compound_after_bake(
            35.3 - math.log(60), 30.3 * 4184 / 6.02214076e23, celsius + 273.15, minutes * 60
        )
        assert found == pytest.approx(math.exp(-rate * minutes), rel=1e-2)


@pytest.mark.analytic
def test_a_dose_makes_up_for_lost_compound():
    dose, sensitivity, left = 1000.0, 1.8e-3, 0.95
    more = baking.dose_after_bake(dose, sensitivity, left)
    assert left * (1 - math.exp(-sensitivity * more)) == pytest.approx(1 - math.exp(-sensitivity * dose))
    assert more > dose
    assert baking.dose_after_bake(dose, sensitivity, 1.0) == pytest.approx(dose)
    assert math.isinf(baking.dose_after_bake(dose, sensitivity, 0.5))


@pytest.mark.reference
def test_a_wafer_warms_up_as_its_differential_equation_says():
    constant = baking.plate_time_constant(1.66e6, 525e-6, 100e-6, 0.03)
    assert constant == pytest.approx(1.66e6 * 525e-6 * 100e-6 / 0.03)
    start, plate, near = 293.0, 373.0, 1.0
    time = baking.time_to_temperature(constant, start, plate, near)
    solved = solve_ivp(lambda _, t: (plate - t) / constant, (0, time), [start], rtol=1e-9, atol=1e-9)
    assert plate - solved.y[0, -1] == pytest.approx(near, rel=1e-5)
    assert baking.time_to_temperature(constant, plate, plate, near) == 0.0


@pytest.mark.literature
def test_without_light_from_beneath_the_profile_is_that_of_dill():
    # F. H. Dill et al. (1975) by the first integral of Babu and Barouch: another equation for the same profile.
    within = 1 - (0.68 / 2.68) ** 2
    for line in range(3):
        one = slice(line, line + 1)
        found = latent.compound_after_exposure(lit(one, dose=1000.0 / within), 100)
        edges = dill_bleaching(1000.0, 1.3e-6, A[line], B[line], C[line], 100)
        assert found == pytest.approx((edges[1:] + edges[:-1]) / 2, abs=2e-3)


@pytest.mark.analytic
@pytest.mark.parametrize("below", [1.5 - 0j, 5.6 - 0.4j, 2.1 - 3.0j])
def test_what_the_standing_wave_takes_up_is_what_the_multilayer_absorbs(below):
    depth, layers = 1.3e-6, 400
    alpha = A + B
    seen = 1.68 - 1j * np.array([extinction_of_absorption(a, w) for a, w in zip(alpha, WAVES, strict=True)])
    films = [("oxide", 150e-9), ("body", 0.0)]
    index = {"oxide": np.full(3, 1.47 - 0j), "body": np.full(3, below)}
    back = returned_from(WAVES, seen, films, index)
    height = depth / layers
    turn = 2 * np.pi * seen[:, None] / WAVES[:, None] * height * np.ones(layers)
    end = np.cumsum(turn, axis=1)
    light = latent.standing_light(1.68, end - turn / 2, end[:, -1:], back[:, None])
    taken = (light * alpha[:, None] * height).sum(axis=1)
    # The admittance of the resist is taken as real: a part in a hundred.
    assert taken == pytest.approx(coupled_light([depth], WAVES, seen, films, index)[0], rel=0.02)


@pytest.mark.analytic
def test_nodes_lie_half_a_wavelength_in_the_resist_apart():
    one = lit(slice(1, 2), dose=200.0, beneath=-0.6)
    layers = latent.layers_for(1.3e-6, WAVES[1], 1.68, 40)
    left = latent.compound_after_exposure(one, layers)
    inner = (left[1:-1] > left[:-2]) & (left[1:-1] > left[2:])
    nodes = (np.flatnonzero(inner) + 1.5) * 1.3e-6 / layers
    assert np.diff(nodes) == pytest.approx(WAVES[1] / (2 * 1.68), rel=0.05)
    # A metal turns the phase: its surface is a node, and the resist there is left unexposed.
    assert left[-1] > left[-layers // 20 :].min()


@pytest.mark.convergence
def test_steps_of_dose_converge_with_the_square():
    exact = latent.compound_after_exposure(lit(beneath=0.5), 80, 48)
    errors = [
        np.abs(latent.compound_after_exposure(lit(beneath=0.5), 80, steps) - exact).max() for steps in (3, 6)
    ]
    assert errors[0] < 4e-3
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.3)


@pytest.mark.literature
def test_amplitudes_from_beneath_are_those_of_fresnel_and_of_a_quarter_wave():
    seen = np.array([1.68 - 0j])
    bare = returned_from([400e-9], seen, [("body", 0.0)], {"body": np.array([5.5 - 0j])})
    assert bare[0] == pytest.approx((1.68 - 5.5) / (1.68 + 5.5))
    # M. Born, E. Wolf, Principles of Optics, 1.6 (from memory): a quarter wave of the geometric mean sends nothing back.
    mean = math.sqrt(1.68 * 5.5)
    film = [("quarter", 400e-9 / (4 * mean)), ("body", 0.0)]
    index = {"quarter": np.array([mean + 0j]), "body": np.array([5.5 - 0j])}
    assert abs(returned_from([400e-9], seen, film, index)[0]) == pytest.approx(0.0, abs=1e-12)
    # 4 % of the light back gives waves of 1.2² over 0.8².
    assert latent.standing_contrast([0.2j])[0] == pytest.approx(2.25)


@pytest.mark.literature
def test_water_holds_on_itself_with_twice_its_tension():
    # 72.8 mN/m at 20 °C: work of cohesion 145.6 mJ/m² (A. W. Adamson, Physical Chemistry of Surfaces, from memory)
    assert adhesion_work(72.8e-3, 0.0) == pytest.approx(145.6e-3)
    assert adhesion_work(72.8e-3, math.pi) == pytest.approx(0.0)
    assert adhesion_work(72.8e-3, math.pi / 2) == pytest.approx(72.8e-3)


@pytest.mark.analytic
def test_run_out_turn_and_gap_by_hand():
    # A soda-lime plate (8.1e-6/K) and silicon (2.6e-6/K), one kelvin, rim of a 100 mm wafer: 0.275 µm.
    assert run_out(8.1e-6, 2.6e-6, 1.0, 50e-3) == pytest.approx(0.275e-6)
    assert run_out(2.6e-6, 8.1e-6, 1.0, 50e-3) == pytest.approx(-0.275e-6)
    # Marks at both rims, off by 1 µm the other way: the rim turns by 1 µm; of two independent errors, √2/2 of one.
    assert turn_at_rim(1e-6, 100e-3, 50e-3) == pytest.approx(math.sqrt(0.5) * 1e-6)
    assert standing_gap(2.6e-6, 1.3e-6, 40e-6, 0.01, 0.5e-6) == pytest.approx(2.2e-6)
    assert standing_gap(1.3e-6, 1.3e-6, 0.0, 0.01, 0.5e-6) == pytest.approx(0.5e-6)


@pytest.mark.analytic
def test_rates_of_rows_are_those_of_one_and_an_undercut_begins_when_the_resist_has_cleared():
    left = np.linspace(0, 1, 7)
    rows = mack_rates(left, np.array(7e-8), np.array(1e-10), np.array(3.0), np.array(0.6))
    assert rows == pytest.approx([mack_rate(float(m), 7e-8, 1e-10, 3.0, 0.6) for m in left])
    assert undercut_of_layer(1e-8, 1e-19, 443.0, 443.0, 60.0, 20.0) == pytest.approx(4e-7)
    assert undercut_of_layer(1e-8, 1e-19, 453.0, 443.0, 60.0, 20.0) < 4e-7
    assert undercut_of_layer(1e-8, 1e-19, 443.0, 443.0, 20.0, 60.0) == 0.0


@pytest.mark.reference
def test_all_rows_at_once_give_the_same_spread_as_one_by_one():
    source = Source(citation="a test", kind="lab")

    def given(symbol, value, std):
        return Input(symbol=symbol, name=symbol, value=value, unit="", source=source, std=std)

    inputs = {
        "d": given("d", 1.3, 0.0),
        "k": given("d_0", 1.32, 0.03),
        "n": given("n", 0.5, 0.02),
        "w": given("ω_0", 4.0, 0.1),
    }

    def law(d, k, n, w):
        return w * (k / d) ** (1 / n)

    one, all_rows = (
        way(law, inputs, unit="")
        for way in (resist_laws.SPIN_CURVE.derive, resist_laws.SPIN_CURVE.derive_at_once)
    )
    assert all_rows.result == pytest.approx(one.result)
    assert all_rows.std == pytest.approx(one.std)
    assert all_rows.shares == pytest.approx(one.shares)


@pytest.mark.property
@pytest.mark.parametrize(
    "refused",
    [
        lambda: baking.plate_time_constant(1.0, 0.0, 1.0, 1.0),
        lambda: baking.time_to_temperature(1.0, 300.0, 400.0, 0.0),
        lambda: baking.compound_after_bake(30.0, 0.0, 300.0, 1.0),
        lambda: baking.dose_after_bake(1.0, 1.0, 1.2),
        lambda: adhesion_work(1.0, 4.0),
        lambda: run_out(-1.0, 0.0, 1.0, 1.0),
        lambda: turn_at_rim(1.0, 0.0, 1.0),
        lambda: standing_gap(-1.0, 0.0, 0.0, 0.0, 0.0),
        lambda: latent.standing_contrast([1.0]),
        lambda: latent.standing_light(0.0, np.zeros(1), np.zeros(1), np.zeros(1)),
        lambda: latent.layers_for(0.0, 1.0, 1.0),
        lambda: latent.compound_after_exposure(lit(dose=-1.0), 10),
        lambda: returned_from([4e-7], [1.6 + 0j], [("nothing", 0.0)], {}),
        lambda: mack_rates(np.zeros(1), np.ones(1), np.ones(1), np.ones(1), np.zeros(1)),
        lambda: undercut_of_layer(1.0, 1.0, 0.0, 1.0, 1.0, 1.0),
    ],
)
def test_nonsense_is_refused(refused):
    with pytest.raises(ValueError, match=r"must|no optical"):
        refused()
