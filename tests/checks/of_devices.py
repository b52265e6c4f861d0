"""Check values of devices and of what is measured on them: sheets, contacts, transistors, stress, maps, overlay, charge."""

from __future__ import annotations

import math

import numpy as np
from comparing import ELSEWHERE, LEFT, Against, Entry, ours

from filmwright import device
from filmwright.learn import non_uniformity
from filmwright.process import (
    biaxial_modulus_100,
    biaxial_modulus_111,
    bow,
    film_force,
    four_point_factor,
    overlay,
    range_over_sum,
    range_over_twice_mean,
    relative_deviation,
    stoney_radius,
    strip_factor,
    thermal_mismatch_stress,
)
from filmwright.units import BOLTZMANN, ELEMENTARY_CHARGE, convert, to_si

NM, UM = to_si(1, "nm"), to_si(1, "um")
AREAL, MOBILITY = to_si(1, "F/cm^2"), to_si(1, "cm^2/V/s")
WARM = 0.025852 * ELEMENTARY_CHARGE / BOLTZMANN
"""The temperature to which the thermal voltage of the check values belongs."""


@ours("T09-001")
def infinite_sheet(entry: Entry) -> float:
    return four_point_factor(1e-9, 1.0)


@ours("T09-005")
def long_strip(entry: Entry) -> list[float]:
    return [strip_factor(1.0, each) for each in entry["inputs"]["d_over_s"]]


_LINE = [(-1.5, 0.0), (-0.5, 0.0), (0.5, 0.0), (1.5, 0.0)]
"""Four pins in the middle of the sheet, one spacing apart."""


def _rectangle(long: float, wide: float) -> float:
    outline = device.SheetOutline(kind="rectangle", length=long, width=wide)
    return device.probe_factor(_LINE, outline)


@ours("T09-003")
def square_sheet(entry: Entry) -> list[float]:
    return [_rectangle(each, each) for each in entry["inputs"]["d_over_s"]]


@ours("T09-004")
def rectangle_twice_as_long(entry: Entry) -> list[float]:
    return [_rectangle(2 * each, each) for each in entry["inputs"]["d_over_s"]]


@ours("T09-006")
def thick_sheet(entry: Entry) -> list[float]:
    return [device.thickness_factor(_LINE, each) for each in entry["inputs"]["w_over_s"]]


@ours("T09-009")
def two_configurations(entry: Entry) -> float:
    # solved exactly; the polynomial of the standard lies within its own tolerance of that
    return device.dual_configuration_sheet_resistance(1.0, 1.0 / entry["inputs"]["Ra_over_Rb"])


@ours("T09-010")
def van_der_pauw(entry: Entry) -> list[float]:
    return [device.van_der_pauw_factor(each) for each in entry["inputs"]["r"]]


@ours("T09-011")
def van_der_pauw_example(entry: Entry) -> float:
    i = entry["inputs"]
    return device.van_der_pauw_sheet_resistance(i["R1_ohm"], i["R2_ohm"])


@ours("T09-007")
def round_wafer(entry: Entry) -> list[float]:
    return [four_point_factor(each, 1.0) for each in entry["inputs"]["S_over_D"]]


@ours("T10-001")
def transfer_length(entry: Entry) -> float:
    i = entry["inputs"]
    return float(device.transfer_length(to_si(i["rho_c_ohm_cm2"], "ohm*cm^2"), i["Rsh"])) / UM


@ours("T10-003")
def end_resistance(entry: Entry) -> list[float]:
    # of the same contact, 1e-3 Ω·cm² on 10 kΩ per square, 100 µm wide
    lengths = np.array(entry["inputs"]["Lc_um"]) * UM
    return list(device.contact_end_resistance(to_si(1e-3, "ohm*cm^2"), 1e4, lengths, 100 * UM))


def _beta(i: Entry) -> float:
    capacitance = i.get("Ci_F_cm2", i.get("Ci"))
    return i["W_um"] / i["L_um"] * i["mu"] * MOBILITY * capacitance * AREAL


@ours("T11-001")
def level_one(entry: Entry) -> list[float]:
    i = entry["inputs"]
    over = np.array([10, 10, 10, 20]) - i["VT_V"]
    return list(device.square_law_current(over, np.array([0.1, 1.0, 20.0, 20.0]), _beta(i)))


@ours("T11-003")
def intercept(entry: Entry) -> float:
    i = entry["inputs"]
    current = float(device.square_law_current(8.0, i["Vd"], _beta(i)))
    return float(device.tangent_intercept(8.0 + i["VT_V"], current, _beta(i) * i["Vd"]))


@ours("T11-004")
def tangent_of_steepest_slope(entry: Entry) -> bool:
    return math.isclose(float(device.tangent_intercept(10.0, 4e-6, 5e-7)), 10.0 - 4e-6 / 5e-7)


