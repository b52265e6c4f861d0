"""A table of words and numbers that are ready to print, with what has to be said of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class PlainTable:
    """A table of a report.

    Attributes
    ----------
    title : str
    heads : tuple of str
        The first column is read from the left, the others are numbers or short words.
    rows : tuple of tuples of str
    notes : tuple of str
        Printed under it; all there is where nothing can be told.
    """

    title: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = ()
