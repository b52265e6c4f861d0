"""A contact metal whose work function leaves a barrier to the channel."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Work function of each conductor that touches the channel less the electron affinity there, worst first."""
    if not case.transistors or not case.finished:
        return
    pairs = {
        (metal, channel): height
        for column in case.stacks(case.trace.final.plan)
        for lower, upper in pairwise(column.layers)
        for metal, channel in ((lower.material, upper.material), (upper.material, lower.material))
        if case.kind(metal) == "conductor" and case.kind(channel) == "semiconductor"
        if (height := _barrier(case, metal, channel)) is not None
    }
    for (metal, channel), height in sorted(pairs.items(), key=lambda each: -each[1]):
        if height > case.limit("contact barrier"):
            yield finding(
                case.last,
                "warn",
                f"the contact of {metal} to {channel}",
                f"a barrier of at most {case.limit_text('contact barrier')}",
                f"{show(height, 'energy')}: work function less electron affinity",
                "electrons enter over the barrier only: the current is crowded at low drain voltage and looks like low mobility",
                "put a metal of lower work function, such as titanium or molybdenum, next to the channel",
                f"{case.limit_source('contact barrier')}; states at the interface move the barrier by some tenths of an electron volt",
            )


def _barrier(case: Case, metal: str, channel: str) -> float | None:
    """Height [J] for electrons without states at the interface (Schottky and Mott); None where a number is not on file."""
    work = case.facts.material(metal).values.get("work function")
    affinity = case.facts.material(channel).values.get("electron affinity")
    return None if work is None or affinity is None else work.value - affinity.value


RULE = Rule(
    name="barrier at the contact",
    loses="current at low voltage, and an honest mobility",
    quantity="work function of the contact − electron affinity of the channel",
    limits=("contact barrier",),
    source="S. M. Sze, Physics of Semiconductor Devices, metal–semiconductor contacts (from memory)",
    answers=("lengths",),
    because_of=("noble metal without adhesion",),
    check=check,
)
