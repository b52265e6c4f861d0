"""Lots that were found finished: which others may have steps left is asked without reading any entry.

An ending says up to which entry a lot was read. The first entry after it adds, in its own transaction and whoever wrote
it, a row that says that the lot goes on; so nobody has to remember to take an ending back.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Ending:
    """What a finished lot came to.

    Attributes
    ----------
    lot : str
    head : int
        Position of the last entry that was read for it.
    rules : str
        By which it was worked out; endings by other rules are not looked at.
    told : str
        What the program that worked it out wants to find again.
    number : int
        Counts on with every ending that is kept; 0 before.
    """

    lot: str
    head: int
    rules: str
    told: str
    number: int = 0


@dataclass(frozen=True, kw_only=True)
class Going:
    """Lots that no ending holds for.

    Attributes
    ----------
    heads : dict of str to int
        In the order of their starts, with the position of the last entry.
    lots : int
        How many lots there are in all.
    """

    heads: dict[str, int]
    lots: int
