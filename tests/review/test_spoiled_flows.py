"""The three sound flows, spoiled as people spoil them, beside what the rules' own table spoils: each fault is told at the
step where it happens, and told once."""

from collections.abc import Callable
from functools import cache
from importlib import resources

import pytest

from filmwright.emulate import walk
from filmwright.flow import Done, as_run, flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.review import Finding, counts, review

SWITCH, DELAY, THERMOMETER = "humidity-switch", "delay-line", "platinum-thermometer"
ON = "2026-10-26"
DEVICES = {"expected devices", "pad unreachable", "terminals joined or apart", "film must survive"}
"""What is read off the finished wafer: the consequence of many a fault beside the rule that names its cause."""

Change = tuple[str, str]


@cache
def shipped(*names: str) -> str:
    """A shipped text; the drawing of the switch is cut down to six of its transistors."""
    text = resources.files("filmwright.desk").joinpath("examples", *names).read_text("utf-8")
    return text.replace("count: 48", "count: 6")


def spoil(text: str, *changes: Change) -> str:
    """The text with each old piece replaced by its new one; the old ones must be there."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


Judge = Callable[..., tuple[tuple[Finding, ...], list[str]]]


@pytest.fixture(scope="module")
def judged(drawings: dict[str, Drawing]) -> Judge:
    """Findings on a changed example, and the lines of its plan; each is walked once."""

    @cache
    def judge(
        example: str, *changes: Change, lab: tuple[Change, ...] = (), record: tuple[Done, ...] = ()
    ) -> tuple[tuple[Finding, ...], list[str]]:
        plan = spoil(shipped(example, "plan.yaml"), *changes)
        read = lab_from_text(spoil(shipped("lab.yaml"), *lab), "lab.yaml")
        flow = flow_from_text(plan, "plan.yaml", read)
        flow = as_run(flow, record) if record else flow
        trace = walk(flow, read, book(), drawings[example], on=ON, sections=False)
        return review(trace, book()), plan.splitlines()

    return judge


def between(example: str, first: str, end: str) -> str:
    """The piece of a plan from one text up to another."""
    text = shipped(example, "plan.yaml")
    return text[text.index(first) : text.index(end)]


def drop(example: str, first: str, end: str) -> Change:
    """The change that leaves a piece of a plan out."""
    return between(example, first, end), ""


GATE_STRIP = between(
    SWITCH, "  - strip: resist\n    name: strip after the gate etch", "  - measure: step height"
)
GROUND_STRIP = "    because: never acetone near spent chromium etch\n"
ALUMINA_ETCH = between(
    SWITCH, "    with: boron trichloride plasma", "  - strip: resist\n    name: strip after the opening"
)
MOLYBDENUM_ETCH = between(
    DELAY, "    with: sulfur hexafluoride", "  - strip: resist\n    name: strip after the finger etch"
)
CONTACT = "    name: contact metal\n    method: electron-beam evaporation"


def clean(bath: str) -> str:
    """One more clean."""
    return f"\n  - clean: {bath}\n    name: second clean\n"


SPOILED: dict[str, tuple[str, tuple[Change, ...], str, str, str, set[str]]] = {
    # what went wrong: example, changes, rule, severity, what stands on the line, further stops beside the finished wafer's
    "channel mask inverted": (SWITCH, (("channel: {layer: 2/0, drawn: opaque}", "channel: {layer: 2/0, drawn: clear}"),), "film not cleared", "stop", "etch: aluminium oxide", set()),
    "opening mask inverted": (SWITCH, (("opening: {layer: 3/0, drawn: clear}", "opening: {layer: 3/0, drawn: opaque}"),), "etch attacks film", "stop", "etch: aluminium oxide", set()),
    "contact mask inverted": (SWITCH, (("contact: {layer: 4/0, drawn: clear}", "contact: {layer: 4/0, drawn: opaque}"),), "expected devices", "stop", "transistors:", set()),
    "piranha after titanium": (SWITCH, ((GATE_STRIP, GATE_STRIP + clean("piranha")),), "etch attacks film", "stop", "clean: piranha", {"never together"}),
    "ammonia and peroxide after titanium": (SWITCH, ((GATE_STRIP, GATE_STRIP + clean("SC-1")),), "etch attacks film", "stop", "clean: SC-1", set()),
    "ammonia and peroxide after molybdenum": (DELAY, (("\n  - measure: line width", clean("SC-1") + "\n  - measure: line width"),), "attacked, rate not on file", "stop", "clean: SC-1", set()),
    "acid and peroxide after zinc oxide": (DELAY, (("piezo etch\n    in: acetone\n", "piezo etch\n    in: acetone\n" + clean("SC-2")),), "attacked, rate not on file", "stop", "clean: SC-2", set()),
    "lift-off of a sputtered film": (SWITCH, ((CONTACT, "    name: contact metal\n    method: direct-current sputtering\n    pressure: 5 mTorr"),), "lift-off profile", "warn", "deposit: gold", set()),
    "lift-off of a film too thick for the resist": (SWITCH, (("thickness: 90 nm ± 5 %", "thickness: 900 nm ± 5 %"),), "lift-off profile", "warn", "lift off: resist", set()),
    "lift-off before its film": (THERMOMETER, (drop(THERMOMETER, "  - deposit: titanium\n    name: adhesion under platinum", "  - lift off: resist\n    name: meander"),), "lift-off profile", "stop", "lift off: resist", set()),
    "plasma etch typed ten times too long": (SWITCH, (("plasma\n    until: end point + 20 %", "plasma\n    time: 12 min"),), "resist budget", "stop", "etch: aluminium oxide", set()),
    "deposition typed in seconds for minutes": (SWITCH, (("thickness: 60 nm ± 5 %", "thickness: 60 nm ± 5 %\n    time: 10 s"),), "time does not fit the film", "warn", "deposit: titanium", set()),
    "oxide semiconductor into a chamber that refuses zinc": (SWITCH, (("  - pattern: opening\n", "  - deposit: silicon nitride\n    name: cap\n    method: PECVD\n    thickness: 50 nm\n\n  - pattern: opening\n"),), "chamber refuses", "stop", "deposit: silicon nitride", {"too hot for a film", "film not cleared"}),
    "nitride from silane onto a bare channel": (SWITCH, (drop(SWITCH, "  - anneal: air", "  - measure: line width"), ("  - measure: line width", "  - deposit: silicon nitride\n    name: cap\n    method: PECVD\n    temperature: 200 degC\n    thickness: 50 nm\n\n  - measure: line width")), "plasma on bare channel", "warn", "deposit: silicon nitride", {"chamber refuses"}),
    "opening level left out of the thermometer": (THERMOMETER, (drop(THERMOMETER, "  - pattern: opening", "  - pattern: top"),), "expected devices", "stop", "capacitors:", set()),
    "contact level left out": (SWITCH, (drop(SWITCH, "  - pattern: contact", "  - anneal: air"),), "expected devices", "stop", "transistors:", set()),
    "developed fifteen minutes": (SWITCH, (("    resist: lift-off two-layer\n", "    resist: lift-off two-layer\n    develop time: 15 min\n"),), "developer attacks film", "stop", "pattern: contact", set()),
}  # fmt: skip


@pytest.mark.whole
@pytest.mark.parametrize("fault", SPOILED)
def test_a_fault_is_told_at_its_line(fault: str, judged: Judge):
    example, changes, rule, severity, at, further = SPOILED[fault]
    findings, lines = judged(example, *changes)
    mine = [each for each in findings if rule in (each.rule, *each.also) and each.severity == severity]
    assert any(each.line and at in lines[each.line - 1] for each in mine), [f.what for f in findings]
    stops = {each.rule for each in findings if each.severity == "stop" and each not in mine}
    assert stops <= further | DEVICES


@pytest.mark.whole
@pytest.mark.parametrize("example", [SWITCH, DELAY, THERMOMETER])
def test_a_sound_flow_has_no_stop_and_few_warns(example: str, judged: Judge):
    findings, _ = judged(example)
    assert counts(findings)["stop"] == 0
    assert counts(findings)["warn"] <= 5


@pytest.mark.whole
def test_a_forgotten_strip_is_one_finding_with_all_the_rules_that_it_breaks(judged: Judge):
    findings, _ = judged(SWITCH, (GATE_STRIP, ""))
    before = [each for each in findings if each.step == "6.1" and each.severity == "stop"]
    assert len(before) == 1
    assert {before[0].rule, *before[0].also} >= {"organic in heat", "forgotten strip", "chamber refuses"}
    # What is read off the spoiled wafer stands beneath it, with its lines, and nowhere else.
    assert "expected devices" in before[0].also
    assert any("the transistors on the finished wafer must be 6" in each for each in before[0].follows)
    assert [each.rule for each in findings if each.severity == "stop"] == [before[0].rule]
    assert "add a strip" in before[0].remedy


@pytest.mark.whole
def test_the_remedy_works_when_followed_literally(judged: Judge):
    """Gold peels; 10 nm of titanium first, as the finding says, and it is gone."""
    gap = drop(SWITCH, "  - deposit: titanium\n    name: contact adhesion", "  - deposit: gold")
    findings, _ = judged(SWITCH, gap)
    told = next(each for each in findings if each.rule == "noble metal without adhesion")
    assert told.remedy.startswith("deposit 5 to 10 nm of titanium or chromium first")
    layer = "  - deposit: titanium\n    method: electron-beam evaporation\n    thickness: 5 nm\n\n  - deposit: gold"
    mended, _ = judged(SWITCH, gap, ("  - deposit: gold", layer))
    assert counts(mended)["stop"] == 0


@pytest.mark.whole
def test_a_loss_is_printed_with_its_thickness_and_the_part_that_it_is(judged: Judge):
    findings, _ = judged(SWITCH, (GATE_STRIP, GATE_STRIP + clean("SC-1")))
    loss = next(each for each in findings if each.rule == "etch attacks film" and each.severity == "stop")
    # 60 nm of titanium at some 60 nm/min for the usual five minutes: all of it.
    assert loss.got == "60 nm typical, of 60 nm (100 %): already the typical loss passes the limit"


@pytest.mark.whole
def test_stops_come_first_and_each_cause_once(judged: Judge):
    for example, changes, *_ in list(SPOILED.values())[:8]:
        findings, _lines = judged(example, *changes)
        weights = [("stop", "warn", "note").index(each.severity) for each in findings]
        assert weights == sorted(weights)
        places = [(each.step, each.what) for each in findings]
        assert len(places) == len(set(places))


@pytest.mark.whole
def test_what_must_never_happen_cannot_be_accepted(judged: Judge):
    acetone = (
        "ground etch\n    in: acetone\n    tool: acid bench\n    accept: {never together: only this once}"
    )
    findings, _ = judged(DELAY, ("ground etch\n    in: dimethyl sulfoxide stripper", acetone))
    assert next(each for each in findings if each.rule == "never together").acknowledged == ""


@pytest.mark.whole
def test_a_history_under_way_is_not_asked_for_its_devices(judged: Judge):
    record = (Done(step="3.3", what="finish", happened="2026-10-26T09:00:00+01:00"),)
    findings, _ = judged(SWITCH, record=record)
    assert not DEVICES & {each.rule for each in findings}
    assert "resist at the end" not in {each.rule for each in findings}


@pytest.mark.whole
def test_a_limit_of_the_lab_goes_before_the_shipped_one_and_says_so(judged: Judge):
    lab = (("\nwaits:", "\nlimits:\n  gate field want: 1 MV/cm\n\nwaits:"),)
    findings, _ = judged(SWITCH, lab=lab)
    field = next(each for each in findings if each.rule == "gate field")
    assert field.severity == "warn"
    assert field.expected == "at most 1 MV/cm"
    assert "the lab's own" in field.source


@pytest.mark.whole
def test_what_is_not_on_file_is_told_once_and_names_the_other_steps(judged: Judge):
    lamps = [line for line in shipped("lab.yaml").splitlines(keepends=True) if "lamp intensity" in line]
    findings, _ = judged(SWITCH, lab=tuple((line, "") for line in lamps))
    told = [each for each in findings if "no lamp intensity" in each.got]
    assert [each.step for each in told] == ["3.5"]
    assert told[0].got.endswith("(also in step 9.5, 13.5, 16.5)")
