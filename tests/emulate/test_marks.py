"""Contrast of alignment marks: which columns are compared, and answers known without the optics."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from filmwright.emulate import Trace, mark_contrasts
from filmwright.knowledge import book

Walked = Callable[..., Trace]


@pytest.mark.analytic
def test_each_level_after_the_first_is_aligned_to_the_first_through_its_own_mark(walked: Walked) -> None:
    found = mark_contrasts(walked("humidity-switch"), book())
    assert [each.state.step.mask for each in found] == ["channel", "opening", "contact"]
    for each in found:
        assert each.drawn
        gate = {layer.material for layer in each.mark.layers} - {
            layer.material for layer in each.field.layers
        }
        assert gate == {"titanium"}  # the mark is the gate's cross, the field has no gate
        assert (
            each.mark.top.material == each.field.top.material
        )  # under the resist that is about to be printed
        assert each.step == pytest.approx(60e-9, abs=2e-9)
        assert each.viewing is not None
        assert 0 < each.viewing <= 1
        assert set(each.lines) == {"g line", "h line", "i line"}


@pytest.mark.analytic
def test_a_mark_under_an_opaque_metal_is_seen_by_its_edges_only(walked: Walked) -> None:
    last = mark_contrasts(walked("delay-line"), book())[-1]
    assert last.state.step.mask == "fingers"
    assert last.viewing is not None
    # 110 nm of molybdenum over both: light goes in and out through it, (1e-3)² and less.
    assert last.viewing < 1e-3
    assert last.step == pytest.approx(70e-9, abs=1e-9)


@pytest.mark.analytic
def test_a_drawing_without_marks_is_looked_at_by_its_first_level(walked: Walked) -> None:
    trace = walked("humidity-switch")
    drawn, other = mark_contrasts(trace, book()), mark_contrasts(replace(trace, marks=()), book())
    assert [each.drawn for each in other] == [False] * 3
    # The films are the same there, so the contrast is the same.
    assert [each.viewing for each in other] == pytest.approx([each.viewing for each in drawn], rel=1e-6)
    assert mark_contrasts(replace(trace, states=()), book()) == ()
