"""The end of an etch as it is seen: fringes of a transparent film, the reflectance while it thins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from filmwright.process.optics import illuminated, stacks
from filmwright.process.ranges import positive


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
