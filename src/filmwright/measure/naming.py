"""Curves with what their file's name says of device and biases; what the table itself says counts more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeVar

from filmwright.measure.curves import OutputCurve, Sweep
from filmwright.measure.file_names import NamePattern

_Curve = TypeVar("_Curve", Sweep, OutputCurve)
_CLOSE = 0.02
"""Two statements of one number agree when they differ by less than this share."""

_SWEEP = ("wafer", "device", "width", "length", "areal_capacitance", "drain_voltage", "temperature")
_OUTPUT = ("device", "gate_voltage", "temperature")


def named(
    sweeps: Sequence[Sweep], outputs: Sequence[OutputCurve], pattern: NamePattern
) -> tuple[tuple[Sweep, ...], tuple[OutputCurve, ...], tuple[str, ...]]:
    """The curves with what the pattern reads from their file's name, and what was noticed.

    Parameters
    ----------
    sweeps : sequence of Sweep
    outputs : sequence of OutputCurve
    pattern : NamePattern

    Returns
    -------
    tuple of Sweep, tuple of OutputCurve, tuple of str
    """
    notes: dict[str, None] = {}
    return (
        tuple(_named(each, pattern, _SWEEP, notes) for each in sweeps),
        tuple(_named(each, pattern, _OUTPUT, notes) for each in outputs),
        tuple(notes),
    )


def _named(curve: _Curve, pattern: NamePattern, fields: Sequence[str], notes: dict[str, None]) -> _Curve:
    found = pattern.read(curve.file)
    if found is None:
        notes[f"the name of the file does not follow {pattern.text}: nothing is taken from it"] = None
        return curve
    changes: dict[str, Any] = {}
    for key, value in found.items():
        field = key.replace("-", "_")
        if field not in fields:
            continue
        stated = getattr(curve, field)
        if stated in (None, ""):
            changes[field] = value
        elif not _agree(stated, value):
            notes[
                f"the table says {field.replace('_', ' ')} {_shown(stated)}, its file's name {_shown(value)}: the table counts"
            ] = None
    return replace(curve, **changes)


def _agree(one: float | str, two: float | str) -> bool:
    if isinstance(one, str) or isinstance(two, str):
        return str(one).casefold() == str(two).casefold()
    return abs(one - two) <= _CLOSE * max(abs(one), abs(two))


def _shown(value: float | str) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value:.4g} (SI)"
