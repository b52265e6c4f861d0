"""A film of doubtful thickness that nobody measures."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.changes import adds_after
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """95 % band of the thickness of each film that stays, where no step measures it and no witness goes along."""
    for state in case.trace.states:
        step = state.step
        if step.kind != "deposit" or not state.thickness or step.measured or step.witness:
            continue
        band = 2 * (state.thickness_std or 0.0) / state.thickness
        measured = any(
            each.step.kind == "measure" and step.material in (each.step.material, each.step.medium)
            for each in case.after(state)
        )
        if (
            band > case.limit("thickness band")
            and not measured
            and step.material in case.materials_at_the_end
        ):
            yield finding(
                state,
                "warn",
                f"the thickness of the film of {step_named(state)}",
                f"known within ± {case.limit_text('thickness band')}, or measured",
                f"{show(state.thickness, 'length')} ± {percent(band)} (95 %), without a measurement and without a witness",
                "what is not measured now cannot be told apart from anything else later",
                f"add  measure: step height, of: {step.material}, or send a witness along",
                case.limit_source("thickness band"),
                adds_after(
                    case,
                    _edged(case, state),
                    "measure: thickness",
                    f"name: thickness of {step.name or step.material}",
                    f"of: {step.material}",
                ),
            )


def _edged(case: Case, state: State) -> State:
    """The strip or lift-off that gives a film its edge; the film's own step where none does."""
    ends = {"strip", "lift off"}
    return next((each for each in case.after(state) if each.step.kind in ends), state)


RULE = Rule(
    name="thickness never measured",
    loses="the explanation of every later number",
    quantity="95 % band of a film that no step measures and no witness carries",
    limits=("thickness band",),
    source="common practice",
    answers=("measured",),
    check=check,
)
