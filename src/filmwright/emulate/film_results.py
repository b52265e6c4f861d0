"""What the lab's own runs say of the films on a wafer, by the label of the film."""

from __future__ import annotations

from collections.abc import Iterable

from filmwright.emulate.trace import State
from filmwright.flow import Step
from filmwright.knowledge import Belief


def film_label(step: Step) -> str:
    """Label of the growth of a step, unique on the wafer."""
    return f"{step.material} ({step.told})"


def film_results(states: Iterable[State], of: str) -> dict[str, Belief]:
    """A result, ``refractive index`` or ``stress``, of every film of which runs tell it: label → belief."""
    return {
        film_label(state.step): state.results[of]
        for state in states
        if state.step.kind == "deposit" and of in state.results
    }
