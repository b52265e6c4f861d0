"""How many states below a moving Fermi level are filled: free electrons, an exponential tail, a Gaussian band."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, numbers

_FINEST, _POLE = 0.1, 0.25
"""Step of the trapezoidal rule, and its part of the distance of the nearest pole: the error is about exp(−2π/0.25)."""
_PANEL = 2.0
"""Width of a panel of eight Gauss points [kT]: the poles lie π away, which leaves an error of about 1e-12."""
_DARK = 40.0
"""Thermal energies above the Fermi level beyond which a state counts as empty."""


def fermi_integral(order: float, level: ArrayLike) -> Array:
    """Fermi–Dirac integral, normalised so that it is exp(η) far below the band.

    Equation: F_j(η) = 1/Γ(j+1)·∫₀^∞ ε^j / [1 + exp(ε − η)] dε

    With ε = t² the integrand is even and analytic, so the trapezoidal rule converges geometrically; its step follows
    from the nearest pole, at t² = η ± iπ.

    Parameters
    ----------
    order : float [1]
        j. Valid range: half of an odd number from −1/2 up (1/2 for a density of electrons).
    level : array (any shape) [kT]
        η, Fermi level above the band edge. Valid range: up to 400.

    Returns
    -------
    array (shape of level) [1]
        To about ten digits.

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    J. S. Blakemore, Solid-State Electron. 25, 1067 (1982), doi:10.1016/0038-1101(82)90143-5 (from memory);
    the rule: L. N. Trefethen, J. A. C. Weideman, SIAM Rev. 56, 385 (2014), doi:10.1137/130932132 (from memory).
    """
    if order < -0.5 or (2.0 * order) % 2.0 != 1.0:
        raise ValueError(f"order must be half of an odd number, -1/2 or above, got {order:g}")
    eta = numbers(level)
    if not np.all(eta <= 400.0):
        raise ValueError(f"level must be 400 thermal energies or less, got {np.max(eta):g}")
    top = max(float(np.max(eta, initial=0.0)), 0.0)
    # Imaginary part of the square root of η + iπ: how far from the real axis the nearest pole lies.
    distance = math.sqrt((math.hypot(top, math.pi) - top) / 2.0)
    step = min(_FINEST, _POLE * distance)
    points = np.arange(0.0, math.sqrt(top + _DARK) + step, step)
    weights = np.full(points.shape, 2.0 * step / math.gamma(order + 1.0))
    weights[0] /= 2.0
    filled = _filled(points**2 - eta[..., None])
    result: Array = filled @ (weights * points ** (2.0 * order + 1.0))
    return result


def tail_filling(level: ArrayLike, breadth: float) -> Array:
    """Part of an exponential tail of states below a band that is filled.

    Equation: f(η) = ∫₀^∞ (1/w)·exp(−x/w) / [1 + exp(−x − η)] dx = ₂F₁(1, 1/w; 1 + 1/w; −exp(−η))

    Parameters
    ----------
    level : array (any shape) [kT]
        η, Fermi level above the band edge. Valid range: finite.
    breadth : float [kT]
        w, energy over which the tail falls to 1/e. Valid range: above 0.

    Returns
    -------
    array (shape of level) [1]
        Between 0 and 1.

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    M. Shur, M. Hack, J. Appl. Phys. 55, 3831 (1984), doi:10.1063/1.332893 (from memory); the integral by substitution.
    """
    above_zero(breadth=breadth)
    eta = numbers(level)
    deepest = _DARK * breadth + max(-float(np.min(eta, initial=0.0)), 0.0)
    panels = math.ceil(deepest / _PANEL)
    nodes, shares = np.polynomial.legendre.leggauss(8)
    width = deepest / panels
    depth = ((np.arange(panels) + 0.5)[:, None] * width + nodes * width / 2.0).ravel()
    weights = np.tile(shares * width / 2.0, panels) * np.exp(-depth / breadth) / breadth
    result: Array = _filled(-depth - eta[..., None]) @ weights
    return result


def band_filling(level: ArrayLike, depth: float, breadth: float) -> Array:
    """Part of a Gaussian band of states below the edge that is filled.

    Equation: f(η) = ∫ exp[−(x − x₀)²/(2·s²)] / (s·√(2π)) / [1 + exp(−x − η)] dx

    Parameters
    ----------
    level : array (any shape) [kT]
        η, Fermi level above the band edge. Valid range: finite.
    depth : float [kT]
        x₀, middle of the band below the edge. Valid range: finite.
    breadth : float [kT]
        s, its standard deviation. Valid range: above 0.

    Returns
    -------
    array (shape of level) [1]
        Between 0 and 1.

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    T. C. Fung et al., J. Appl. Phys. 106, 084511 (2009), doi:10.1063/1.3234400 (from memory): the states used for
    amorphous oxides; the integral is the definition.
    """
    above_zero(breadth=breadth)
    eta = numbers(level)
    step = min(0.5 * breadth, 0.5)
    offset = np.arange(-8.0 * breadth, 8.0 * breadth + step, step)
    weights = np.exp(-0.5 * (offset / breadth) ** 2)
    result: Array = _filled(-(depth + offset) - eta[..., None]) @ (weights / weights.sum())
    return result


def _filled(above: Array) -> Array:
    """Filling of a state so many thermal energies above the Fermi level, without overflow."""
    small = np.exp(-np.abs(above))
    result: Array = np.where(above > 0.0, small, 1.0) / (1.0 + small)
    return result
