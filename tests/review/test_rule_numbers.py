"""The numbers that rules print, against the same numbers worked out by hand or taken from print."""

import re
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book, electrode_potential, halide_leaves_at
from filmwright.masks import Drawing
from filmwright.review import Finding, review
from filmwright.review.rules.reflectance_orders import same_reading

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import BROKEN, Broken

ON = "2026-10-26"


@pytest.fixture(scope="module")
def told(drawings: dict[str, Drawing]):
    """The finding of a rule on its broken flow."""

    @cache
    def tell(rule: str) -> Finding:
        broken: Broken = next(each for each in BROKEN if each.rule == rule)
        lab = lab_from_text(broken.lab_text, "lab.yaml")
        flow = flow_from_text(broken.text, "plan.yaml", lab)
        drawing = None if broken.own else drawings[broken.drawing or broken.example]
        findings = review(walk(flow, lab, book(), drawing, on=ON, sections=False), book())
        return next(each for each in findings if rule in (each.rule, *each.also))

    return tell


def first(text: str) -> float:
    """The first number of a text."""
    found = re.search(r"\d+(\.\d+)?", text)
    assert found is not None, text
    return float(found[0])


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("rule", "expected", "tolerance"),
    [
        # G = σ² h / E: (1.15 GPa)² × 400 nm / 279 GPa.
        ("film stress", 1.90, 0.02),
        # 70 nm of titanium and 90 nm of gold, 2.05 g/m², on a crystal of 6 MHz: × 6e6 / (2649 × 1661).
        ("quartz monitor loaded", 0.28, 0.10),
        # Hertz–Knudsen: 1.33 mPa of water bring 4.8e19, 6 nm/min of titanium 5.7e18 atoms a square metre and second.
        ("water in a getter", 8.5, 0.03),
        # kT / (√2 π d² p) with d = 0.375 nm and 1.33 Pa.
        ("evaporated in poor vacuum", 4.9, 0.05),
        # (23.1 − 2.6) 1e-6 × 330 K.
        ("expansion mismatch", 0.68, 0.02),
        # erfc(0.5 % / 4.3 % / √2).
        ("tolerance not held", 91, 0.03),
        # Michaelson 1977: nickel 5.15 eV; affinity 4.3 eV.
        ("barrier at the contact", 0.85, 0.01),
        # 1 − exp(−0.16) for 400 µm × 400 µm and one pinhole in a square millimetre.
        ("pinholes under a plate", 15, 0.03),
        # 8.9 × 8.854e-12 × 0.16e-6 / 50e-9.
        ("capacitor too small to read", 252, 0.10),
        # 10 nm / 42 µΩ·cm beside 90 nm / 2.3 µΩ·cm.
        ("sheet resistance of two films", 0.6, 0.35),
        # 25 nm/min of the book for an hour.
        ("fluoride bath on glass", 1.5, 0.01),
    ],
)
def test_a_rule_prints_what_the_hand_finds(rule: str, expected: float, tolerance: float, told):
    assert first(told(rule).got) == pytest.approx(expected, rel=tolerance)


@pytest.mark.literature
def test_zinc_leaves_in_a_chamber_where_print_says_so(told):
    # CRC vapour pressures: 1e-4 torr, 13 mPa, at 249 °C; at 300 °C some fifteen times that.
    assert told("film evaporates").got.startswith("193 mPa at 300 °C")


@pytest.mark.literature
def test_the_smallest_line_of_a_gap(told):
    # Madou: W = 3/2 √(λ (g + t/2)) = 4.52 µm for 435.8 nm, 20 µm and 1.7 µm of resist.
    expected = told("line below resolution").expected
    assert first(expected) == pytest.approx(4.52, rel=0.01)


