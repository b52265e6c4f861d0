"""The heat of a lot as rows of its report."""

from __future__ import annotations

from filmwright.emulate import Trace
from filmwright.knowledge import Book
from filmwright.outputs import HeatRow
from filmwright.review import heat_of
from filmwright.units import show

_NOTHING = 1.0
"""Seconds at the limit below which a film has seen nothing."""


def heat_rows(trace: Trace, facts: Book) -> tuple[HeatRow, ...]:
    """What every film has seen since it lies there, and how far something went in it."""
    ledger = heat_of(trace, facts)
    moved: dict[str, list[str]] = {}
    for each in ledger.diffused:
        said = f"{each.what} {show(each.length, 'length')}" + (
            " (outside its measurement)" if each.outside else ""
        )
        moved.setdefault(each.film, []).append(said)
    return tuple(
        HeatRow(
            film=each.film,
            peak=show(each.peak, "temperature"),
            hot=show(each.hot, "time"),
            limit="" if each.limit is None else show(each.limit.value, "temperature"),
            spent=""
            if each.limit is None
            else "under 1 s"
            if each.spent < _NOTHING
            else show(each.spent, "time"),
            moved=tuple(moved.get(each.film, ())),
        )
        for each in ledger.films
    )
