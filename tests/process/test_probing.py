"""Heat, four probes and sparing voltages against published tables and closed forms."""

import math

import pytest

from filmwright.process import equivalent_time, four_point_factor, sparing_voltage, strip_factor, sweep_points
from filmwright.units import to_si


@pytest.mark.reference
@pytest.mark.parametrize(
    ("spacing", "factor"), [(0.005, 4.531), (0.01, 4.528), (0.02, 4.517), (0.05, 4.436), (0.1, 4.171)]
)
def test_the_table_of_finite_diameter(spacing, factor):
    # SEMI MF84 (ex ASTM F84), table of F₂ against S/D (from memory, recomputed arithmetic)
    assert four_point_factor(spacing, 1.0) == pytest.approx(factor, abs=0.0015)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("width", "factor"), [(1, 0.9994), (2, 1.9475), (5, 3.575), (10, 4.2356), (40, 4.5123)]
)
def test_the_table_of_long_strips(width, factor):
    # F. M. Smits, Bell Syst. Tech. J. 37, 711 (1958), table of d/s, a ≥ 4d (from memory, recomputed arithmetic)
    assert strip_factor(1.0, float(width)) == pytest.approx(factor, rel=5e-4)


@pytest.mark.literature
def test_a_boundless_sheet():
    # π/ln 2 = 4.53236 (Smits 1958)
    assert four_point_factor(1e-6, 1.0) == pytest.approx(4.53236, rel=1e-5)
    assert strip_factor(1e-6, 1.0) == pytest.approx(4.53236, rel=1e-4)


@pytest.mark.literature
def test_ten_kelvin_more_at_0_26_electronvolt():
    # Arrhenius scaling from 20 °C to 30 °C with 0.26 eV is 1.4043 (check value, recomputed arithmetic)
    found = equivalent_time(1.0, 303.15, 293.15, to_si(0.26, "eV"))
    assert found == pytest.approx(1.4043, rel=5e-3)
    assert equivalent_time(60.0, 500.0, 500.0, to_si(1.0, "eV")) == pytest.approx(60.0)


@pytest.mark.literature
def test_a_nitride_of_100_nm_holds_50_volts():
    # MRS Proc. 862 A22.6 (2005): 5 MV/cm, so 50 V over 100 nm (published)
    assert sparing_voltage(1.0, [to_si(100, "nm")], [to_si(5, "MV/cm")]) == pytest.approx(50.0)
    assert sparing_voltage(0.5, [1e-7, 1e-7], [5e8, 5e8]) == pytest.approx(50.0)


@pytest.mark.analytic
def test_sweeps_hold_both_ends():
    assert sweep_points(-6.0, 6.0, 4) == pytest.approx((-6.0, -2.0, 2.0, 6.0))


@pytest.mark.analytic
@pytest.mark.parametrize(
    "wrong",
    [
        lambda: equivalent_time(-1.0, 300.0, 300.0, 1e-19),
        lambda: four_point_factor(1.0, 4.0),
        lambda: strip_factor(0.0, 1.0),
        lambda: sparing_voltage(0.5, [1e-7], []),
        lambda: sparing_voltage(0.5, [], []),
        lambda: sparing_voltage(math.nan, [1e-7], [5e8]),
        lambda: sweep_points(0.0, 1.0, 1),
    ],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError, match="must"):
        wrong()
