"""Bottles of resist in use, and the lines of the lamp that resists take."""

from __future__ import annotations

from dataclasses import dataclass

LAMP_LINES = ("g line", "h line", "i line")
"""Lines of a mercury lamp that resists take."""


@dataclass(frozen=True, kw_only=True)
class Bottle:
    """A bottle of resist that is in use.

    Attributes
    ----------
    resist : str
        Name of a :class:`Resist`.
    opened : str
        ISO date.
    expires : str
        ISO date of its maker; empty when it is not on file.
    label : str
    line : int
    """

    resist: str
    opened: str
    expires: str = ""
    label: str = ""
    line: int = 0
