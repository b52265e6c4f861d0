"""The kinds of edges that a die has: which columns one meets in going across, and where to cut.

A *kind* is the row of columns from one broad column to the next; strips narrower than a micrometre (fences, undercuts, thinned
rims) belong to the edge. What a section across one place of a kind finds holds along all edges of the kind: all round every
island, also round its ends, where no cut was drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Polyline, crossed, length_of
from filmwright.units import convert, to_si
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.edge_profile import Stretch
from filmwright.wafer.plan import Plan
from filmwright.wafer.plan_cells import Cell

REACH_NM = convert(to_si(3, "um"), "nm")
"""How far a cut runs to either side of an edge."""

STRIP_NM = convert(to_si(1, "um"), "nm")
"""What is narrower belongs to the edge and is no place of its own."""

_CORNER_NM = convert(to_si(0.5, "um"), "nm")
"""Columns that meet along less than this in one straight piece meet at a corner, which is no edge."""

Lines = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class EdgeKind:
    """One kind of edge of the die.

    Attributes
    ----------
    place : (x, y) [nm]
        Where it is cut: the middle of the longest straight edge of the kind.
    line : Polyline [nm]
        The cut.
    stretches : tuple of Stretch
        Along the cut: the broad column with the lower surface, the strips, the other broad column.
    length : float [m]
        Of all edges of the kind on the die.
    """

    place: tuple[float, float]
    line: Polyline
    stretches: tuple[Stretch, ...]
    length: float

    @property
    def columns(self) -> tuple[Column, ...]:
        """What one meets in going across."""
        return tuple(stretch.column for stretch in self.stretches)

    @property
    def sides(self) -> tuple[Column, Column]:
        """The broad column with the lower surface, and the other."""
        return self.stretches[0].column, self.stretches[-1].column


def kinds_of_edges(
    plan: Plan, between: Iterable[tuple[Column, Column]] | None = None
) -> tuple[EdgeKind, ...]:
    """The kinds of edges of a die, the longest first.

    Parameters
    ----------
    plan : Plan
    between : iterable of (Column, Column) or None
        Only edges where these are neighbours, in either order; None takes all.
    """
    only = None if between is None else {pair for one, two in between for pair in ((one, two), (two, one))}
    found: dict[tuple[Column, ...], EdgeKind] = {}
    for part in plan.parts:
        for kind in _kinds_in(part.core, only, part.place.count):
            known = found.get(kind.columns)
            if known is None or known.length < kind.length:
                found[kind.columns] = kind
    return tuple(sorted(found.values(), key=lambda kind: -kind.length))


def _kinds_in(cells: Sequence[Cell], only: set[tuple[Column, Column]] | None, count: int) -> list[EdgeKind]:
    """The kinds of edges among cells that lie at ``count`` places."""
    borders = _borders(cells, only)
    if not borders:
        return []
    pieces = plan_memo.pieces([cell.region for cell in cells])
    cuts = [_across(lines) for lines in borders.values()]
    rows = crossed(pieces.regions, [line for line, _ in cuts])
    found = []
    for (line, place), lines, runs in zip(cuts, borders.values(), rows, strict=True):
        row = _row([Stretch(cells[pieces.owner[k]].column, low, high) for k, low, high in runs])
        if row:
            found.append(_kind(line, place, row, count * to_si(length_of(lines), "nm")))
    return found


def neighbours(plan: Plan) -> Mapping[tuple[Column, Column], float]:
    """Every two columns that share a border, with the length of it [m].

    Parameters
    ----------
    plan : Plan
    """
    found: dict[tuple[Column, Column], float] = {}
    for part in plan.parts:
        for (a, b), lines in _borders(part.core, None).items():
            pair = part.core[a].column, part.core[b].column
            pair = pair if pair in found or pair[::-1] not in found else pair[::-1]
            found[pair] = found.get(pair, 0.0) + part.place.count * to_si(length_of(lines), "nm")
    return found


def _borders(cells: Sequence[Cell], only: set[tuple[Column, Column]] | None) -> dict[tuple[int, int], Lines]:
    """Two cells → the straight pieces of all their common borders."""
    pieces = plan_memo.pieces([cell.region for cell in cells])
    found: dict[tuple[int, int], list[Lines]] = {}
    for border in pieces.borders:
        pair = pieces.owner[border.first], pieces.owner[border.second]
        found.setdefault(pair, []).append(border.lines)
    return {
        (a, b): stacked
        for (a, b), lines in found.items()
        if a != b
        and (only is None or (cells[a].column, cells[b].column) in only)
        and _longest(stacked := np.vstack(lines))[1] >= _CORNER_NM
    }


def _longest(lines: Lines) -> tuple[int, float]:
    """The longest of some straight pieces, and its length [nm]."""
    lengths = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    place = int(np.argmax(lengths))
    return place, float(lengths[place])


def _across(lines: Lines) -> tuple[Polyline, tuple[float, float]]:
    """A cut across the middle of the longest of some straight pieces."""
    place, length = _longest(lines)
    start, end = lines[place, :2], lines[place, 2:]
    x, y = ((start + end) / 2).tolist()
    dx, dy = ((end - start) / length * REACH_NM).tolist()
    return Polyline(((x + dy, y - dx), (x - dy, y + dx))), (x, y)


def _row(stretches: Sequence[Stretch]) -> list[Stretch]:
    """From the last broad stretch that begins before the middle of a cut to the next; none where the die ends first."""
    broad = [k for k, stretch in enumerate(stretches) if stretch.end - stretch.start >= STRIP_NM]
    first = max((k for k in broad if stretches[k].start < REACH_NM - STRIP_NM / 2), default=len(stretches))
    last = min((k for k in broad if k > first), default=None)
    return [] if last is None else list(stretches[first : last + 1])


def _kind(line: Polyline, place: tuple[float, float], row: Sequence[Stretch], length: float) -> EdgeKind:
    """A kind cut so that nothing beyond its two broad columns takes part, from the lower one to the higher."""
    low = row[0].start if row[0].start < 1 else (row[0].start + row[0].end) / 2
    high = row[-1].end if row[-1].end > 2 * REACH_NM - 1 else (row[-1].start + row[-1].end) / 2
    (x0, y0), (x1, y1) = line.points
    dx, dy = (x1 - x0) / (2 * REACH_NM), (y1 - y0) / (2 * REACH_NM)
    ends = [(x0 + s * dx, y0 + s * dy) for s in (low, high)]
    inner = [Stretch(s.column, max(s.start, low) - low, min(s.end, high) - low) for s in row]
    if _rank(row[-1].column) < _rank(row[0].column):
        ends.reverse()
        whole = high - low
        inner = [Stretch(s.column, whole - s.end, whole - s.start) for s in reversed(inner)]
    return EdgeKind(place=place, line=Polyline((ends[0], ends[1])), stretches=tuple(inner), length=length)


def _rank(column: Column) -> tuple[float, tuple[tuple[int, float], ...]]:
    return column.height, tuple((layer.born, layer.thickness) for layer in column.layers)