@ours("T11-005")
def constant_current(entry: Entry) -> list[float]:
    i = entry["inputs"]
    level = device.constant_current_criterion(i["W_um"] * UM, i["L_um"] * UM, 10e-9)
    over = np.linspace(0, 1, 1_000_001)
    crossings = []
    for drain in (0.1, 20.0):
        current = np.asarray(device.square_law_current(over, np.full_like(over, drain), _beta(i)))
        crossings.append(i["VT_V"] + float(over[int(np.searchsorted(current, level))]))
    return crossings


@ours("T11-006")
def mobilities(entry: Entry) -> bool:
    width, length, areal = 100 * UM, 10 * UM, 6e-8 * AREAL
    linear = float(device.linear_mobility(2e-7, width, length, areal, 0.1))
    saturated = float(device.saturation_mobility(1e-3, width, length, areal))
    return math.isclose(linear, 2e-7 * length / (width * areal * 0.1)) and math.isclose(
        saturated, 2 * length / (width * areal) * 1e-6
    )


@ours("T11-007")
def thermal_limit(entry: Entry) -> list[float]:
    return [device.subthreshold_limit(each) * 1e3 for each in entry["inputs"]["T_K"]]


@ours("T11-008")
def traps_from_swing(entry: Entry) -> list[float]:
    i = entry["inputs"]
    found = device.trap_density(np.array(i["SS_V_dec"]), i["Ci_F_cm2"] * AREAL, i["T_K"])
    return list(np.asarray(found) * 1e-4)  # per m² to per cm²


@ours("T11-013", "T11-014")
def reliability(entry: Entry) -> bool:
    saturated = float(device.reliability_saturation(4e-4, 1e-12, 20.0, 1.2e-3))
    linear = float(device.reliability_linear(5e-6, 1e-12, 20.0, 3e-7))
    written = ((math.sqrt(4e-4) - math.sqrt(1e-12)) / 20.0) ** 2 / 1.2e-3**2
    return math.isclose(saturated, written) and math.isclose(linear, (5e-6 - 1e-12) / 20.0 / 3e-7)


@ours("T11-015")
def reliability_of_an_ideal_device(entry: Entry) -> list[list[float]]:
    """The current at zero gate voltage is nought for a positive threshold, and subtracted for a negative one."""
    saturated, linear = [], []
    for threshold in entry["inputs"]["VT"]:
        over, none = 20.0 - threshold, max(0.0, -threshold)
        saturated.append(float(device.reliability_saturation(over**2 / 2, none**2 / 2, 20.0, math.sqrt(0.5))))
        linear.append(float(device.reliability_linear(over, none, 20.0, 1.0)))
    return [saturated, linear]


@ours("T11-016")
def reliability_of_a_double_slope(entry: Entry) -> Against:
    # √I rises by 1 per volt from 2 to 8 V, by 1/3 beyond; the slope between 0 and 20 V over the steepest one
    root = 6 + 12 / 3
    found = float(device.reliability_saturation(root**2, 0.0, 20.0, 1.0))
    return Against(ours=found, theirs=entry["value"]["r_sat"], rel=1e-4)


@ours("T11-019")
def smooth_curve(entry: Entry) -> list[float]:
    i = entry["inputs"]
    design = device.TransistorDesign(
        width=i["W_um"] * UM, length=i["L_um"] * UM, areal_capacitance=i["Ci"] * AREAL, mobility=i["mu"] * MOBILITY,
        threshold_voltage=i["VT"], ideality=i["n"], temperature=WARM, body_factor=i["n"], attenuation=i["theta"],
    )  # fmt: skip
    return list(device.drain_current(design, [1, 2, 5, 10, 20], i["Vd"]))


@ours("T11-009")
def square_root_free_of_attenuation(entry: Entry) -> list[float]:
    """I/√g of a square law whose mobility falls: the attenuation drops out."""
    i = entry["inputs"]
    beta, drain = _beta(i), i["Vd"]
    found = []
    for gate in i["Vg"]:
        over = gate - i["VT_V"] - drain / 2
        straight = float(device.square_law_current(gate - i["VT_V"], drain, beta))
        current = straight / (1 + i["theta"] * over)
        slope = beta * drain / (1 + i["theta"] * over) ** 2
        found.append(float(device.ratio_function(current, slope)))
    return found


@ours("T11-011")
def attenuation_by_contacts(entry: Entry) -> float:
    gain = 100 / 10 * 10 * MOBILITY * 6.197931e-8 * AREAL
    return device.attenuation_with_contacts(0.0, gain, entry["inputs"]["R_SD_ohm"])


@ours("T13-001")
def radius(entry: Entry) -> float:
    found = stoney_radius(1e9, 100 * NM, 525 * UM, entry["inputs"]["M_GPa"] * 1e9)
    return float(getattr(found, "value", found))


