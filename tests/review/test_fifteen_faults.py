"""Fifteen faults as people make them, one each in a sound flow: the intended rule tells it, and nothing else is said."""

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
from broken_flows import DELAY, SWITCH, THERMOMETER, Text, after, changed, shipped, swap, without

ON = "2026-10-26"
Said = set[tuple[str, str]]

FAULTS: dict[str, tuple[str, tuple[Text, ...], str, str, set[str]]] = {
    # fault: example, changes, rule, severity, what follows from it besides
    "strip forgotten before the hot insulator": (SWITCH, (without("name: strip after the gate etch"),), "organic in heat", "stop", {"expected devices", "terminals joined or apart", "pad unreachable", "lift-off bridged", "resist at the end", "measured under resist", "forgotten strip", "chamber refuses", "metal climbs a step", "resist thin over steps"}),
    "gold without titanium beneath": (SWITCH, (without("name: contact adhesion"),), "noble metal without adhesion", "stop", set()),
    "gate mask of the other tone": (SWITCH, (swap("gate:    {layer: 1/0, drawn: opaque}", "gate:    {layer: 1/0, drawn: clear}"),), "expected devices", "stop", {"terminals joined or apart"}),
    "minutes typed for seconds": (SWITCH, (swap("until: end point + 25 %", "time: 20 min"),), "time does not fit the film", "warn", {"rate stale or wide"}),
    "millitorr typed as torr": (SWITCH, (swap("pressure: 5 mTorr", "pressure: 5 Torr"),), "sputter pressure off the range", "warn", set()),
    "dose typed ten times too high": (THERMOMETER, (swap("  - pattern: opening\n", "  - pattern: opening\n    dose: 1000 mJ/cm^2 ± 20 %\n"),), "dose off the range", "warn", set()),
    "the developer with sodium": (SWITCH, (swap("  - pattern: opening\n", "  - pattern: opening\n    developer: sodium-based developer\n"),), "alkali at the gate", "warn", set()),
    "acetone on the acid bench": (DELAY, (swap("ground etch\n    in: dimethyl sulfoxide stripper", "ground etch\n    in: acetone\n    tool: acid bench"),), "never together", "stop", {"tool does not serve"}),
    "molybdenum etched through the insulator": (DELAY, (swap("until: end point + 15 %", "until: end point + 60 %"),), "film must survive", "stop", {"etch attacks film"}),
    "etched without its lithography": (DELAY, (without("- pattern: opening"),), "etched without resist", "warn", {"film must survive", "expected devices", "etch attacks film", "level never printed", "terminals joined or apart", "terminals shorted", "overlap below overlay", "plasma on bare channel"}),
    "a hasty clean between print and etch": (SWITCH, (after("- pattern: channel", "  - clean: acetone\n    name: hasty clean\n    time: 30 s"),), "bath takes resist", "stop", {"expected devices", "film must survive", "etched without resist"}),
    "annealed over night": (SWITCH, (swap("time: 60 min", "time: 14 h"),), "thermal ledger", "warn", set()),
    "opened to the air before the gold": (THERMOMETER, (after("name: adhesion under gold", "  - park: nitrogen box over the weekend\n    longest: 3 day"),), "vacuum broken on adhesion", "warn", set()),
    "probed higher than foreseen": (SWITCH, (swap("gate: 6 V", "gate: 12 V"),), "probed beyond the plan", "warn", set()),
    "a lift-off with a film that covers walls": (THERMOMETER, (swap("name: top metal\n    method: electron-beam evaporation", "name: top metal\n    method: direct-current sputtering\n    pressure: 5 mTorr"),), "lift-off profile", "warn", {"chamber refuses", "vacuum broken on adhesion", "lift-off bridged", "outside the model"}),
}  # fmt: skip


def said(findings: tuple[Finding, ...]) -> Said:
    """Rule and weight of all stops and warns; a rule that shares a cause with another counts with its weight."""
    return {
        (rule, each.severity)
        for each in findings
        if each.severity != "note"
        for rule in (each.rule, *each.also)
    }


@cache
def judged(example: str, text: str, drawing: Drawing) -> tuple[Finding, ...]:
    """Findings on a plan of an example's lab."""
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(text, "plan.yaml", lab)
    return review(walk(flow, lab, book(), drawing, on=ON, sections=False), book())


@pytest.mark.whole
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_told_by_its_rule_without_noise(fault: str, drawings: dict[str, Drawing]):
    example, changes, rule, severity, follows = FAULTS[fault]
    sound = shipped(example, "plan.yaml")
    before = said(judged(example, sound, drawings[example]))
    told = said(judged(example, changed(sound, changes), drawings[example]))
    new = told - before
    assert (rule, severity) in new
    assert {name for name, _ in new} - {rule} <= follows


@pytest.mark.property
def test_there_are_fifteen():
    assert len(FAULTS) == 15
    assert len({rule for _, _, rule, _, _ in FAULTS.values()}) == 15
