"""The laws of ``process`` against published and worked values; each with its source and how far to trust it.

Kinds: *published*; *worked* means that the law is quoted from memory and the number follows from the inputs by it.
"""

import math

import numpy as np
import pytest

from filmwright.process import (
    biaxial_modulus_100,
    biaxial_modulus_111,
    bow,
    charge_needed,
    cycles_for_thickness,
    deal_grove_thickness,
    deal_grove_time,
    dill_bleaching,
    dill_development_rate,
    emslie_thickness,
    etch_time,
    exposure_time,
    film_force,
    fresnel_slit,
    impedance_ratio,
    impingement_rate,
    loss_below,
    mean_free_path,
    meyerhofer_thickness,
    overlay,
    point_source_profile,
    range_over_sum,
    range_over_twice_mean,
    sauerbrey_sensitivity,
    selectivity,
    shadow_print_width,
    sheet_resistance,
    small_area_profile,
    source_temperature,
    spin_speed,
    spin_thickness,
    stoney_radius,
    stoney_stress,
    thermal_mismatch_stress,
    time_for_thickness,
    undercut_foot,
    undercut_top,
    vapour_pressure,
    z_match_thickness,
)
from filmwright.units import convert, to_si

NM, UM, MIN = to_si(1, "nm"), to_si(1, "um"), to_si(1, "min")


@pytest.mark.literature
def test_sauerbrey_sensitivity_of_a_five_megahertz_crystal():
    # G. Sauerbrey, Z. Phys. 155, 206 (1959): 56.6 Hz per µg/cm²; worked, 0.2 % for rounded constants.
    found = sauerbrey_sensitivity(5e6, 2648.0, 2.947e10)
    assert found * 1e-5 == pytest.approx(56.6, rel=2e-3)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("loaded", "density", "ratio", "thickness"),
    [
        (5.99e6, 7200, 0.305, 170.037), (5.50e6, 7200, 0.305, 9455.727), (5.99e6, 10200, 0.257, 120.026),
        (5.90e6, 10200, 0.257, 1219.605), (5.50e6, 10200, 0.257, 6678.920), (5.99e6, 19300, 0.381, 63.434),
        (5.90e6, 19300, 0.381, 644.511), (5.50e6, 19300, 0.381, 3523.159), (5.99e6, 2700, 1.08, 453.429),
        (5.90e6, 2700, 1.08, 4602.763), (5.50e6, 2700, 1.08, 24599.324),
    ],
)  # fmt: skip
def test_quartz_monitor_by_acoustic_impedance(loaded: float, density: float, ratio: float, thickness: float):
    # C.-S. Lu, O. Lewis, J. Appl. Phys. 43, 4385 (1972); worked, so only rounding is allowed.
    found = z_match_thickness(6e6, loaded, density, ratio, 1661.0, 2649.0)
    assert _value(found) == pytest.approx(thickness * NM, rel=1e-4)


def _value(found: object) -> float:
    return float(getattr(found, "value", found))


@pytest.mark.literature
@pytest.mark.parametrize(("density", "shear", "ratio"), [(7190, 115.3e9, 0.3068), (4500, 43.4e9, 0.6321)])
def test_impedance_ratio_from_shear_moduli(density: float, shear: float, ratio: float):
    # Lu and Lewis 1972; worked from quartz 2.648 g/cm³ and 29.47 GPa.
    assert impedance_ratio(2648.0, 29.47e9, density, shear) == pytest.approx(ratio, rel=2e-3)


ATMOSPHERE = to_si(760, "Torr")
GOLD = (5.832, -18024.0, 0.0, 0.0)


@pytest.mark.literature
def test_source_temperature_of_gold():
    # C. B. Alcock et al., Can. Metall. Q. 23, 309 (1984), from memory; 15 K as the fit's own spread.
    # The coefficients are for the liquid; the two lowest pressures belong to the solid just below its melting point.
    for torr, celsius in ((1e-8, 805.3), (1e-6, 951.9), (1e-4, 1144.6), (1e-2, 1409.3)):
        pressure = to_si(torr, "Torr") / ATMOSPHERE
        found = source_temperature(pressure, GOLD)
        assert convert(found, "degC") == pytest.approx(celsius, abs=15)
        assert vapour_pressure(found, GOLD) == pytest.approx(pressure, rel=1e-6)


@pytest.mark.literature
def test_source_temperature_of_zinc():
    # C. B. Alcock et al. 1984, zinc solid, coefficients and temperatures from memory; zinc boils off a heated wafer.
    for torr, celsius in ((1e-8, 125.8), (1e-6, 179.1), (1e-4, 248.8), (1e-2, 343.8)):
        found = source_temperature(to_si(torr, "Torr") / ATMOSPHERE, (6.102, -6776.0, 0.0, 0.0))
        assert convert(found, "degC") == pytest.approx(celsius, abs=15)


