"""What may stand at a place of a plan that is being written, for the lab and the drawing around it."""

from __future__ import annotations

import functools

from filmwright.desk.bench.surroundings import Surroundings
from filmwright.flow import Completion, Names, complete
from filmwright.knowledge import Lab
from filmwright.review import RULES

MOST = 40
"""Offers that are told; who types a letter more sees the others."""


def complete_plan(text: str, line: int, column: int, around: Surroundings) -> Completion:
    """What may stand at (line, column) of a plan text, each with a short gloss.

    Parameters
    ----------
    text : str
    line, column : int
        Of the cursor, counted from 1.
    around : Surroundings
    """
    names = Names(
        lab=around.lab_or_none() or Lab(name=""),
        drawings=around.drawings(),
        devices=around.devices(text),
        rules=_rules(),
    )
    return complete(text, line, column, names)


@functools.cache
def _rules() -> dict[str, str]:
    return {rule.name: f"{rule.loses}" for rule in RULES}
