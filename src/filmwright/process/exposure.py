"""Exposure by contact and proximity: dose, image, bleaching, overlay."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from filmwright.process.ranges import finite, not_negative, positive


def exposure_time(
    dose: float, intensity: float, dose_std: float = 0.0, intensity_std: float = 0.0
) -> tuple[float, float]:
    """Time for a dose at today's lamp reading: t = D / I, (σ_t/t)² = (σ_D/D)² + (σ_I/I)².

    Parameters
    ----------
    dose, dose_std : float [J/m²]
        Dose, above 0, and its standard deviation.
    intensity, intensity_std : float [W/m²]
        Lamp reading at the wafer over the same lines as the dose, above 0, and its standard deviation.

    Returns
    -------
    time, spread : float [s]

    Raises
    ------
    ValueError
        When dose or intensity is not above zero.

    Notes
    -----
    Source: definition of dose; reciprocity.
    """
    positive(dose=dose, intensity=intensity)
    not_negative(dose_std=dose_std, intensity_std=intensity_std)
    time = dose / intensity
    return time, time * math.hypot(dose_std / dose, intensity_std / intensity)


def shadow_print_width(wavelength: float, gap: float, resist: float) -> float:
    """Smallest line of contact or proximity printing: W = (3/2)·√(λ·(g + t/2)).

    Parameters
    ----------
    wavelength : float [m], above 0
        The longest line of the lamp that the resist takes.
    gap : float [m], 0 or more
        From mask to resist; edge bead and bow add to it.
    resist : float [m], above 0
        Thickness.

    Returns
    -------
    width : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: M. J. Madou, Fundamentals of Microfabrication (from memory). The smallest pitch is twice this.
    """
    positive(wavelength=wavelength, resist=resist)
    not_negative(gap=gap)
    return 1.5 * math.sqrt(wavelength * (gap + resist / 2))


def fresnel_slit(
    position: float | NDArray[np.float64], width: float, gap: float, wavelength: float
) -> NDArray[np.float64]:
    """Intensity behind a slit in a plane wave over that far inside a clear field.

    I = ½·[(C(u₂) − C(u₁))² + (S(u₂) − S(u₁))²], u = (±w/2 − x)·√(2/(λ·g)).

    Parameters
    ----------
    position : float or array [m]
        From the middle of the slit.
    width, gap, wavelength : float [m], above 0

    Returns
    -------
    intensity : array, shape of ``position``

    Raises
    ------
    ValueError
        When one is not above zero or a position not finite.

    Notes
    -----
    Source: M. Born, E. Wolf, Principles of Optics, 8.7 (from memory). Scalar and paraxial: width and gap
    well above the wavelength.
    """
    from scipy.special import fresnel

    positive(width=width, gap=gap, wavelength=wavelength)
    scale = math.sqrt(2 / (wavelength * gap))
    place = np.asarray(position, dtype=float)
    if not np.all(np.isfinite(place)):
        raise ValueError("every position must be finite")
    upper_s, upper_c = fresnel((width / 2 - place) * scale)
    lower_s, lower_c = fresnel((-width / 2 - place) * scale)
    return np.asarray(0.5 * ((upper_c - lower_c) ** 2 + (upper_s - lower_s) ** 2))


def dill_bleaching(
    dose: float, depth: float, bleachable: float, fixed: float, sensitivity: float, steps: int = 200
) -> NDArray[np.float64]:
    """Photoactive compound left over the depth of a resist on a matched substrate after a dose.

    ∂I/∂z = −(A·M + B)·I, ∂M/∂t = −C·I·M, from M = 1; the dose is counted inside the resist surface.

    Parameters
    ----------
    dose : float [J/m²], 0 or more
    depth : float [m], above 0
    bleachable, fixed : float [1/m]
        A and B.
    sensitivity : float [m²/J], above 0
        C.
    steps : int
        Layers and dose steps.

    Returns
    -------
    remaining : array (steps + 1,)
        M from the top to the bottom.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: F. H. Dill et al., IEEE Trans. Electron Devices ED-22, 445-452 (1975) (published); first integral
    of
    S. V. Babu, E. Barouch, IEEE Electron Device Lett. 7, 252 (1986) (from memory): dM/dz along the depth at
    fixed
    dose is M·[A·(1 − M) − B·ln M], with M = exp(−C·D) at the top.
    """
    positive(depth=depth, sensitivity=sensitivity, steps=float(steps))
    not_negative(dose=dose, bleachable=bleachable, fixed=fixed)
    height = depth / steps
    remaining = np.empty(steps + 1)
    remaining[0] = math.exp(-sensitivity * dose)

    def slope(m: float) -> float:
        return m * (bleachable * (1 - m) - fixed * math.log(m)) if m > 0 else 0.0

    for i in range(steps):
        m = remaining[i]
        a = slope(m)
        b = slope(m + height / 2 * a)
        c = slope(m + height / 2 * b)
        d = slope(m + height * c)
        remaining[i + 1] = m + height / 6 * (a + 2 * b + 2 * c + d)
    return remaining


def dill_development_rate(remaining: float, e1: float, e2: float, e3: float, unit_rate: float) -> float:
    """Development rate of a first-generation resist: R = R₀·exp(E₁ + E₂·M + E₃·M²), held at its maximum
    below it.

    Parameters
    ----------
    remaining : float, 0 to 1
        Photoactive compound left.
    e1, e2, e3 : float
    unit_rate : float [m/s], above 0
        R₀.

    Returns
    -------
    rate : float [m/s]

    Raises
    ------
    ValueError
        When ``remaining`` is not a fraction, R₀ is not above zero or an exponent is not finite.

    Notes
    -----
    Source: F. H. Dill et al. (1975), development part (from memory). The polynomial has a maximum at
    −E₂/(2·E₃) that no
    resist has; below it the rate is held.
    """
    positive(unit_rate=unit_rate)
    finite(e1=e1, e2=e2, e3=e3)
    if not 0 <= remaining <= 1:
        raise ValueError(f"what remains must lie between 0 and 1, got {remaining:g}")
    peak = -e2 / (2 * e3) if e3 < 0 else 0.0
    m = max(remaining, peak)
    return unit_rate * math.exp(e1 + e2 * m + e3 * m**2)


def overlay(errors: Iterable[float]) -> float:
    """Overlay of independent alignment errors: √Σσ².

    Parameters
    ----------
    errors : iterable of float [m], 0 or more
        One for each alignment between the two levels, along the alignment tree.

    Returns
    -------
    overlay : float [m]

    Raises
    ------
    ValueError
        When one is below zero or not finite.

    Notes
    -----
    Source: sum of independent variances. Two levels aligned to a third differ by √2 of one error.
    """
    found = list(errors)
    for error in found:
        not_negative(alignment_error=error)
    return math.hypot(*found)
