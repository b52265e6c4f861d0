"""A walk that goes on from an earlier one finds what a walk from the start finds, and touches nothing before the change."""

from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.emulate import read_off, walk, walk_on
from filmwright.flow import Done, flow_from_text, lab_from_text, lived
from filmwright.knowledge import book
from filmwright.masks import chip, drawing_of
from filmwright.numerics import Polyline

EXAMPLES = resources.files("filmwright.desk").joinpath("examples")
LAB = lab_from_text(EXAMPLES.joinpath("lab.yaml").read_text("utf-8"), "lab.yaml")
ON = "2026-10-26"

PLAN = """
flow: films on films
wafer: {body: silicon, diameter: 100 mm, films: [{material: silicon dioxide, thickness: 100 nm}]}
steps:
- clean: solvent clean
- {deposit: titanium, method: electron-beam evaporation, thickness: 20 nm}
- {deposit: gold, method: electron-beam evaporation, thickness: 50 nm}
- {etch: gold, in: potassium iodide and iodine gold etch, until: end point + 20 %}
- {deposit: titanium, method: electron-beam evaporation, thickness: 30 nm}
- {etch: titanium, in: dilute hydrogen peroxide and ammonia, until: end point + 25 %}
- {anneal: nitrogen, temperature: 200 degC, time: 10 min}
"""
FLOW = flow_from_text(PLAN, "plan.yaml", LAB)
NUMBERS = [step.number for step in FLOW.steps]
MADE = {"measured": ("thickness", 15e-9, 60e-9), "set": ("time", 5.0, 200.0)}


@st.composite
def entries(draw):
    """One thing that was done."""
    what = draw(st.sampled_from(["start", "finish", "set", "measured", "skip", "repeat", "rework", "extra"]))
    step = draw(st.sampled_from(NUMBERS))
    if what == "extra":
        return Done(
            step=step, what="extra", text="deposit: gold, method: electron-beam evaporation, thickness: 5 nm"
        )
    name, low, high = MADE.get(what, ("", 0.0, 0.0))
    value = draw(st.floats(low, high)) if name else None
    return Done(step=step, what=what, name=name, value=value)


def seen(state):
    """Everything that a state tells."""
    section = state.wafer.section
    cells = sorted((cell.region.key, cell.column.layers) for cell in state.wafer.plan.cells)
    outlines = [] if section is None else [(b.film, b.marks, b.shape.key) for b in section.bodies]
    losses = [(x.film, x.before, x.after, x.area, x.where, x.sideways) for x in state.losses["nominal"]]
    plain = (
        state.settings,
        state.duration,
        state.safety,
        state.exposed,
        state.unknown,
        state.look,
        state.warnings,
    )
    return (state.step, plain, cells, outlines, losses, sorted(state.torn), state.follows, state.etch)


def gone(flow, kept=(), steps=None, drawing=None, line=None, beyond=False):
    """A walk with the lab of the examples."""
    return walk_on(flow, LAB, book(), drawing, on=ON, line=line, kept=kept, steps=steps, beyond=beyond)


@pytest.mark.property
@settings(max_examples=25)
@given(st.lists(entries(), min_size=1, max_size=8), st.data())
def test_going_on_finds_what_a_walk_from_the_start_finds(record, data):
    shorter = data.draw(st.integers(0, len(record)))
    first, last = lived(FLOW, record[:shorter], LAB), lived(FLOW, record, LAB)
    kept = gone(first.flow, steps=data.draw(st.integers(0, len(first.flow.steps))))
    on, anew = gone(last.flow, [kept]), gone(last.flow)
    assert [seen(state) for state in on.states] == [seen(state) for state in anew.states]
    same = 0
    while same < min(len(kept.states), len(on.states)) and kept.states[same] is on.states[same]:
        same += 1
    alike = 0
    while alike < min(len(kept.states), len(on.states)) and kept.flow.steps[alike] == last.flow.steps[alike]:
        alike += 1
    assert same == alike
    # A stop on the way changes nothing of what is found, and what was known of the rest is no less.
    some = gone(last.flow, [kept], data.draw(st.integers(0, len(last.flow.steps))), beyond=True)
    assert all(one is other for one, other in zip(some.states, on.states[:same], strict=False))
    assert len(some.states) >= same
    through = gone(last.flow, [some])
    assert [seen(state) for state in through.states] == [seen(state) for state in anew.states]


@pytest.mark.property
def test_a_stop_on_the_way_keeps_what_an_earlier_walk_knew_of_the_rest():
    flow, whole = lived(FLOW, [Done(step="1.1", what="note", text="dull")]).flow, gone(FLOW)
    changed = [Done(step="2.1", what="set", name="time", value=33.0)]
    near = gone(lived(flow, changed).flow, [whole], steps=3)
    back = gone(flow, [near])
    assert len(near.states) == 3
    assert [seen(state) for state in back.states] == [seen(state) for state in whole.states]
    on = gone(lived(flow, changed).flow, [near])
    anew = gone(lived(flow, changed).flow)
    assert [seen(state) for state in on.states] == [seen(state) for state in anew.states]


@pytest.mark.property
def test_on_a_die_with_a_section_the_walk_goes_on_and_equals_the_whole_walk():
    flow = flow_from_text(
        EXAMPLES.joinpath("platinum-thermometer", "plan.yaml").read_text("utf-8"), "plan.yaml", LAB
    )
    drawing = drawing_of(chip("platinum-thermometer"))
    whole = walk(flow, LAB, book(), drawing, on=ON)
    line = whole.start.section.cut
    record = [Done(step=step.number, what="start") for step in flow.steps[:12]]
    kept = gone(lived(flow, record).flow, drawing=drawing, line=line, steps=12)
    later = [*record, Done(step=flow.steps[12].number, what="start")]
    on = gone(lived(flow, later).flow, [kept], drawing=drawing, line=line)
    assert all(one is other for one, other in zip(kept.states, on.states, strict=False))
    assert len(kept.states) == 12
    untouched = gone(flow, drawing=drawing, line=line)
    assert [seen(state) for state in untouched.states] == [seen(state) for state in whole.states]
    read = read_off(gone(flow, drawing=drawing))
    assert [seen(state) for state in read.states] == [seen(state) for state in whole.states]
    assert (read.devices.found, read.cut) == (whole.devices.found, whole.cut)
    # A history in which nothing was written but that steps were begun is the plan.
    assert [seen(s)[2:6] for s in on.states] == [seen(s)[2:6] for s in whole.states]


@pytest.mark.analytic
def test_a_walk_of_another_wafer_or_another_cut_is_no_help():
    kept = gone(FLOW)
    other = gone(flow_from_text(PLAN.replace("100 nm", "90 nm"), "plan.yaml", LAB), [kept])
    assert other.states[0] is not kept.states[0]
    cut = gone(FLOW, [kept], line=Polyline(((0.0, 0.0), (10_000.0, 0.0))))
    assert cut.states[0] is not kept.states[0]
    assert gone(FLOW, [kept]).states == kept.states


@pytest.mark.analytic
def test_rework_of_a_film_leaves_two_films_that_are_told_apart():
    record = [Done(step="2.1", what="start"), Done(step="2.1", what="repeat")]
    walked = gone(lived(FLOW, record).flow, steps=3)
    (column,) = walked.states[2].wafer.plan.columns
    titanium = [layer for layer in column.layers if layer.material == "titanium"]
    assert len({layer.film for layer in titanium}) == len(titanium) == 2
    assert sum(layer.thickness for layer in titanium) == pytest.approx(40e-9)
