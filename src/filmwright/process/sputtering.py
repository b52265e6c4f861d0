"""Sputtering: atoms out of the target, their way through the gas, and films from several targets at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from filmwright.process.ranges import Noted, check_range, not_negative, positive
from filmwright.units import AVOGADRO, BOLTZMANN, ELEMENTARY_CHARGE, convert, to_si

ARGON_NUMBER = 18
"""Protons of argon: a count, nothing that was measured."""

MOST_SOURCES = 4
"""Sources that one film may come from."""


@dataclass(frozen=True, kw_only=True)
class YamamuraFit:
    """Coefficients of Yamamura and Tawara (1996) for one target and ion.

    Attributes
    ----------
    binding : float [J]
        Surface binding energy.
    q, w, s : float
    number, ion_number : int or float
        Atomic numbers of target and ion.
    molar_mass, ion_molar_mass : float [kg/mol]
    low, high : float [J]
        Energies for which the fit was made.
    """

    binding: float
    q: float
    w: float
    s: float
    number: float
    molar_mass: float
    ion_number: float
    ion_molar_mass: float
    low: float
    high: float


def yamamura_yield(energy: float, fit: YamamuraFit) -> Noted:
    """Atoms per ion at normal incidence: Y = 0.042·Q·α/U · S_n(E) / (1 + Γ·k_e·ε^0.3) · (1 − √(E_th/E))^s; 0 below the threshold.

    Parameters
    ----------
    energy : float [J], above 0
    fit : YamamuraFit

    Returns
    -------
    yield : Noted
        Noted outside the energies of the fit.

    Raises
    ------
    ValueError
        When the energy is not above zero.

    Notes
    -----
    Source: Y. Yamamura, H. Tawara, At. Data Nucl. Data Tables 62, 149 (1996), doi 10.1006/adnd.1996.0005 (published, read in a
    transcription). Numbers of the equation are for eV and Å²; measurements scatter by 30 % about it.
    """
    positive(energy=energy)
    notes = check_range("ion energy", energy, fit.low, fit.high, "energy")
    volts, bound = convert(energy, "eV"), convert(fit.binding, "eV")
    light, heavy = convert(fit.ion_molar_mass, "g/mol"), convert(fit.molar_mass, "g/mol")
    ratio, transfer = heavy / light, 4 * light * heavy / (light + heavy) ** 2
    if ratio >= 1:
        alpha, threshold = 0.249 * ratio**0.56 + 0.0035 * ratio**1.5, bound * (1 + 5.7 / ratio) / transfer
    else:
        alpha, threshold = 0.0875 * ratio**-0.15 + 0.165 * ratio, bound * 6.7 / transfer
    if volts <= threshold:
        return Noted(value=0.0, notes=notes)
    nuclear, reduced, electronic = _stopping(volts, fit, light, heavy)
    damped = 1 + fit.w / (1 + (light / 7) ** 3) * electronic * reduced**0.3
    value = 0.042 * fit.q * alpha / bound * nuclear / damped * (1 - math.sqrt(threshold / volts)) ** fit.s
    return Noted(value=value, notes=notes)


def _stopping(volts: float, fit: YamamuraFit, light: float, heavy: float) -> tuple[float, float, float]:
    """Nuclear stopping [eV·Å²], reduced energy and electronic coefficient (Lindhard, Thomas-Fermi)."""
    screen = fit.ion_number ** (2 / 3) + fit.number ** (2 / 3)
    charges, both = fit.ion_number * fit.number, light + heavy
    reduced = 0.03255 / (charges * math.sqrt(screen)) * heavy / both * volts
    root = math.sqrt(reduced)
    shape = 3.441 * root * math.log(reduced + 2.718) / (1 + 6.355 * root + reduced * (6.882 * root - 1.708))
    electronic = (
        0.079
        * both**1.5
        / (light**1.5 * math.sqrt(heavy))
        * fit.ion_number ** (2 / 3)
        * math.sqrt(fit.number)
    ) / screen**0.75
    return 84.78 * charges / math.sqrt(screen) * light / both * shape, reduced, electronic


def target_rate(current_density: float, atoms_per_ion: float, molar_mass: float, density: float) -> float:
    """Depth that a target loses in time: R_t = Y·j·M / (e·ρ·N_A).

    Parameters
    ----------
    current_density : float [A/m²], 0 or more
        Of ions.
    atoms_per_ion : float, 0 or more
    molar_mass : float [kg/mol], above 0
    density : float [kg/m³], above 0

    Returns
    -------
    rate : float [m/s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: counting of ions and atoms. 1 mA/cm² at a yield of 1 takes 6.24e15 atoms/(cm²·s).
    """
    not_negative(current_density=current_density, atoms_per_ion=atoms_per_ion)
    positive(molar_mass=molar_mass, density=density)
    return atoms_per_ion * current_density / ELEMENTARY_CHARGE * molar_mass / (density * AVOGADRO)


def ion_current_density(power: float, area: float, voltage: float, electron_yield: float = 0.0) -> float:
    """Ions that strike a target: j = P / (V·A·(1 + γ)).

    Parameters
    ----------
    power : float [W], 0 or more
    area : float [m²], above 0
    voltage : float [V], above 0
        Of the discharge.
    electron_yield : float [electrons per ion], 0 or more
        γ, electrons that an ion sets free; they carry current and sputter nothing.

    Returns
    -------
    density : float [A/m²]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: conservation of charge; the whole power falls off before the target, as in a direct-current magnetron.
    """
    not_negative(power=power, electron_yield=electron_yield)
    positive(area=area, voltage=voltage)
    return power / (voltage * area * (1 + electron_yield))


def thermalising_collisions(
    energy: float, molar_mass: float, gas_molar_mass: float, temperature: float
) -> float:
    """Collisions after which a sputtered atom is as slow as the gas: n = ln(E₀ / (3/2·k·T)) / −ln(1 − η), η = 2·m·M/(m + M)².

    Parameters
    ----------
    energy : float [J], above 0
        Mean energy with which it leaves the target.
    molar_mass, gas_molar_mass : float [kg/mol], above 0
    temperature : float [K], above 0
        Of the gas.

    Returns
    -------
    collisions : float
        0 when it starts no faster than the gas.

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: W. D. Westwood, J. Vac. Sci. Technol. 15, 1 (1978), doi 10.1116/1.569429 (from memory): hard spheres, mean loss.
    """
    positive(energy=energy, molar_mass=molar_mass, gas_molar_mass=gas_molar_mass, temperature=temperature)
    loss = 2 * molar_mass * gas_molar_mass / (molar_mass + gas_molar_mass) ** 2
    return max(math.log(energy / (1.5 * BOLTZMANN * temperature)) / -math.log1p(-loss), 0.0)


def thermalised_share(throw: float, path: float, collisions: float) -> float:
    """Sputtered atoms that have lost their energy before the wafer: the chance of n or more collisions on the way,
    P(n, h/λ), the regularised incomplete gamma function.

    Parameters
    ----------
    throw, path : float [m], above 0
        h from target to wafer, and the mean free path λ.
    collisions : float [count], 0 or more
        n, see :func:`thermalising_collisions`.

    Returns
    -------
    share : float
        Such atoms come from all sides, cover walls and bring no energy: the film is less dense and rather tensile.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: Poisson statistics of collisions on a straight way, after W. D. Westwood, J. Vac. Sci. Technol. 15, 1 (1978)
    (from memory).
    """
    from scipy.special import gammainc

    positive(throw=throw, path=path)
    not_negative(collisions=collisions)
    return 1.0 if collisions == 0 else float(gammainc(collisions, throw / path))


def keller_simmons_share(throw: float, length: float) -> float:
    """Sputtered atoms that get through the gas: F = (L/h)·(1 − exp(−h/L)).

    Parameters
    ----------
    throw : float [m], above 0
        h.
    length : float [m], above 0
        L, way on which an atom is slowed down to the gas; from there half of the atoms wander back.

    Returns
    -------
    share : float

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: J. H. Keller, R. G. Simmons, IBM J. Res. Dev. 23, 24 (1979), doi 10.1147/rd.231.0024 (from memory).
    """
    positive(throw=throw, length=length)
    return length / throw * -math.expm1(-throw / length)


def cosputtered_composition(
    rates: Sequence[float], densities: Sequence[float], molar_masses: Sequence[float]
) -> tuple[float, ...]:
    """Parts by number of atoms (or formula units) of a film from several sources: x_i = (R_i·ρ_i/M_i) / Σ (R·ρ/M).

    Parameters
    ----------
    rates : sequence of float [m/s], one to four, 0 or more
        Of each source alone, on the wafer.
    densities : sequence of float [kg/m³], above 0
    molar_masses : sequence of float [kg/mol], above 0

    Returns
    -------
    parts : tuple of float
        They add up to 1.

    Raises
    ------
    ValueError
        When the sequences differ in length, there are more than four, or none has a rate.

    Notes
    -----
    Source: counting of arrivals; equal sticking, no re-sputtering, and no source feels another.
    """
    arrivals = _arrivals(rates, densities, molar_masses)
    positive(sum_of_rates=sum(arrivals))
    return tuple(each / sum(arrivals) for each in arrivals)


def powers_for_composition(
    parts: Sequence[float],
    rates_per_power: Sequence[float],
    densities: Sequence[float],
    molar_masses: Sequence[float],
    most: float,
) -> tuple[float, ...]:
    """Powers that give a composition with the strongest source at its most: P_i ∝ x_i / (r_i·ρ_i/M_i).

    Parameters
    ----------
    parts : sequence of float [1], one to four, 0 or more
        Wanted, by number of atoms; need not add up to 1.
    rates_per_power : sequence of float [m/s/W], above 0
        r, of each source alone.
    densities : sequence of float [kg/m³], above 0
    molar_masses : sequence of float [kg/mol], above 0
    most : float [W], above 0
        Highest power that a source may have.

    Returns
    -------
    powers : tuple of float [W]

    Raises
    ------
    ValueError
        When the sequences differ in length, there are more than four, or nothing is wanted.

    Notes
    -----
    Source: counting of arrivals, :func:`cosputtered_composition` inverted; rates in proportion to power, as direct-current
    magnetrons have them within a factor of three of power.
    """
    positive(most=most)
    for rate in rates_per_power:
        positive(rate_per_power=rate)
    each = _arrivals(rates_per_power, densities, molar_masses)
    if len(parts) != len(each):
        raise ValueError(f"one part for each source is wanted, got {len(parts)} for {len(each)}")
    not_negative(**{f"part_{place}": part for place, part in enumerate(parts, 1)})
    ratios = [part / per for part, per in zip(parts, each, strict=True)]
    positive(sum_of_parts=sum(ratios))
    return tuple(most * ratio / max(ratios) for ratio in ratios)


def _arrivals(
    rates: Sequence[float], densities: Sequence[float], molar_masses: Sequence[float]
) -> list[float]:
    """Moles that arrive on unit area in unit time, one for each source."""
    if not len(rates) == len(densities) == len(molar_masses) or not 1 <= len(rates) <= MOST_SOURCES:
        raise ValueError(
            f"rate, density and molar mass of one to {MOST_SOURCES} sources are wanted, got "
            f"{len(rates)}, {len(densities)} and {len(molar_masses)}"
        )
    found = []
    for rate, density, molar_mass in zip(rates, densities, molar_masses, strict=True):
        not_negative(rate=rate)
        positive(density=density, molar_mass=molar_mass)
        found.append(rate * density / molar_mass)
    return found


def shutter_error(time: float, travel: float) -> Noted:
    """Part of a film that the opening and closing of a shutter leave open: e = τ/t.

    Parameters
    ----------
    time : float [s], above 0
        For which the shutter is open.
    travel : float [s], 0 or more
        τ, of the shutter from shut to open.

    Returns
    -------
    error : Noted
        Noted above 2 %: make the rate lower or the film in one go.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: definition; the wafer's near side is opened first and shut last or first.
    """
    positive(time=time)
    not_negative(travel=travel)
    share = travel / time
    return Noted(value=share, notes=check_range("shutter error", share, 0.0, to_si(2, "%"), "fraction"))
