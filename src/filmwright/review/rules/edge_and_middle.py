"""One wafer, of which one end is not yet cleared while the other is over-etched."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Loss


def check(case: Case) -> Iterator[Finding]:
    """Film left at one end of the wafer, and the loss of a film that must stay at the other, by one and the same time."""
    for state in case.trace.states:
        if state.step.kind != "etch":
            continue
        left = {name: _left(state, lost) for name, lost in state.on_wafer.items()}
        taken = {name: _worst(case, state, lost) for name, lost in state.on_wafer.items()}
        for slow, rest in left.items():
            over = [(name, loss) for name, loss in taken.items() if name != slow and loss is not None]
            if rest <= 0 or not over:
                continue
            fast, loss = over[0]
            yield finding(
                state,
                "stop",
                f"the two ends of one wafer after {step_named(state)}",
                f"cleared all over, and no film that must stay loses more than {case.limit_text('film loss warn')}",
                f"{show(rest, 'length')} of {state.step.material} left at {slow}, while {loss.material} loses "
                f"{show(loss.taken, 'length')} of {show(loss.before, 'length')} ({percent(loss.taken / loss.before)}) at {fast}",
                "a longer time takes more at the one end, a shorter one leaves more at the other",
                "make film or etch more even, turn the wafer half way, or choose a chemistry that stops on what lies beneath",
                f"(max − min) / (2 × mean) of film and etch, as the tools have it; {case.limit_source('film loss warn')}",
            )


def _left(state: State, lost: tuple[Loss, ...]) -> float:
    """What is left of the film in the clear places [m]."""
    return max((loss.after for loss in lost if loss.material == state.step.material), default=0.0)


def _worst(case: Case, state: State, lost: tuple[Loss, ...]) -> Loss | None:
    """The gravest loss of a film that must stay, where it passes the limit."""
    grave = [
        loss
        for loss in lost
        if loss.material != state.step.material
        and case.kind(loss.material) != "organic"
        and loss.taken > case.limit("film loss warn") * loss.before
        and case.stays(state, loss)
    ]
    return max(grave, key=lambda loss: loss.taken / loss.before, default=None)


RULE = Rule(
    name="edge and middle of one wafer",
    loses="one end of every wafer",
    quantity="film left at one end, loss beneath at the other, at the time of the whole wafer",
    limits=("film loss warn",),
    source="geometry: rate × time at two places",
    answers=("plasma beneath", "unevenness"),
    spoils=("stop",),
    check=check,
)
