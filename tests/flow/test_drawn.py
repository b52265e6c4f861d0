"""Masks and cuts of a plan as people write them."""

import pytest

from filmwright.errors import BadInput
from filmwright.flow import Flow, flow_from_text
from filmwright.knowledge import Lab

PLAN = """
flow: a plate
wafer: {{body: silicon, diameter: 100 mm}}
masks:
  drawing: plate.oas
  {masks}
  gate: {{layer: 1/0, drawn: opaque}}
cuts: {cuts}
steps:
  - clean: solvent clean
"""


def read(cuts: str = "{}", masks: str = "") -> Flow:
    return flow_from_text(PLAN.format(cuts=cuts, masks=masks), "plan.yaml", Lab(name="none"))


@pytest.mark.analytic
def test_a_cut_runs_through_a_device_across_it_or_from_point_to_point() -> None:
    cuts = read(
        "{a: {through: T1}, b: {across: T1}, c: {from: [0 um, 1 um], to: [1 mm, 1 um]}, "
        "d: {points: [[0 um, 0 um], [50 um, 0 um], [50 um, -80 um]]}}"
    ).cuts
    assert (cuts["a"].through, cuts["a"].across) == ("T1", "")
    assert (cuts["b"].through, cuts["b"].across) == ("", "T1")
    assert cuts["c"].points == ((0.0, pytest.approx(1e3)), (pytest.approx(1e6), pytest.approx(1e3)))
    assert [len(cuts[name].points) for name in "abcd"] == [0, 0, 2, 3]
    assert cuts["d"].points[2] == pytest.approx((50e3, -80e3))


@pytest.mark.property
@pytest.mark.parametrize(
    ("cut", "words"),
    [
        ("{}", "one of: through, across"),
        ("{through: T1, across: T1}", "through and across"),
        ("{through: T1, from: [0 um, 0 um], to: [1 um, 0 um]}", "through and from"),
        ("{from: [0 um, 0 um]}", "add to:"),
        ("{from: [0 um, 0 um], to: [0 um, 0 um]}", "one point"),
        ("{points: [[0 um, 0 um], [9 um, 0 um], [9 um, 0 um]]}", "the same point twice"),
        ("{points: [[0 um, 0 um]]}", "two or more points"),
        ("{points: T1}", "two or more points"),
        ("{points: [[0 um, 0 um], 5 um]}", "two lengths"),
        ("{points: [[0 um, 0 um], [5 s, 0 um]]}", "length"),
    ],
)
def test_a_cut_that_cannot_be_placed_is_told_at_its_line(cut: str, words: str) -> None:
    with pytest.raises(BadInput, match=words) as caught:
        read(f"{{a: {cut}}}")
    assert {problem.line for problem in caught.value.problems} == {8}


@pytest.mark.analytic
def test_the_grid_of_the_plate_writer_is_a_length_beside_the_levels() -> None:
    assert read(masks="grid: 10 nm").grid == pytest.approx(10e-9)
    assert read().grid is None
    # A level may still be called so: then it is a block.
    flow = read(masks="grid: {layer: 5/0, drawn: clear}")
    assert (flow.grid, set(flow.masks)) == (None, {"grid", "gate"})
    for bad in ("grid: 10 s", "grid: 0 nm", "grid: fine"):
        with pytest.raises(BadInput, match="grid of the masks"):
            read(masks=bad)
