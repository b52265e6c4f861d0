"""How the end of an etch is seen, against the closed forms of optics."""

import math

import numpy as np
import pytest

from filmwright.process import fringe_time, thinning_reflectance


@pytest.mark.literature
def test_fringes_follow_each_other_by_half_a_wavelength_in_the_film():
    # M. Born, E. Wolf, Principles of Optics, 7.6 (from memory): maxima of a transparent film repeat every λ/(2n)
    wavelength, n, rate, depth = 670e-9, 2.0, 1.75e-9, 670e-9
    index = {"nitride": complex(n), "silicon": 3.8 - 0.01j}
    trace = thinning_reflectance(("nitride", depth), [("silicon", 0.0)], wavelength, index, 2001)
    times = np.linspace(0.0, depth / rate, 2001)
    minima = [k for k in range(1, 2000) if trace[k] < trace[k - 1] and trace[k] <= trace[k + 1]]
    assert len(minima) == 4
    assert np.diff(times[minima]) == pytest.approx(fringe_time(wavelength, n, rate), rel=2e-3)
    # Quarter-wave film: R = ((n₀·n_s − n²)/(n₀·n_s + n²))², the minimum; bare body at the end: ((1 − n_s)/(1 + n_s))²
    assert min(trace) == pytest.approx(((3.8 - n**2) / (3.8 + n**2)) ** 2, abs=1e-3)
    assert trace[-1] == pytest.approx((2.8 / 4.8) ** 2, rel=1e-3)


@pytest.mark.literature
def test_a_thick_metal_hides_what_lies_beneath_until_the_last_nanometres():
    # Skin depth λ/(4πk) (Born and Wolf, 14.2, from memory): 60 nm of a metal with k = 4 leave exp(−60/13) of the field
    # that has passed twice, which beats with what the top sends back
    index = {"metal": 3.0 - 4.0j, "silicon": 3.8 - 0.01j}
    trace = thinning_reflectance(("metal", 60e-9), [("silicon", 0.0)], 670e-9, index, 61)
    bulk = abs((1 - index["metal"]) / (1 + index["metal"])) ** 2
    assert trace[0] == pytest.approx(bulk, abs=2 * math.exp(-60 / 13.3))
    assert abs(trace[30] - trace[0]) < 0.03 < abs(trace[-1] - trace[0])


@pytest.mark.analytic
@pytest.mark.parametrize("wrong", [(0.0, 1.5, 1e-9), (670e-9, 0.0, 1e-9), (670e-9, 1.5, 0.0)])
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError, match="must"):
        fringe_time(*wrong)
