"""Four contacts, capacitance curves, stylus traces and typed tables against known truth and measured wafers."""

import math
import os
from pathlib import Path

import numpy as np
import pytest

from filmwright import device
from filmwright.errors import BadInput
from filmwright.measure import (
    CapacitanceCurve,
    CapacitorSample,
    FourReading,
    Meaning,
    PinLine,
    Trace,
    find_edges,
    four_point,
    read_capacitance,
    read_small_table,
    read_table,
    step_heights,
    van_der_pauw,
)
from filmwright.units import convert, to_si

NM, UM, MM, V_NOISE = to_si(1, "nm"), to_si(1, "um"), to_si(1, "mm"), 0.3
DATA = Path(os.environ.get("FILMWRIGHT_SHARED_DATA", Path(__file__).parents[3] / "shared" / "data"))
WAFER = DATA / "si-mos-wafer"


def around(first=100.0, second=40.0, std=0.3, chance=None):
    """All eight readings of a sample, with noise where asked."""
    found = []
    for a, b, c, d in ((1, 2, 4, 3), (3, 4, 2, 1), (2, 3, 1, 4), (4, 1, 3, 2)):
        size = first if {a, b} in ({1, 2}, {3, 4}) else second
        for current, sign in (((a, b), 1), ((b, a), -1)):
            noise = std * chance.normal() if chance is not None else 0.0
            found.append(
                FourReading(current=current, voltage=(c, d), resistance=sign * size + noise, std=std)
            )
    return found


@pytest.mark.literature
def test_eight_readings_give_the_worked_example():
    # 100 Ω and 40 Ω: 295.972 Ω per square (L. J. van der Pauw 1958, from memory, arithmetic recomputed)
    found = van_der_pauw(around())
    assert found.parameters["sheet_resistance"].value == pytest.approx(295.972, abs=1e-3)
    assert found.checks == ("reversal: at most 0 % apart", "reciprocity: at most 0 % apart")
    assert not found.warnings


@pytest.mark.property
def test_the_error_of_van_der_pauw_holds_the_truth():
    # 2000 samples, truth 295.972…: 95 % within 1.96 standard errors, to 1.5 %
    chance, truth = np.random.default_rng(2), device.van_der_pauw_sheet_resistance(100, 40)
    held = 0
    for _ in range(2000):
        sheet = van_der_pauw(around(chance=chance)).parameters["sheet_resistance"]
        held += abs(sheet.value - truth) < 1.96 * sheet.std
    assert held / 2000 == pytest.approx(0.95, abs=0.025)


@pytest.mark.analytic
def test_a_leaking_sample_and_a_missing_side_are_told():
    spoiled = around()
    spoiled[2] = FourReading(current=(3, 4), voltage=(2, 1), resistance=110.0, std=0.3)
    found = van_der_pauw(spoiled)
    assert any("reversal fails" in each for each in found.warnings)
    assert any("reciprocity fails" in each for each in found.warnings)
    with pytest.raises(ValueError, match="both pairs"):
        van_der_pauw(around()[:4])
    with pytest.raises(ValueError, match="neighbours"):
        van_der_pauw([FourReading(current=(1, 3), voltage=(2, 4), resistance=1.0)])


@pytest.mark.analytic
def test_contacts_of_finite_size_are_taken_off():
    shift = 4 * device.contact_size_shift("along the edge", 1 * MM, 10 * MM)
    plain = van_der_pauw(around()).parameters["sheet_resistance"]
    found = van_der_pauw(around(), shift).parameters["sheet_resistance"]
    assert found.value == pytest.approx(plain.value / (1 - shift))
    assert found.std > plain.std


@pytest.mark.property
def test_pins_that_stand_off_their_places_are_in_the_error_and_drop_out_of_two_configurations():
    chance = np.random.default_rng(6)
    held, dual = 0, []
    outline = device.SheetOutline(kind="disc", diameter=50 * MM)
    line = PinLine(spacing=1 * MM, spacing_std=0.02 * MM, outline=outline)
    for _ in range(400):
        pins = line.pins(0.02 * MM * chance.normal(size=4))
        outer = 100.0 / device.probe_factor(pins, outline)
        crossed = 100.0 / device.probe_factor(pins, outline, (0, 2), (1, 3))
        found = four_point(
            [
                FourReading(current=(1, 4), voltage=(2, 3), resistance=outer),
                FourReading(current=(1, 3), voltage=(2, 4), resistance=crossed),
            ],
            line,
        ).parameters
        sheet = found["sheet_resistance"]
        held += abs(sheet.value - 100.0) < 1.96 * sheet.std
        dual.append(found["sheet_resistance_dual"].value)
    assert held / 400 == pytest.approx(0.95, abs=0.03)
    assert np.array(dual) == pytest.approx(100.0, rel=2e-4)


