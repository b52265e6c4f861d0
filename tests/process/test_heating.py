"""How warm a wafer gets in vacuum: heats of evaporation against print, balances and limits known by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.knowledge import book
from filmwright.process import condensing_heat, evaporation_enthalpy, heated_wafer, source_glow

SIGMA = 5.670374e-8
"""W/(m²·K⁴), CODATA 2018, published."""


@pytest.mark.literature
@pytest.mark.parametrize(
    ("material", "temperature", "printed"),
    # CRC Handbook, heats of vaporisation at the boiling point, kJ/mol, from memory; 8 %: they fall a little with temperature
    [
        ("gold", 1600, 334),
        ("silver", 1400, 255),
        ("copper", 1600, 305),
        ("aluminium", 1500, 294),
        ("chromium", 1700, 390),
    ],
)
def test_heats_of_evaporation(material: str, temperature: float, printed: float):
    curve = next(
        each for each in book().material(material).vapour.values() if each.low <= temperature <= each.high
    )
    found = evaporation_enthalpy(temperature, curve.coefficients)
    assert found == pytest.approx(printed * 1e3, rel=0.12 if curve.phase == "solid" else 0.08)


@pytest.mark.analytic
def test_light_of_a_black_pool_by_hand():
    # σ·T⁴·(a/h)² on the axis: c = 1/(π·h²)
    assert source_glow(2000.0, 1.0, 8e-3, 1 / (3.14159265 * 0.45**2)) == pytest.approx(
        SIGMA * 2000**4 * (8 / 450) ** 2, rel=1e-5
    )


@pytest.mark.analytic
def test_heat_of_condensing_gold():
    # 0.2 nm/s × 19.3 g/cm³ / 196.97 g/mol × 345 kJ/mol
    assert condensing_heat(0.2e-9, 19300.0, 0.19697, 345e3) == pytest.approx(6.761, rel=1e-3)


@pytest.mark.analytic
def test_short_and_long():
    # short: q·t/C; long: T⁴ = T₀⁴ + q/(2·ε·σ)
    assert heated_wafer(100.0, 1.0, 870.0, 0.5, 293.0) - 293.0 == pytest.approx(100 / 870, rel=5e-3)
    assert heated_wafer(500.0, 1e6, 870.0, 0.5, 293.0) == pytest.approx(
        (293.0**4 + 500 / (2 * 0.5 * SIGMA)) ** 0.25, rel=1e-6
    )
    assert heated_wafer(0.0, 600.0, 870.0, 0.5, 293.0) == 293.0
    assert heated_wafer(100.0, 0.0, 870.0, 0.5, 293.0) == 293.0


@pytest.mark.reference
def test_between_them_as_a_general_solver_has_it():
    from scipy.integrate import solve_ivp

    def slope(_: float, t: list[float]) -> list[float]:
        return [(400.0 - 2 * 0.4 * SIGMA * (t[0] ** 4 - 293.0**4)) / 870.0]

    solved = solve_ivp(slope, (0, 400.0), [293.0], rtol=1e-10, atol=1e-8)
    assert heated_wafer(400.0, 400.0, 870.0, 0.4, 293.0) == pytest.approx(solved.y[0, -1], abs=1e-3)


@pytest.mark.property
@given(st.floats(1.0, 3000.0), st.floats(1.0, 3000.0), st.floats(0.1, 1.0), st.floats(1.05, 3.0))
def test_more_heat_longer_and_a_darker_wafer(heat: float, time: float, emissivity: float, more: float):
    warm = heated_wafer(heat, time, 870.0, emissivity, 293.0)
    assert heated_wafer(heat * more, time, 870.0, emissivity, 293.0) >= warm
    assert heated_wafer(heat, time * more, 870.0, emissivity, 293.0) >= warm - 1e-5
    assert heated_wafer(heat, time, 870.0, min(emissivity * more, 1.0), 293.0) <= warm + 1e-5
    assert 293.0 <= warm <= 293.0 + heat * time / 870.0 + 1e-5


@pytest.mark.literature
@pytest.mark.parametrize(
    ("metal", "printed"),
    [("chromium", 20), ("aluminium", 13), ("molybdenum", 47), ("tungsten", 73)],
)
def test_heat_of_each_atom_of_a_magnetron(metal: str, printed: float):
    # J. A. Thornton, J. L. Lamb, Thin Solid Films 119, 87 (1984), eV for each atom of the film, from memory: to a factor of three the
    # share of the power over the atoms that leave, 500 eV for an ion and the yields of Laegreid and Wehner there
    share = book().models["magnetron"]["heat share"].value
    each = share * 1.1 * 500 / book().material(metal).values["sputter yield"].value
    assert printed / 3 < each < printed * 3
