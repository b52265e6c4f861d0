"""The latent image in the depth of a resist: light of several lines, with what the films beneath send back, while it bleaches."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.process.ranges import positive

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

__all__ = ["Bleached", "compound_after_exposure", "layers_for", "standing_contrast", "standing_light"]


@dataclass(frozen=True, kw_only=True)
class Bleached:
    """A resist under light, at the lines of a lamp; leading axes of all arrays broadcast together.

    Attributes
    ----------
    wavelength : array (l,) [m]
    dose : array (…, l) [J/m²]
        That falls on the resist at each line.
    depth : array (…) [m]
        Thickness of the resist.
    bleachable, fixed : array (…, l) [1/m]
        A and B.
    sensitivity : array (…, l) [m²/J]
        C.
    index : float
        Real part of the index of the resist.
    beneath : complex array (…, l)
        Amplitude that comes back from beneath for a wave inside the resist; 0 on a matched body.
    """

    wavelength: Real
    dose: Real
    depth: Real
    bleachable: Real
    fixed: Real
    sensitivity: Real
    index: float
    beneath: Complex


def standing_light(index: float, phase: Complex, whole: Complex, beneath: Complex) -> Real:
    """Light at a depth of a resist over that which falls on it: n·|t·(e^(−iφ) + r·e^(−i(2Φ − φ)))/(1 + r₀·r·e^(−2iΦ))|².

    Parameters
    ----------
    index : float [1], above 0
        n of the resist.
    phase : complex array (…, z) [rad]
        φ from the top to each depth, its imaginary part zero or less.
    whole : complex array (…, 1) [rad]
        Φ down to the bottom.
    beneath : complex array (…, 1) [1]
        r.

    Returns
    -------
    light : array (…, z) [1]
        Times the absorption it is what is absorbed there.

    Raises
    ------
    ValueError
        When the index is not above zero.

    Notes
    -----
    Source: C. A. Mack, Appl. Opt. 25, 1958 (1986) (from memory): standing waves in one absorbing film, straight down.
    """
    positive(index=index)
    top = (1 - index) / (1 + index)
    field = (1 + top) * (np.exp(-1j * phase) + beneath * np.exp(-1j * (2 * whole - phase)))
    return np.asarray(index * np.abs(field / (1 + top * beneath * np.exp(-2j * whole))) ** 2)


def layers_for(depth: float, wavelength: float, index: float, a_period: int = 10) -> int:
    """Layers that resolve the standing wave of period λ/2n: so many in each period.

    Parameters
    ----------
    depth, wavelength : float [m], above 0
        Thickness of the resist, and the shortest line.
    index : float [1], above 0
    a_period : int [1]

    Returns
    -------
    layers : int

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: sampling; ten layers a period give the mean rate of development to some parts in a thousand.
    """
    positive(depth=depth, wavelength=wavelength, index=index)
    return max(12, math.ceil(a_period * depth * 2 * index / wavelength))


def compound_after_exposure(lit: Bleached, layers: int, steps: int = 6) -> Real:
    """Photoactive compound left over the depth after a dose: ∂M/∂D = −Σ C·I(z, M)·M over the lines.

    The dose is given in equal steps of both ways: the light in the film is that of the compound half way through each step.

    Parameters
    ----------
    lit : Bleached [J/m²]
    layers : int [1]
    steps : int [1]

    Returns
    -------
    left : array (…, layers) [1]
        M in the middle of each layer, from the top.

    Raises
    ------
    ValueError
        When a dose is below zero or a depth not above it.

    Notes
    -----
    Source: F. H. Dill et al., IEEE Trans. Electron Devices ED-22, 445-452 (1975) (from memory), with the light of
    :func:`standing_light`. What a gradient of absorption sends back inside the film is left out (parts in a thousand).
    """
    if np.any(lit.dose < 0) or not np.all(lit.depth > 0):
        raise ValueError("doses must be zero or more and depths above zero")
    shape = np.broadcast_shapes(lit.dose.shape[:-1], lit.depth.shape, lit.beneath.shape[:-1])
    left = np.ones((*shape, layers))
    height = lit.depth[..., None, None] / layers

    def slope(compound: Real) -> Real:
        """C·I·D of each layer, summed over the lines."""
        absorption = lit.bleachable[..., None] * compound[..., None, :] + lit.fixed[..., None]
        # The amplitude falls with half the absorption of the power.
        turn: Complex = 2 * np.pi * lit.index / lit.wavelength[:, None] * height - 0.5j * absorption * height
        end: Complex = np.cumsum(turn, axis=-1)
        whole = end[..., -1:]
        light = standing_light(lit.index, end - turn / 2, whole, lit.beneath[..., None])
        return np.asarray(np.sum((lit.sensitivity * lit.dose)[..., None] * light, axis=-2))

    for _ in range(steps):
        half = left * np.exp(-slope(left) / (2 * steps))
        left = left * np.exp(-slope(half) / steps)
    return left


def standing_contrast(beneath: ArrayLike) -> Real:
    """Most over least light of a standing wave at the bottom of a resist: ((1 + |r|)/(1 − |r|))².

    Parameters
    ----------
    beneath : complex array [1], |r| below 1
        Amplitude that comes back from beneath.

    Returns
    -------
    contrast : array [1]

    Raises
    ------
    ValueError
        When all of the light comes back.

    Notes
    -----
    Source: two waves against each other, M. Born, E. Wolf, Principles of Optics, 7.4 (from memory); one line, a thin resist.
    """
    size = np.abs(np.asarray(beneath))
    if np.any(size >= 1):
        raise ValueError("a part of the light must stay beneath")
    return np.asarray(((1 + size) / (1 - size)) ** 2)
