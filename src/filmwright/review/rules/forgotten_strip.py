"""A film on resist that nobody meant to lift off."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import adds_after, stripper, strips_before
from filmwright.review.finding import Change, Finding


def check(case: Case) -> Iterator[Finding]:
    """Depositions onto resist that are not followed by a lift-off before the next lithography."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or not _on_resist(case, state):
            continue
        ends = [later for later in case.after(state) if later.step.kind in {"lift off", "strip", "coat"}]
        if ends and ends[0].step.kind == "lift off":
            continue
        yield finding(
            state,
            "stop",
            f"the wafer before {step_named(state)}",
            "free of resist, or followed by a lift-off",
            "resist beneath the new film"
            + (f", then {ends[0].step.kind} in step {ends[0].step.number}" if ends else ""),
            "the film floats off with the resist, or the resist stays buried",
            "add the forgotten lift-off after it"
            if _made_to_lift(case, state)
            else "add the forgotten strip before this step, or a lift-off after it",
            "read off the emulated wafer",
            _lifted(case, state)
            if _made_to_lift(case, state)
            else strips_before(case, state, case.organics(case.before(state))),
        )
        if _made_to_lift(case, state):
            return  # one lift-off takes all films on this resist


def _on_resist(case: Case, state: State) -> bool:
    return any(case.kind(name) == "organic" for name in case.uncovered(case.before(state)))


def _made_to_lift(case: Case, state: State) -> bool:
    """Whether the resist on the wafer was coated for a lift-off: it has an undercut."""
    coat = case.coat_before(state)
    undercut = case.facts.resist(coat.step.resist).values.get("lift-off undercut") if coat else None
    return undercut is not None and undercut.value > 0


def _lifted(case: Case, state: State) -> Change | None:
    """A lift-off behind the last film of the row that begins with a step."""
    row = list(takewhile(lambda each: each.step.kind == "deposit", case.after(state)))
    bath = stripper(case, case.organics(case.before(state)))
    coat = case.coat_before(state)
    if not bath or coat is None:
        return None
    name = f"name: {coat.step.mask} lift-off" if coat.step.mask else "name: forgotten lift-off"
    return adds_after(case, [state, *row][-1], "lift off: resist", name, f"in: {bath}")


RULE = Rule(
    name="forgotten strip",
    loses="the film, in flakes over the whole wafer",
    quantity="organics uncovered before a deposition that no lift-off follows",
    source="a missing strip before a cold deposition is as deadly as before a hot one (common practice)",
    answers=("organic in heat",),
    spoils=("stop",),
    check=check,
)
