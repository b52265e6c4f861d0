"""What a report must say is not known, each with the measurement that would settle it."""

from __future__ import annotations

from collections.abc import Sequence

from filmwright.desk.comparison_rows import Told, untold
from filmwright.desk.explain import Story
from filmwright.desk.learning import comparison_notes
from filmwright.desk.lot_lengths import LotSet
from filmwright.outputs import Unknown

_NAMED = 4
"""Structures that are named before the rest is counted."""


def unknowns_of(
    story: Story, found: Told, sets: Sequence[LotSet], checklist: Sequence[tuple[str, str, str]]
) -> tuple[Unknown, ...]:
    """Open questions: what cannot be compared, the rest of the on-current, contacts, capacitance, conditions, the next lot."""
    return (
        *(_noted(each) for each in comparison_notes(story)),
        *(Unknown(what=what, settled_by=by) for what, by in untold(found)),
        *_rest(found),
        *_contacts(story, sets),
        *_capacitance(story),
        *_conditions(checklist),
        Unknown(what="spread from lot to lot", settled_by="a second lot with the same plan"),
    )


def _noted(note: str) -> Unknown:
    what, _, rest = note.partition(": ")
    if "log" in rest:
        return Unknown(what=what, settled_by=rest)
    return Unknown(what=note, settled_by="the missing value, or a table that can be read")


def _rest(found: Told) -> tuple[Unknown, ...]:
    if found.on_current is None:
        return ()
    return (
        Unknown(
            what="what the unexplained rest of the on-current is",
            settled_by=f"measure first the {found.on_current.measure_next.removeprefix('the ')}",
        ),
    )


def _contacts(story: Story, sets: Sequence[LotSet]) -> tuple[Unknown, ...]:
    measured = dict.fromkeys(each.wafer for each in story.probed)
    told = {each.wafer for each in sets if each.contact is not None}
    behind = [wafer for wafer in measured if wafer not in told]
    if not behind:
        return ()
    return (
        Unknown(
            what=f"how much of the resistance is contact and how much is channel on {', '.join(behind)}",
            settled_by="transfer curves, at a small drain voltage, of five lengths or more of one width",
        ),
    )


def _capacitance(story: Story) -> tuple[Unknown, ...]:
    if any(event.name == "areal capacitance" for event in story.events):
        return ()
    names = sorted(
        {each.name for each in story.planned.devices.found if each.kind == "capacitor" and each.name}
    )
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    where = (
        f"capacitance against voltage of {', '.join(names[:_NAMED])}{more}"
        if names
        else "a capacitor of the same insulator"
    )
    return (
        Unknown(
            what="the areal capacitance of this very insulator (the book's permittivity is used), and with it every mobility",
            settled_by=f"{where} on the same wafer",
        ),
    )


def _conditions(checklist: Sequence[tuple[str, str, str]]) -> tuple[Unknown, ...]:
    gaps = [what for what, value, _ in checklist if not value]
    if not gaps:
        return ()
    return (
        Unknown(
            what=f"under which conditions was measured: {'; '.join(gaps)}",
            settled_by="write them down at the probing step, or into the head of each table",
        ),
    )
