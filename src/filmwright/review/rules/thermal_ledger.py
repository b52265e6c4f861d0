"""A film that has been hot for too long in all."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import BOLTZMANN, show


def check(case: Case) -> Iterator[Finding]:
    """Time at heat of every film since it was put down, counted as time at its own limit, against the longest."""
    told: set[str] = set()
    spent: dict[tuple[str, bool], float] = {}
    for state in case.trace.states:
        hot, long = case.temperature(state), case.time(state)
        air = state.step.kind not in {"anneal", "deposit"} or "air" in state.step.medium
        films = (
            name
            for name in case.materials(case.before(state))
            if case.kind(name) not in {"organic", "substrate"}
        )
        for film in sorted(films) if hot and long else ():
            borne = case.bears(film, air)
            if borne is None or film in told:
                continue
            rate = math.exp(-case.limit("ledger energy") / BOLTZMANN * (1 / hot - 1 / borne.value))
            spent[film, air] = spent.get((film, air), 0.0) + long * rate
            # A single step above the limit is told by its own rule.
            if spent[film, air] > case.limit("ledger time") and hot <= borne.value:
                told.add(film)
                yield finding(
                    state,
                    "warn",
                    f"the heat that {film} has seen up to {step_named(state)}",
                    f"at most {case.limit_text('ledger time')} at {show(borne.value, 'temperature')}",
                    f"as much as {show(spent[film, air], 'time')} at {show(borne.value, 'temperature')}",
                    "what one short bake spares, many or a long one do not: films oxidise, bead up and mix",
                    "shorten or cool the anneals, or do them before this film",
                    f"{case.limit_source('ledger energy')}; limit: {borne.source}",
                )


RULE = Rule(
    name="thermal ledger",
    loses="contacts, slowly",
    quantity="Σ time × exp(−E/k (1/T − 1/T of the film’s limit))",
    limits=(
        "ledger time",
        "ledger energy",
    ),
    source="one activated process stands for all (judgement)",
    answers=("heat and chambers",),
    check=check,
)
