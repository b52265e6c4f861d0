"""Which words a tool must serve for a step."""

from __future__ import annotations

from filmwright.emulate import State
from filmwright.review.case import Case

_BAKES = {
    **dict.fromkeys(("dehydrate", "bake", "reversal bake", "post-exposure bake", "hard bake"), "bake"),
    "flood expose": "expose",
}
_ITSELF = {"prime", "coat", "expose", "develop", "anneal"}


def words(case: Case, state: State) -> tuple[str, ...]:
    """Any one of these a tool must serve for a step; empty for a step that needs no tool of its own."""
    step = state.step
    if step.kind in _BAKES:
        return (_BAKES[step.kind], step.kind)
    if step.kind in _ITSELF:
        return (step.kind,)
    if step.kind == "deposit":
        return (step.method, *case.method(state).aliases)
    medium = case.medium(state)
    if medium is None or step.kind == "rinse":
        return ()
    if medium.kind == "plasma":
        return (medium.name, "plasma etch", *(() if step.kind == "etch" else ("ash",)))
    if step.kind == "etch":
        return (medium.name, "wet etch")
    if step.kind == "clean":
        return (medium.name, "clean" if "solvent" in medium.families else "wet etch")
    return (medium.name, step.kind, "strip", "clean")
