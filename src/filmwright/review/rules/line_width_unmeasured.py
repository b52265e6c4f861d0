"""A length that rests on a print bias that nobody measured."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.knowledge import believe
from filmwright.review.case import Case, Rule, finding
from filmwright.review.changes import adds_after
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """95 % band of the print bias on both edges over the shortest channel, where no step measures a line width afterwards."""
    lengths = [device.length for device in case.transistors if device.length]
    measured = any(
        state.step.kind == "measure" and "width" in state.step.medium for state in case.trace.states
    )
    if not lengths or measured or not case.finished:
        return
    develops = [state for state in case.trace.states if state.step.kind == "develop"]
    band = max((4 * _spread(case, state) for state in develops), default=0.0)
    if band / min(lengths) > case.limit("length band"):
        yield finding(
            develops[-1],
            "warn",
            "the length of the shortest channel",
            f"known within ± {case.limit_text('length band')}, or measured",
            f"{show(min(lengths), 'length')} ± {show(band, 'length')} (95 %), and no step measures a line width",
            "mobility and current go with the length, and the print bias is a guess until it is measured",
            "add a step  measure: line width  after the last level, or write the print bias into the lab file",
            case.limit_source("length band"),
            adds_after(
                case,
                _ends(case, develops[-1]),
                "measure: line width",
                "name: line width check",
                f"of: {develops[-1].step.mask}",
            ),
        )


def _ends(case: Case, develop: State) -> State:
    """The last step of the strip or lift-off that ends a lithography; its development where there is none."""
    ends = [each for each in case.after(develop) if each.step.kind in {"strip", "lift off"}]
    return ends[0] if ends else develop


def _spread(case: Case, state: State) -> float:
    """Standard deviation [m] of the print bias of one edge."""
    known = believe(
        case.lab,
        case.facts,
        of="print bias",
        tool=state.step.tool,
        material=state.step.material,
        recipe=state.step.recipe,
        on=case.trace.on,
    )
    return known.std if known is not None else case.facts.resist(state.step.resist).values["print bias"].std


RULE = Rule(
    name="length not measured",
    loses="the mobility",
    quantity="95 % band of the print bias of both edges / shortest channel",
    limits=("length band",),
    source="common practice",
    answers=("lengths", "measured"),
    check=check,
)
