"""The shape of a table: the digest of the line of names above most of its numbers, by which a reading rule knows it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence

from filmwright.measure.cells import Numbers, Row
from filmwright.measure.columns import is_unit
from filmwright.measure.grids import Grid

LENGTH = 12
"""Characters of the digest: two shapes of a laboratory never share them."""


def shape_of(grids: Sequence[Grid]) -> tuple[str, str, int]:
    """Digest, text and line of the names above most of the numbers.

    Digits do not count, so that tables whose names carry other biases or indices have the same shape; neither do case and
    what parts the names.

    Parameters
    ----------
    grids : sequence of Grid

    Returns
    -------
    str, str, int
    """
    rows: dict[tuple[str, int], int] = {}
    for grid in grids:
        above = ("", 0)
        for piece in grid.pieces:
            if isinstance(piece, Numbers):
                key = above if above[0] else (f"{piece.values.shape[1]} columns without names", 0)
                rows[key] = rows.get(key, 0) + len(piece.values)
                continue
            texts = [cell for cell in piece.cells if isinstance(cell, str) and cell]
            numbers = [cell for cell in piece.cells if isinstance(cell, float)]
            if len(texts) >= 2 and len(texts) > len(numbers) and not all(is_unit(text) for text in texts):
                above = (_names(piece), piece.line)
            elif len(numbers) >= 2:
                rows[above] = rows.get(above, 0) + 1
    (text, line), _ = max(rows.items(), key=lambda each: each[1], default=(("", 0), 0))
    plain = re.sub(r"\d+", "0", re.sub(r"[\s,;|\"']+", " ", text).strip().casefold())
    return hashlib.sha256(plain.encode()).hexdigest()[:LENGTH], text, line


def _names(row: Row) -> str:
    return (
        row.raw.strip()[:2000] if row.raw else ", ".join(str(cell) for cell in row.cells if cell != "")[:2000]
    )