@pytest.mark.literature
def test_a_thick_wafer_gives_its_resistivity():
    # w = s: 0.9215 of the thin sheet (A. Uhlir 1955, from memory, arithmetic recomputed)
    line = PinLine(spacing=1 * MM, thickness=1 * MM)
    found = four_point([FourReading(current=(1, 4), voltage=(2, 3), resistance=10.0)], line).parameters
    assert found["resistivity"].value == pytest.approx(4.53236 * 0.9215 * 10.0 * MM, rel=2e-4)


def curve(seed, both=False, series=0.0, frequency=1e5, density=1e23):
    """Dielectric and depletion in series, area 0.1 mm², noise of 0.3 fF, accumulation at positive bias."""
    chance, area = np.random.default_rng(seed), 0.1 * MM**2
    dielectric = to_si(60, "nF/cm^2")
    volts = np.linspace(-6, 6, 401)
    unit = device.thermal_voltage(300.0)

    def clean(flat):
        beyond = np.maximum(flat - volts - unit, 0.0)
        return area * device.depletion_capacitance(beyond, dielectric, density, 8.5)

    farads = np.concatenate([clean(0.5), clean(0.8)[::-1]]) if both else clean(0.5)
    volts = np.concatenate([volts, volts[::-1]]) if both else volts
    turn = 2 * math.pi * frequency
    shown = 1 / (1 / (1j * turn * farads) + series)
    noise = V_NOISE * to_si(1, "fF") * chance.normal(size=farads.size)
    return CapacitanceCurve(
        voltage=volts, capacitance=shown.imag / turn + noise, conductance=shown.real if series else None,
        frequency=frequency,
    ), CapacitorSample(area=area, permittivity=8.5, temperature=300.0)  # fmt: skip


@pytest.mark.property
def test_intervals_of_capacitance_and_density_hold_the_truth():
    # 80 curves of the depletion law itself
    held = np.zeros(2)
    for seed in range(80):
        found = read_capacitance(*curve(seed)).parameters
        for at, (name, truth) in enumerate(
            (("areal_capacitance", to_si(60, "nF/cm^2")), ("carrier_density", 1e23))
        ):
            each = found[name]
            held[at] += abs(each.value - truth) < 1.96 * each.std
    assert held / 80 == pytest.approx(0.95, abs=0.07)


@pytest.mark.analytic
def test_hysteresis_flat_band_and_series_resistance():
    found = read_capacitance(*curve(1, both=True)).parameters
    assert found["hysteresis"].value == pytest.approx(0.3, abs=0.02)
    plain = read_capacitance(*curve(1)).parameters
    behind = read_capacitance(*curve(1, series=5e3))
    assert behind.parameters["areal_capacitance"].value == pytest.approx(
        plain["areal_capacitance"].value, rel=1e-3
    )
    assert any("in series taken off" in each for each in behind.said)
    assert "one way only" in plain["hysteresis"].why_not
    assert "not known" in plain["threshold_of_inversion"].why_not
    middle = (read_capacitance(*curve(1)).profile_depth > 60 * NM) & (
        read_capacitance(*curve(1)).profile_depth < 120 * NM
    )
    density = read_capacitance(*curve(1)).profile_density[middle]
    assert np.median(density) == pytest.approx(1e23, rel=0.05)


@pytest.mark.analytic
def test_what_a_curve_cannot_tell_is_said():
    data, _ = curve(1)
    found = read_capacitance(data, CapacitorSample()).parameters
    assert found["areal_capacitance"].why_not == "not known: area"
    assert "permittivity" in found["carrier_density"].why_not
    flat = CapacitanceCurve(voltage=np.linspace(-1, 1, 50), capacitance=np.full(50, 1e-12))
    assert any("hardly changes" in each for each in read_capacitance(flat, CapacitorSample()).warnings)
    with pytest.raises(ValueError, match="12 different voltages"):
        read_capacitance(CapacitanceCurve(voltage=np.arange(5.0), capacitance=np.ones(5)), CapacitorSample())


@pytest.mark.literature
@pytest.mark.skipif(not WAFER.is_dir(), reason="the measured wafer is not here")
def test_the_curves_of_a_silicon_wafer_agree_with_its_transistors():
    # Published nominal threshold of the n-channel transistors of the same process, 7/8 µm: 0.811 V; gate oxide of a 5 V
    # transistor, 11 to 12 nm (the wafer test's own documentation). Four devices of two shapes.
    read = []
    for name, area in (("w10p82_l42p72", 10.82 * 42.72 * 10), ("w41p11_l10p38", 41.11 * 10.38 * 10)):
        for file in sorted(WAFER.glob(f"nfet*{name}*"))[:2]:
            sample = CapacitorSample(
                area=area * UM**2,
                permittivity=11.7,
                intrinsic_density=to_si(1e10, "1/cm^3"),
                temperature=300.0,
            )
            (data,) = read_table(file).capacitance
            read.append(read_capacitance(data, sample))
    for each in read:
        told = each.parameters
        assert each.accumulates == "negative"
        thickness = 3.9 * to_si(8.8541878128e-12, "F/m") / told["areal_capacitance"].value
        assert 11.0 < convert(thickness, "nm") < 12.0
        assert told["threshold_of_inversion"].value == pytest.approx(0.811, abs=0.12)
        # two definitions of the density, slope and smallest capacitance, agree
        assert told["carrier_density"].value == pytest.approx(
            told["density_of_smallest_capacitance"].value, rel=0.15
        )