@pytest.mark.literature
def test_vapour_pressure_written_in_pascal():
    # CRC tables, published: log₁₀(p/Pa) = 13.048 − 17020/T − 0.4440·log₁₀T of solid beryllium, 5.006 above the form in
    # atmospheres; 0.1 % for the rounding of 5.006.
    for kelvin in (1000.0, 1300.0, 1500.0):
        pascal = 10 ** (13.048 - 17020 / kelvin - 0.4440 * math.log10(kelvin))
        found = vapour_pressure(kelvin, (13.048 - 5.006, -17020.0, -0.4440, 0.0)) * ATMOSPHERE
        assert found == pytest.approx(pascal, rel=1e-3)


@pytest.mark.literature
def test_impingement_rate():
    # Hertz–Knudsen as handbooks print it: 3.513e22·p(torr)/√(M·T) per cm² and second, from memory; 0.1 %.
    for molar_mass, kelvin, torr in ((39.948, 300.0, 1e-3), (18.015, 298.15, 1e-6), (51.996, 1430.0, 1e-4)):
        found = impingement_rate(to_si(torr, "Torr"), to_si(molar_mass, "g/mol"), kelvin)
        assert convert(found, "1/(cm^2*s)") == pytest.approx(
            3.513e22 * torr / math.sqrt(molar_mass * kelvin), rel=1e-3
        )
    # Chromium at 1430 K and 1e-4 torr, worked: 1.288e16.
    chromium = impingement_rate(to_si(1e-4, "Torr"), to_si(51.996, "g/mol"), 1430.0)
    assert convert(chromium, "1/(cm^2*s)") == pytest.approx(1.288e16, rel=2e-3)


@pytest.mark.literature
def test_uniformity_of_a_point_source():
    # L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952); worked.
    for offset, share in ((0.1, 0.98519), (0.125, 0.97701), (0.25, 0.91308), (0.5, 0.71554), (1.0, 0.35355)):
        assert point_source_profile(offset, 1.0) == pytest.approx(share, rel=1e-4)
    assert 1 - small_area_profile(50, 400) == pytest.approx(0.03053, rel=1e-2)
    assert 1 - point_source_profile(50, 400) == pytest.approx(0.02299, rel=1e-2)


@pytest.mark.literature
def test_source_mass_path_and_impingement():
    # π·ρ·h²·t and 4π·ρ·h²·t for 100 nm of chromium at 40 cm; kinetic theory; Hertz–Knudsen. All worked.
    assert charge_needed(100 * NM, 0.4, 7190.0) == pytest.approx(0.3614e-3, rel=2e-3)
    assert charge_needed(100 * NM, 0.4, 7190.0, flat_source=False) == pytest.approx(1.4456e-3, rel=2e-3)
    assert mean_free_path(to_si(5, "mTorr"), 0.364 * NM, 300.0) == pytest.approx(1.0555e-2, rel=2e-3)
    water = impingement_rate(to_si(1e-6, "Torr"), 18.015e-3, 298.15)
    assert water * 1e-4 == pytest.approx(4.793e14, rel=2e-3)


@pytest.mark.literature
def test_spin_coating_laws():
    # Square-root scaling, D. Meyerhofer, J. Appl. Phys. 49, 3993 (1978); Emslie, Bonner, Peck 1958. Worked.
    for begin, end, share in ((3000, 4000, 0.866), (4000, 6000, 0.8165), (2000, 4000, 0.7071)):
        assert spin_thickness(end / 60, 1.0, begin / 60, 0.5) == pytest.approx(share, rel=1e-3)
    rotation = 2 * math.pi * 3000 / 60
    assert meyerhofer_thickness(0.25, rotation, 2e-5, 5e-7) == pytest.approx(1.468 * UM, rel=2e-3)
    for seconds, left in ((1, 11.97), (10, 3.887), (30, 2.249)):
        assert emslie_thickness(50 * UM, rotation, 2e-5, seconds) == pytest.approx(left * UM, rel=1e-3)


@pytest.mark.literature
def test_shadow_printing():
    # W = 1.5·√(λ·(gap + resist/2)); worked.
    for line, rows in (
        (0.4047, (0.6747, 1.1687, 3.0921, 4.3205)),
        (0.4358, (0.7002, 1.2128, 3.2087, 4.4834)),
    ):
        for gap, width in zip((0, 1, 10, 20), rows, strict=True):
            assert shadow_print_width(line * UM, gap * UM, 1 * UM) == pytest.approx(width * UM, rel=1e-3)