@pytest.mark.literature
def test_what_a_halogen_makes_of_a_stop_layer():
    # CRC Handbook: SiF4 −86 °C, MoF6 34 °C, TiF4 284 °C (sublimes), AlCl3 180 °C (sublimes), ZnCl2 732 °C.
    for material, halogen, celsius in (
        ("silicon dioxide", "fluorine", -86),
        ("molybdenum", "fluorine", 34),
        ("titanium", "fluorine", 284),
        ("aluminium oxide", "chlorine", 180),
        ("indium gallium zinc oxide", "chlorine", 732),
    ):
        told = halide_leaves_at(material, halogen)
        assert told is not None
        assert told[1] == pytest.approx(273.15 + celsius, abs=0.5)
    assert halide_leaves_at("gold", "fluorine") is None
    told = halide_leaves_at("indium gallium zinc oxide", "chlorine")
    assert told is not None
    assert told[0] == "zinc chloride"


@pytest.mark.analytic
def test_thicknesses_that_read_alike_have_the_same_reflectance():
    """Against the exact reflectance of one film (Airy) on a mirror: it is the same for all of them, and for no other nearby."""
    light, n, r1, r2 = 546e-9, 2.0, -1 / 3, -0.3

    def reflectance(depth: float) -> float:
        back = r2 * np.exp(-4j * np.pi * n * depth / light)
        return float(abs((r1 + back) / (1 + r1 * back)) ** 2)

    alike = same_reading(280e-9, light / (2 * n), 300e-9)
    assert len(alike) == 5
    assert [reflectance(each) for each in alike] == pytest.approx([reflectance(280e-9)] * 5, rel=1e-9)
    depths = np.linspace(5e-9, 299e-9, 4001)
    values = np.array([reflectance(each) for each in depths]) - reflectance(280e-9)
    crossings = depths[:-1][np.sign(values[:-1]) != np.sign(values[1:])]
    assert sorted(crossings) == pytest.approx(alike, abs=0.2e-9)


@pytest.mark.literature
def test_electrode_potentials_of_the_series():
    # CRC Handbook: Al³⁺ −1.66 V, Au³⁺ +1.50 V; what is not on file has none.
    assert electrode_potential("aluminium") == pytest.approx(-1.66)
    assert electrode_potential("gold") == pytest.approx(1.50)
    assert electrode_potential("zinc oxide") is None


@pytest.mark.analytic
def test_times_at_different_heats_add_up(told):
    # 24 h at 250 °C in air count exp(−1 eV/k (1/523 − 1/573)) = 0.14 each at the 300 °C of titanium: 3.5 h.
    assert first(told("thermal ledger").got) == pytest.approx(3.5, rel=0.1)


@pytest.mark.analytic
def test_a_selectivity_that_only_the_upper_rate_breaks_is_measured_first(drawings: dict[str, Drawing]):
    # Molybdenum at 100 nm/min over zinc oxide at 8 ± 3 nm/min of the lab: 12.5 typical, 100/14 = 7.1 at the upper rate, 10 wanted.
    broken: Broken = next(each for each in BROKEN if each.rule == "no stop on the channel")
    bath = 'medium: "phosphoric, acetic and nitric aluminium etch"'

    def severity(rate: str) -> set[str]:
        lines = "".join(
            f"  - {{tool: acid bench, {bath}, material: {material}, etch rate: {speed}, date: 2026-10-25}}\n"
            for material, speed in (("molybdenum", "100 nm/min ± 1 %"), ("zinc oxide", rate))
        )
        lab = lab_from_text(
            broken.lab_text.replace("calibrations:\n", "calibrations:\n" + lines, 1), "lab.yaml"
        )
        flow = flow_from_text(broken.text, "plan.yaml", lab)
        findings = review(walk(flow, lab, book(), drawings[broken.example], on=ON, sections=False), book())
        return {each.severity for each in findings if each.rule == broken.rule}

    assert severity("8 nm/min ± 3 nm/min") == {"warn"}
    assert severity("40 nm/min ± 3 nm/min") == {"stop"}
    assert severity("2 nm/min ± 0.2 nm/min") == set()
