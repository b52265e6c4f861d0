"""Tone: from what is drawn to where resist remains."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, get_args

from filmwright.numerics import Region

DrawnTone = Literal["opaque", "clear"]
"""What the drawn shapes are on the plate: chromium, or windows in it."""

ResistTone = Literal["positive", "negative", "image reversal"]
"""Positive resist remains where it is dark, the other two where it is lit."""


def _check(drawn: str, resist: str) -> None:
    if drawn not in get_args(DrawnTone):
        raise ValueError(f"drawn must be one of {get_args(DrawnTone)}, got {drawn!r}")
    if resist not in get_args(ResistTone):
        raise ValueError(f"resist must be one of {get_args(ResistTone)}, got {resist!r}")


@lru_cache(maxsize=64)
def resist_left(shapes: Region, die: Region, drawn: DrawnTone, resist: ResistTone) -> Region:
    """Where resist remains within the die after exposure through the plate and development.

    Opaque shapes in positive resist, and windows in negative or image-reversal resist, leave resist where something is
    drawn; the other two pairs leave it everywhere else.

    Parameters
    ----------
    shapes : Region [nm]
        What is drawn on the level's layer.
    die : Region [nm]
    drawn : 'opaque' or 'clear'
    resist : 'positive', 'negative' or 'image reversal'
    """
    _check(drawn, resist)
    if (drawn == "opaque") == (resist == "positive"):
        return shapes.intersection(die)
    return die.difference(shapes)


def plate_note(drawn: DrawnTone, resist: ResistTone) -> str:
    """A sentence on what the plate looks like and how it lies on the wafer.

    Parameters
    ----------
    drawn : 'opaque' or 'clear'
    resist : 'positive', 'negative' or 'image reversal'
    """
    _check(drawn, resist)
    field = "mostly clear, marks of the wafer are seen through it" if drawn == "opaque" else (
        "mostly chromium, marks of the wafer are seen only through its windows"
    )  # fmt: skip
    left = (
        "where something is drawn"
        if (drawn == "opaque") == (resist == "positive")
        else "where nothing is drawn"
    )
    return (
        f"The plate is {field}. It lies with its chromium side on the resist: its text reads right through the glass and is "
        f"mirrored when one looks at the chromium. Resist remains {left}."
    )
