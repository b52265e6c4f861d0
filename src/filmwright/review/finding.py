"""One finding: what is wrong or worth knowing, what it rests on, and the cheapest remedy."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Literal

Severity = Literal["stop", "warn", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "warn", "note")


@dataclass(frozen=True, kw_only=True)
class Change:
    """Lines of the plan text that a remedy changes.

    Attributes
    ----------
    line : int
        The first line that goes, or before which lines are put; counted from 1.
    removes : int
        How many lines go.
    lines : tuple of str
        What stands there instead.
    """

    line: int
    removes: int
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Finding:
    """A judgement on one step; the same fields as a problem of the input.

    Attributes
    ----------
    rule : str
        Name of the rule, e.g. ``developer attacks film``; further rules that the same cause breaks follow in ``also``.
    severity : 'stop', 'warn' or 'note'
    step : str
        Number of the elementary step; empty when it concerns the whole flow.
    line : int or None
    what, expected, got, why, remedy : str
        Values and limits with units.
    source : str
        Where the limit comes from.
    also : tuple of str
    follows : tuple of str
        What is read off the wafer later and follows from the same cause, each with its line; the rules stand in ``also``.
    acknowledged : str
        The reason that a person gave for going on.
    refused : str
        Why a reason that the plan gives does not count: a stop is the process owner's, what must never happen nobody's.
    change : Change or None
        Of the plan text, where the remedy is mechanical.
    """

    rule: str
    severity: Severity
    step: str
    line: int | None
    what: str
    expected: str
    got: str
    why: str
    remedy: str
    source: str
    also: tuple[str, ...] = ()
    follows: tuple[str, ...] = ()
    acknowledged: str = ""
    refused: str = ""
    change: Change | None = None

    def fields(self) -> dict[str, object]:
        """The finding as plain fields for programs."""
        return asdict(self)
