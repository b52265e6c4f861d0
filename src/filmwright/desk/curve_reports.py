"""What is said beside extracted parameters: families of output curves, and the checklist of the measurement."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from filmwright.errors import BadInput
from filmwright.measure import (
    ChecklistRow,
    Condition,
    CurveResult,
    Geometry,
    Said,
    Sweep,
    checklist_fields,
    device_checklist,
    lot_checklist,
    read_conditions,
)

CHOSEN = "number of devices and how they were chosen"


def checklists_of(
    sweeps: Sequence[Sweep], results: Sequence[CurveResult], geometries: Sequence[Geometry]
) -> tuple[dict[str, Any], ...]:
    """A checklist for each device of the curves, and one for all together where there are several."""
    groups: dict[tuple[str, str], list[int]] = {}
    for at, sweep in enumerate(sweeps):
        groups.setdefault((sweep.file, sweep.device), []).append(at)
    told, answers = [], []
    for (file, device), places in groups.items():
        rows = device_checklist(
            Said(
                sweeps=tuple(sweeps[at] for at in places),
                results=tuple(results[at] for at in places),
                geometry=geometries[places[0]],
                conditions=_conditions(file),
            )
        )
        told.append(rows)
        answers.append(_answer(f"{Path(file).name}{f', {device}' if device else ''}", rows))
    if len(told) > 1:
        answers.append(_answer(f"all {len(told)} devices", lot_checklist(told)))
    return tuple(answers)


def _answer(device: str, rows: Sequence[ChecklistRow]) -> dict[str, Any]:
    return {"device": device, "rows": checklist_fields(rows)}


def _conditions(file: str) -> Mapping[str, Condition]:
    try:
        return read_conditions(file)
    except BadInput:
        return {}
