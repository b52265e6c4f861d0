"""Where the film comes from: vapour of a hot source, atoms of a sputtered target."""

from __future__ import annotations

import math
from dataclasses import dataclass

from filmwright.numerics import root_between
from filmwright.process.ranges import positive


def vapour_pressure(temperature: float, coefficients: tuple[float, float, float, float]) -> float:
    """Vapour pressure of an element over one standard atmosphere: log₁₀(p/p₀) = A + B/T + C·log₁₀T +
    D·T/1000.

    Parameters
    ----------
    temperature : float [K], above 0
    coefficients : (A, B, C, D)
        B in K; of the solid below the melting point, of the liquid above.

    Returns
    -------
    pressure : float
        Relative to 101 325 Pa.

    Raises
    ------
    ValueError
        When the temperature is not above zero.

    Notes
    -----
    Source: C. B. Alcock, V. P. Itkin, M. K. Horrigan, Can. Metall. Q. 23, 309-313 (1984) (from memory).
    """
    positive(temperature=temperature)
    a, b, c, d = coefficients
    return float(10 ** (a + b / temperature + c * math.log10(temperature) + d * temperature / 1000))


def source_temperature(pressure: float, coefficients: tuple[float, float, float, float]) -> float:
    """Temperature at which an element has a vapour pressure; :func:`vapour_pressure` inverted.

    Parameters
    ----------
    pressure : float
        Relative to 101 325 Pa, above 0.
    coefficients : (A, B, C, D)

    Returns
    -------
    temperature : float [K]

    Raises
    ------
    ValueError
        When the pressure is not above zero or is not reached between 150 and 6000 K.

    Notes
    -----
    Source: C. B. Alcock, V. P. Itkin, M. K. Horrigan, Can. Metall. Q. 23, 309-313 (1984) (from memory).
    """
    positive(pressure=pressure)
    wanted = math.log10(pressure)

    def miss(temperature: float) -> float:
        return math.log10(max(vapour_pressure(temperature, coefficients), 5e-324)) - wanted

    if miss(150.0) > 0 or miss(6000.0) < 0:
        raise ValueError(f"no temperature between 150 and 6000 K gives {pressure:g} of an atmosphere")
    return root_between(miss, 150.0, 6000.0)


@dataclass(frozen=True, kw_only=True)
class YieldFit:
    """Coefficients of a sputter yield at normal incidence for one ion and target.

    Attributes
    ----------
    lam, q, mu : float
    reduced : float [1/J]
        Reduced energy over energy.
    threshold : float [J]
    """

    lam: float
    q: float
    mu: float
    reduced: float
    threshold: float


def eckstein_yield(energy: float, fit: YieldFit) -> float:
    """Atoms per ion: Y = q·s(ε)·(E/E_th − 1)^µ / (λ/w + (E/E_th − 1)^µ).

    s(ε) = ½·ln(1 + 1.2288·ε)/w, w = ε + 0.1728·√ε + 0.008·ε^0.1504 (krypton-carbon stopping); 0 below the
    threshold.

    Parameters
    ----------
    energy : float [J], above 0
    fit : YieldFit

    Returns
    -------
    yield : float

    Raises
    ------
    ValueError
        When the energy is not above zero.

    Notes
    -----
    Source: W. Eckstein, Sputtering Yields, in Sputtering by Particle Bombardment, Topics in Applied Physics
    110 (Springer,
    2007) (published).
    """
    positive(energy=energy)
    if energy <= fit.threshold:
        return 0.0
    eps = energy * fit.reduced
    w = eps + 0.1728 * math.sqrt(eps) + 0.008 * eps**0.1504
    stopping = 0.5 * math.log(1 + 1.2288 * eps) / w
    excess = (energy / fit.threshold - 1) ** fit.mu
    return float(fit.q * stopping * excess / (fit.lam / w + excess))


def sputter_rate_factor(atoms_per_ion: float, molar_mass: float, density: float) -> float:
    """What a target's rate goes as at equal ion current: Y·M/ρ.

    Parameters
    ----------
    atoms_per_ion : float, above 0
    molar_mass : float [kg/mol], above 0
    density : float [kg/m³], above 0

    Returns
    -------
    factor : float [m³/mol]
        The ratio of two of them is the ratio of the two rates.

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: continuity (from memory). Transport from target to wafer is taken as equal.
    """
    positive(atoms_per_ion=atoms_per_ion, molar_mass=molar_mass, density=density)
    return atoms_per_ion * molar_mass / density
