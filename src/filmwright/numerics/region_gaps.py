"""How close the pieces of a region come to each other, and its holes."""

from __future__ import annotations

import numpy as np
import shapely

from filmwright.numerics.region import Region


def least_gap(region: Region, reach: float) -> float | None:
    """Least distance of two pieces of a region, or of two holes of one piece: min |p − q|.

    Parameters
    ----------
    region : Region [nm]
    reach : float [nm], above 0
        Pairs farther apart are not looked at; what is drawn in many places is looked at in all of them.

    Returns
    -------
    float or None [nm]
        None where none are so close. Pieces that touch at a corner are 0 apart and are left out: nothing lies between them.

    Raises
    ------
    ValueError
        When the reach is not above zero.

    Notes
    -----
    Source: definition of the distance of two sets.
    """
    if not reach > 0:
        raise ValueError(f"the reach must be above zero, got {reach:g} nm")
    rings, owner = region.outlines
    if len(rings) < 2:
        return None
    outer = np.diff(owner, prepend=-1) > 0
    x0, y0, x1, y1 = shapely.bounds(rings).T
    boxes = shapely.box(x0, y0, x1 + reach, y1 + reach)
    first, second = shapely.STRtree(boxes).query(boxes)
    # Of one piece, its outer border and a hole are no pair: what lies between them is the piece itself, up to the end of the drawing.
    chosen = (first < second) & ((owner[first] != owner[second]) | (outer[first] == outer[second]))
    found = shapely.distance(rings[first[chosen]], rings[second[chosen]])
    found = found[(found > 0) & (found <= reach)]
    return float(found.min()) if found.size else None
