"""Etches: the time that clears the worst place, and what that time costs beside and beneath."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from filmwright.process.ranges import check_range, not_negative, positive
from filmwright.units import BOLTZMANN

_KNOWN_RATE = 0.15
"""Relative spread of a rate beyond which a computed time is no substitute for a dummy or an end point."""


@dataclass(frozen=True, kw_only=True)
class EtchTime:
    """How long to etch.

    Attributes
    ----------
    main, main_std : float [s]
        To the end point at the mean place, and its standard deviation from that of the rate.
    over_etch : float
        What is added to clear the worst place, as a fraction of ``main``.
    total : float [s]
    notes : tuple of str
    """

    main: float
    main_std: float
    over_etch: float
    total: float
    notes: tuple[str, ...] = ()


def etch_time(
    thickness: float,
    rate: float,
    rate_relative_std: float = 0.0,
    film_nonuniformity: float = 0.0,
    rate_nonuniformity: float = 0.0,
    confidence: float = 0.95,
) -> EtchTime:
    """Time that clears the thickest and slowest place: t = (d/R)·(1 + u_d)/(1 − u_R)·exp(z·s).

    Parameters
    ----------
    thickness : float [m], 0 or more
        Mean thickness at the thickest kind of place.
    rate : float [m/s], above 0
    rate_relative_std : float
        s, standard deviation over rate; the rate is taken as log-normal so that it stays above zero.
    film_nonuniformity, rate_nonuniformity : float
        u_d and u_R, (max − min)/(2 × mean) over the wafer; u_R below 1. The worst places are taken to
        coincide.
    confidence : float, 0.5 to below 1
        One-sided; z is its normal quantile.

    Returns
    -------
    EtchTime
        Noted when the rate is known to worse than 15 %.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: thickness over rate at the worst place; worst-case over place, probabilistic over the rate.
    """
    positive(rate=rate)
    not_negative(
        thickness=thickness,
        rate_relative_std=rate_relative_std,
        film_nonuniformity=film_nonuniformity,
        rate_nonuniformity=rate_nonuniformity,
    )
    if rate_nonuniformity >= 1:
        raise ValueError(f"rate non-uniformity must be below 1, got {rate_nonuniformity:g}")
    if not 0.5 <= confidence < 1:
        raise ValueError(f"confidence must lie between 0.5 and 1, got {confidence:g}")
    main = thickness / rate
    chance = math.exp(NormalDist().inv_cdf(confidence) * rate_relative_std)
    worst = (1 + film_nonuniformity) / (1 - rate_nonuniformity) * chance
    notes = check_range("spread of the etch rate", rate_relative_std, 0.0, _KNOWN_RATE, "fraction")
    return EtchTime(
        main=main,
        main_std=main * rate_relative_std,
        over_etch=worst - 1,
        total=main * worst,
        notes=tuple(f"{note}: run a dummy or watch the end point" for note in notes),
    )


def loss_below(thickness: float, rate: float, rate_below: float, over_etch: float) -> float:
    """What goes of the film beneath where the upper one clears at the mean time: loss = OE·(d/R)·R_below.

    Parameters
    ----------
    thickness : float [m], 0 or more
        Of the film that is etched.
    rate : float [m/s], above 0
        Of the film that is etched.
    rate_below : float [m/s], 0 or more
    over_etch : float, 0 or more
        Fraction of the main time.

    Returns
    -------
    loss : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: time times rate.
    """
    positive(rate=rate)
    not_negative(thickness=thickness, rate_below=rate_below, over_etch=over_etch)
    return over_etch * thickness / rate * rate_below


def loss_below_worst(
    thickness: float,
    rate: float,
    rate_below: float,
    total_time: float,
    film_nonuniformity: float = 0.0,
    rate_nonuniformity: float = 0.0,
) -> float:
    """What goes of the film beneath at the thinnest and fastest place: (t − d(1 − u_d)/(R(1 +
    u_R)))·R_below(1 + u_R).

    Parameters
    ----------
    thickness : float [m], 0 or more
    rate : float [m/s], above 0
    rate_below : float [m/s], 0 or more
    total_time : float [s], 0 or more
        Main etch and over-etch.
    film_nonuniformity, rate_nonuniformity : float, 0 to below 1

    Returns
    -------
    loss : float [m]
        0 when the place is not yet clear.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: time times rate; both rates are fast at the same place.
    """
    positive(rate=rate)
    not_negative(
        thickness=thickness,
        rate_below=rate_below,
        total_time=total_time,
        film_nonuniformity=film_nonuniformity,
        rate_nonuniformity=rate_nonuniformity,
    )
    clear = thickness * max(1 - film_nonuniformity, 0.0) / (rate * (1 + rate_nonuniformity))
    return max(total_time - clear, 0.0) * rate_below * (1 + rate_nonuniformity)


def selectivity(rate: float, rate_other: float) -> float:
    """Rate of the film over the rate of another: S = R / R_other; infinite when the other is not etched.

    Parameters
    ----------
    rate : float [m/s], above 0
    rate_other : float [m/s], 0 or more

    Returns
    -------
    selectivity : float

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: definition.
    """
    positive(rate=rate)
    not_negative(rate_other=rate_other)
    return rate / rate_other if rate_other else math.inf


def selectivity_needed(thickness: float, over_etch: float, allowed_loss: float) -> float:
    """Selectivity that keeps the loss beneath within what is allowed: S = OE·d / loss.

    Parameters
    ----------
    thickness : float [m], 0 or more
    over_etch : float, 0 or more
    allowed_loss : float [m], above 0

    Returns
    -------
    selectivity : float

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: :func:`loss_below`, inverted.
    """
    positive(allowed_loss=allowed_loss)
    not_negative(thickness=thickness, over_etch=over_etch)
    return over_etch * thickness / allowed_loss


def undercut_top(thickness: float, over_etch: float, isotropy: float = 1.0) -> float:
    """How far the top edge of a film lies behind the resist's foot: a·d·(1 + OE).

    Parameters
    ----------
    thickness : float [m], 0 or more
    over_etch : float, 0 or more
        Fraction of the main time.
    isotropy : float, 0 to 1
        a, rate sideways over rate down.

    Returns
    -------
    undercut : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: the front of an isotropic etch is a circle about the resist's foot.
    """
    not_negative(thickness=thickness, over_etch=over_etch, isotropy=isotropy)
    return isotropy * thickness * (1 + over_etch)


def undercut_foot(thickness: float, over_etch: float, isotropy: float = 1.0) -> float:
    """How far the foot of a film lies behind the resist's foot: a·d·√((1 + OE)² − 1).

    Parameters
    ----------
    thickness : float [m], 0 or more
    over_etch : float, 0 or more
    isotropy : float, 0 to 1

    Returns
    -------
    undercut : float [m]
        It usually sets the electrical length.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: the front is a circle (an ellipse with ``isotropy``) about the resist's foot.
    """
    not_negative(thickness=thickness, over_etch=over_etch, isotropy=isotropy)
    return isotropy * thickness * math.sqrt((1 + over_etch) ** 2 - 1)


def arrhenius_factor(activation_energy: float, temperature: float, reference: float) -> float:
    """Rate at a temperature over that at another: exp(E/k·(1/T₀ − 1/T)).

    Parameters
    ----------
    activation_energy : float [J], 0 or more
    temperature, reference : float [K], above 0
        T and T₀.

    Returns
    -------
    factor : float

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: S. Arrhenius (1889) (from memory). Valid while the same step limits the rate.
    """
    positive(temperature=temperature, reference=reference)
    not_negative(activation_energy=activation_energy)
    return math.exp(activation_energy / BOLTZMANN * (1 / reference - 1 / temperature))


def resist_left(resist: float, resist_rate: float, time: float) -> float:
    """Fraction of a resist that is left after a plasma: 1 − R·t/d, not below 0.

    Parameters
    ----------
    resist : float [m], above 0
        Where it is thinnest.
    resist_rate : float [m/s], 0 or more
    time : float [s], 0 or more

    Returns
    -------
    left : float, 0 to 1

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: time times rate.
    """
    positive(resist=resist)
    not_negative(resist_rate=resist_rate, time=time)
    return max(1 - resist_rate * time / resist, 0.0)
