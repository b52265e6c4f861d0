"""Fences that the columns suspect and the sections do not find."""

from __future__ import annotations

from collections.abc import Callable

from filmwright.wafer.column import FENCE, Column, Layer
from filmwright.wafer.plan import Plan


def has_fence(column: Column, films: frozenset[str] | None = None) -> bool:
    """Whether a fence stands in a column, of some films or of any.

    Parameters
    ----------
    column : Column
    films : frozenset of str or None
    """
    return any(FENCE in layer.marks and (films is None or layer.film in films) for layer in column.layers)


def without_fences(plan: Plan, gone: Callable[[Column, Layer], bool]) -> Plan:
    """A plan without some of its fences; what stands on them comes down.

    Parameters
    ----------
    plan : Plan
    gone : callable (Column, Layer) → bool
        Which fences are not there.
    """

    def changed(column: Column) -> Column:
        kept = tuple(layer for layer in column.layers if FENCE not in layer.marks or not gone(column, layer))
        return column if len(kept) == len(column.layers) else Column(kept)

    return plan.with_columns(changed)
