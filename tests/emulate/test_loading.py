"""An etch follows the open area of the die: slower while much is open, at the rate of a chip once it has cleared."""

from collections.abc import Callable

import pytest

from filmwright.emulate import State, Trace
from filmwright.knowledge import book

Walked = Callable[..., Trace]
PLASMA = "sulfur hexafluoride and oxygen plasma"


def etched(walked: Walked, name: str) -> tuple[State, float, float]:
    """An etch of the delay line, what lies open before it [m], and on which share of the die."""
    trace = walked("delay-line")
    place = next(k for k, state in enumerate(trace.states) if state.step.name == name)
    state, plan = trace.states[place], trace.states[place - 1].wafer.plan
    tops = [column.top.thickness for column in plan.columns if column.top.material == state.step.material]
    exposed = plan.exposed()
    return state, max(tops), exposed[state.step.material] / sum(exposed.values())


@pytest.mark.analytic
def test_the_end_point_comes_later_by_one_plus_k_times_the_open_share(walked: Walked):
    state, depth, share = etched(walked, "finger etch")
    k = book().models["loading"][PLASMA].value
    seen = next(each for each in state.settings if each.name == "expected end point")
    assert 0.5 < share < 1
    assert seen.value == pytest.approx(depth / state.rate.value * (1 + k * share), rel=1e-6)
    slowed = next(each for each in seen.derivation.inputs if each.symbol == "L")
    assert f"{share:.0%} of the die open" in slowed.name
    assert slowed.value == pytest.approx(1 + k * share, rel=1e-6)


@pytest.mark.analytic
def test_the_over_etch_runs_unloaded(walked: Walked):
    """An over-etch of 15 % of the loaded time is worth 15 % (1 + k A) at the rate of a chip."""
    state, depth, share = etched(walked, "finger etch")
    k = book().models["loading"][PLASMA].value
    (remove,) = state.actions
    assert remove.time == pytest.approx(depth / state.rate.value * (1 + 0.15 * (1 + k * share)), rel=1e-6)


@pytest.mark.property
def test_a_bath_is_not_slowed(walked: Walked):
    state, depth, _ = etched(walked, "piezo etch")
    seen = next(each for each in state.settings if each.name == "expected end point")
    assert seen.value == pytest.approx(depth / state.rate.value)
    assert "slowed" not in seen.because
