"""A film that has been hot for too long in all."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import equivalent_time
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.sources import Value
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time at heat of every film since it was put down, counted as time at its own limit, against the longest."""
    told: set[str] = set()
    over: dict[str, list[tuple[str, float, Value]]] = {}
    states = {state.step.number: state for state in case.trace.states}
    energy, longest = case.limit("ledger energy"), case.limit("ledger time")
    for film in case.heat.films:
        spent = 0.0
        for heat in film.heats if case.kind(film.material) != "substrate" else ():
            borne = case.bears(film.material, heat.air)
            if borne is None or film.material in told or heat.time <= 0:
                continue
            spent += equivalent_time(heat.at_peak(energy), heat.peak, borne.value, energy)
            # A single step above the limit is told by its own rule.
            if spent > longest and heat.peak <= borne.value:
                told.add(film.material)
                over.setdefault(heat.step, []).append((film.material, spent, borne))
    for step, films in over.items():
        yield finding(
            states[step],
            "warn",
            f"the heat that {', '.join(name for name, *_ in films)} has seen up to {step_named(states[step])}",
            f"at most {case.limit_text('ledger time')} at {show(films[0][2].value, 'temperature')}",
            "; ".join(
                f"as much as {show(time, 'time')} at {show(borne.value, 'temperature')}"
                for _, time, borne in films
            ),
            "what one short bake spares, many or a long one do not: films oxidise, bead up and mix",
            "shorten or cool the anneals, or do them before this film",
            f"{case.limit_source('ledger energy')}; limit: {films[0][2].source}",
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
    same_step=("too hot for a film",),
    check=check,
)
