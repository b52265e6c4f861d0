"""A film measured with resist still on it."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import moves_after
from filmwright.review.finding import Change, Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Resist on the wafer in a measurement of height, thickness or resistance; line widths and looks may be taken on resist."""
    for state in case.trace.states:
        if state.step.kind != "measure" or not any(word in state.step.medium for word in _SPOILED):
            continue
        resist = {
            layer.material: layer.thickness
            for column in case.stacks(case.before(state))
            for layer in column.layers
            if case.kind(layer.material) == "organic" and layer.material not in case.materials_at_the_end
        }
        if resist:
            yield finding(
                state,
                "warn",
                f"the wafer in {step_named(state)}",
                "free of resist",
                ", ".join(f"{show(depth, 'length')} of {name}" for name, depth in sorted(resist.items())),
                "the reading is that of the resist, not of the film",
                "measure after the strip",
                "read off the emulated wafer",
                _behind(case, state),
            )


def _behind(case: Case, state: State) -> Change | None:
    """The measurement behind the next strip or lift-off."""
    ends = [each for each in case.after(state) if each.step.kind in {"strip", "lift off"}]
    return moves_after(case, state, ends[0]) if ends else None


_SPOILED = ("height", "thickness", "resistance", "reflectance", "colour")
"""Quantities that resist falsifies."""


RULE = Rule(
    name="measured under resist",
    loses="a calibration",
    quantity="resist on the wafer in a measurement of a film",
    source="read off the emulated wafer",
    answers=("measured",),
    because_of=(
        "organic in heat",
        "forgotten strip",
        "coated over resist",
    ),
    check=check,
)
