"""The end of an etch as it is seen: fringes of a transparent film, the reflectance while it thins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from filmwright.process.optics import illuminated, stacks
from filmwright.process.ranges import not_negative, positive


def fringe_time(wavelength: float, index: float, rate: float) -> float:
    """Time from one fringe to the next of a thinning film seen straight down: t = λ/(2·n·R).

    Parameters
    ----------
    wavelength : float [m], above 0
        Of the light that is watched.
    index : float [1], above 0
        n of the film.
    rate : float [m/s], above 0
        R.

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: M. Born, E. Wolf, Principles of Optics, 7.6 (from memory). Transparent film; the last fringe breaks off at the end.
    """
    positive(wavelength=wavelength, index=index, rate=rate)
    return wavelength / (2 * index * rate)


def thinning_reflectance(
    film: tuple[str, float],
    beneath: Sequence[tuple[str, float]],
    wavelength: float,
    index: Mapping[str, complex],
    points: int = 101,
) -> NDArray[np.float64]:
    """Reflectance of a place while its uppermost film thins to nothing, straight down.

    Parameters
    ----------
    film : (material, thickness [m])
    beneath : sequence of (material, thickness [m])
        From the top; the body last.
    wavelength : float [m], above 0
    index : mapping from material to complex [1]
        n − i·k.
    points : int [1]
        From the whole film to none of it, evenly spaced.

    Returns
    -------
    reflectance : array (points,) [1]

    Raises
    ------
    ValueError
        When the wavelength is not above zero or a material has no index.

    Notes
    -----
    Source: exact multilayer optics, :func:`illuminated` (common practice). The film thins evenly and stays smooth.
    """
    positive(wavelength=wavelength)
    depths = film[1] * np.linspace(1.0, 0.0, points)
    columns = [[*([(film[0], float(d))] if d > 0 else []), *beneath] for d in depths]
    known = {name: np.array([value]) for name, value in index.items()}
    found = [
        illuminated(stacks(np.array([wavelength]), [column], known)).reflectance[0, 0] for column in columns
    ]
    return np.asarray(found, dtype=float)


def not_yet_clear(
    time: NDArray[np.float64], film_nonuniformity: float, rate_nonuniformity: float
) -> NDArray[np.float64]:
    """Part of a round wafer's open area that still carries film: (1 − x)/2 with x = (τ − 1)/(u_d + u_R·τ), from 0 to 1.

    Film and etch run as the square of the radius, the film thickest where the etch is slowest; each ring of the same area counts
    the same, so that the moment of clearing t₀·(1 + u_d·x)/(1 − u_R·x) has an x that is spread evenly from −1 to 1.

    Parameters
    ----------
    time : array [1]
        τ, over the time to the end point at the mean place.
    film_nonuniformity, rate_nonuniformity : float, 0 to below 1
        u_d and u_R, (max − min)/(2 × mean).

    Returns
    -------
    share : array [1]
        1 before anything is clear.

    Raises
    ------
    ValueError
        When an unevenness is out of its range.

    Notes
    -----
    Source: geometry of a round wafer. A step where both are even.
    """
    not_negative(film_nonuniformity=film_nonuniformity, rate_nonuniformity=rate_nonuniformity)
    if max(film_nonuniformity, rate_nonuniformity) >= 1:
        raise ValueError("non-uniformity must be below 1")
    moment = np.asarray(time, dtype=float)
    both = film_nonuniformity + rate_nonuniformity * moment
    with np.errstate(divide="ignore", invalid="ignore"):
        x = np.where(both > 0, (moment - 1) / both, np.where(moment < 1, -1.0, 1.0))
    return np.asarray((1 - np.clip(x, -1.0, 1.0)) / 2, dtype=float)


def line_light(
    time: NDArray[np.float64], open_share: NDArray[np.float64], loading: float, rises: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Real time and light of a line of the plasma while a film clears: dt = (1 + k·A)·dτ; product ∝ A/(1 + k·A), reactant ∝ 1/(1 + k·A).

    Parameters
    ----------
    time : array [s]
        τ, at the rate of a small chip.
    open_share : array [1]
        A, of the wafer, at each time.
    loading : float [1], 0 or more
        k.
    rises : bool [1]
        Whether the line is that of the reactant, which rises when the film is gone; else that of a product.

    Returns
    -------
    real_time : array [s]
    light : array
        A product over its light at first, a reactant over its light when nothing is left to etch.

    Raises
    ------
    ValueError
        When the coefficient is below zero.

    Notes
    -----
    Source: C. J. Mogab, J. Electrochem. Soc. 124, 1262 (1977) (from memory). Light follows the amount of its species; what the
    walls and the resist give is a constant ground that is left out.
    """
    not_negative(loading=loading)
    slowed = 1 + loading * np.asarray(open_share, dtype=float)
    steps = np.diff(time) * (slowed[1:] + slowed[:-1]) / 2
    real = np.concatenate([[time[0]], time[0] + np.cumsum(steps)])
    if rises:
        return real, 1 / slowed
    product = np.asarray(open_share, dtype=float) / slowed
    return real, product / product[0] if product[0] > 0 else product
