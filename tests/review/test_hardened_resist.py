"""What hardens resist and what takes its skin off again."""

import sys
from pathlib import Path

import pytest

from filmwright.emulate import ashes, hardens, walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.review import review

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import BROKEN, DELAY, Broken, swap

STEPS = """\
flow: Steps on resist
wafer:
  body: silicon
  diameter: 100 mm

steps:
"""


@pytest.mark.literature
@pytest.mark.parametrize(
    ("step", "what"),
    [
        # Oxygen takes resist with its skin; ions, halogens and heat cross-link it (common practice).
        ("clean: oxygen plasma ash", ""),
        ("clean: oxygen descum", ""),
        ("clean: xenon difluoride vapour", ""),
        ("clean: acetone", ""),
        ("clean: argon ion etch", "plasma"),
        ("clean: sulfur hexafluoride and oxygen plasma", "plasma"),
        ("clean: chlorine and oxygen plasma", "plasma"),
        ("anneal: air\n    temperature: 120 degC\n    time: 60 s", ""),
        ("anneal: air\n    temperature: 150 degC\n    time: 60 s", "heat"),
    ],
)
def test_what_hardens_resist(step: str, what: str):
    lab = lab_from_text("lab: A lab\n", "lab.yaml")
    read = flow_from_text(STEPS + f"  - {step}\n", "plan.yaml", lab).steps[0]
    assert hardens(read, book()) == what
    assert ashes(read, book()) is ("clean: oxygen" in step)


@pytest.mark.whole
@pytest.mark.parametrize(
    ("ash", "veils"), [("", True), ("oxygen plasma ash", False), ("argon ion etch", True)]
)
def test_an_ash_before_the_solvent_takes_the_skin(ash: str, veils: bool, drawings: dict[str, Drawing]):
    broken: Broken = next(each for each in BROKEN if each.rule == "hardened resist")
    extra = f"  - clean: {ash}\n    time: 20 s\n\n" if ash else ""
    strip = "  - strip: resist\n    name: strip after the opening"
    text = swap(strip, extra + strip)
    lab = lab_from_text(broken.lab_text, "lab.yaml")
    flow = flow_from_text(text(broken.text), "plan.yaml", lab)
    found = review(walk(flow, lab, book(), drawings[DELAY], on="2026-10-26", sections=False), book())
    assert ("hardened resist" in {name for each in found for name in (each.rule, *each.also)}) is veils
