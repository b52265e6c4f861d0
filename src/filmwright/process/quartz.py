"""What a quartz-crystal monitor reads, and what to dial into it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby

from filmwright.numerics import root_between
from filmwright.process.ranges import Noted, check_range, not_negative, positive

SMALL_SHIFT = 0.02
"""Relative frequency shift beyond which the simple mass law is off by more than about 2 % (Lu and Lewis
1972)."""

_LARGEST_SHIFT = 0.4
"""Relative frequency shift to which the acoustic-impedance form was verified (Lu and Lewis 1972, from
memory)."""


def sauerbrey_sensitivity(frequency: float, density: float, shear_modulus: float) -> float:
    """Frequency lost per areal mass: C = 2·f² / √(ρ_q·µ_q).

    Parameters
    ----------
    frequency : float [Hz], above 0
        Of the bare crystal.
    density : float [kg/m³], above 0
        Of quartz.
    shear_modulus : float [Pa], above 0
        Of quartz, AT cut.

    Returns
    -------
    sensitivity : float [Hz·m²/kg]

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: G. Sauerbrey, Z. Phys. 155, 206-222 (1959) (from memory).
    """
    positive(frequency=frequency, density=density, shear_modulus=shear_modulus)
    return 2 * frequency**2 / math.sqrt(density * shear_modulus)


def sauerbrey_thickness(
    bare: float, loaded: float, film_density: float, frequency_constant: float, quartz_density: float
) -> Noted:
    """Film thickness by the simple mass law: d = (N·ρ_q/ρ_f)·(f_q − f)/f_q².

    Parameters
    ----------
    bare, loaded : float [Hz], loaded at most bare
    film_density, quartz_density : float [kg/m³], above 0
    frequency_constant : float [Hz·m], above 0
        N = f·thickness of the crystal.

    Returns
    -------
    thickness : Noted [m]
        Noted beyond a shift of 2 %.

    Raises
    ------
    ValueError
        When the crystal gained frequency.

    Notes
    -----
    Source: G. Sauerbrey, Z. Phys. 155, 206-222 (1959) (from memory).
    """
    shift = _shift(bare, loaded)
    positive(film_density=film_density, frequency_constant=frequency_constant, quartz_density=quartz_density)
    thickness = frequency_constant * quartz_density / film_density * shift / bare
    return Noted(value=thickness, notes=check_range("frequency shift", shift, 0.0, SMALL_SHIFT, "fraction"))


def z_match_thickness(
    bare: float,
    loaded: float,
    film_density: float,
    impedance_ratio: float,
    frequency_constant: float,
    quartz_density: float,
) -> Noted:
    """Film thickness with the film's acoustic impedance: d = N·ρ_q/(π·ρ_f·f·Z) · atan(Z·tan(π·(f_q −
    f)/f_q)).

    Parameters
    ----------
    bare, loaded : float [Hz], loaded at most bare
    film_density, quartz_density : float [kg/m³], above 0
    impedance_ratio : float, above 0
        Z, quartz over film.
    frequency_constant : float [Hz·m], above 0

    Returns
    -------
    thickness : Noted [m]
        Noted beyond a shift of 40 %.

    Raises
    ------
    ValueError
        When the crystal gained frequency or lost half of it.

    Notes
    -----
    Source: C.-S. Lu, O. Lewis, J. Appl. Phys. 43, 4385-4390 (1972) (from memory).
    """
    shift = _shift(bare, loaded)
    positive(
        film_density=film_density,
        impedance_ratio=impedance_ratio,
        frequency_constant=frequency_constant,
        quartz_density=quartz_density,
    )
    if shift >= 0.5:
        raise ValueError(f"frequency shift must be below half of the bare frequency, got {shift:.0%}")
    angle = math.atan(impedance_ratio * math.tan(math.pi * shift))
    thickness = (
        frequency_constant * quartz_density / (math.pi * film_density * loaded * impedance_ratio) * angle
    )
    return Noted(
        value=thickness, notes=check_range("frequency shift", shift, 0.0, _LARGEST_SHIFT, "fraction")
    )


def _shift(bare: float, loaded: float) -> float:
    positive(bare_frequency=bare, loaded_frequency=loaded)
    if loaded > bare:
        raise ValueError(
            f"the loaded crystal must not run faster than the bare one, got {loaded:g} > {bare:g} Hz"
        )
    return (bare - loaded) / bare


def impedance_ratio(
    quartz_density: float, quartz_shear: float, film_density: float, film_shear: float
) -> float:
    """Acoustic impedance of quartz over that of a film: Z = √(ρ_q·µ_q / (ρ_f·G_f)).

    Parameters
    ----------
    quartz_density, film_density : float [kg/m³], above 0
    quartz_shear, film_shear : float [Pa], above 0
        Shear moduli.

    Returns
    -------
    ratio : float

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: C.-S. Lu, O. Lewis, J. Appl. Phys. 43, 4385-4390 (1972) (from memory).
    """
    positive(
        quartz_density=quartz_density,
        quartz_shear=quartz_shear,
        film_density=film_density,
        film_shear=film_shear,
    )
    return math.sqrt(quartz_density * quartz_shear / (film_density * film_shear))


def monitor_reading(
    thickness: float, tooling: float, tooling_std: float = 0.0
) -> tuple[float, float, tuple[str, ...]]:
    """What a monitor that is set to 100 % must show for a film on the wafer: reading = d / tooling.

    Parameters
    ----------
    thickness : float [m], above 0
        Wanted on the wafer.
    tooling, tooling_std : float
        Thickness on the wafer over the reading, above 0, and its standard deviation.

    Returns
    -------
    reading, spread : float [m]
    notes : tuple of str
        One when the tooling lies outside 40 to 200 %.

    Raises
    ------
    ValueError
        When thickness or tooling is not above zero or its deviation is below zero.

    Notes
    -----
    Source: definition of the tooling factor; 48 to 158 % published for one evaporator.
    """
    positive(thickness=thickness, tooling=tooling)
    not_negative(tooling_std=tooling_std)
    reading = thickness / tooling
    return (
        reading,
        reading * tooling_std / tooling,
        check_range("tooling factor", tooling, 0.4, 2.0, "fraction"),
    )


def tooling_from_step(tooling: float, measured: float, reading: float) -> float:
    """The tooling factor to set after a step was measured: new = old · measured / reading.

    Parameters
    ----------
    tooling : float, above 0
        The factor that was set when the film was made.
    measured, reading : float [m], above 0
        Thickness on the wafer, and what the monitor showed with that factor.

    Returns
    -------
    tooling : float

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: definition of the tooling factor.
    """
    positive(tooling=tooling, measured=measured, reading=reading)
    return tooling * measured / reading


def loaded_frequency(
    bare: float,
    layers: Sequence[tuple[float, float, float]],
    frequency_constant: float,
    quartz_density: float,
) -> float:
    """Frequency of a crystal that carries several films: tan(π·f/f_q) = −X, each film turns the load below its outer face by
    X ← (X + tan θ/Z) / (1 − Z·X·tan θ), θ = π·ρ·d·Z·f / (N·ρ_q).

    Parameters
    ----------
    bare : float [Hz], above 0
        Of the crystal without films.
    layers : sequence of (thickness [m], density [kg/m³], impedance ratio)
        From the quartz outward; the ratio is that of quartz over film.
    frequency_constant : float [Hz·m], above 0
    quartz_density : float [kg/m³], above 0

    Returns
    -------
    frequency : float [Hz]

    Raises
    ------
    ValueError
        When a number is out of its range, or the films take more than half of the frequency.

    Notes
    -----
    Source: E. Benes, J. Appl. Phys. 56, 608 (1984), doi 10.1063/1.333990 (from memory), for films without loss; one film gives
    :func:`z_match_thickness`. Noble and stiff films in turn shift the frequency by other amounts than their masses add up to.
    """
    positive(bare=bare, frequency_constant=frequency_constant, quartz_density=quartz_density)
    for thickness, density, ratio in layers:
        not_negative(thickness=thickness)
        positive(density=density, impedance_ratio=ratio)
    # Neighbours of one kind turn the load as one film does: a lot of many wafers has a few kinds, not as many films as wafers.
    films = [
        (math.fsum(each[0] for each in alike), *kind)
        for kind, alike in groupby(layers, key=lambda layer: layer[1:])
    ]

    def miss(frequency: float) -> float:
        load = 0.0
        for thickness, density, ratio in reversed(films):
            turn = math.tan(
                math.pi * density * thickness * ratio * frequency / (frequency_constant * quartz_density)
            )
            load = (load + turn / ratio) / (1 - ratio * load * turn)
        return math.tan(math.pi * (bare - frequency) / bare) - load

    low = bare * (0.5 + 1e-9)
    if miss(low) < 0:
        raise ValueError("the films take more than half of the crystal's frequency")
    return root_between(miss, low, bare, tolerance=1e-6)
