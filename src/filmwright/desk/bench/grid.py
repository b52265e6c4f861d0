"""The whole run of a lot: wafers across, steps down, with splits and states."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.holds import irreversible
from filmwright.desk.bench.progress import FlowVersion, Piece, Split, State

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench


@dataclass(frozen=True, kw_only=True)
class GridCell:
    """One wafer at one step.

    Attributes
    ----------
    state : State
    visits : int
        How often it was gone through in writing.
    finished, who : str
    variants : tuple of str
        Which variants of the step this wafer gets.
    """

    state: State
    visits: int = 0
    finished: str = ""
    who: str = ""
    variants: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class GridRow:
    """One step.

    Attributes
    ----------
    number, code, title, hold : str
    irreversible : bool
    cells : tuple of GridCell
        One per piece.
    """

    number: str
    code: str
    title: str
    hold: str
    irreversible: bool
    cells: tuple[GridCell, ...]


@dataclass(frozen=True, kw_only=True)
class GridAnswer:
    """The run of a lot.

    Attributes
    ----------
    lot, title : str
    pieces : tuple of Piece
    labels : tuple of str
        One per piece, with check character.
    rows : tuple of GridRow
    splits : tuple of Split
    versions : tuple of FlowVersion
    next : str
        Number of the earliest step that is next on any wafer.
    invented : bool
    """

    lot: str
    title: str
    pieces: tuple[Piece, ...]
    labels: tuple[str, ...]
    rows: tuple[GridRow, ...]
    splits: tuple[Split, ...]
    versions: tuple[FlowVersion, ...]
    next: str = ""
    invented: bool = False

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "title": self.title,
            "invented": self.invented,
            "flow": {"version": self.versions[-1].number, "digest": self.versions[-1].digest},
            "next": self.next,
            "wafers": [
                {"wafer": each.name, "label": label, "parent": each.parent, "standing": each.standing,
                 "variant": each.variant, "location": each.location, "orientation": each.orientation}
                for each, label in zip(self.pieces, self.labels, strict=True)
            ],
            "splits": [
                {"step": each.step, "variant": each.variant, "wafers": list(each.wafers),
                 "planned": {name: {"value": e.value, "unit": e.unit} for name, e in each.planned.items()}}
                for each in self.splits
            ],
            "steps": [
                {"number": row.number, "code": row.code, "title": row.title, "hold_point": row.hold,
                 "irreversible": row.irreversible,
                 "cells": [
                     {"wafer": piece.name, "state": cell.state, "visits": cell.visits,
                      "finished": cell.finished, "who": cell.who, "variants": list(cell.variants)}
                     for piece, cell in zip(self.pieces, row.cells, strict=True)
                 ]}
                for row in self.rows
            ],
        }  # fmt: skip


def grid(bench: Bench, lot: str) -> GridAnswer:
    """The run of a lot as a table.

    Parameters
    ----------
    bench : Bench
    lot : str
    """
    with bench.looking():
        return _grid(bench, lot)


def _grid(bench: Bench, lot: str) -> GridAnswer:
    from filmwright.record import label_of

    progress, held = bench.progress(lot), bench.lot(lot)
    variants: dict[tuple[str, str], tuple[str, ...]] = {}
    for split in progress.splits:
        for wafer in split.wafers:
            variants[wafer, split.step] = (*variants.get((wafer, split.step), ()), split.variant)
    rows = []
    for k, step in enumerate(progress.steps):
        cells = []
        for piece in progress.pieces:
            visits = progress.visits.get((piece.name, step.number), ())
            cells.append(
                GridCell(
                    state=progress.states[piece.name][k],
                    visits=len(visits),
                    finished=visits[-1].finished if visits else "",
                    who=visits[-1].who if visits else "",
                    variants=variants.get((piece.name, step.number), ()),
                )
            )
        rows.append(
            GridRow(
                number=step.number,
                code=step.code,
                title=step.title,
                hold=step.hold,
                irreversible=irreversible(step),
                cells=tuple(cells),
            )
        )
    return GridAnswer(
        lot=lot,
        title=bench.flow(lot).title,
        pieces=progress.pieces,
        labels=tuple(label_of(lot, piece.name) for piece in progress.pieces),
        rows=tuple(rows),
        splits=progress.splits,
        versions=bench.versions(lot),
        next=progress.next,
        invented=held.invented,
    )
