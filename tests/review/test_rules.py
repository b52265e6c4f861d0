"""Every rule has a flow that passes and one that fails; each failing flow is a small change of a sound one."""

import re
import sys
from pathlib import Path

import pytest

from filmwright.emulate import Trace, walk
from filmwright.flow import as_run, flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.outputs import Lot, legend_of, run_sheet_of
from filmwright.review import ELSEWHERE, QUESTIONS, RULES, Finding, review

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import AT, BROKEN, DELAY, DEVICES, SWITCH, THERMOMETER, WITH_IT, Broken, swap

ON = "2026-10-26"
Drawings = dict[str, Drawing]


def traced(broken: Broken, drawings: Drawings) -> Trace:
    """The trace of a broken flow."""
    lab = lab_from_text(broken.lab_text, "lab.yaml")
    flow = flow_from_text(broken.text, "plan.yaml", lab)
    if broken.record:
        flow = as_run(flow, broken.record)
    drawing = None if broken.own else drawings[broken.drawing or broken.example]
    return walk(flow, lab, book(), drawing, on=ON, sections=broken.sections)


def named(findings: tuple[Finding, ...]) -> dict[str, str]:
    """Rule → its gravest severity; a rule that shares a cause with another counts."""
    order = ("note", "warn", "stop")
    found: dict[str, str] = {}
    for each in findings:
        for rule in (each.rule, *each.also):
            found[rule] = max(found.get(rule, "note"), each.severity, key=order.index)
    return found


@pytest.fixture(scope="module")
def sound(drawings: Drawings) -> dict[str, dict[str, str]]:
    """What the sound examples say, and the sound plans of single rules."""
    examples = [Broken("", name, "") for name in (SWITCH, DELAY, THERMOMETER)]
    plans = [Broken("", "", "", own=text) for text in sorted({broken.own for broken in BROKEN} - {""})]
    return {
        each.own or each.example: named(review(traced(each, drawings), book())) for each in examples + plans
    }


@pytest.mark.property
def test_every_rule_has_a_row():
    assert {rule.name for rule in RULES} == {broken.rule for broken in BROKEN}


@pytest.mark.property
def test_every_question_is_answered_and_every_answer_has_a_question():
    answered = {key for rule in RULES for key in rule.answers}
    assert [rule.name for rule in RULES if not rule.answers] == []
    assert answered <= set(QUESTIONS)
    assert set(ELSEWHERE) <= set(QUESTIONS)
    assert set(QUESTIONS) <= answered | set(ELSEWHERE)


@pytest.mark.whole
@pytest.mark.parametrize("broken", BROKEN, ids=lambda each: each.rule)
def test_the_rule_fires_and_the_sound_flow_passes(
    broken: Broken, sound: dict[str, dict[str, str]], drawings: Drawings
):
    findings = review(traced(broken, drawings), book())
    found = named(findings)
    assert found.get(broken.rule) == broken.severity, found
    spoiled = bool(broken.plan or broken.lab or broken.record)
    if spoiled:
        assert sound[broken.own or broken.example].get(broken.rule) != broken.severity
    else:
        others = [said for name, said in sound.items() if name != broken.example]
        assert any(broken.rule not in said for said in others)
    stops = {
        each.rule
        for each in findings
        if each.severity == "stop" and broken.rule not in (each.rule, *each.also)
    }
    assert stops <= WITH_IT.get(broken.rule, DEVICES)
    mine = [each for each in findings if broken.rule in (each.rule, *each.also)]
    lines = broken.text.splitlines()
    assert all(each.line for each in mine)
    assert any(AT.get(broken.rule, "") in lines[(each.line or 0) - 1] for each in mine)
    assert all(
        each.what and each.expected and each.got and each.why and each.remedy and each.source for each in mine
    )


@pytest.mark.whole
def test_what_is_accepted_keeps_its_reason_and_still_counts(drawings: Drawings):
    text = swap(
        "    pressure: 5 mTorr\n",
        "    accept: {sputter pressure missing: the recipe is fixed on this tool}\n",
    )
    findings = review(traced(Broken("", SWITCH, "", (text,)), drawings), book())
    accepted = next(each for each in findings if each.rule == "sputter pressure missing")
    assert accepted.acknowledged == "the recipe is fixed on this tool"
    assert accepted.severity == "warn"


HOT_GATE = "    accept: {gate field: %s}\n    gate: 6 V\n"


@pytest.mark.whole
@pytest.mark.parametrize(
    ("reason", "counts"),
    [("looks fine", False), ("process owner thin films held twice that on a witness", True)],
)
def test_only_the_process_owner_accepts_a_stop(reason: str, counts: bool, drawings: Drawings):
    changes = (
        swap("probe voltage: 6 V", "probe voltage: 40 V"),
        swap("    gate: 6 V\n", HOT_GATE % reason),
    )
    findings = review(traced(Broken("", SWITCH, "", changes), drawings), book())
    field = next(each for each in findings if each.rule == "gate field")
    assert field.severity == "stop"
    assert field.acknowledged == (reason if counts else "")
    assert (reason in field.refused) is not counts


