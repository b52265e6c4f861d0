"""Cautions that need no walk are those that the walk prints, for every step of the examples."""

import pytest

from filmwright import desk
from filmwright.desk.files import load
from filmwright.desk.planning import EXAMPLES
from filmwright.emulate import safety_unwalked, walk


@pytest.mark.property
@pytest.mark.parametrize("example", EXAMPLES)
def test_every_caution_is_known_before_anything_is_walked(example, tmp_path):
    desk.new(tmp_path / "plan", example)
    work = load(tmp_path / "plan" / "plan.yaml")
    trace = walk(work.flow, work.lab, work.facts, None, on="2026-10-26", sections=False)
    assert any(state.safety.cautions for state in trace.states)
    for state in trace.states:
        told = safety_unwalked(state.step, work.facts)
        for name in ("cautions", "gear", "second_person", "interlock", "neighbours", "alarms"):
            assert getattr(told, name) == getattr(state.safety, name), (
                state.step.code,
                state.step.title,
                name,
            )
        # The bath may hold something afterwards that only the walk knows.
        assert state.safety.waste.startswith(told.waste)
