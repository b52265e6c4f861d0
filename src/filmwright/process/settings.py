"""What an operator dials in."""

from __future__ import annotations

from dataclasses import dataclass

from filmwright.sources import Source


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One knob of one step.

    Attributes
    ----------
    name : str
        E.g. ``time``, ``spin speed``, ``dose``.
    value : float [SI] or None
        None when it is a choice in words (``text``) or must be measured first.
    unit : str
        The unit in which it is dialled in.
    spread : float [SI] or None
        One standard deviation.
    source : Source
        Of the number that decides it.
    evidence : str
        What it rests on, with its date.
    because : str
        The equation with the numbers put in.
    text : str
        A choice in words, or the condition of a conditional setting, e.g. ``to the end point, then 25 % of
        that time``.
    """

    name: str
    unit: str
    source: Source
    value: float | None = None
    spread: float | None = None
    evidence: str = ""
    because: str = ""
    text: str = ""
