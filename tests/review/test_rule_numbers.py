"""The numbers that rules print, against the same numbers worked out by hand or taken from print."""

import re
import sys
from functools import cache
from pathlib import Path

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book, electrode_potential
from filmwright.masks import Drawing
from filmwright.review import Finding, review

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
def test_electrode_potentials_of_the_series():
    # CRC Handbook: Al³⁺ −1.66 V, Au³⁺ +1.50 V; what is not on file has none.
    assert electrode_potential("aluminium") == pytest.approx(-1.66)
    assert electrode_potential("gold") == pytest.approx(1.50)
    assert electrode_potential("zinc oxide") is None


@pytest.mark.analytic
def test_times_at_different_heats_add_up(told):
    # 24 h at 250 °C in air count exp(−1 eV/k (1/523 − 1/573)) = 0.14 each at the 300 °C of titanium: 3.5 h.
    assert first(told("thermal ledger").got) == pytest.approx(3.5, rel=0.1)
