"""Baths: what films take from them, how they fade; rings of a wafer that clear one after the other."""

import math

import numpy as np
import pytest

from filmwright.process import (
    faded,
    film_moles,
    fringe_time,
    line_light,
    not_yet_clear,
    reagent_used,
    regrown_after,
)
from filmwright.units import to_si


@pytest.mark.analytic
def test_gold_of_a_wafer_in_a_litre_of_iodine():
    # 100 nm on 78.54 cm² are 7.854e-4 cm³, at 19.3 g/cm³ 15.16 mg, at 196.97 g/mol 77 µmol; half as much iodine of 96 mmol
    gold = film_moles(to_si(100, "nm"), math.pi * 0.05**2, 19300.0, 0.19697)
    assert gold == pytest.approx(77.0e-6, rel=2e-3)
    assert reagent_used(gold, 0.5, 96.0, 1e-3) == pytest.approx(4.01e-4, rel=2e-3)


@pytest.mark.analytic
def test_a_bath_fades_to_one_over_e_and_with_what_was_taken():
    assert faded(3600.0, 3600.0) == pytest.approx(1 / math.e)
    assert faded(0.0, 1.0, 0.25) == pytest.approx(0.75)
    assert faded(0.0, 1.0, 2.0) == 0.0


@pytest.mark.analytic
def test_a_native_oxide_is_half_back_after_ln_2():
    assert regrown_after(0.75e-9, 1.5e-9, 100.0) == pytest.approx(100.0 * math.log(2))


@pytest.mark.analytic
def test_a_wafer_clears_from_its_first_ring_to_its_last():
    # film thicker by 4 % in the middle, etch slower by 5 % there: first clear at 0.96/1.05, last at 1.04/0.95 of the mean time
    first, last = 0.96 / 1.05, 1.04 / 0.95
    found = not_yet_clear(np.array([first - 1e-6, first + 1e-3, 1.0, last - 1e-3, last + 1e-6]), 0.04, 0.05)
    assert found[0] == 1.0
    assert 0.9 < found[1] < 1.0
    assert found[2] == pytest.approx(0.5)
    assert 0.0 < found[3] < 0.1
    assert found[4] == 0.0
    even = not_yet_clear(np.array([0.5, 1.5]), 0.0, 0.0)
    assert even.tolist() == [1.0, 0.0]


@pytest.mark.convergence
def test_rings_of_one_area_count_the_same():
    # against counting of points spread evenly over the disc, film and etch parabolic in the radius
    radius = np.sqrt((np.arange(200_000) + 0.5) / 200_000)
    x = 1 - 2 * radius**2
    moment = (1 + 0.06 * x) / (1 - 0.1 * x)
    for time in (0.9, 0.97, 1.05, 1.15):
        counted = np.mean(moment > time)
        assert not_yet_clear(np.array([time]), 0.06, 0.1)[0] == pytest.approx(counted, abs=1e-4)


@pytest.mark.analytic
def test_the_light_of_a_product_adds_up_to_the_film():
    # In real time the product comes at the rate A/(1 + k·A); its sum is the film, whatever the loading.
    time = np.linspace(0.0, 2.0, 4001)
    share = not_yet_clear(time, 0.03, 0.04) * 0.5
    sums = []
    for k in (0.0, 0.3, 1.0):
        real, light = line_light(time, share, k, rises=False)
        start = share[0] / (1 + k * share[0])
        sums.append(float(np.sum((light[1:] + light[:-1]) / 2 * np.diff(real))) * start)
    assert sums == pytest.approx([sums[0]] * 3, rel=1e-4)


@pytest.mark.analytic
def test_the_light_of_the_reactant_rises_by_one_plus_k_times_the_open_share():
    time = np.linspace(0.0, 2.0, 101)
    real, light = line_light(time, not_yet_clear(time, 0.0, 0.0) * 0.8, 0.25, rises=True)
    assert light[-1] / light[0] == pytest.approx(1 + 0.25 * 0.8)
    assert real[-1] == pytest.approx(1.2 + 1.0, abs=0.03)


@pytest.mark.property
def test_an_unevenness_of_the_whole_is_refused():
    with pytest.raises(ValueError, match="below 1"):
        not_yet_clear(np.array([1.0]), 1.0, 0.0)
    assert fringe_time(670e-9, 2.0, 1e-9) > 0
