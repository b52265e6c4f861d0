"""A contact on a metal that has grown its skin."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Area of a conductor put on something with a tight native oxide, without a dip or an ion clean just before."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or case.kind(state.step.material) != "conductor":
            continue
        bare = {name: area for name, area in case.uncovered(case.before(state)).items() if name in _SKINS}
        place = case.places[id(state)]
        if not bare or (place and _fresh(case, case.trace.states[place - 1])):
            continue
        yield finding(
            state,
            "warn",
            f"the surface under {step_named(state)}",
            "dipped or ion-cleaned just before, or deposited in the same vacuum",
            ", ".join(
                f"{name} uncovered in air over {show(area, 'area')}" for name, area in sorted(bare.items())
            ),
            "a native oxide of a few nanometres insulates the contact, and every device differs",
            "dip it in an acid that takes the skin, or clean it with argon ions, right before the deposition",
            "native oxides (common practice)",
        )


def _fresh(case: Case, earlier: State) -> bool:
    """Whether a step leaves a surface without a skin: a deposition in vacuum, a dip with its rinse, an ion clean."""
    medium = case.medium(earlier)
    if earlier.step.kind in {"deposit", "rinse"} or medium is None:
        return earlier.step.kind == "deposit"
    return bool(medium.families & {"hydrofluoric", "argon"})


_SKINS = {"aluminium", "silicon", "amorphous silicon", "polysilicon", "tantalum", "silver"}
"""Their skin is tight and insulates; other metals' skins are thin or are dissolved by titanium and chromium."""


RULE = Rule(
    name="native oxide under contact",
    loses="contact resistance",
    quantity="uncovered area of a metal with a tight skin under a new conductor",
    source="common practice",
    answers=("waits",),
    check=check,
)
