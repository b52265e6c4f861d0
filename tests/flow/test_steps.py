"""Written steps: what each unfolds into, who does it, when it is over; the lab file and the schema."""

from importlib import resources
from typing import Any

import pytest
from ruamel.yaml import YAML

from filmwright.flow import (
    LOGGED,
    SPREAD,
    Done,
    Flow,
    as_run,
    flow_from_text,
    lab_from_text,
    plan_schema,
    step_of,
)
from filmwright.knowledge import Lab
from filmwright.units import DIMENSIONS

NAMES = ("humidity-switch", "delay-line", "platinum-thermometer")


def shipped(*names: str) -> str:
    """A shipped text."""
    return resources.files("filmwright.desk").joinpath("examples", *names).read_text("utf-8")


LAB = lab_from_text(shipped("lab.yaml"), "lab.yaml")


def planned(*steps: str, lab: Lab = LAB) -> Flow:
    """A plan with one mask and these steps, the first on line 5."""
    head = "flow: a few steps\nwafer: {body: silicon, diameter: 100 mm}\nmasks: {drawing: a.oas, gate: {layer: 1/0, drawn: opaque}}\nsteps:\n"
    return flow_from_text(head + "".join(f"  - {each}\n" for each in steps), "plan.yaml", lab)


COAT = ["coat", "bake", "expose"]


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("written", "kinds", "tools"),
    [
        ("{clean: solvent clean}", ["clean"], ["solvent bench"]),
        # An acid is not given to the bench of the solvents.
        ("{clean: piranha}", ["clean"], ["acid bench"]),
        ("{deposit: gold, method: electron-beam evaporation, thickness: 10 nm}", ["deposit"], ["evaporator"]),
        ("{etch: titanium, in: dilute hydrogen peroxide and ammonia}", ["etch", "rinse"], ["acid bench"] * 2),
        ("{etch: molybdenum, with: sulfur hexafluoride and oxygen plasma}", ["etch"], ["fluorine etcher"]),
        ("{strip: resist, in: acetone}", ["strip", "rinse"], ["solvent bench"] * 2),
        ("{strip: resist, in: oxygen plasma ash}", ["strip"], [""]),
        ("{lift off: resist, in: acetone}", ["lift off", "rinse"], ["solvent bench"] * 2),
        ("{anneal: air, temperature: 200 degC, time: 1 h}", ["anneal"], ["anneal oven"]),
        ("{measure: step height, of: gold}", ["measure"], ["stylus"]),
        ("{probe: transistors, gate: 5 V}", ["probe"], ["probe station"]),
        ("{park: nitrogen box}", ["park"], ["nitrogen box"]),
        ("{pattern: gate, resist: positive 1.3 um}", ["dehydrate", "prime", *COAT, "develop", "inspect"], None),
        ("{pattern: gate, resist: positive 1.3 um, prime: no}", ["dehydrate", *COAT, "develop", "inspect"], None),
        (
            "{pattern: gate, resist: image reversal}",
            ["dehydrate", "prime", *COAT, "reversal bake", "flood expose", "develop", "inspect"],
            None,
        ),
    ],
)  # fmt: skip
def test_a_written_step_unfolds(written: str, kinds: list[str], tools: list[str] | None):
    flow = planned(written)
    assert [step.kind for step in flow.steps] == kinds
    assert [step.number for step in flow.steps] == [f"1.{place}" for place in range(1, len(kinds) + 1)]
    assert {step.line for step in flow.steps} == {5}
    assert len({step.code for step in flow.steps}) == len(kinds)
    if tools is not None:
        assert [step.tool for step in flow.steps] == tools


@pytest.mark.analytic
def test_a_tool_that_the_plan_names_goes_before_the_one_that_serves():
    assert planned("{strip: resist, in: acetone, tool: acid bench}").steps[0].tool == "acid bench"


@pytest.mark.analytic
def test_names_of_ours_are_counted_on():
    flow = planned("{clean: solvent clean}", "{clean: solvent clean}", "{clean: acetone, name: last}")
    assert [step.name for step in flow.steps] == ["clean solvent clean", "clean solvent clean (2)", "last"]


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "rule", "extra"),
    [
        ("end point", "end point", 0.0),
        ("end point + 25 %", "end point", 0.25),
        ("End Point plus 30 %", "end point", 0.30),
        ("endpoint+0.5", "end point", 0.5),
        ("measure", "measure", 0.0),
    ],
)
def test_when_an_etch_is_over(text: str, rule: str, extra: float):
    end = planned(f"{{etch: titanium, in: piranha, until: {text}}}").steps[0].end
    assert end is not None
    assert (end.rule, end.extra, end.text) == (rule, pytest.approx(extra), text)


@pytest.mark.analytic
def test_settings_of_a_pattern_go_to_the_step_that_they_belong_to():
    flow = planned(
        "{pattern: gate, resist: positive 1.3 um, dose: 90 mJ/cm^2, thickness: 1.2 um, develop time: 50 s}"
    )
    asked = {step.kind: set(step.asked) for step in flow.steps if step.asked}
    assert asked == {"coat": {"thickness"}, "expose": {"dose"}, "develop": {"develop time"}}


