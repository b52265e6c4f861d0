"""Oxidation in a plan: orientation, pressure, oxide that is there, a time of the plan's own, and what nothing grows on."""

from collections.abc import Callable
from importlib import resources

import pytest

from filmwright.emulate import State, Trace
from filmwright.errors import BadInput
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.process import Setting
from filmwright.units import convert, to_si

Walked = Callable[..., Trace]

PLAN = """flow: an oxide
wafer: {body: BODY, diameter: 100 mm, orientation: ORIENTATION, films: [FILMS]}
steps:
  - deposit: silicon dioxide
    method: METHOD
    thickness: THICKNESS
    temperature: 1000 degC
"""


def plan(
    *,
    body: str = "silicon",
    plane: str = "(100)",
    films: str = "",
    method: str = "wet oxidation",
    thickness: str = "300 nm",
    more: str = "",
) -> str:
    text = PLAN.replace("BODY", body).replace("ORIENTATION", plane).replace("FILMS", films)
    return text.replace("METHOD", method).replace("THICKNESS", thickness) + "".join(
        f"    {each}\n" for each in more.split(";") if each
    )


def only(trace: Trace) -> State:
    return trace.states[0]


def setting(state: State, name: str) -> Setting:
    return next(each for each in (*state.settings, *state.follows) if each.name == name)


def shipped_lab() -> str:
    return resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")


@pytest.mark.literature
def test_the_close_packed_plane_needs_less_time(walked: Walked):
    # Plummer, Deal, Griffin (2000), constants from memory, worked: x²/B + x/(B/A) with B = 0.314 µm²/h and B/A = 0.742 or 1.246 µm/h,
    # 0.691 h on (100) and 0.527 h on (111); 1 % for the native oxide
    for plane, hours in (("(100)", 0.691), ("111", 0.527)):
        time = setting(only(walked(plan(plane=plane))), "time")
        assert convert(time.value, "h") == pytest.approx(hours, rel=0.01)
        assert time.derivation.notes == ()


@pytest.mark.analytic
def test_a_plan_that_names_no_plane_is_told_which_was_taken(walked: Walked):
    text = plan().replace(" orientation: (100),", "")
    assert any("taken as (100)" in note for note in setting(only(walked(text)), "time").derivation.notes)


@pytest.mark.analytic
def test_an_unknown_plane_is_refused():
    with pytest.raises(BadInput, match="orientation of the wafer"):
        flow_from_text(plan(plane="(101)"), "plan.yaml", lab_from_text(shipped_lab(), "lab.yaml"))


@pytest.mark.analytic
def test_steam_at_two_atmospheres_takes_half_the_time(walked: Walked):
    one = setting(only(walked(plan())), "time").value
    two = setting(only(walked(plan(more="pressure: 2.0265 bar"))), "time").value
    assert two == pytest.approx(one / 2, rel=1e-6)
    assert any(
        "20.3 MPa" in each or "tried range" in each
        for each in only(walked(plan(more="pressure: 200 bar"))).warnings
    )


@pytest.mark.literature
def test_oxide_that_is_there_counts(walked: Walked):
    # R. C. Jaeger, worked example, from memory: 200 nm there, 500 nm in all, wet, 1000 °C: 1.07 h; 2 % for the rounded constants
    trace = walked(plan(films="{material: silicon dioxide, thickness: 200 nm}", thickness="500 nm"))
    state = only(trace)
    assert convert(setting(state, "time").value, "h") == pytest.approx(1.07, rel=0.02)
    column = trace.final.plan.columns[0]
    assert column.thickness("silicon dioxide") == pytest.approx(to_si(500, "nm"), rel=1e-3)
    taken = trace.start.plan.columns[0].layers[0].thickness - column.layers[0].thickness
    assert taken == pytest.approx(setting(state, "silicon consumed").value, rel=1e-3)
    # The back carried the same film and grows alike
    assert trace.final.places["back"].thickness("silicon dioxide") == pytest.approx(
        to_si(500, "nm"), rel=1e-3
    )


@pytest.mark.analytic
def test_more_oxide_than_is_wanted_is_said(walked: Walked):
    state = only(walked(plan(films="{material: silicon dioxide, thickness: 400 nm}")))
    assert any("400 nm of silicon dioxide lie there already" in each for each in state.warnings)
    assert state.wafer.plan.columns[0].thickness("silicon dioxide") == pytest.approx(to_si(400, "nm"))


@pytest.mark.analytic
def test_a_time_of_the_plan_says_what_grows(walked: Walked):
    time = setting(only(walked(plan())), "time")
    state = only(walked(plan(more=f"time: {convert(time.value, 'min'):.6f} min")))
    assert state.thickness == pytest.approx(to_si(300, "nm"), rel=1e-4)


@pytest.mark.analytic
def test_glass_does_not_oxidise(walked: Walked):
    state = only(walked(plan(body="glass")))
    assert any("nothing grows" in each for each in state.warnings)
    assert state.actions == ()


@pytest.mark.analytic
def test_the_way_up_goes_at_the_pace_of_the_tool(walked: Walked):
    lab = shipped_lab().replace(
        "  anneal oven:",
        "  tube:\n    does: [wet thermal oxidation]\n    heating rate: 20 kelvin/min\n  anneal oven:",
    )
    slow = setting(only(walked(plan())), "oxide of the way up, if the oxidant flows in it").value
    fast = setting(only(walked(plan(), lab=lab)), "oxide of the way up, if the oxidant flows in it").value
    assert fast < slow / 2
