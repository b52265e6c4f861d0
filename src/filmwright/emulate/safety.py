"""Cautions of a step, gathered from the facts."""

from __future__ import annotations

from collections.abc import Iterable

from filmwright.emulate.trace import Safety
from filmwright.knowledge import Book


def safety_of(hazards: Iterable[str], facts: Book, spent: str = "") -> Safety:
    """What is printed at the step; the site's procedure always goes first. ``spent`` is what the bath holds afterwards."""
    found = [facts.hazard(key) for key in dict.fromkeys(hazards)]
    return Safety(
        cautions=tuple(dict.fromkeys(line for hazard in found for line in hazard.cautions)),
        gear=tuple(dict.fromkeys(item for hazard in found for item in hazard.gear)),
        waste="; ".join(
            dict.fromkeys([*(hazard.waste for hazard in found if hazard.waste), *([spent] if spent else [])])
        ),
        second_person=any(hazard.second_person for hazard in found),
        interlock="; ".join(dict.fromkeys(hazard.interlock for hazard in found if hazard.interlock)),
    )