@pytest.mark.analytic
def test_the_lab_file_as_read():
    tool = LAB.tools["evaporator"]
    assert tool.does == ("electron-beam evaporation", "thermal evaporation")
    assert tool.non_uniformity == pytest.approx(0.03)
    assert tool.around == pytest.approx(75 * 60)
    assert tool.pump_down == pytest.approx(45 * 60)
    assert tool.admits["alkali"] == {"none"}
    titanium = next(each for each in LAB.calibrations if each.material == "titanium")
    # 0.10 nm/s ± 4 %, in SI, the spread as one standard deviation.
    assert titanium.value == pytest.approx(1e-10)
    assert titanium.std == pytest.approx(4e-12)
    assert (titanium.of, titanium.kind, titanium.date) == ("deposition rate", "invented", "2026-10-19")
    assert [wait.longest for wait in LAB.waits] == [3600.0, 86400.0, 86400.0]


@pytest.mark.analytic
def test_a_repeat_stands_twice_and_a_skip_not_at_all():
    flow = planned(
        "{clean: solvent clean}", "{deposit: gold, method: electron-beam evaporation, thickness: 10 nm}"
    )
    record = [
        Done(step="1.1", what="skip"),
        Done(step="2.1", what="set", name="time", value=50.0),
        Done(step="2.1", what="rework"),
        Done(step="2.1", what="set", name="time", value=20.0),
        Done(step="2.1", what="finish", happened="2026-10-26T10:00:00+01:00"),
    ]
    lived = as_run(flow, record)
    assert [step.done for step in lived.steps] == [{"time": 50.0}, {"time": 20.0}]
    assert [step.finished for step in lived.steps] == ["", "2026-10-26T10:00:00+01:00"]
    assert lived.finished


@pytest.mark.analytic
def test_a_history_that_is_under_way_is_not_finished():
    flow = planned("{clean: solvent clean}", "{clean: acetone}", "{measure: step height, of: gold}")
    assert not as_run(flow, [Done(step="1.1", what="start")]).finished
    # What only looks at the wafer need not be written down for it to be finished.
    assert as_run(flow, [Done(step="2.1", what="start")]).finished
    assert flow.finished


@pytest.mark.analytic
def test_a_thickness_comes_home_with_its_standard_deviation():
    gold = "{deposit: gold, method: electron-beam evaporation, thickness: 10 nm}"
    flow = planned(gold, gold, "{measure: step height, of: gold}")
    record = [
        Done(step="3.1", what="measured", name="step height", value=11e-9),
        Done(step="3.1", what="measured", name="step height" + SPREAD, value=1e-9),
    ]
    first, second, _ = as_run(flow, record).steps
    # The last deposition before it is the one that was measured.
    assert first.measured == {}
    assert second.measured == {"thickness": 11e-9, "thickness" + SPREAD: 1e-9}


@pytest.mark.property
def test_what_can_be_logged_has_a_dimension():
    assert set(LOGGED.values()) <= set(DIMENSIONS)


@pytest.mark.analytic
def test_a_step_is_found_by_number_or_code():
    flow = planned("{clean: solvent clean}")
    assert step_of(flow, "1.1") is step_of(flow, flow.steps[0].code.lower()) is flow.steps[0]


def faults(schema: dict[str, Any], value: Any, at: str = "plan") -> list[str]:
    """What a JSON Schema finds wrong with a value; the few words of it that ours uses."""
    if "oneOf" in schema:
        fitting = [each for each in schema["oneOf"] if not faults(each, value, at)]
        return [] if len(fitting) == 1 else [f"{at}: {len(fitting)} of the alternatives fit"]
    if "anyOf" in schema:
        return [] if any(not faults(each, value, at) for each in schema["anyOf"]) else [f"{at}: none fits"]
    if "enum" in schema:
        return [] if value in schema["enum"] else [f"{at}: {value!r} is not listed"]
    kinds = schema.get("type", [])
    names = {"object": dict, "array": list, "string": str, "integer": int, "number": (int, float)}
    if kinds and not any(
        isinstance(value, names[kind]) for kind in ([kinds] if isinstance(kinds, str) else kinds)
    ):
        return [f"{at}: {value!r} is no {kinds}"]
    found = []
    if isinstance(value, dict):
        known, more = schema.get("properties", {}), schema.get("additionalProperties", True)
        found += [f"{at}: {key} is missing" for key in schema.get("required", []) if key not in value]
        for key, each in value.items():
            if key in known:
                found += faults(known[key], each, f"{at}.{key}")
            elif isinstance(more, dict):
                found += faults(more, each, f"{at}.{key}")
            elif not more:
                found.append(f"{at}: {key} is not known")
    if isinstance(value, list):
        found += [
            fault
            for k, each in enumerate(value)
            for fault in faults(schema.get("items", {}), each, f"{at}[{k}]")
        ]
    return found


def plain(text: str) -> Any:
    """A text as plain data, dates and all as an editor sees them."""
    return YAML(typ="safe", pure=True).load(text)


@pytest.mark.property
@pytest.mark.parametrize("name", NAMES)
def test_the_schema_accepts_the_examples(name: str):
    assert faults(plan_schema(), plain(shipped(name, "plan.yaml"))) == []


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("flow: ", "flo: "),
        ("    method: electron-beam evaporation\n", ""),
        ("thickness: 60 nm", "thicknes: 60 nm"),
        ("drawn: opaque", "drawm: opaque"),
        ("count: 48", "count: many"),
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(old: str, new: str):
    text = shipped("humidity-switch", "plan.yaml")
    assert old in text
    assert faults(plan_schema(), plain(text.replace(old, new, 1)))
