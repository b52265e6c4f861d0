"""Forty-five mistakes in three sound flows: the intended rule tells each, once, and nothing else is said."""

import re
import sys
from functools import cache
from pathlib import Path

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.review import Finding, review

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import DELAY, SWITCH, THERMOMETER, changed, shipped
from faults import FAULTS, Fault

ON = "2026-10-26"
_NUMBER = re.compile(r"\b\d+\.\d+\b")
"""The number of a step, which moves when a step is put in or left out."""

Key = tuple[str, str, str]


@cache
def judged(example: str, text: str, drawing: Drawing) -> tuple[Finding, ...]:
    """Findings on a plan of an example's lab; sections are left out, as no rule meant here looks at one."""
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(text, "plan.yaml", lab)
    return review(walk(flow, lab, book(), drawing, on=ON, sections=False), book())


def key(finding: Finding) -> Key:
    """What a finding is about, whatever the number of its step."""
    return finding.rule, finding.severity, _NUMBER.sub("", finding.what)


@pytest.mark.whole
@pytest.mark.parametrize("fault", FAULTS, ids=lambda each: each.what)
def test_a_fault_is_told_once_by_its_rule_and_nothing_else_is_said(
    fault: Fault, drawings: dict[str, Drawing]
):
    sound = shipped(fault.example, "plan.yaml")
    drawing = drawings[fault.example]
    known = {key(each) for each in judged(fault.example, sound, drawing)}
    told = judged(fault.example, changed(sound, fault.changes), drawing)
    new = [each for each in told if each.severity != "note" and key(each) not in known]
    mine = [each for each in new if fault.rule in (each.rule, *each.also)]
    assert [each.severity for each in mine] == [fault.severity], [key(each) for each in new]
    assert {each.rule for each in new if each not in mine} <= fault.beside


@pytest.mark.property
def test_there_are_fifteen_for_each_flow():
    for example in (SWITCH, DELAY, THERMOMETER):
        mine = [each for each in FAULTS if each.example == example]
        assert len(mine) == 15
        assert len({each.what for each in mine}) == 15
    assert len({each.rule for each in FAULTS}) >= 30
