"""The three flows are sound; what is broken in them is noticed by the rule that should."""

import shutil
from pathlib import Path

import pytest

from filmwright import desk

AFTER_GATE_STRIP = (
    "  - strip: resist\n    name: strip after the gate etch\n    in: dimethyl sulfoxide stripper\n"
)
ADHESION = "  - deposit: titanium\n    name: contact adhesion\n    method: electron-beam evaporation\n    thickness: 10 nm ± 10 %\n"
GROUND_STRIP = "name: strip after the ground etch\n    in: dimethyl sulfoxide stripper"
OPENING_STRIP = "name: strip after the opening\n    in: dimethyl sulfoxide stripper"
CHLORINE = "with: boron trichloride plasma"
SWITCH, DELAY, THERMOMETER = "humidity-switch", "delay-line", "platinum-thermometer"
GATE, CONTACT = "gate:    {layer: 1/0, drawn: ", "contact: {layer: 4/0, drawn: "

SPOILED = [
    # example, what is replaced, by what, rule, severity
    (SWITCH, GATE + "opaque}", GATE + "clear}", "expected devices", "stop"),
    (SWITCH, CONTACT + "clear}", CONTACT + "opaque}", "expected devices", "stop"),
    (SWITCH, AFTER_GATE_STRIP, "", "organic in heat", "stop"),
    (SWITCH, CHLORINE, "in: buffered hydrofluoric acid 5:1", "fluoride bath on titanium", "stop"),
    (SWITCH, "probe voltage: 6 V", "probe voltage: 40 V", "gate field", "stop"),
    (SWITCH, "until: end point + 25 %", "time: 20 s", "film not cleared", "stop"),
    (SWITCH, "    pressure: 5 mTorr\n", "", "sputter pressure missing", "warn"),
    (SWITCH, ADHESION, "", "noble metal without adhesion", "stop"),
    (SWITCH, "resist: lift-off two-layer", "resist: positive 1.3 um", "lift-off profile", "warn"),
    (DELAY, GROUND_STRIP, GROUND_STRIP[:-27] + "acetone\n    tool: acid bench", "never together", "stop"),
    (DELAY, OPENING_STRIP, OPENING_STRIP[:-27] + "acetone", "hardened resist", "warn"),
    (DELAY, "until: end point + 15 %", "until: end point + 120 %", "film must survive", "stop"),
    (THERMOMETER, "    temperature: 350 degC", "    temperature: 900 degC", "too hot for a film", "stop"),
]


@pytest.mark.whole
@pytest.mark.parametrize("example", ["humidity-switch", "delay-line", "platinum-thermometer"])
def test_a_sound_flow_has_no_stop_and_a_handful_of_warns(shipped: Path, example: str):
    answer = desk.review(shipped / example / "plan.yaml")
    assert answer.counts["stop"] == 0
    assert answer.counts["warn"] <= 5


@pytest.mark.whole
@pytest.mark.parametrize(("example", "old", "new", "rule", "severity"), SPOILED)
def test_what_is_spoiled_is_noticed(shipped: Path, tmp_path: Path, example, old, new, rule, severity):
    folder = Path(shutil.copytree(shipped / example, tmp_path / "run"))
    plan = folder / "plan.yaml"
    text = plan.read_text("utf-8")
    assert old in text
    plan.write_text(text.replace(old, new, 1), "utf-8")
    answer = desk.review(plan)
    found = {(each.rule, each.severity) for each in answer.findings}
    found |= {(also, each.severity) for each in answer.findings for also in each.also}
    assert (rule, severity) in found, sorted(found)


@pytest.mark.whole
def test_the_humidity_switch_holds_what_its_drawing_promises(shipped: Path):
    from filmwright.desk.files import load
    from filmwright.emulate import walk

    work = load(shipped / "humidity-switch" / "plan.yaml")
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25")
    devices = trace.devices.working("transistor", {"gate": "G", "source": "S", "drain": "D"})
    assert len(devices) == 48
    # Resist lines of 5 µm print 0.1 µm narrower on each side, so the gap between lifted contacts is 4.8 µm.
    assert min(device.length for device in devices) == pytest.approx(4.8e-6, rel=1e-3)
    assert trace.final.section is not None
