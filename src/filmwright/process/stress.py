"""Film stress: bow, force, energy."""

from __future__ import annotations

import math

from filmwright.process.ranges import Noted, check_range, finite, positive


def stoney_radius(stress: float, film: float, substrate: float, biaxial_modulus: float) -> Noted:
    """Radius to which a film bends its wafer: R = M·h_s²/(6·σ·h_f).

    Parameters
    ----------
    stress : float [Pa], not 0
        Tensile positive; the radius has its sign.
    film, substrate : float [m], above 0
        Thicknesses.
    biaxial_modulus : float [Pa], above 0
        M = E/(1 − ν) of the wafer.

    Returns
    -------
    radius : Noted [m]
        Noted when the film is thicker than a hundredth of the wafer.

    Raises
    ------
    ValueError
        When the stress is zero or not finite or another is not above zero.

    Notes
    -----
    Source: G. G. Stoney, Proc. R. Soc. A 82, 172 (1909), biaxial form (from memory).
    """
    finite(stress=stress)
    if stress == 0:
        raise ValueError("stress must not be zero: the wafer stays flat")
    return _stoney(stress, film, substrate, biaxial_modulus)


def _stoney(other: float, film: float, substrate: float, biaxial_modulus: float) -> Noted:
    """Radius from stress or stress from radius: the law is its own inverse."""
    positive(film=film, substrate=substrate, biaxial_modulus=biaxial_modulus)
    notes = check_range("film thickness over wafer thickness", film / substrate, 0.0, 0.01, "fraction")
    return Noted(value=biaxial_modulus * substrate**2 / (6 * other * film), notes=notes)


def stoney_stress(radius: float, film: float, substrate: float, biaxial_modulus: float) -> Noted:
    """Stress of a film from the change of curvature: σ = M·h_s²/(6·R·h_f).

    Parameters
    ----------
    radius : float [m], not 0
        1/R = 1/R_after − 1/R_before; infinite when nothing bent.
    film, substrate : float [m], above 0
    biaxial_modulus : float [Pa], above 0

    Returns
    -------
    stress : Noted [Pa]

    Raises
    ------
    ValueError
        When the radius is zero or no number or another is not above zero.

    Notes
    -----
    Source: G. G. Stoney, Proc. R. Soc. A 82, 172 (1909), biaxial form (from memory).
    """
    if radius == 0 or math.isnan(radius):
        raise ValueError(f"radius must be a number that is not zero, got {radius:g}")
    return _stoney(radius, film, substrate, biaxial_modulus)


def bow(diameter: float, radius: float) -> float:
    """Height of the middle over the rim: D²/(8R).

    Parameters
    ----------
    diameter : float [m], above 0
        Of the wafer, or of the scan.
    radius : float [m], not 0
        Infinite for a flat wafer.

    Returns
    -------
    bow : float [m]

    Raises
    ------
    ValueError
        When the diameter is not above zero or the radius is zero or no number.

    Notes
    -----
    Source: geometry of a shallow cap.
    """
    positive(diameter=diameter)
    if radius == 0 or math.isnan(radius):
        raise ValueError(f"radius must be a number that is not zero, got {radius:g}")
    return diameter**2 / (8 * radius)


def biaxial_modulus_100(c11: float, c12: float) -> float:
    """Biaxial modulus of a cubic crystal in its (100) plane: C₁₁ + C₁₂ − 2C₁₂²/C₁₁.

    Parameters
    ----------
    c11, c12 : float [Pa], above 0

    Returns
    -------
    modulus : float [Pa]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: W. A. Brantley, J. Appl. Phys. 44, 534 (1973) (from memory).
    """
    positive(c11=c11, c12=c12)
    return c11 + c12 - 2 * c12**2 / c11


def biaxial_modulus_111(c11: float, c12: float, c44: float) -> float:
    """Biaxial modulus of a cubic crystal in its (111) plane: 6C₄₄(C₁₁ + 2C₁₂)/(C₁₁ + 2C₁₂ + 4C₄₄).

    Parameters
    ----------
    c11, c12, c44 : float [Pa], above 0

    Returns
    -------
    modulus : float [Pa]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: W. A. Brantley, J. Appl. Phys. 44, 534 (1973) (from memory).
    """
    positive(c11=c11, c12=c12, c44=c44)
    return 6 * c44 * (c11 + 2 * c12) / (c11 + 2 * c12 + 4 * c44)


def film_force(stress: float, thickness: float) -> float:
    """Force per width that a film puts on its wafer: σ·h.

    Parameters
    ----------
    stress : float [Pa]
    thickness : float [m], above 0

    Returns
    -------
    force : float [N/m]

    Raises
    ------
    ValueError
        When the thickness is not above zero or the stress not finite.

    Notes
    -----
    Source: definition.
    """
    positive(thickness=thickness)
    finite(stress=stress)
    return stress * thickness


def energy_release(stress: float, thickness: float, modulus: float, geometry: float = 1.0) -> float:
    """Energy that a film gives back when it peels or cracks: G = Z·σ²·h/E.

    Parameters
    ----------
    stress : float [Pa]
    thickness : float [m], above 0
    modulus : float [Pa], above 0
        Young's modulus of the film.
    geometry : float, above 0
        Z: 1 to compare with an adhesion, other figures for each kind of crack.

    Returns
    -------
    energy : float [J/m²]

    Raises
    ------
    ValueError
        When thickness, modulus or geometry is not above zero or the stress not finite.

    Notes
    -----
    Source: J. W. Hutchinson, Z. Suo, Adv. Appl. Mech. 29, 63 (1992) (from memory).
    """
    positive(thickness=thickness, modulus=modulus, geometry=geometry)
    finite(stress=stress)
    return geometry * stress**2 * thickness / modulus


def thermal_mismatch_stress(
    modulus: float, poisson: float, film_expansion: float, wafer_expansion: float, hot: float, cold: float
) -> float:
    """Stress of a film after cooling: σ = E/(1 − ν)·(α_f − α_s)·(T_hot − T_cold).

    Parameters
    ----------
    modulus : float [Pa], above 0
    poisson : float, -1 to 0.5
    film_expansion, wafer_expansion : float [1/K]
    hot, cold : float [K], above 0
        Where the film was without stress, and where it is looked at.

    Returns
    -------
    stress : float [Pa]
        Tensile positive.

    Raises
    ------
    ValueError
        When the modulus or a temperature is not above zero, an expansion not finite or Poisson's ratio not
        possible.

    Notes
    -----
    Source: elasticity of a thin film on a thick wafer, e.g. M. Ohring, ch. 12 (from memory).
    """
    positive(modulus=modulus, hot=hot, cold=cold)
    finite(film_expansion=film_expansion, wafer_expansion=wafer_expansion)
    if not -1 < poisson <= 0.5:
        raise ValueError(f"Poisson's ratio must lie between -1 and 0.5, got {poisson:g}")
    return modulus / (1 - poisson) * (film_expansion - wafer_expansion) * (hot - cold)
