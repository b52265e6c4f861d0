"""Where a section is cut: by the plan, by a device's name, or by itself."""

from collections.abc import Callable
from dataclasses import replace
from importlib import resources

import pytest

from filmwright.emulate import Trace, walk
from filmwright.emulate.cuts import Found, chosen_cut
from filmwright.errors import BadInput
from filmwright.flow import CutAsked, flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import chip, device_table, drawing_of

SWITCH, THERMOMETER = "humidity-switch", "platinum-thermometer"
Walked = Callable[..., Trace]


@pytest.fixture
def found(walked: Walked) -> Found:
    trace = walked(SWITCH)
    return Found(drawing=drawing_of(chip(SWITCH)), plan=trace.final.plan, devices=trace.devices)


def drawn(name: str) -> tuple[float, float, float, float]:
    """Middle, W and L of a device of the switch as drawn [nm]."""
    device = next(each for each in device_table(SWITCH) if each.name == name)
    return device.x_um * 1e3, device.y_um * 1e3, (device.width_um or 0) * 1e3, (device.length_um or 0) * 1e3


@pytest.mark.analytic
@pytest.mark.parametrize("name", ["T01", "T07", "T48"])
def test_a_cut_along_a_device_runs_through_its_middle_to_beyond_both_pads(
    walked: Walked, found: Found, name: str
) -> None:
    x, y, _, _ = drawn(name)
    title, line = chosen_cut(walked(SWITCH).flow, found, name)
    assert title == f"along {name}"
    assert line is not None
    # The pads' middles lie 170 µm to both sides; source is left.
    (x0, y0), (x1, y1) = line.points
    assert (y0, y1) == pytest.approx((y, y), abs=50)
    assert x0 < x - 170e3
    assert x1 > x + 170e3
    assert (x0 + x1) / 2 == pytest.approx(x, abs=100)


@pytest.mark.analytic
@pytest.mark.parametrize("name", ["T01", "T07", "T48"])
def test_a_cut_across_is_square_to_it_and_leaves_the_island(walked: Walked, found: Found, name: str) -> None:
    x, y, width, _ = drawn(name)
    title, line = chosen_cut(walked(SWITCH).flow, found, f"{name}  Across")
    assert title == f"across {name}"
    assert line is not None
    (x0, y0), (x1, y1) = line.points
    assert (x0, x1) == pytest.approx((x, x), abs=100)
    assert min(y0, y1) < y - width / 2 - 5e3
    assert max(y0, y1) > y + width / 2 + 5e3
    islands = found.plan.region_of("indium gallium zinc oxide")
    ((start, end),) = islands.along(line)
    assert 0 < start < end < line.length
    assert end - start == pytest.approx(width, abs=600)


@pytest.mark.analytic
def test_a_cut_along_a_set_meets_all_its_gaps(walked: Walked, found: Found) -> None:
    _, line = chosen_cut(walked(SWITCH).flow, found, "L2")
    assert line is not None
    over_gold = found.plan.region_of("gold").along(line)
    assert len(over_gold) == 6  # five gaps lie between six contacts


@pytest.mark.analytic
def test_a_cut_through_a_cross_joins_opposite_arms(walked: Walked, found: Found) -> None:
    _, line = chosen_cut(walked(SWITCH).flow, found, "X1")
    assert line is not None
    (x0, y0), (x1, y1) = line.points
    assert abs(x1 - x0) + abs(y1 - y0) == pytest.approx(370e3 * 1.05)


@pytest.mark.property
def test_without_a_cut_in_the_plan_one_is_found_and_says_through_what(walked: Walked, found: Found) -> None:
    flow = replace(walked(SWITCH).flow, cuts={})
    title, line = chosen_cut(flow, found, None)
    assert title == f"along T01 (the first of {len(found.devices.transistors)} transistors)"
    assert line == chosen_cut(flow, found, "T01")[1]


@pytest.mark.property
def test_the_plan_may_name_a_cut_along_across_or_from_corner_to_corner(walked: Walked, found: Found) -> None:
    corners = ((0.0, 0.0), (50e3, 0.0), (50e3, 80e3))
    flow = replace(
        walked(SWITCH).flow,
        cuts={
            "one": CutAsked(name="one", across="T07"),
            "two": CutAsked(name="two", points=corners),
            "far": CutAsked(name="far", points=((0.0, 0.0), (7e6, 0.0)), line=9),
            "none": CutAsked(name="none", through="Q1", line=10),
        },
    )
    assert chosen_cut(flow, found, None)[1] == chosen_cut(flow, found, "T07 across")[1]
    bent = chosen_cut(flow, found, "two")[1]
    assert bent is not None
    assert (bent.points, bent.length) == (corners, 130e3)
    for name, line, words in (("far", 9, "within the drawing"), ("none", 10, "terminals")):
        with pytest.raises(BadInput, match=words) as caught:
            chosen_cut(flow, found, name)
        assert caught.value.problems[0].line == line


@pytest.mark.property
@pytest.mark.parametrize("wanted", ["T99", "T7", "T07 sideways", "across", " "])
def test_what_is_neither_a_cut_nor_a_device_is_refused_with_names(
    walked: Walked, found: Found, wanted: str
) -> None:
    with pytest.raises(BadInput, match=r"T0\d") as caught:
        chosen_cut(walked(SWITCH).flow, found, wanted)
    assert caught.value.problems[0].remedy
    with pytest.raises(BadInput):
        chosen_cut(replace(walked(SWITCH).flow, cuts={}), None, wanted)


@pytest.mark.property
def test_a_section_made_afterwards_is_the_one_made_on_the_way(walked: Walked) -> None:
    text = resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")
    lab = lab_from_text(text, "lab.yaml")
    plan = (
        resources.files("filmwright.desk").joinpath("examples", THERMOMETER, "plan.yaml").read_text("utf-8")
    )
    flow = flow_from_text(plan, "plan.yaml", lab)
    trace = walk(flow, lab, book(), drawing_of(chip(THERMOMETER)), on="2026-10-26", cut="C1 across")
    assert trace.cut == "across C1"
    wafer = trace.start
    for state in trace.states:
        for action in state.actions:
            wafer, _ = wafer.apply(action)
    assert wafer.section is not None
    assert trace.final.section is not None
    made = [(body.film, body.shape.key) for body in trace.final.section.bodies]
    assert made == [(body.film, body.shape.key) for body in wafer.section.bodies]
    assert len(made) > 2
