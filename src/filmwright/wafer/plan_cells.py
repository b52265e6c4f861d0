"""What a plan is made of, and what an action may take from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from filmwright.numerics import Region
from filmwright.units import to_si
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column, Layer

NO_COLUMN = Column(())
"""Where it is not told what lay there."""

Where = Literal["open", "undercut", "floated", "sealed"]


@dataclass(frozen=True, kw_only=True)
class Cell:
    """All places of the die that carry the same column.

    Attributes
    ----------
    region : Region [nm]
    column : Column
    """

    region: Region
    column: Column


@dataclass(frozen=True, kw_only=True)
class Loss:
    """What an action took from a film at some place.

    Attributes
    ----------
    film, material : str
    before, after : float [m]
        Thickness.
    area : float [m²]
    region : Region [nm]
        Where: of windows that repeat, at the first place only (``area`` is that of all).
    where : 'open', 'undercut', 'floated' or 'sealed'
        ``open``: attacked from above. ``undercut``: attacked from the side, beneath what covers it. ``floated``: it lost its
        footing. ``sealed``: a solvent should have taken it and could not reach it (``after`` equals ``before``).
    sideways : float [m]
        Depth of an undercut.
    column : Column
        What lay there before.
    """

    film: str
    material: str
    before: float
    after: float
    area: float
    region: Region
    where: Where
    sideways: float = 0.0
    column: Column = NO_COLUMN

    @property
    def taken(self) -> float:
        """Thickness lost [m]."""
        return self.before - self.after


def square_metres(area_nm2: float) -> float:
    """An area in nm² in square metres."""
    return to_si(to_si(area_nm2, "nm"), "nm")


def loss_of(
    layer: Layer, after: float, region: Region, where: Where, sideways: float = 0.0, *, of: Column
) -> Loss:
    """The record of one loss from a layer of a column."""
    return Loss(
        film=layer.film,
        material=layer.material,
        before=layer.thickness,
        after=after,
        area=square_metres(region.area),
        region=region,
        column=of,
        where=where,
        sideways=sideways,
    )


def merged(cells: Iterable[Cell]) -> tuple[Cell, ...]:
    """Cells with equal columns made one, in the order of their first appearance."""
    groups: dict[Column, list[Region]] = {}
    for cell in cells:
        if not cell.region.empty:
            groups.setdefault(cell.column, []).append(cell.region)
    return tuple(Cell(region=plan_memo.joined(regions), column=column) for column, regions in groups.items())
