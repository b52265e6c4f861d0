"""The resist budget shows the typical and the far end, and which of them passes the limit."""

import sys
from pathlib import Path

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.review import review

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import BROKEN


@pytest.mark.property
def test_both_numbers_and_what_tripped_are_told(drawings: dict[str, Drawing]):
    broken = next(each for each in BROKEN if each.rule == "resist budget")
    lab = lab_from_text(broken.lab_text, "lab.yaml")
    flow = flow_from_text(broken.text, "plan.yaml", lab)
    trace = walk(flow, lab, book(), drawings[broken.example], on="2026-10-26", sections=False)
    found = next(each for each in review(trace, book()) if "resist budget" in (each.rule, *each.also))
    assert "typical" in found.got
    tripped = "already the typical" if found.severity == "stop" else "only the far end"
    assert tripped in found.got
    assert ("measure" in found.remedy) is (found.severity == "warn")