@pytest.mark.literature
def test_fresnel_slit():
    # Fresnel integrals behind a plane-wave mask; worked, 0.2 %.
    cases = (
        (1, 0.5, 0.9276, 0.2113),
        (2, 10, 1.0257, 0.3554),
        (3, 20, 1.1337, 0.2925),
        (5, 10, 0.5891, 0.3119),
        (5, 20, 1.7489, 0.2161),
        (10, 10, 1.2476, 0.2375),
    )
    for width, gap, centre, edge in cases:
        found = fresnel_slit(np.array([0.0, width / 2 * UM]), width * UM, gap * UM, 0.365 * UM)
        assert found == pytest.approx([centre, edge], rel=2e-3)


DOSES = (20, 50, 100, 150, 200)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("bleachable", "fixed", "sensitivity", "top", "bottom"),
    [
        # F. H. Dill et al., IEEE Trans. Electron Devices 22, 445 (1975): constants of 404.7, 435.8 and 365 nm from memory.
        (0.86, 0.07, 0.018, (0.69768, 0.40657, 0.1653, 0.06721, 0.02732), (0.85511, 0.64044, 0.34785, 0.16862, 0.07681)),
        (0.54, 0.03, 0.014, (0.75578, 0.49659, 0.2466, 0.12246, 0.06081), (0.84594, 0.63776, 0.37156, 0.20364, 0.10762)),
        (0.74, 0.20, 0.012, (0.78663, 0.54881, 0.30119, 0.1653, 0.09072), (0.90561, 0.76502, 0.54954, 0.37472, 0.24584)),
    ],
)  # fmt: skip
def test_dill_exposure(bleachable, fixed, sensitivity, top, bottom):
    # Worked by exact quadrature; 2e-4 is half a unit in the last printed digit of the smallest.
    for dose, high, low in zip(DOSES, top, bottom, strict=True):
        light = to_si(dose, "mJ/cm^2")
        left = dill_bleaching(light, 1 * UM, bleachable / UM, fixed / UM, sensitivity / to_si(1, "mJ/cm^2"))
        assert [left[0], left[-1]] == pytest.approx([high, low], rel=2e-4)


@pytest.mark.literature
def test_dill_development():
    # F. H. Dill et al. 1975, development part, from memory, worked; 1e-3 for the four printed digits.
    for remaining, rate in ((0.2948, 4.9995), (0.5, 2.9417), (0.7, 0.6319), (1.0, 0.0095)):
        found = dill_development_rate(remaining, 5.63, 7.43, -12.6, 0.006 * UM / MIN)
        assert found == pytest.approx(rate * UM / MIN, rel=1e-3)
    # The polynomial falls again to 1.672 µm/min below its false maximum near M = 0.295: ours stays there.
    assert dill_development_rate(0.0, 5.63, 7.43, -12.6, 1.0) == pytest.approx(
        dill_development_rate(0.2948, 5.63, 7.43, -12.6, 1.0), rel=1e-6
    )


@pytest.mark.literature
@pytest.mark.parametrize(
    ("a", "b", "tau", "hours", "microns"),
    [
        (0.175, 0.01726, 0.2897, 7.092, 0.28), (0.165, 0.0117, 0.0, 10, 0.26936), (0.165, 0.0117, 0.37, 1, 0.0686),
        (0.09, 0.027, 0.076, 1, 0.1313), (0.04, 0.045, 0.027, 1, 0.1959), (0.226, 0.287, 0.0, 1, 0.4345),
        (0.05, 0.72, 0.0, 1, 0.8239),
    ],
)  # fmt: skip
def test_deal_grove(a: float, b: float, tau: float, hours: float, microns: float):
    # B. E. Deal, A. S. Grove, J. Appl. Phys. 36, 3770 (1965), and two published worked examples; 0.3 % of rounding.
    hour = to_si(1, "h")
    linear, parabolic = a * UM, b * UM * UM / hour
    start = (-a + math.sqrt(a * a + 4 * b * tau)) / 2 * UM
    found = deal_grove_thickness(hours * hour, linear, parabolic, start)
    assert _value(found) == pytest.approx(microns * UM, rel=3e-3)
    assert _value(deal_grove_time(_value(found), linear, parabolic, start)) == pytest.approx(
        hours * hour, rel=1e-6
    )


@pytest.mark.literature
def test_stress_and_bow():
    # G. G. Stoney 1909; W. A. Brantley, J. Appl. Phys. 44, 534 (1973). Worked.
    radius = _value(stoney_radius(1e9, 100 * NM, 525 * UM, 180.5e9))
    assert radius == pytest.approx(82.917, rel=1e-4)
    assert _value(stoney_stress(radius, 100 * NM, 525 * UM, 180.5e9)) == pytest.approx(1e9, rel=1e-9)
    assert bow(0.1, radius) == pytest.approx(15.075 * UM, rel=1e-3)
    assert bow(0.08, radius) == pytest.approx(9.648 * UM, rel=1e-3)
    assert biaxial_modulus_100(165.7e9, 63.9e9) == pytest.approx(180.32e9, rel=2e-3)
    assert biaxial_modulus_111(165.7e9, 63.9e9, 79.6e9) == pytest.approx(229.08e9, rel=2e-3)
    assert film_force(1e9, 100 * NM) == pytest.approx(100.0)
    for modulus, poisson, expansion, stress in (
        (279, 0.21, 4.9, 223.4),
        (329, 0.31, 4.8, 288.5),
        (200, 0.25, 1.5, -80.7),
    ):
        found = thermal_mismatch_stress(modulus * 1e9, poisson, expansion * 1e-6, 2.6e-6, 573.15, 298.15)
        assert found == pytest.approx(stress * 1e6, rel=1e-2)