@pytest.mark.whole
@pytest.mark.parametrize(
    ("owners", "reason", "counts"),
    [
        ("[thin films, wet benches]", "process owner thin films saw a witness hold", True),
        ("[thin films, wet benches]", "Process owner  Thin Films: seen on a witness", True),
        ("[thin films, wet benches]", "Process owner  Thin Films, seen on a witness", True),
        ("[thin films, wet benches]", "Process owner  Thin Films saw it", True),
        ("[thin films, wet benches]", "process owner thin ice", False),
        ("[thin films, wet benches]", "process owner AB held it", False),
        ("[thin films, wet benches]", "process owner", False),
        ("", "process owner", False),
        ("", "process owners all agree", False),
        ("", "process owner AB", True),
    ],
)
def test_a_stop_is_accepted_in_the_name_of_an_owner_of_the_lab_file(
    owners: str, reason: str, counts: bool, drawings: Drawings
):
    changes = (
        swap("probe voltage: 6 V", "probe voltage: 40 V"),
        swap("    gate: 6 V\n", HOT_GATE % f'"{reason}"'),
    )
    named = "process owners: [thin films, lithography, wet benches]\n"
    lab = (swap(named, f"process owners: {owners}\n" if owners else ""),)
    findings = review(traced(Broken("", SWITCH, "", changes, lab=lab), drawings), book())
    field = next(each for each in findings if each.rule == "gate field")
    assert bool(field.acknowledged) is counts
    assert ("thin films, wet benches" in field.refused) is (bool(owners) and not counts)


@pytest.mark.whole
def test_an_accepted_note_stands_on_the_sheet_too(drawings: Drawings):
    changes = (
        swap("    gate: 6 V\n", "    accept: {dark wait: the chip was never in the light}\n    gate: 6 V\n"),
    )
    trace = traced(Broken("", SWITCH, "", changes), drawings)
    findings = review(trace, book())
    assert next(each for each in findings if each.rule == "dark wait").severity == "note"
    sheet = run_sheet_of(trace, findings, Lot(name="K7M", wafers=("A",)), legend_of(book().materials))
    assert "the chip was never in the light" in {each.acknowledged for each in sheet.findings}


@pytest.mark.whole
def test_accepted_findings_stand_on_the_sheet_with_their_reasons(drawings: Drawings):
    changes = (
        swap("    pressure: 5 mTorr\n", "    accept: {sputter pressure missing: the recipe is fixed}\n"),
        swap("probe voltage: 6 V", "probe voltage: 40 V"),
        swap("    gate: 6 V\n", HOT_GATE % "looks fine"),
    )
    trace = traced(Broken("", SWITCH, "", changes), drawings)
    sheet = run_sheet_of(
        trace, review(trace, book()), Lot(name="K7M", wafers=("A",)), legend_of(book().materials)
    )
    assert "the recipe is fixed" in {each.acknowledged for each in sheet.findings}
    stops = [each for each in sheet.findings if each.severity == "stop"]
    assert [each.acknowledged for each in stops] == [""]
    assert "only the process owner accepts a stop" in stops[0].remedy


@pytest.mark.property
def test_one_cause_is_one_finding(drawings: Drawings):
    findings = review(traced(BROKEN[3], drawings), book())
    places = [(each.step, each.what) for each in findings]
    assert len(places) == len(set(places))


@pytest.mark.whole
@pytest.mark.parametrize(("example", "thickness"), [(DELAY, 110), (THERMOMETER, 130)])
@pytest.mark.parametrize(("least", "weak"), [("30 %", False), ("60 %", True)])
def test_a_section_of_a_climb_goes_before_the_rule_of_thumb(
    example: str, thickness: float, least: str, weak: bool, drawings: Drawings
):
    limit = swap("\nwaits:", f"\nlimits:\n  weak climb: {least}\n\nwaits:")
    row = Broken("", example, "", lab=(limit,), sections=True)
    found = [each for each in review(traced(row, drawings), book()) if "climb" in each.rule]
    assert [each.rule for each in found] == ["weak climb"] * weak
    # 110 nm over 320 nm, 130 nm over 96 nm: the thumb alone would tell of both. The share is of the metal as planned.
    for each in found:
        left, share, flat = (float(number) for number in re.findall(r"[\d.]+", each.got)[:3])
        assert flat == pytest.approx(thickness)
        assert share == pytest.approx(100 * left / flat, abs=0.6)
