"""Threshold of an accumulation device against answers known by hand."""

import numpy as np
import pytest

from filmwright.device import fermi_depth, flat_band_voltage, full_depletion_voltage
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY, to_si


@pytest.mark.literature
def test_fermi_depth_of_zinc_oxide():
    # 0.0927 eV for n = 1e17 and N_C = 3.62e18 1/cm³ at 300 K (Boltzmann); from memory, arithmetic recomputed, 1 %.
    found = fermi_depth(to_si(3.62e18, "1/cm^3"), to_si(1e17, "1/cm^3"), 300.0)
    assert found == pytest.approx(0.0927, rel=0.01)


@pytest.mark.analytic
def test_flat_band_of_equal_work_functions_is_zero():
    work = to_si(4.3, "eV")
    assert flat_band_voltage(to_si(4.4, "eV"), work, 0.1) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.analytic
def test_full_depletion_solves_poisson():
    # Integrate Poisson's equation through the film numerically: field at the interface = q·n·t/ε.
    n, t, eps, cap = to_si(1e17, "1/cm^3"), to_si(50, "nm"), 8.5, to_si(60, "nF/cm^2")
    x = np.linspace(0.0, t, 20001)
    field = ELEMENTARY_CHARGE * n * (t - x) / (eps * VACUUM_PERMITTIVITY)
    across_film = np.trapezoid(field, x)
    across_insulator = field[0] * eps * VACUUM_PERMITTIVITY / cap
    assert full_depletion_voltage(0.5, n, t, eps, cap) == pytest.approx(
        0.5 - across_film - across_insulator, rel=1e-6
    )


@pytest.mark.analytic
@pytest.mark.parametrize("density", [0.0, -1.0, float("nan")])
def test_density_out_of_range_is_refused(density):
    with pytest.raises(ValueError, match="carrier_density"):
        full_depletion_voltage(0.0, density, 1e-8, 8.5, 1e-3)
