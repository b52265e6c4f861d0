"""Where each check value is reproduced, or why it is not, and how ours is held against it.

A check value is a number or statement of the published literature, collected outside this project, with its source, kind
and tolerance. ``shared/checks/check_values.json`` beside the checkout holds them; ``FILMWRIGHT_SHARED_CHECKS`` names another folder.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

Entry = Mapping[str, Any]
ROOT = Path(__file__).resolve().parents[2]
FOLDER = Path(os.environ.get("FILMWRIGHT_SHARED_CHECKS", ROOT.parent / "shared" / "checks"))
FILE = FOLDER / "check_values.json"
OURS: dict[str, Callable[[Entry], Any]] = {}
"""Check value → what computes or looks up ours, in its unit."""
ELSEWHERE: dict[str, tuple[str, str]] = {}
"""Check value → file of a test and the test that holds it."""
LEFT: dict[str, str] = {}
"""Check value → why nothing of ours is held against it."""


@dataclass(frozen=True, kw_only=True)
class Against:
    """Ours beside what it is held against, where that is not the whole value or has a tolerance of its own."""

    ours: Any
    theirs: Any
    rel: float = 0.0
    abs: float = 0.0


def ours(*names: str) -> Callable[[Callable[[Entry], Any]], Callable[[Entry], Any]]:
    """Put a function down for check values."""

    def put(function: Callable[[Entry], Any]) -> Callable[[Entry], Any]:
        for name in names:
            assert name not in OURS, name
            OURS[name] = function
        return function

    return put


def entries() -> list[Entry]:
    """All check values; none where the folder is not there."""
    return json.loads(FILE.read_text("utf-8")) if FILE.exists() else []


def flat(value: Any) -> Iterator[float]:
    """Its numbers, in order; a range or a dictionary is its parts."""
    if isinstance(value, Mapping):
        for each in value.values():
            yield from flat(each)
    elif isinstance(value, list | tuple | np.ndarray):
        for each in value:
            yield from flat(each)
    elif value is not None:
        yield float(value)


def disagreement(entry: Entry) -> str:
    """What differs by more than the tolerance; empty where nothing does.

    A reproduction that answers with true or false was held against a statement.
    """
    found = OURS[entry["id"]](entry)
    if isinstance(found, bool | np.bool_):
        return "" if found else f"{entry['quantity']}: not so"
    tolerance = entry["tolerance"] if isinstance(entry["tolerance"], dict) else {}
    if isinstance(found, Against):
        theirs, relative, absolute, found = found.theirs, found.rel, found.abs, found.ours
    else:
        theirs, relative, absolute = entry["value"], tolerance.get("rel", 0.0), tolerance.get("abs", 0.0)
        if not relative and not absolute:
            relative = 1e-9
    mine, other = np.array(list(flat(found))), np.array(list(flat(theirs)))
    if mine.shape != other.shape:
        return f"{mine.size} numbers beside {other.size}"
    allowed = relative * np.abs(other) + absolute
    worst = np.abs(mine - other) - allowed
    if (worst <= 1e-12 * np.abs(other)).all():
        return ""
    at = int(np.argmax(worst))
    return f"{mine[at]:.6g} beside {other[at]:.6g}, {allowed[at]:.2g} allowed"
