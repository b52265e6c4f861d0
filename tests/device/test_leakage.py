"""Laws of currents through insulators and of what surrounds a channel, against their slopes and against other solutions."""

import math

import numpy as np
import pytest

from filmwright.device import (
    fowler_nordheim_field,
    fringe_width,
    poole_frenkel_current,
    poole_frenkel_slope,
    thermal_resistance,
    tunnelling_current,
)
from filmwright.units import to_si

CHARGE, PERMITTIVITY, BOLTZMANN = 1.602176634e-19, 8.8541878128e-12, 1.380649e-23


@pytest.mark.analytic
def test_the_poole_frenkel_plot_is_a_line_of_the_slope_of_the_law():
    field = np.linspace(0.5e8, 3e8, 40)
    current = poole_frenkel_current(field, 0.1, 1.3, 4.0, 300.0)
    slope = np.polyfit(np.sqrt(field), np.log(current / field), 1)[0]
    # β = √(q/(π·ε₀·ε_∞)) = 3.795e-5 V·(m/V)^½ at ε_∞ = 4, over kT/q = 25.852 mV at 300 K.
    by_hand = math.sqrt(CHARGE / (math.pi * PERMITTIVITY * 4.0)) / (BOLTZMANN * 300.0 / CHARGE)
    assert by_hand == pytest.approx(3.795e-5 / 0.025852, rel=1e-3)
    assert slope == pytest.approx(by_hand, rel=1e-9)
    assert poole_frenkel_slope(4.0, 300.0) == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.analytic
def test_traps_freeze_with_their_depth_less_what_the_field_takes():
    field = 1e8
    inverse = np.array([1 / 350.0, 1 / 300.0])
    logs = np.log([poole_frenkel_current(field, 0.1, 1.3, 4.0, 1 / each) for each in inverse])
    energy = -(logs[1] - logs[0]) / (inverse[1] - inverse[0]) * BOLTZMANN / CHARGE
    assert energy == pytest.approx(1.3 - 3.795e-5 * math.sqrt(field), rel=1e-3)


@pytest.mark.literature
def test_the_fowler_nordheim_slope_of_thermal_oxide():
    # Lenzlinger and Snow 1969: about 240 MV/cm for 3.2 eV and 0.42 of the free mass (from memory); the plot gives it back.
    steep = fowler_nordheim_field(3.2, 0.42)
    assert steep == pytest.approx(to_si(2.53e2, "MV/cm"), rel=0.02)
    field = np.linspace(7e8, 1e9, 40)
    current = tunnelling_current(field, 3.2, 0.42, 20e-9)
    slope = np.polyfit(1 / field, np.log(current / field**2), 1)[0]
    assert slope == pytest.approx(-steep, rel=1e-9)
    # Some 1e-6 A/cm² at 7 MV/cm is what tables of thermal oxide have, within a factor of ten (from memory).
    assert 1e-8 < tunnelling_current(7e8, 3.2, 0.42, 20e-9) / 1e4 < 1e-5


@pytest.mark.reference
def test_the_exponent_through_a_whole_film_is_that_of_its_barrier():
    from scipy.integrate import quad

    barrier, mass, thick, field = 3.2, 0.42, 3e-9, 5e8
    kappa = 2 * math.sqrt(2 * mass * 9.1093837015e-31 * CHARGE) / (6.62607015e-34 / (2 * math.pi))
    exponent = kappa * quad(lambda x: math.sqrt(barrier - field * x), 0, thick)[0]
    current = tunnelling_current(field, barrier, mass, thick)
    before = CHARGE**2 / (8 * math.pi * 6.62607015e-34 * barrier * mass) * field**2
    rest = math.sqrt(1 - field * thick / barrier)
    assert math.log(before / (1 - rest) ** 2 / current) == pytest.approx(exponent, rel=1e-9)


@pytest.mark.property
def test_a_thinner_film_leaks_more_and_none_without_a_field():
    assert tunnelling_current(0.0, 3.0, 0.4, 5e-9) == 0.0
    assert poole_frenkel_current(0.0, 1.0, 1.2, 4.0, 300.0) == 0.0
    voltage = 2.0
    thick = np.array([2e-9, 3e-9, 4e-9])
    found = [float(tunnelling_current(voltage / each, 3.0, 0.4, each)) for each in thick]
    assert found[0] > 10 * found[1] > 100 * found[2]
    with pytest.raises(ValueError, match="barrier"):
        tunnelling_current(1e8, 0.0, 0.4, 5e-9)
    with pytest.raises(ValueError, match="field"):
        poole_frenkel_current(-1.0, 1.0, 1.2, 4.0, 300.0)


@pytest.mark.analytic
def test_heat_through_a_film_and_into_a_body():
    films = thermal_resistance(100e-6, 10e-6, [300e-9], [1.3], 1e12)
    assert films == pytest.approx(300e-9 / (1.3 * 1e-9), rel=1e-6)
    # Mean temperature of an evenly heated disc on a half space: 8/(3π²) of P/(κ·a), Carslaw and Jaeger (from memory); a disc at one
    # temperature has 1/(4·κ·a), and lies a little lower.
    body = thermal_resistance(100e-6, 10e-6, [], [], 148.0)
    radius = math.sqrt(1e-9 / math.pi)
    assert 1 / (4 * 148.0 * radius) < body < 1.1 / (4 * 148.0 * radius)
    with pytest.raises(ValueError, match="each film"):
        thermal_resistance(1e-6, 1e-6, [1e-9], [], 1.0)


def _conductance(island: int, contact: int, gap: int, deep: int) -> float:
    """Squares of a sheet between two contacts of width ``contact`` (nodes), in an island wider by ``island`` at each side, by finite
    differences."""
    from scipy.sparse import lil_matrix
    from scipy.sparse.linalg import spsolve

    rows, columns = contact + 2 * island, gap + 2 * deep
    fixed = np.full((rows, columns), np.nan)
    fixed[island : island + contact, :deep], fixed[island : island + contact, -deep:] = 1.0, 0.0
    index = np.arange(rows * columns).reshape(rows, columns)
    matrix, right = lil_matrix((rows * columns, rows * columns)), np.zeros(rows * columns)
    for r in range(rows):
        for c in range(columns):
            k = index[r, c]
            if not np.isnan(fixed[r, c]):
                matrix[k, k], right[k] = 1.0, fixed[r, c]
                continue
            for i, j in ((r - 1, c), (r + 1, c), (r, c - 1), (r, c + 1)):
                if 0 <= i < rows and 0 <= j < columns:
                    matrix[k, k] -= 1.0
                    matrix[k, index[i, j]] = 1.0
    potential = spsolve(matrix.tocsr(), right).reshape(rows, columns)
    middle = columns // 2
    return float(np.sum(potential[:, middle - 1] - potential[:, middle]))


@pytest.mark.reference
def test_a_film_that_stands_out_beside_its_contacts_adds_about_its_fringe():
    gap, contact, deep = 16, 30, 16
    for overhang in (4, 12):
        wide = _conductance(overhang, contact, gap, deep)
        plain = _conductance(0, contact, gap, deep)
        added = (wide - plain) / plain * contact
        assert fringe_width(gap + 1.0, overhang) == pytest.approx(added, rel=0.3)


@pytest.mark.property
def test_no_overhang_adds_nothing():
    assert fringe_width(1e-5, 0.0) == 0.0
    with pytest.raises(ValueError, match="overhang"):
        fringe_width(1e-5, -1e-6)
