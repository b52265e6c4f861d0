"""What comes on top of an alignment: run-out of plate and wafer, and the turn that two marks leave."""

from __future__ import annotations

import math

from filmwright.process.ranges import finite, not_negative, positive


def run_out(plate: float, wafer: float, apart: float, radius: float) -> float:
    """Run-out at the rim when plate and wafer are warmer than at the level before: ΔR = (α_p − α_w)·ΔT·R.

    Parameters
    ----------
    plate, wafer : float [1/K], 0 or more
        Linear expansion of the plate and of the wafer.
    apart : float [K]
        ΔT between the two exposures, of both alike.
    radius : float [m], above 0

    Returns
    -------
    shift : float [m]
        Positive where the plate has grown more.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: linear expansion (common practice). A plate that alone is warmer runs out by α_p·ΔT·R.
    """
    not_negative(plate=plate, wafer=wafer)
    positive(radius=radius)
    finite(apart=apart)
    return (plate - wafer) * apart * radius


def turn_at_rim(error: float, distance: float, radius: float) -> float:
    """Shift at the rim by the turn that the errors of two marks leave: σ_R = √2·σ₁·R/L.

    Parameters
    ----------
    error : float [m], 0 or more
        σ₁ at one mark.
    distance : float [m], above 0
        L between the two marks.
    radius : float [m], above 0
        R from the middle between them.

    Returns
    -------
    shift : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: sum of independent variances; the turn is the difference of both errors over their distance.
    """
    not_negative(error=error)
    positive(distance=distance, radius=radius)
    return math.sqrt(2) * error * radius / distance


def standing_gap(bead: float, film: float, bow: float, left: float, dust: float) -> float:
    """Gap that bead, bow and dust leave in contact: g = max(h − d, 0) + s·B + g_0.

    Parameters
    ----------
    bead, film : float [m], 0 or more
        h of the bead at the edge and d of the film.
    bow : float [m], 0 or more
        B of the wafer before it is sucked flat.
    left : float [1], 0 or more
        s, part of the bow that the chuck leaves.
    dust : float [m], 0 or more
        g_0, what keeps the two apart where nothing else does.

    Returns
    -------
    gap : float [m]
        At the worst place; the plate rests on the bead.

    Raises
    ------
    ValueError
        When one is below zero.

    Notes
    -----
    Source: heights on top of each other (common practice); a plate that is pressed bends over the bead and comes nearer in the middle.
    """
    not_negative(bead=bead, film=film, bow=bow, left=left, dust=dust)
    return max(bead - film, 0.0) + left * bow + dust


def adhesion_work(tension: float, angle: float) -> float:
    """Work of adhesion of a liquid on a surface (Young and Dupré): W = γ·(1 + cos θ).

    Parameters
    ----------
    tension : float [N/m], above 0
        γ of the liquid.
    angle : float [rad], 0 to π
        θ, contact angle.

    Returns
    -------
    work : float [J/m²]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: T. Young (1805), A. Dupré (1869), in P. G. de Gennes, Rev. Mod. Phys. 57, 827 (1985) (from memory).
    """
    positive(tension=tension)
    if not 0 <= angle <= math.pi:
        raise ValueError(f"a contact angle must lie between 0 and 180 °, got {math.degrees(angle):g} °")
    return tension * (1 + math.cos(angle))
