"""Capacitance laws and contacts of finite length, against published values, circuits and Poisson's equation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from filmwright import device
from filmwright.units import BOLTZMANN, ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY, convert, to_si

WARM = 0.025852 * ELEMENTARY_CHARGE / BOLTZMANN
"""The temperature to which the thermal voltage of the check values belongs."""


@pytest.mark.literature
def test_debye_lengths_of_zinc_oxide():
    # √(ε·kT/(q²·n)), permittivity 8.5 at 300 K (from memory, arithmetic recomputed), 0.1 %
    found = device.extrinsic_debye_length(to_si(1, "1/cm^3") * np.array([1e16, 1e17, 1e18, 1e19]), 8.5, 300.0)
    assert found == pytest.approx(to_si(1, "nm") * np.array([34.848, 11.02, 3.4848, 1.102]), rel=1e-3)


@pytest.mark.literature
def test_flat_band_capacitance_of_zinc_oxide_on_nitride():
    # 56.823 nF/cm² for 1e17 1/cm³ on 100 nm of permittivity 7 (from memory, arithmetic recomputed), 0.2 %
    dielectric = device.areal_capacitance(7, to_si(100, "nm"))
    found = device.flat_band_capacitance(dielectric, to_si(1e17, "1/cm^3"), 8.5, 300.0)
    assert convert(float(found), "nF/cm^2") == pytest.approx(56.823, rel=2e-3)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("density", "half_bending", "width", "debye"),
    [(1e15, 0.29763, 0.8774, 129.29), (1e16, 0.35716, 0.3039, 40.885), (1e17, 0.41669, 0.1038, 12.929)],
)
def test_inversion_of_silicon(density, half_bending, width, debye):
    # S. M. Sze, Physics of Semiconductor Devices (from memory, arithmetic recomputed), n_i = 1e10 1/cm³, 0.2 %
    n, ni = to_si(density, "1/cm^3"), to_si(1e10, "1/cm^3")
    assert device.band_bending_at_inversion(n, ni, 300.0) / 2 == pytest.approx(half_bending, rel=2e-3)
    assert convert(device.widest_depletion(n, ni, 11.7, 300.0), "um") == pytest.approx(width, rel=2e-3)
    assert convert(float(device.extrinsic_debye_length(n, 11.7, 300.0)), "nm") == pytest.approx(
        debye, rel=2e-3
    )


@pytest.mark.analytic
def test_the_slope_of_the_depletion_law_gives_its_density_back():
    density, dielectric = to_si(3e16, "1/cm^3"), to_si(300, "nF/cm^2")
    volts = np.linspace(0.1, 2.0, 30)
    found = 1 / device.depletion_capacitance(volts, dielectric, density, 11.7) ** 2
    slope = np.polyfit(volts, found, 1)[0]
    assert float(device.density_of_slope(slope, 11.7)) == pytest.approx(density, rel=1e-9)
    width = device.depleted_width(found**-0.5, dielectric, 11.7)
    # The charge of that width, over the dielectric and half the width, makes up the voltage.
    charge = ELEMENTARY_CHARGE * density * width
    dropped = charge / dielectric + charge * width / (2 * 11.7 * VACUUM_PERMITTIVITY)
    assert dropped == pytest.approx(volts, rel=1e-9)


@pytest.mark.reference
def test_flat_band_capacitance_is_the_slope_of_poissons_charge():
    # scipy's boundary solver for ψ'' = (q·N/ε)·(1 − e^(ψ/φ)) … n-type body, both signs of a small surface potential
    density, eps = to_si(1e16, "1/cm^3"), 11.7
    reach = float(device.extrinsic_debye_length(density, eps, 300.0))
    unit = device.thermal_voltage(300.0)
    x = np.linspace(0, 12, 200)

    def charge(surface):
        found = solve_bvp(
            lambda _, y: np.array([y[1], np.exp(y[0]) - 1.0]), lambda a, b: np.array([a[0] - surface, b[0]]),
            x, np.array([surface * np.exp(-x), -surface * np.exp(-x)]), tol=1e-8,
        )  # fmt: skip
        return -found.y[1, 0] * eps * VACUUM_PERMITTIVITY * unit / reach

    slope = (charge(0.01) - charge(-0.01)) / (0.02 * unit)
    dielectric = to_si(300, "nF/cm^2")
    series = 1 / (1 / dielectric + 1 / slope)
    assert float(device.flat_band_capacitance(dielectric, density, eps, 300.0)) == pytest.approx(
        series, rel=1e-4
    )


@pytest.mark.property
@given(st.floats(1e-13, 1e-9), st.floats(0, 1e-5), st.floats(0, 1e3), st.floats(1e3, 1e6))
def test_a_resistance_in_series_is_taken_off(capacitance, conductance, resistance, frequency):
    turn = 2 * np.pi * frequency
    shown = 1 / (1 / (conductance + 1j * turn * capacitance) + resistance)
    found = device.without_series_resistance(shown.imag / turn, shown.real, resistance, frequency)
    assert float(found[0]) == pytest.approx(capacitance, rel=1e-6)
    assert float(found[1]) == pytest.approx(conductance, rel=1e-6, abs=1e-6 * turn * capacitance)
    if conductance == 0:
        assert device.series_resistance(shown.imag / turn, shown.real, frequency) == pytest.approx(
            resistance, rel=1e-6, abs=1e-9 / (turn * capacitance)
        )


@pytest.mark.property
@given(st.floats(-6, 6), st.floats(1e-7, 1e-4))
def test_a_contact_of_finite_length_gives_its_transfer_length_back(decades, contact):
    sheet, reach, width = 1e4, contact * 10**decades, to_si(100, "um")
    front = device.contact_front_resistance(sheet * reach**2, sheet, contact, width)
    found = device.transfer_length_of_front(front * width / sheet, contact)
    assert float(found) == pytest.approx(reach, rel=1e-9)


@pytest.mark.analytic
def test_the_end_of_a_contact_tells_the_sheet_below_it():
    # front over end is cosh(L_c/L_T) whatever the sheet below: 5 kΩ here
    rho, below, contact, width = to_si(1e-3, "ohm*cm^2"), 5e3, to_si(5, "um"), to_si(100, "um")
    front = float(device.contact_front_resistance(rho, below, contact, width))
    end = float(device.contact_end_resistance(rho, below, contact, width))
    reach = float(device.transfer_length_of_end(front, end, contact))
    found = float(device.specific_contact_resistance_of_end(front, end, contact, width))
    assert found == pytest.approx(rho, rel=1e-12)
    assert found / reach**2 == pytest.approx(below, rel=1e-12)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: device.transfer_length_of_end(1.0, 2.0, 1e-6), "front_less_end"),
        (lambda: device.transfer_length_of_front(0.0, 1e-6), "front_over_sheet"),
        (lambda: device.density_of_slope(0.0, 10), "slope"),
        (lambda: device.depleted_width(-1.0, 1.0, 10), "capacitance"),
        (lambda: device.band_bending_at_inversion(1.0, 2.0, 300), "n_i"),
        (lambda: device.series_resistance(1e-12, -1.0, 1e5), "conductance"),
    ],
)
def test_what_cannot_be_is_refused(call, said):
    with pytest.raises(ValueError, match=said):
        call()