@ours("T13-002")
def bows(entry: Entry) -> list[float]:
    return [bow(each * 1e-3, 82.917) / UM for each in entry["inputs"]["D_mm"]]


@ours("T13-004")
def biaxial(entry: Entry) -> list[float]:
    c11, c12, c44 = (each * 1e9 for each in entry["inputs"].values())
    return [biaxial_modulus_100(c11, c12) / 1e9, biaxial_modulus_111(c11, c12, c44) / 1e9]


@ours("T13-005")
def force(entry: Entry) -> float:
    return film_force(1e9, 100 * NM)


@ours("T13-006")
def mismatch(entry: Entry) -> list[float]:
    i = entry["inputs"]
    rows = zip(i["E_GPa"], i["nu"], i["alpha"], strict=True)
    hot, cold = to_si(300, "°C"), to_si(25, "°C")
    return [
        thermal_mismatch_stress(e * 1e9, nu, alpha, i["alpha_Si"], hot, cold) / 1e6 for e, nu, alpha in rows
    ]


@ours("T15-003")
def spreads(entry: Entry) -> list[float]:
    values = entry["inputs"]["t_nm"]
    mean, relative = float(np.mean(values)), relative_deviation(values)
    ranges = [100 * range_over_twice_mean(values), 100 * range_over_sum(values)]
    assert math.isclose(100 * non_uniformity(values).value, ranges[0])
    return [mean, relative * mean, *ranges, 100 * relative]


@ours("T16-006")
def overlay_of_independent_errors(entry: Entry) -> float:
    return overlay(each * UM for each in entry["inputs"]["terms_um"]) / UM


@ours("T17-001")
def gate_of_nitride(entry: Entry) -> float:
    return convert(float(device.areal_capacitance(7.0, 100 * NM)), "nF/cm^2")


@ours("T17-004")
def depleted_by_half_a_volt(entry: Entry) -> list[float]:
    """From the voltage that empties a film of that thickness through no insulator at all."""
    found = []
    for per_cm3, guess in zip(entry["inputs"]["n"], entry["value"], strict=True):
        through = device.full_depletion_voltage(0.0, per_cm3 * 1e6, guess * NM, 8.5, 1e9)
        found.append(guess * math.sqrt(0.5 / abs(through)))
    return found


@ours("T17-006")
def gathered_by_ten_volts(entry: Entry) -> list[float]:
    capacitance = float(device.areal_capacitance(7.0, 100 * NM))
    return [capacitance * 10 / ELEMENTARY_CHARGE * 1e-4, convert(10 / (100 * NM), "MV/cm")]


@ours("T17-007")
def flat_band_capacitance(entry: Entry) -> float:
    dielectric = device.areal_capacitance(7.0, 100 * NM)
    return convert(float(device.flat_band_capacitance(dielectric, 1e17 * 1e6, 8.5, 300.0)), "nF/cm^2")


@ours("T17-008")
def fermi_level(entry: Entry) -> float:
    return device.fermi_depth(to_si(3.62e18, "1/cm^3"), to_si(1e17, "1/cm^3"), 300.0)


@ours("T17-009")
def inversion_of_silicon(entry: Entry) -> list[list[float]]:
    own = to_si(1, "1/cm^3")
    rows = []
    for each in entry["inputs"]["N"]:
        density, intrinsic = each * own, entry["inputs"]["ni"] * own
        rows.append(
            [
                device.band_bending_at_inversion(density, intrinsic, 300.0) / 2,
                device.widest_depletion(density, intrinsic, 11.7, 300.0) / UM,
                float(device.extrinsic_debye_length(density, 11.7, 300.0)) / NM,
            ]
        )
    return rows


ELSEWHERE |= {
    "T09-008": (
        "tests/device/test_sheet_resistance.py",
        "test_two_configurations_and_a_polynomial",
    ),
    "T11-017": (
        "tests/measure/test_mobilities.py",
        "test_the_transconductance_overstates_a_rising_mobility_by_one_plus_its_power",
    ),
    "T11-021": (
        "tests/measure/test_checklist.py",
        "test_the_items_of_the_standard_are_asked_for",
    ),
    "T11-020": (
        "tests/measure/test_extraction.py",
        "test_each_method_returns_what_its_definition_says_on_the_smooth_curve",
    ),
    "T17-003": ("tests/device/test_film_charge.py", "test_the_debye_length_of_zinc_oxide"),
}
_YIELD = "yield is counted by cause, not computed from a density of defects"
LEFT |= {
    "T11-018": "a statement about gated contacts",
    "T15-002": "flats of wafers are not drawn",
    "T15-005": "a statement about maps of few points; maps are fitted, see the tests of learn",
    "T16-001": _YIELD,
    "T16-002": _YIELD,
    "T16-004": _YIELD,
    "T16-005": _YIELD,
}
