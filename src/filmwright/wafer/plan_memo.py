"""Geometry that several corners of the same masks have in common, computed once.

Results are kept by what the regions look like (their digests), not by who asks, so a second corner, a second wafer or
a second reading of the same plan costs a look-up.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Border, Region, borders

DUST_NM2 = 1.0
"""Pieces smaller than this [nm²] are dust of the overlay."""

Windows = NDArray[np.float64]

_KEPT = 512
_memo: OrderedDict[tuple[object, ...], Any] = OrderedDict()


def _remembered(key: tuple[object, ...], compute: Callable[[], Any]) -> Any:
    if key in _memo:
        _memo.move_to_end(key)
        return _memo[key]
    result = compute()
    _memo[key] = result
    if len(_memo) > _KEPT:
        _memo.popitem(last=False)
    return result


def forget() -> None:
    """Drop everything that is remembered; the next call computes."""
    _memo.clear()


def _without_dust(region: Region) -> Region:
    return region if region.empty or region.area >= DUST_NM2 else Region.nothing()


def split(region: Region, by: Region) -> tuple[Region, Region]:
    """A region inside and outside another."""

    def compute() -> tuple[Region, Region]:
        inside, outside = region.split(by)
        if _without_dust(inside).empty:
            return Region.nothing(), region
        if _without_dust(outside).empty:
            return region, Region.nothing()
        return inside, outside

    found: tuple[Region, Region] = _remembered(("split", region.key, by.key), compute)
    return found


def grown(region: Region, distance: float) -> Region:
    """A region with its borders moved outward [nm]."""
    if distance == 0:
        return region
    found: Region = _remembered(("grown", region.key, distance), lambda: region.grown(distance))
    return found


def clipped(region: Region, windows: Windows) -> Region:
    """What of a region lies in rectangles that are apart, array (m, 4) [nm]."""

    def compute() -> Region:
        return Region.gathered([region.clipped(*window) for window in windows.tolist()])

    found: Region = _remembered(("clipped", region.key, windows.tobytes()), compute)
    return found


def printed(keep: Region, distance: float, windows: Windows, margin: float, die: Region) -> Region:
    """Where resist stays in windows when the edges of what is printed have moved outward [nm].

    The border of the die is no edge: the next die of the wafer begins there.

    Parameters
    ----------
    keep : Region
        As printed.
    distance : float [nm]
    windows : array (m, 4) [nm]
    margin : float [nm]
        More than ``distance``; so far round the windows it is looked what moves in.
    die : Region
    """

    def compute() -> Region:
        found = []
        for x0, y0, x1, y1 in windows.tolist():
            near = (x0 - margin, y0 - margin, x1 + margin, y1 + margin)
            around = die.clipped(*near)
            if distance >= 0:
                moved = keep.clipped(*near).grown(distance)
            else:
                gone = around.difference(keep.clipped(*near))
                moved = around.difference(gone.grown(-distance))
            found.append(moved.clipped(x0, y0, x1, y1))
        return Region.gathered(found)

    if distance == 0:
        return clipped(keep, windows)
    key = ("printed", keep.key, distance, windows.tobytes(), die.key)
    result: Region = _remembered(key, compute)
    return result


def joined(regions: Sequence[Region]) -> Region:
    """The union of regions."""
    if len(regions) == 1:
        return regions[0]
    found: Region = _remembered(("joined", *(r.key for r in regions)), lambda: Region.joined(regions))
    return found


@dataclass(frozen=True)
class Pieces:
    """All separate pieces of the regions of a plan.

    Attributes
    ----------
    owner : tuple of int
        Which region each piece belongs to.
    regions : tuple of Region
    borders : tuple of Border
        Between pieces.
    """

    owner: tuple[int, ...]
    regions: tuple[Region, ...]
    borders: tuple[Border, ...]


def pieces(regions: Sequence[Region]) -> Pieces:
    """The separate pieces of regions and the borders between them."""

    def compute() -> Pieces:
        parts = [
            (number, part)
            for number, region in enumerate(regions)
            for part in region.parts()
            if part.area >= DUST_NM2
        ]
        owner, pieces = tuple(number for number, _ in parts), tuple(part for _, part in parts)
        return Pieces(owner, pieces, borders(pieces))

    found: Pieces = _remembered(("pieces", *(r.key for r in regions)), compute)
    return found
