"""Two baths that must never meet."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Media used at one bench in turn of which one must never meet the other; each bench once."""
    last: dict[str, tuple[str, str]] = {}
    told: set[str] = set()
    for state in case.trace.states:
        step = state.step
        if not step.medium or step.medium not in case.facts.media:
            continue
        medium = case.facts.medium(step.medium)
        if medium.kind == "plasma":
            continue
        bench = step.tool or "an unnamed bench"
        before = last.get(bench)
        if medium.kind != "rinse":
            last[bench] = (medium.name, step.number)
        if before is None or medium.kind == "rinse":
            continue
        other = case.facts.medium(before[0])
        clash = _clash(case, other.hazard, medium.families) or _clash(case, medium.hazard, other.families)
        if clash and bench not in told:
            told.add(bench)
            yield finding(
                state,
                "stop" if step.tool else "warn",
                f"what shares {bench} with {step_named(state)}",
                f"nothing that is {clash}",
                f"{other.name} (step {before[1]}) and {medium.name}",
                "mixed in a beaker, a drain or a waste bottle they react violently",
                "use separate benches, beakers and waste bottles, and write them as tools into the lab file",
                "hazard entries of both media",
            )


def _clash(case: Case, hazard: str, families: frozenset[str]) -> str:
    if not hazard:
        return ""
    return ", ".join(sorted(case.facts.hazard(hazard).never_with & families))


RULE = Rule(
    name="never together",
    loses="people",
    quantity="media in turn at one bench × families that must never meet",
    source="an oxidiser never meets a solvent (safety data sheets, from memory)",
    answers=("never mixed",),
    check=check,
    may_be_accepted=False,
)
