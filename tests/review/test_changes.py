"""Lines that a remedy changes: what is changed, what stays, and that the changed plan is better."""

import sys
from pathlib import Path

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.review import Finding, counts, review, with_changes

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import DELAY, SWITCH, THERMOMETER, Text, after, changed, shipped, swap, without

ON = "2026-10-26"


def judged(example: str, text: str, drawings: dict[str, Drawing]) -> tuple[Finding, ...]:
    """Findings on a plan."""
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(text, "plan.yaml", lab)
    return review(walk(flow, lab, book(), drawings[example], on=ON, sections=False), book())


MENDED: dict[str, tuple[str, tuple[Text, ...]]] = {
    # rule that is gone after its change: example, what was spoiled
    "organic in heat": (SWITCH, (without("name: strip after the gate etch"),)),
    "coated over resist": (SWITCH, (without("name: strip after the channel etch"),)),
    "noble metal without adhesion": (SWITCH, (without("name: contact adhesion"),)),
    "film not cleared": (SWITCH, (swap("until: end point + 25 %", "time: 20 s"),)),
    "wet etch without priming": (SWITCH, (swap("  - pattern: gate\n", "  - pattern: gate\n    prime: no\n"),)),
    "over-etch below unevenness": (SWITCH, (swap("until: end point + 25 %", "until: end point + 1 %"),)),
    "film not closed": (SWITCH, (swap("thickness: 90 nm ± 5 %", "thickness: 4 nm"),)),
    "dose off the range": (SWITCH, (swap("  - pattern: channel\n", "  - pattern: channel\n    dose: 900 mJ/cm^2\n"),)),
    "development off the range": (SWITCH, (swap("  - pattern: channel\n", "  - pattern: channel\n    develop time: 3 min\n"),)),
    "tool does not serve": (SWITCH, (swap("    thickness: 60 nm ± 5 %\n", "    thickness: 60 nm ± 5 %\n    tool: spinner\n"),)),
    "hardened resist": (DELAY, (swap("opening\n    in: dimethyl sulfoxide stripper", "opening\n    in: acetone"),)),
    "bath leaves resist": (SWITCH, (swap("contact lift-off\n    in: dimethyl sulfoxide stripper", "contact lift-off\n    in: acetone"),)),
    "vacuum broken on adhesion": (THERMOMETER, (after("name: adhesion under gold", "  - park: nitrogen box\n    longest: 3 day"),)),
    "length not measured": (SWITCH, (without("name: channel length check"),)),
    "lift-off profile": (SWITCH, (swap("resist: lift-off two-layer", "resist: positive 1.3 um"),)),
    "sputter pressure off the range": (SWITCH, (swap("pressure: 5 mTorr", "pressure: 5 Torr"),)),
    "probed beyond the plan": (SWITCH, (swap("gate: 6 V", "gate: 9 V"),)),
    "dose without band": (SWITCH, (swap("  - pattern: gate\n", "  - pattern: gate\n    dose: 100 mJ/cm^2\n"),)),
    "tolerance not held": (SWITCH, (swap("thickness: 60 nm ± 5 %", "thickness: 60 nm ± 0.5 %"),)),
    "alkali at the gate": (SWITCH, (swap("  - pattern: opening\n", "  - pattern: opening\n    developer: sodium-based developer\n"),)),
    "too hot for a film": (THERMOMETER, (swap("temperature: 350 degC", "temperature: 700 degC"),)),
    "measured under resist": (THERMOMETER, (after("name: meander metal", "  - measure: step height\n    name: early height\n    of: platinum"),)),
    "gate field": (SWITCH, (swap("probe voltage: 6 V", "probe voltage: 20 V"),)),
    "film must survive": (DELAY, (swap("until: end point + 15 %", "until: end point + 60 %"),)),
    "no clean at the start": (THERMOMETER, (swap("  - clean: solvent clean\n\n", ""),)),
    "parked too long": (SWITCH, (after("- pattern: gate", "  - park: nitrogen box\n    name: a weekend\n    longest: 3 day"),)),
    "forgotten strip": (THERMOMETER, (without("name: top lift-off"),)),
}  # fmt: skip


@pytest.mark.whole
@pytest.mark.parametrize("rule", MENDED)
def test_the_change_mends_what_it_is_for(rule: str, drawings: dict[str, Drawing]):
    example, spoiled = MENDED[rule]
    text = changed(shipped(example, "plan.yaml"), spoiled)
    findings = judged(example, text, drawings)
    assert any(rule in (each.rule, *each.also) for each in findings)
    new, followed = with_changes(text, findings)
    assert any(rule in (each.rule, *each.also) for each in followed)
    left = judged(example, new, drawings)
    assert not [each for each in left if rule in (each.rule, *each.also) and each.severity != "note"]
    assert counts(left)["stop"] <= counts(findings)["stop"]


@pytest.mark.property
def test_comments_and_all_other_lines_stay(drawings: dict[str, Drawing]):
    spoiled = swap("    until: end point + 25 %\n", "    time: 20 s   # felt long enough\n")
    text = changed(shipped(SWITCH, "plan.yaml"), (spoiled,))
    new, _ = with_changes(text, judged(SWITCH, text, drawings))
    old, now = text.splitlines(), new.splitlines()
    differ = [(a, b) for a, b in zip(old, now, strict=True) if a != b]
    assert differ == [
        ("    time: 20 s   # felt long enough", "    until: end point + 25 %   # felt long enough")
    ]


@pytest.mark.property
def test_a_sound_plan_is_not_changed(drawings: dict[str, Drawing]):
    text = shipped(SWITCH, "plan.yaml")
    assert with_changes(text, judged(SWITCH, text, drawings)) == (text, ())


@pytest.mark.property
def test_a_new_step_has_a_name_of_its_own_that_yaml_reads(drawings: dict[str, Drawing]):
    """Names with a colon, and one that is taken already."""
    text = changed(
        shipped(SWITCH, "plan.yaml"),
        (
            without("name: contact adhesion"),
            swap("    name: contact metal\n", '    name: "contact: metal"\n'),
            swap("    name: gate metal\n", '    name: "adhesion under contact: metal"\n'),
        ),
    )
    new, followed = with_changes(text, judged(SWITCH, text, drawings))
    assert [each.rule for each in followed] == ["noble metal without adhesion"]
    assert '    name: "adhesion under contact: metal 2"\n' in new
    assert counts(judged(SWITCH, new, drawings))["stop"] == 0
