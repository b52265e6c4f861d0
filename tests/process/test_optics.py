"""Light on stacks of films against closed forms, published values and a general-purpose transfer-matrix library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import tmm
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from filmwright.knowledge import optical
from filmwright.process import Stacks, contrast, illuminated, psi_delta, pupil, reflectances, stacks
from filmwright.units import to_si

NM, RED = to_si(1, "nm"), to_si(632.8, "nm")
SILICON, OXIDE, NITRIDE = 3.874 - 0.01616j, 1.457, 2.0105


def on(body: complex, films: dict[complex, float], wavelength: float = RED, **more: object) -> Stacks:
    """One column of films given by their index, from the top."""
    names = {f"film {j}": index for j, index in enumerate(films)} | {"body": body}
    column = [(f"film {j}", d) for j, d in enumerate(films.values())] + [("body", 0.0)]
    return stacks([wavelength], [column], names, **more)


indices = st.complex_numbers(min_magnitude=0, max_magnitude=5, allow_nan=False).map(
    lambda z: complex(1.0 + abs(z.real), -abs(z.imag))
)
piles = st.lists(st.tuples(indices, st.floats(0, 600)), min_size=0, max_size=6)


def of_pile(pile: list[tuple[complex, float]], body: complex, wavelength: float) -> Stacks:
    names = {str(j): index for j, (index, _) in enumerate(pile)} | {"body": body}
    column = [(str(j), d * NM) for j, (_, d) in enumerate(pile)] + [("body", 0.0)]
    return stacks([wavelength * NM], [column], names)


@pytest.mark.reference
@given(piles, indices, st.floats(300, 900), st.floats(0, 1.5), st.sampled_from(["s", "p"]))
def test_piles_as_a_transfer_matrix_library_has_them(pile, body, wavelength, angle, polarisation):
    # tmm 0.2.0 (reference); its indices are n + i·k. 1e-9: the accuracy asked for, rounding is 1e-12.
    seen = illuminated(of_pile(pile, body, wavelength), angle, polarisation)
    index = [1.0, *(n.conjugate() for n, _ in pile), body.conjugate()]
    thickness = [math.inf, *(d for _, d in pile), math.inf]
    told = tmm.coh_tmm(polarisation, index, thickness, angle, wavelength)
    assert seen.reflectance[0, 0] == pytest.approx(told["R"], abs=1e-9)
    assert seen.transmittance[0, 0] == pytest.approx(told["T"], abs=1e-9)
    absorbed = tmm.absorp_in_each_layer(told)[1:-1]
    assert seen.absorbed[0, :, 0] == pytest.approx(absorbed, abs=1e-9)


@pytest.mark.reference
@given(piles, st.floats(1.3, 2.5), st.floats(0, 1e-5), st.floats(0, 1.2), st.sampled_from(["s", "p"]))
def test_a_thick_plate_as_a_transfer_matrix_library_has_it(pile, n, k, angle, polarisation):
    # tmm 0.2.0, coherent films on an incoherent plate of 0.5 mm with air behind (reference); 1e-9 as above.
    wavelength, body = 550.0, complex(n, -k)
    stack = of_pile(pile, body, wavelength)
    plate = Stacks(**{**vars(stack), "plate": np.array([5e5 * NM])})
    seen = illuminated(plate, angle, polarisation)
    index = [1.0, *(each.conjugate() for each, _ in pile), body.conjugate(), 1.0]
    thickness = [math.inf, *(d for _, d in pile), 5e5, math.inf]
    told = tmm.inc_tmm(polarisation, index, thickness, ["i", *"c" * len(pile), "i", "i"], angle, wavelength)
    assert seen.reflectance[0, 0] == pytest.approx(told["R"], abs=1e-9)
    assert seen.transmittance[0, 0] == pytest.approx(told["T"], abs=1e-9)


@pytest.mark.property
@given(piles, indices, st.floats(300, 900), st.floats(0, 0.9))
def test_no_light_is_lost_and_none_is_made(pile, body, wavelength, aperture):
    seen = illuminated(of_pile(pile, body, wavelength), aperture=aperture)
    whole = seen.reflectance + seen.transmittance + seen.absorbed.sum(axis=1) + seen.body
    assert whole == pytest.approx(1.0, abs=1e-12)
    assert seen.reflectance.min() >= 0
    assert seen.absorbed.min(initial=0.0) >= -1e-12


@pytest.mark.property
def test_the_balance_of_a_plate_closes_too():
    stack = on(1.52 - 1e-6j, {2.0 - 0.1j: 80 * NM, 1.46: 50 * NM}, plates={"body": 0.7e-3})
    seen = illuminated(stack, 0.6)
    whole = seen.reflectance + seen.transmittance + seen.absorbed.sum(axis=1) + seen.body
    assert whole == pytest.approx(1.0, abs=1e-12)
    assert seen.body[0, 0] > 0


@pytest.mark.property
def test_a_film_of_nothing_and_an_opaque_film_end_the_pile():
    bare, none = on(SILICON, {}), on(SILICON, {1.7: 0.0})
    assert illuminated(none).reflectance == pytest.approx(illuminated(bare).reflectance, abs=1e-15)
    metal = 3.14 - 3.315j
    thick, body = on(SILICON, {metal: 5000 * NM}), on(metal, {})
    assert illuminated(thick).reflectance == pytest.approx(illuminated(body).reflectance, abs=1e-15)


@pytest.mark.analytic
def test_brewster_angle_reflects_no_p_light():
    # tan θ = n₂/n₁.
    angle = math.atan(1.5)
    assert illuminated(on(1.5, {}), angle, "p").reflectance[0, 0] == pytest.approx(0.0, abs=1e-15)
    assert illuminated(on(1.5, {}), angle, "s").reflectance[0, 0] == pytest.approx(
        ((1.5**2 - 1) / (1.5**2 + 1)) ** 2, rel=1e-12
    )


@pytest.mark.analytic
def test_quarter_and_half_waves():
    # A quarter wave turns n_s into n²/n_s, R = ((n_s − n²)/(n_s + n²))²; a half wave is not seen.
    n, body = 1.457, 3.874
    quarter = illuminated(on(body, {n: RED / (4 * n)})).reflectance[0, 0]
    assert quarter == pytest.approx(((body - n**2) / (body + n**2)) ** 2, rel=1e-12)
    half = illuminated(on(body, {n: RED / (2 * n)})).reflectance[0, 0]
    assert half == pytest.approx(((body - 1) / (body + 1)) ** 2, rel=1e-12)


@pytest.mark.analytic
def test_a_plate_of_glass_by_hand():
    # Two faces that add powers: R = 2r/(1 + r) with r = ((n − 1)/(n + 1))²; T = 1 − R.
    r = (0.5 / 2.5) ** 2
    seen = illuminated(on(1.5, {}, plates={"body": 1e-3}))
    assert seen.reflectance[0, 0] == pytest.approx(2 * r / (1 + r), rel=1e-12)
    assert seen.transmittance[0, 0] == pytest.approx(1 - 2 * r / (1 + r), rel=1e-12)


@pytest.mark.literature
def test_bulk_reflectances():
    # Fresnel with n and k of Green 2008, Johnson and Christy 1974, Kirillova 1971 at 632.8 nm (published, worked).
    for name, share in (("silicon", 0.3477), ("chromium", 0.55349), ("molybdenum", 0.58197)):
        constants = optical(name)
        assert constants is not None
        found = illuminated(stacks([RED], [[(name, 0.0)]], {name: constants.index([RED])})).reflectance[0, 0]
        assert found == pytest.approx(share, abs=0.002), name


@pytest.mark.literature
@pytest.mark.parametrize(
    ("film", "rows"),
    [
        ("silicon dioxide", {0: 0.3477, 20: 0.33191, 50: 0.25348, 100: 0.09071, 108.6: 0.08527, 200: 0.33638, 217.2: 0.3477, 300: 0.13109, 500: 0.19429}),
        ("stoichiometric silicon nitride", {0: 0.3477, 50: 0.1345, 78.2: 0.00047, 100: 0.08456, 150: 0.34299, 200: 0.18725}),
    ],
)  # fmt: skip
def test_reflectances_of_films_on_silicon(film: str, rows: dict[float, float]):
    # 632.8 nm, Malitson 1965 and Philipp 1973 on Green 2008 (published, worked); 0.001 for rounded indices.
    index = {name: optical(name).index([RED]) for name in (film, "silicon")}
    stack = stacks([RED], [[(film, d * NM), ("silicon", 0.0)] for d in rows], index)
    assert illuminated(stack).reflectance[:, 0] == pytest.approx(list(rows.values()), abs=0.001)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("index", "rows"),
    [
        (1.457, {0: (10.514, 179.34), 2: (10.558, 173.6), 10: (11.418, 152.03), 25: (15.05, 122.31), 50: (22.813, 95.8), 100: (41.027, 79.72)}),
        (2.0, {25: (15.449, 109.06), 50: (24.261, 70.82), 100: (39.453, 331.57)}),
    ],
)  # fmt: skip
def test_psi_and_delta_of_films_on_silicon(index: float, rows: dict[float, tuple[float, float]]):
    # 70 °, 632.8 nm, silicon 3.874 − 0.0162i, n − i·k and Δ near 180 ° for bare silicon (from memory, worked); 0.05 ° of
    # rounding.
    names = {"film": index, "silicon": 3.874 - 0.0162j}
    stack = stacks([RED], [[("film", d * NM), ("silicon", 0.0)] for d in rows], names)
    psi, delta = psi_delta(stack, math.radians(70))
    assert np.degrees(psi[:, 0]) == pytest.approx([each[0] for each in rows.values()], abs=0.05)
    assert np.degrees(delta[:, 0]) == pytest.approx([each[1] for each in rows.values()], abs=0.05)


@pytest.mark.reference
@given(st.floats(0.3, 1.4), indices, indices, st.floats(0, 400))
def test_psi_and_delta_as_a_transfer_matrix_library_has_them(angle, film, body, nm):
    # tmm 0.2.0 (reference): n + i·k and Δ of −r_p/r_s there are n − i·k and 180° − Δ here.
    assume(abs(body - 1) > 0.05)
    psi, delta = psi_delta(of_pile([(film, nm)], body, 600.0), angle)
    told = tmm.ellips([1, film.conjugate(), body.conjugate()], [math.inf, nm, math.inf], angle, 600.0)
    assume(1e-3 < told["psi"] < math.pi / 2 - 1e-3)
    assert psi[0, 0] == pytest.approx(told["psi"], abs=1e-9)
    assert math.cos(delta[0, 0] + told["Delta"]) == pytest.approx(-1.0, abs=1e-9)


@pytest.mark.literature
def test_thickness_repeats_after_half_a_wave_in_the_film():
    # d = λ/(2·√(n² − sin²θ)): 217.16 nm straight down, 284.1 nm at 70 ° (published, worked); 0.05 nm of rounding.
    for degrees, period in ((0.0, 217.16), (70.0, 284.1)):
        thicknesses = [30 * NM, 30 * NM + period * NM]
        stack = stacks(
            [RED],
            [[("film", d), ("body", 0.0)] for d in thicknesses],
            {"film": 1.45702, "body": 3.874 - 0.0162j},
        )
        found = illuminated(stack, math.radians(degrees), "s").reflectance[:, 0]
        assert found[0] == pytest.approx(found[1], abs=2e-4)


@pytest.mark.property
@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1), st.sampled_from([0.0, 0.4]))
def test_single_precision_says_what_double_precision_says(seed, aperture):
    rng = np.random.default_rng(seed)
    waves = np.linspace(380, 780, 17) * NM
    index = rng.uniform(1.3, 4.5, (6, 17)) - 1j * rng.choice([0.0, 1e-3, 0.1, 4.0], (6, 1))
    stack = Stacks(
        wavelength=waves,
        index=index,
        films=rng.integers(0, 6, (9, 5)),
        thickness=rng.choice([0.0, 1.0, 37.0, 450.0, 3000.0], (9, 5)) * NM,
        below=rng.integers(0, 6, 9),
        above=np.ones(17, complex),
        plate=np.where(rng.random(9) < 0.2, to_si(0.5, "mm"), np.inf),
        behind=np.ones(17, complex),
    )
    exact = illuminated(stack, aperture=aperture).reflectance
    # A tenth of one step of a screen; phases of micrometre films carry 1e-6 turns of rounding.
    assert reflectances(stack, aperture) == pytest.approx(exact, abs=1e-4)
    assert np.array_equal(reflectances(stack, aperture), reflectances(stack, aperture, threads=2))


@pytest.mark.convergence
def test_the_pupil_converges_with_its_angles():
    # Gauss–Legendre: the error of an even pupil falls by far more than ten when the angles double.
    stack = on(SILICON, {1.457: 700 * NM})

    def averaged(count: int) -> float:
        return sum(w * _unpolarised(stack, s) for w, s in pupil(0.9, count))

    exact = averaged(40)
    errors = [abs(averaged(count) - exact) for count in (2, 4, 8)]
    assert errors[1] < errors[0] / 10
    assert errors[2] < errors[1] / 10
    assert illuminated(stack, aperture=0.9).reflectance[0, 0] == pytest.approx(exact, abs=1e-4)


def _unpolarised(stack: Stacks, sine: float) -> float:
    angle = math.asin(sine)
    return float(illuminated(stack, angle).reflectance[0, 0])


@pytest.mark.analytic
def test_a_small_aperture_looks_straight_down_and_an_even_pupil_weighs_the_rim():
    stack = on(SILICON, {1.457: 300 * NM})
    assert illuminated(stack, aperture=0.01).reflectance == pytest.approx(
        illuminated(stack).reflectance, abs=1e-4
    )
    # ∫ sin²θ d(sin²θ) over an even pupil is NA²/2.
    assert sum(w * s**2 for w, s in pupil(0.6)) == pytest.approx(0.18, rel=1e-12)


@pytest.mark.analytic
def test_contrast_of_marks():
    assert contrast(0.6, 0.2) == pytest.approx(0.5)
    assert contrast([0.3, 0.0], [0.3, 0.0]) == pytest.approx([0.0, 0.0])
    with pytest.raises(ValueError, match="zero or more"):
        contrast(-0.1, 0.2)


@pytest.mark.property
def test_nonsense_is_refused():
    stack = on(SILICON, {})
    with pytest.raises(ValueError, match="no optical constants were given for nowhere"):
        stacks([RED], [[("nowhere", 0.0)]], {})
    with pytest.raises(ValueError, match="a body at least"):
        stacks([RED], [[]], {})
    with pytest.raises(ValueError, match="n − i·k"):
        on(3.874 + 0.016j, {})
    with pytest.raises(ValueError, match="zero or more"):
        on(SILICON, {1.5: -1 * NM})
    with pytest.raises(ValueError, match="below 90"):
        illuminated(stack, 1.6)
    with pytest.raises(ValueError, match="not both"):
        illuminated(stack, 0.1, aperture=0.1)
    with pytest.raises(ValueError, match="above 0 and below 90"):
        psi_delta(stack, 0.0)
    with pytest.raises(ValueError, match="below 1"):
        illuminated(stack, aperture=1.2)
