"""The heat of a walked flow, by the limits that hold in this lab."""

from __future__ import annotations

from filmwright.emulate import HeatLedger, Trace
from filmwright.knowledge import Book
from filmwright.review.case import Case


def heat_of(trace: Trace, facts: Book) -> HeatLedger:
    """What every step heats to, what every film has seen since it lies there, and how far something diffused.

    Parameters
    ----------
    trace : Trace
    facts : Book
    """
    return Case(trace, facts).heat
