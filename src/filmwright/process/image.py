"""The shadow image of contact and proximity printing, and the light that films beneath a resist send back into it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import pile
from filmwright.process.optics import illuminated, stacks
from filmwright.process.ranges import finite, not_negative, positive

Real = NDArray[np.float64]


def edge_shift(dose_change: float, wavelength: float, gap: float, resist: float) -> float:
    """How far each edge of a wide shadow print moves with the dose: Δx = ΔD/D · √(λ·(g + t/2)/8).

    The light behind a straight edge is I(x) = ½·[(C(u) + ½)² + (S(u) + ½)²], u = x·√(2/(λg)): ¼ on the edge, where its slope is
    ½·√(2/(λg)), so that d ln I/dx = √(8/(λg)); a dose that is larger by ΔD/D moves the same exposure by its inverse.

    Parameters
    ----------
    dose_change : float [1]
        ΔD/D, small; its sign is that of the shift into the shadow.
    wavelength : float [m], above 0
    gap : float [m], 0 or more
        From mask to resist.
    resist : float [m], above 0
        Thickness; its middle counts, as in :func:`shadow_print_width`.

    Returns
    -------
    shift : float [m]
        Of one edge; the width of a line changes by twice that.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: M. Born, E. Wolf, Principles of Optics, 8.7 (from memory), differentiated. One line of the lamp, parallel light, edges
    far apart against √(λg); contact of a rough wafer has no single gap.
    """
    positive(wavelength=wavelength, resist=resist)
    not_negative(gap=gap)
    finite(dose_change=dose_change)
    return dose_change * math.sqrt(wavelength * (gap + resist / 2) / 8)


def coupled_light(
    thickness: Sequence[float] | Real,
    wavelength: Sequence[float] | Real,
    resist_index: Sequence[complex] | NDArray[np.complex128],
    beneath: Sequence[tuple[str, float]],
    index: Mapping[str, NDArray[np.complex128]],
) -> Real:
    """Share of the light that a resist takes up before it bleaches, by its thickness: the curve that swings.

    Parameters
    ----------
    thickness : array (n,) [m], above 0
    wavelength : array (m,) [m]
    resist_index : complex array (m,) [1]
        n − i·k, unexposed.
    beneath : sequence of (material, thickness [m])
        From the top; the body last.
    index : mapping from material to complex array (m,) [1]

    Returns
    -------
    absorbed : array (n, m) [1]

    Raises
    ------
    ValueError
        When a material has no index or a thickness is below zero.

    Notes
    -----
    Source: exact multilayer optics at normal incidence, :func:`illuminated` (common practice). Flat films, parallel light.
    """
    depths = np.asarray(thickness, dtype=float)
    found: Real = coupled_over([depths], [beneath], wavelength, resist_index, index)[0]
    return found


def coupled_over(
    thickness: Sequence[Sequence[float]] | Sequence[Real],
    beneath: Sequence[Sequence[tuple[str, float]]],
    wavelength: Sequence[float] | Real,
    resist_index: Sequence[complex] | NDArray[np.complex128],
    index: Mapping[str, NDArray[np.complex128]],
) -> Real:
    """:func:`coupled_light` of one resist over many piles of films at once.

    Parameters
    ----------
    thickness : sequence (p) of arrays (n,) [m], above 0
        Of the resist on each pile.
    beneath : sequence (p) of sequences of (material, thickness [m])
        Each from the top; the body last.
    wavelength : array (m,) [m]
    resist_index : complex array (m,) [1]
    index : mapping from material to complex array (m,) [1]

    Returns
    -------
    absorbed : array (p, n, m) [1]

    Raises
    ------
    ValueError
        When a material has no index or a thickness is below zero.

    Notes
    -----
    Source: exact multilayer optics at normal incidence, :func:`illuminated` (common practice).
    """
    columns = [
        [("resist", float(d)), *films]
        for depths, films in zip(thickness, beneath, strict=True)
        for d in np.asarray(depths, dtype=float)
    ]
    known = {**index, "resist": np.asarray(resist_index, dtype=complex)}
    pile_of = stacks(np.asarray(wavelength, dtype=float), columns, known)
    taken = np.asarray(illuminated(pile_of).absorbed[:, 0, :], dtype=float)
    return taken.reshape(len(beneath), -1, taken.shape[1])


def returned_from(
    wavelength: Sequence[float] | Real,
    resist_index: Sequence[complex] | NDArray[np.complex128],
    beneath: Sequence[tuple[str, float]],
    index: Mapping[str, NDArray[np.complex128]],
) -> NDArray[np.complex128]:
    """Amplitude that a pile of films sends back into a resist that lies on it, for a wave inside the resist.

    r = (η_resist − Y)/(η_resist + Y), Y the admittance of the pile.

    Parameters
    ----------
    wavelength : array (m,) [m]
    resist_index : complex array (m,) [1]
        n − i·k.
    beneath : sequence of (material, thickness [m])
        From the top; the body last.
    index : mapping from material to complex array (m,) [1]

    Returns
    -------
    amplitude : complex array (m,) [1]

    Raises
    ------
    ValueError
        When a material has no index.

    Notes
    -----
    Source: H. A. Macleod, Thin-Film Optical Filters, ch. 2 (from memory). The body is taken as endless.
    """
    missing = sorted({name for name, _ in beneath} - set(index))
    if missing:
        raise ValueError(f"no optical constants were given for {', '.join(missing)}")
    order = [np.asarray(resist_index, dtype=complex), *(index[name] for name, _ in beneath)]
    depths = [np.asarray(depth) for _, depth in beneath[:-1]]
    return np.asarray(pile(order, depths, np.asarray(wavelength, dtype=float)).reflected)


def extinction_of_absorption(absorption: float, wavelength: float) -> float:
    """Imaginary part of an index: k = α·λ/(4π).

    Parameters
    ----------
    absorption : float [1/m], 0 or more
        α, of the light's power.
    wavelength : float [m], above 0

    Returns
    -------
    k : float [1]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: M. Born, E. Wolf, Principles of Optics, 14.1 (from memory): definition.
    """
    positive(wavelength=wavelength)
    not_negative(absorption=absorption)
    return absorption * wavelength / (4 * math.pi)


def swing_share(coupled: Sequence[float] | Real) -> float:
    """Peak to valley over the mean of the extremes: S = 2·(A_max − A_min)/(A_max + A_min).

    Parameters
    ----------
    coupled : array [1], above 0
        Light that couples in, over at least one period of thickness.

    Returns
    -------
    swing : float [1]

    Raises
    ------
    ValueError
        When nothing couples in.

    Notes
    -----
    Source: definition of the swing ratio, T. A. Brunner, Proc. SPIE 1466, 297 (1991), doi 10.1117/12.46378 (from memory).
    """
    most, least = float(np.max(coupled)), float(np.min(coupled))
    positive(most=most)
    return 2 * (most - least) / (most + least)