@pytest.mark.literature
def test_etch_losses_from_published_rates():
    # K. R. Williams et al., J. Microelectromech. Syst. 12, 761 (2003), rates read in a transcription; the losses follow.
    assert loss_below(100 * NM, 190 * NM / MIN, 29 * NM / MIN, 0.2) == pytest.approx(3.053 * NM, rel=1e-2)
    assert loss_below(150 * NM, 130 * NM / MIN, 190 * NM / MIN, 0.2) == pytest.approx(43.85 * NM, rel=1e-2)
    assert selectivity(190.0, 29.0) == pytest.approx(6.552, rel=1e-3)


@pytest.mark.literature
def test_non_uniformity_by_name():
    # Definitions on one data set; worked.
    data = (101.2, 99.8, 98.7, 100.5, 97.9, 102.1, 100.0, 99.1, 98.3)
    assert 100 * range_over_twice_mean(data) == pytest.approx(2.10561, rel=1e-4)
    assert 100 * range_over_sum(data) == pytest.approx(2.1, rel=1e-4)


@pytest.mark.analytic
def test_undercut_of_an_isotropic_front():
    # 75 nm at the foot of a 100 nm film with 25 % over-etch, 125 nm at its top: a circle about the resist's foot.
    assert undercut_foot(100 * NM, 0.25) == pytest.approx(75 * NM, rel=1e-12)
    assert undercut_top(100 * NM, 0.25) == pytest.approx(125 * NM, rel=1e-12)


@pytest.mark.analytic
def test_times_are_thickness_over_rate():
    time, spread = time_for_thickness(60 * NM, 0.1 * NM, 0.004 * NM)
    assert (time, spread) == pytest.approx((600.0, 24.0))
    assert cycles_for_thickness(40 * NM, 0.102 * NM)[0] == 393
    assert exposure_time(1200.0, 115.0)[0] == pytest.approx(1200 / 115)
    # 3 % of dose and 4 % of intensity are independent: 5 % of time.
    assert exposure_time(1200.0, 120.0, 36.0, 4.8) == pytest.approx((10.0, 0.5))
    plain = etch_time(100 * NM, 1 * NM)
    assert (plain.main, plain.over_etch) == pytest.approx((100.0, 0.0))
    # The thickest place is 5 % thicker and the slowest 5 % slower: 1.05/0.95.
    uneven = etch_time(100 * NM, 1 * NM, 0.0, 0.05, 0.05)
    assert uneven.total == pytest.approx(100 * 1.05 / 0.95)


@pytest.mark.analytic
def test_overlay_and_sheet_resistance():
    # Independent errors add in squares: 1, 0.5, 0.5 µm give 1.22474 µm. Bulk chromium of 12.9 µΩ·cm, 100 nm thick: 1.29 Ω.
    assert overlay([1 * UM, 0.5 * UM, 0.5 * UM]) == pytest.approx(1.22474 * UM, rel=1e-5)
    assert sheet_resistance(to_si(12.9, "uohm*cm"), 100 * NM) == pytest.approx(1.29, rel=1e-3)
    assert sheet_resistance(to_si(5.34, "uohm*cm"), 100 * NM) == pytest.approx(0.534, rel=1e-3)
    # Two layers, each aligned to a third: √2 of one.
    assert overlay([1 * UM, 1 * UM]) == pytest.approx(math.sqrt(2) * UM, rel=1e-12)


@pytest.mark.property
@pytest.mark.parametrize("thickness", [0.6, 1.0, 1.3, 2.5])
def test_spin_speed_inverts_the_spin_curve(thickness: float):
    speed = spin_speed(thickness * UM, 1.3 * UM, 4000 / 60, 0.5)
    assert spin_thickness(speed.value, 1.3 * UM, 4000 / 60, 0.5) == pytest.approx(thickness * UM, rel=1e-12)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "call",
    [
        lambda: time_for_thickness(0.0, 1.0),
        lambda: time_for_thickness(1.0, -1.0),
        lambda: etch_time(1.0, 0.0),
    ],
)
def test_nonsense_is_refused(call):
    with pytest.raises(ValueError, match="must be"):
        call()
