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
    elsewhere : str
        Lot in which it is, or was, instead.
    """

    state: State
    visits: int = 0
    finished: str = ""
    who: str = ""
    variants: tuple[str, ...] = ()
    elsewhere: str = ""


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
class Joined:
    """Where a piece of a lot came from, and which flow it follows.

    Attributes
    ----------
    wafer, lot, happened, why : str
    title : str
        Of the flow by which everything before was done; empty where that lot is not in this record, or its plan cannot be read.
    code : str
        Of the step from which on it follows the flow of this lot; empty where nothing is left for it.
    here : bool
        Whether that lot is in this record.
    alike : bool
        Whether both flows begin alike up to there, so that what was done counts here.
    """

    wafer: str
    lot: str
    happened: str
    title: str
    code: str
    alike: bool
    why: str = ""
    here: bool = True

    @property
    def said(self) -> str:
        """In words."""
        gone = ", whose plan cannot be read" if self.here else ", which is not in this record"
        by = f' ("{self.title}")' if self.title else gone
        on = f"follows this lot's flow from {self.code} on" if self.code else "has nothing left to do here"
        counts = (
            "both flows begin alike, so what was done there counts here"
            if self.alike
            else "what was done before followed that lot's flow"
        )
        return f"{self.wafer} came from lot {self.lot}{by} and {on}; {counts}."


def joined(bench: Bench, lot: str) -> tuple[Joined, ...]:
    """For each wafer that came from another lot, which flow it follows since when.

    Parameters
    ----------
    bench : Bench
    lot : str
    """
    from filmwright.desk.bench.pieces import same_beginning

    progress = bench.progress(lot)
    places = {step.number: k for k, step in enumerate(progress.steps)}
    found = []
    for piece in progress.pieces:
        for event in piece.entered:
            if event.wafer != piece.name:
                continue
            here = bench.has(event.name)
            known = here and not bench.trouble(event.name)
            place = places.get(event.step, len(progress.steps))
            alike = known and same_beginning(progress.steps, bench.flow(event.name).steps) >= place
            found.append(
                Joined(
                    wafer=piece.name, lot=event.name, here=here, happened=event.happened, why=event.text, alike=alike,
                    title=bench.flow(event.name).title if known else "",
                    code=progress.steps[place].code if place < len(progress.steps) else "",
                )
            )  # fmt: skip
    return tuple(found)


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
    joined: tuple[Joined, ...] = ()

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
                 "variant": each.variant, "location": each.location, "orientation": each.orientation,
                 "came_from": [{"lot": e.name, "goes_on_at": e.step, "when": e.happened} for e in each.entered]}
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
                      "finished": cell.finished, "who": cell.who, "variants": list(cell.variants),
                      "elsewhere": cell.elsewhere}
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
                    elsewhere=progress.elsewhere(piece.name, k),
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
        joined=joined(bench, lot),
    )