def trace(seed, edges=(500.0,), levels=(0.0, 60.0), reach=5.0, bow=0.0, rough=2.0, count=1500):
    """A tilted trace of 1 mm with correlated roughness, white noise and particles; lengths in µm, heights in nm."""
    chance, x = np.random.default_rng(seed), np.linspace(0, 1000.0, count)
    step, z = x[1] - x[0], np.zeros(count)
    keep = math.exp(-step / reach)
    for at in range(1, count):
        z[at] = keep * z[at - 1] + rough * math.sqrt(1 - keep**2) * chance.normal()
    z += (
        np.asarray(levels)[np.searchsorted(edges, x)]
        + 0.2 * x
        + bow * ((x - 500) / 500) ** 2
        + 0.5 * chance.normal(size=count)
    )
    for _ in range(4):
        at = chance.integers(0, count - 10)
        z[at : at + chance.integers(2, 8)] += chance.uniform(20, 200)
    return Trace(position=x * UM, height=z * NM)


@pytest.mark.property
@pytest.mark.parametrize(
    ("edges", "levels", "shape"),
    [((500.0,), (0.0, 60.0), "step"), ((400.0, 600.0), (0.0, -60.0, 0.0), "groove")],
)
def test_intervals_of_step_heights_hold_the_truth(edges, levels, shape):
    # 30 traces each, edges found by themselves: 95 %, to what 30 traces can tell
    held = 0
    for seed in range(30):
        found = step_heights(trace(seed, edges, levels))
        assert found.shape == shape
        low, high = found.steps[0].interval
        held += low <= (levels[1] - levels[0]) * NM <= high
    assert held >= 26


@pytest.mark.analytic
def test_stairs_edges_windows_and_bow():
    found = step_heights(trace(3, (300.0, 600.0), (0.0, 60.0, 100.0), rough=0.5))
    assert found.shape == "stairs"
    assert [convert(each.value, "nm") for each in found.steps] == pytest.approx([60, 40], abs=3)
    assert [convert(each, "um") for each in found.edges] == pytest.approx([300, 600], abs=2)
    groove = step_heights(trace(3, (400.0, 600.0), (0.0, -60.0, 0.0)))
    # ISO 5436-1, type A1: middle third of 200 µm inside, 200/3 to 200 µm outside
    ends = [(convert(w.start, "um"), convert(w.stop, "um")) for w in groove.windows]
    assert np.allclose(ends, [(200, 1000 / 3), (1400 / 3, 1600 / 3), (2000 / 3, 800)], atol=3)
    bowed = trace(5, (450.0, 550.0), (0.0, 60.0, 0.0), bow=400.0, rough=0.3)
    flat = step_heights(bowed, [450 * UM, 550 * UM], bow=True).steps[0]
    assert convert(flat.value, "nm") == pytest.approx(60, abs=2)
    assert find_edges(trace(1, (), (0.0,))) == ()
    with pytest.raises(ValueError, match="no step stands out"):
        step_heights(trace(1, (), (0.0,)))


TABLE = {
    "length": Meaning(words=("length",), dimension="length", wanted=True),
    "resistance": Meaning(words=("resistance",), dimension="resistance", wanted=True),
    "name": Meaning(words=("name",)),
}


@pytest.mark.analytic
@pytest.mark.parametrize(
    "text",
    [
        "length (um), resistance (kohm), ± (ohm), name\n5, 1.5, 10, A\n10, 2.0, 12, B\n",
        "# typed in a hurry\nName;Length [um];Resistance [kohm];Resistance error [ohm]\nA;5;1,5;10\nB;10;2,0;12\n",
        "length\tresistance\tstd of resistance\num\tkohm\tohm\n5\t1.5\t10\n10\t2.0\t12\n",
    ],
)
def test_typed_tables_are_read_by_their_names(tmp_path: Path, text: str):
    path = tmp_path / "table.csv"
    path.write_text(text, "utf-8")
    found = read_small_table(path, TABLE)
    assert found.numbers["length"] == pytest.approx([5 * UM, 10 * UM])
    assert found.numbers["resistance"] == pytest.approx([1500.0, 2000.0])
    assert found.errors["resistance"] == pytest.approx([10.0, 12.0])


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("length, resistance (ohm)\n5, 1500\n", "unit"),
        ("length (um), conductance (S)\n5, 1500\n", "a head with"),
        ("length (um), resistance (ohm)\n5, much\n10, 2000\n", "a number"),
        ("length (um), resistance (ohm)\n", "numbers below"),
        ("length (ohm), resistance (um)\n5, 1500\n", "unit"),
    ],
)
def test_a_spoiled_table_is_refused_with_a_remedy(tmp_path: Path, text: str, said: str):
    path = tmp_path / "table.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(BadInput, match=said) as trouble:
        read_small_table(path, TABLE)
    assert all(each.remedy for each in trouble.value.problems)
