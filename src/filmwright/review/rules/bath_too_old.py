"""A bath that is older than it keeps."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import bath_of
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Age of the bath of the lab file against the age at which it is renewed."""
    for state in case.trace.states:
        medium = case.medium(state)
        bath = bath_of(state.step, case.lab, case.trace.on) if medium is not None else None
        if medium is None or bath is None:
            continue
        usual = case.facts.baths.get(medium.name, {}).get("longest age")
        longest = bath.longest_age if bath.longest_age is not None else usual.value if usual else None
        age = bath.age(case.trace.on)
        if longest is None or age <= longest:
            continue
        says = (
            f"the lab file, line {bath.line}"
            if bath.longest_age is not None or usual is None
            else str(usual.source)
        )
        yield finding(
            state,
            "warn",
            f'the bath "{bath.name}" of {step_named(state)}',
            f"at most {show(longest, 'time')} old ({says})",
            f"{show(age, 'time')}, made {bath.made}",
            "its rate has fallen by an amount that nobody measured: what is timed is not cleared, what is watched takes long and undercuts",
            "mix it fresh, write the new date into the lab file, and etch a dummy",
            f"baths of the lab file; {says}",
        )


RULE = Rule(
    name="bath too old",
    loses="a cleared film, and the resist during the long wait for it",
    quantity="age of the bath − its longest age",
    source="usual lives of baths (common practice), or the lab's own",
    answers=("baths",),
    check=check,
)
