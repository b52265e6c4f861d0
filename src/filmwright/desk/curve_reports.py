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
from filmwright.units import show, write


def checklists_of(
    sweeps: Sequence[Sweep],
    results: Sequence[CurveResult],
    geometries: Sequence[Geometry],
    origins: Sequence[Mapping[str, Any]],
) -> tuple[dict[str, Any], ...]:
    """A checklist for each device of the curves, and one for all together where there are several.

    ``origins`` say from where the sizes of each curve are known.
    """
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
                stated=_sizes(geometries[places[0]], origins[places[0]]),
            )
        )
        told.append(rows)
        answers.append(_answer(f"{Path(file).name}{f', {device}' if device else ''}", rows))
    if len(told) > 1:
        answers.append(_answer(f"all {len(told)} devices", lot_checklist(told)))
    return tuple(answers)


def _answer(device: str, rows: Sequence[ChecklistRow]) -> dict[str, Any]:
    return {"device": device, "rows": checklist_fields(rows)}


def _sizes(geometry: Geometry, origin: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Sizes, capacitance and edge of the film with where they are known from."""
    told = {}
    if geometry.width and geometry.length:
        sources = dict.fromkeys(origin[name]["from"] for name in ("width", "length"))
        size = f"W {show(geometry.width, 'length')}, L {show(geometry.length, 'length')}"
        told["channel width and length"] = (size, " and ".join(sources))
    if geometry.areal_capacitance:
        source = origin["areal_capacitance"]["from"]
        how = (
            "thickness as planned, permittivity of the book"
            if "drawing" in source
            else "how measured: not recorded"
        )
        told["areal capacitance and how it is known"] = (
            f"{write(geometry.areal_capacitance, 'nF/cm^2')}, {how}",
            source,
        )
    if geometry.fringe is not None:
        beside = (
            "wider than the contacts: mobilities are overstated"
            if geometry.fringe
            else "ends at the contacts"
        )
        told["channel film against contacts"] = (beside, "drawing of the lot")
    return told


def _conditions(file: str) -> Mapping[str, Condition]:
    try:
        return read_conditions(file)
    except BadInput:
        return {}
