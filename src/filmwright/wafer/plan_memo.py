"""Geometry that several corners of the same masks have in common, computed once.

Results are kept by what the regions look like (their digests), not by who asks, so a second corner, a second wafer or
a second reading of the same plan costs a look-up.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from filmwright.numerics import Border, Region, borders

DUST_NM2 = 1.0
"""Pieces smaller than this [nm²] are dust of the overlay."""

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
