"""What instruments read: sheets under probes near edges and in thick films, crosses, lines, steps, and how many readings are enough."""

from __future__ import annotations

import math

from filmwright.process.ranges import Noted, check_range, not_negative, positive


def thick_film_factor(spacing: float, thickness: float) -> float:
    """Four probes on a film that is not thin against their spacing, by mirror sources beneath it.

    F = ln 2/(d·Σₙ (1/√(s² + 4·n²·d²) − 1/√(4·s² + 4·n²·d²))), n from −∞ to ∞.

    Parameters
    ----------
    spacing : float [m], above 0
        s, between neighbouring probes.
    thickness : float [m], above 0
        d, of the film, insulated beneath.

    Returns
    -------
    factor : float [1]
        R_sheet = F·(π/ln 2)·V/I; 1 for a thin film, 2·ln 2·s/d for a thick body.

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: L. B. Valdes, Proc. IRE 42, 420 (1954), doi 10.1109/JRPROC.1954.274680; F. M. Smits, Bell Syst. Tech. J. 37, 711 (1958)
    (from memory).
    """
    positive(spacing=spacing, thickness=thickness)
    d = thickness / spacing
    if d < _THIN:
        return 1.0
    twins = math.fsum(
        2 / math.hypot(1, 2 * n * d) - 2 / math.hypot(2, 2 * n * d) for n in range(1, _MIRRORS + 1)
    )
    rest = 3 / (16 * d**3 * (_MIRRORS + 0.5) ** 2)
    return math.log(2) / (d * (0.5 + twins + rest))


_THIN = 0.1
"""Thickness over spacing below which the factor is 1 to better than 1e-9: the correction falls as exp(−π·s/d)."""

_MIRRORS = 200
"""Mirror sources that are counted one by one; the sum of all farther ones is an integral."""


def edge_factor(spacing: float, distance: float, *, along: bool) -> float:
    """Four probes near a straight edge of a thin sheet, by mirror sources: F = 2π/(2·ln 2 + Σ images).

    Parameters
    ----------
    spacing : float [m], above 0
        s, between neighbouring probes.
    distance : float [m], 0 or more
        From the edge to the line of probes when it runs along, else to the nearest probe.
    along : bool [1]
        Whether the line of probes runs along the edge; else it stands square to it.

    Returns
    -------
    factor : float [1]
        R_sheet = F·V/I; π/ln 2 far from the edge.

    Raises
    ------
    ValueError
        When the spacing is not above zero or the distance below zero.

    Notes
    -----
    Source: mirror sources at a border that no current crosses, F. M. Smits, Bell Syst. Tech. J. 37, 711 (1958) (from memory). Films
    thin against the spacing.
    """
    positive(spacing=spacing)
    not_negative(distance=distance)
    away = 2 * distance / spacing
    beside = (4 + away**2) / (1 + away**2)
    # Probes at a, a + 1, a + 2, a + 3 spacings from the edge: probe i and the mirrored probe j are away + i + j apart.
    square = (away + 4) * (away + 2) / ((away + 1) * (away + 5))
    return 2 * math.pi / (2 * math.log(2) + math.log(beside if along else square))


def van_der_pauw_reading(sheet: float) -> float:
    """Reading of an even cross with four equal arms: V/I = R_sheet·ln 2/π.

    Parameters
    ----------
    sheet : float [Ω], above 0
        Of a square.

    Returns
    -------
    reading : float [Ω]

    Raises
    ------
    ValueError
        When it is not above zero.

    Notes
    -----
    Source: L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958) (from memory). Contacts at the border, sheet without holes.
    """
    positive(sheet=sheet)
    return sheet * math.log(2) / math.pi


def cross_arm_error(arm: float, width: float) -> float:
    """Share by which a cross with short arms reads low: ε = 0.59·exp(−6.23·a/w).

    Parameters
    ----------
    arm, width : float [m], above 0
        Length of an arm from the middle square to its contact, and its width.

    Returns
    -------
    error : float [1]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: J. M. David, M. G. Buehler, Solid-State Electron. 20, 539 (1977), doi 10.1016/0038-1101(77)90149-7 (from memory).
    """
    positive(arm=arm, width=width)
    return 0.59 * math.exp(-6.23 * arm / width)


def line_resistance(sheet: float, squares: float) -> float:
    """Resistance of a drawn line: R = R_sheet·n.

    Parameters
    ----------
    sheet : float [Ω], above 0
        Of a square.
    squares : float [1], above 0
        n, length over width along the middle of the line.

    Returns
    -------
    resistance : float [Ω]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: definition (common practice). Without contacts and pads.
    """
    positive(sheet=sheet, squares=squares)
    return sheet * squares


def film_curvature(force: float, biaxial_modulus: float, wafer: float) -> float:
    """Curvature by the force of all films: κ = 6·S/(M·h²).

    Parameters
    ----------
    force : float [N/m]
        S, Σ stress × thickness; tensile positive.
    biaxial_modulus : float [Pa], above 0
        M of the wafer.
    wafer : float [m], above 0
        h.

    Returns
    -------
    curvature : float [1/m]

    Raises
    ------
    ValueError
        When the modulus or the thickness is not above zero, or the force is not finite.

    Notes
    -----
    Source: G. G. Stoney, Proc. R. Soc. A 82, 172 (1909), doi 10.1098/rspa.1909.0021, biaxial form (from memory).
    """
    positive(biaxial_modulus=biaxial_modulus, wafer=wafer)
    if not math.isfinite(force):
        raise ValueError(f"force must be finite, got {force:g}")
    return 6 * force / (biaxial_modulus * wafer**2)


def readings_needed(std: float, half_width: float, confidence: float = 0.95) -> int:
    """Least number of readings whose mean is known so well: t(n − 1)·σ/√n ≤ e.

    Parameters
    ----------
    std : float [any], 0 or more
        σ of one reading.
    half_width : float [as std], above 0
        e, half the width of the interval of the mean.
    confidence : float [1], 0 to 1

    Returns
    -------
    count : int [1]
        At least 2, since one reading tells nothing of its spread.

    Raises
    ------
    ValueError
        When a number is out of its range, or more than a thousand readings would be needed.

    Notes
    -----
    Source: Student, Biometrika 6, 1 (1908), doi 10.1093/biomet/6.1.1; even readings that know nothing of each other (from memory).
    """
    from scipy.special import stdtrit

    not_negative(std=std)
    positive(half_width=half_width)
    _share(confidence=confidence)
    for count in range(2, _MOST):
        if float(stdtrit(count - 1, (1 + confidence) / 2)) * std <= half_width * math.sqrt(count):
            return count
    raise ValueError(f"more than {_MOST} readings must be taken for a mean known to {half_width:g}")


_MOST = 1000


def devices_needed(good: float, confidence: float = 0.95, failures: int = 0) -> int:
    """Least number of devices that shows a yield: Σₖ₌₀^f C(n, k)·(1 − Y)ᵏ·Yⁿ⁻ᵏ ≤ 1 − C.

    Parameters
    ----------
    good : float [1], 0 to 1
        Y, the yield that is to be shown.
    confidence : float [1], 0 to 1
        C.
    failures : int [1], 0 or more
        f, failures among them with which it still counts as shown.

    Returns
    -------
    count : int [1]

    Raises
    ------
    ValueError
        When a number is out of its range.

    Notes
    -----
    Source: C. J. Clopper, E. S. Pearson, Biometrika 26, 404 (1934), doi 10.1093/biomet/26.4.404; S. S. Wilks, Ann. Math. Stat. 12,
    91 (1941), doi 10.1214/aoms/1177731788 (from memory). Devices that fail independently of each other.
    """
    _share(good=good, confidence=confidence)
    if failures < 0:
        raise ValueError(f"failures must be zero or more, got {failures}")
    count = failures + 1
    while (
        math.fsum(math.comb(count, k) * (1 - good) ** k * good ** (count - k) for k in range(failures + 1))
        > 1 - confidence
    ):
        count += 1
    return count


def _share(**numbers: float) -> None:
    for name, number in numbers.items():
        if not 0 < number < 1:
            raise ValueError(f"{name} must lie between 0 and 1, got {number:g}")


def charging_current(capacitance: float, step: float, delay: float) -> float:
    """Current that charges a capacitance while a voltage settles: I = C·ΔV/t.

    Parameters
    ----------
    capacitance : float [F], above 0
    step : float [V], above 0
        ΔV, from point to point.
    delay : float [s], above 0
        t, until the current is read.

    Returns
    -------
    current : float [A]
        Smaller ones cannot be told from it.

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: definition of a capacitance (common practice).
    """
    positive(capacitance=capacitance, step=step, delay=delay)
    return capacitance * step / delay


def weakest_voltage(typical: float, shape: float, devices: float) -> Noted:
    """Voltage at which the weakest of many like insulators breaks down: V = V_63·n^(−1/β).

    Parameters
    ----------
    typical : float [V], above 0
        V_63, at which 63 % of them have broken down.
    shape : float [1], above 0
        β of Weibull's distribution.
    devices : float [1], 1 or more
        n, how many; an area that is n times as large counts as n.

    Returns
    -------
    voltage : Noted [V]

    Raises
    ------
    ValueError
        When a number is out of its range.

    Notes
    -----
    Source: W. Weibull, J. Appl. Mech. 18, 293 (1951) (from memory); weakest-link scaling.
    """
    positive(typical=typical, shape=shape)
    if not (devices >= 1 and math.isfinite(devices)):
        raise ValueError(f"devices must be finite and one or more, got {devices:g}")
    notes = check_range("shape of the Weibull distribution", shape, 2.0, 60.0, "number")
    return Noted(value=typical * devices ** (-1 / shape), notes=notes)
