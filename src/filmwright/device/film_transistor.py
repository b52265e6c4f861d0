"""A transistor from the charge of its film: whole families of curves from one table of charge against drive."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, not_negative, numbers
from filmwright.device.electrostatics import GatedFilm, film_charge
from filmwright.device.gated_contacts import Film, GatedContact, crowded_current
from filmwright.device.laws import thermal_voltage
from filmwright.device.transistor import with_contacts
from filmwright.units import ELEMENTARY_CHARGE

_FIRST, _ROUNDS = 33, 12
"""Drives of a table to begin with, and how often the intervals that are not straight enough are halved."""
_MISSED = 1e-4
"""Relative error of the charge at the middle of an interval below which it is left as it is."""
_NOTHING = 1e-18
"""Charge over that of one volt at the insulator, below which nobody asks how exact it is."""
_GAUSS = 4


@dataclass(frozen=True, kw_only=True)
class FilmTransistor:
    """A film transistor by what it is made of.

    Attributes
    ----------
    width, length : float [m]
        Above 0.
    film : GatedFilm
    offset : float [V]
        (Φ_gate − χ)/q less fixed interface charge over capacitance: gate voltage at which the drive is zero.
    mobility : float [m²/(V·s)]
        At ``reference`` electrons per area. Above 0.
    mobility_exponent : float
        Power with which the mobility follows the free electrons per area. 0 for a constant one; at least 0.
    reference : float [1/m²]
        Above 0.
    contact_resistance : float [Ω·m]
        Of one contact, normalised by the width (R·W), whatever the gate does. At least 0.
    contact : GatedContact or None
        Instead of a resistance: contacts over the gate, solved together with the channel.
    off_current : float [A]
        Flows beside the channel whatever the gate does. At least 0.
    """

    width: float
    length: float
    film: GatedFilm
    offset: float
    mobility: float
    mobility_exponent: float = 0.0
    reference: float = 1e16
    contact_resistance: float = 0.0
    off_current: float = 0.0
    contact: GatedContact | None = None

    def __post_init__(self) -> None:
        above_zero(width=self.width, length=self.length, mobility=self.mobility, reference=self.reference)
        not_negative(
            mobility_exponent=self.mobility_exponent,
            contact_resistance=self.contact_resistance,
            off_current=self.off_current,
        )
        if self.contact is not None and self.contact_resistance > 0:
            raise ValueError("contact_resistance must be 0 where a gated contact is given: it has its own")
        if not np.isfinite(self.offset):
            raise ValueError(f"offset must be finite, got {self.offset}")


class ChargeTable:
    """Charge of a film against its drive between two drives, and its antiderivatives.

    Equation: F(u) = ∫ Q_free(u′) du′ from far below; the current of a gradual channel is µ·(W/L)·[F(u_S) − F(u_D)].

    Attributes
    ----------
    lowest, highest : float [V]
        Between which it was solved. Below, everything falls on exponentially; above, it is refused.
    """

    def __init__(self, film: GatedFilm, lowest: float, highest: float) -> None:
        rows, across = _rows(film, np.linspace(lowest, highest, _FIRST))
        asked = (rows[0, :-1] + rows[0, 1:]) / 2
        least = np.log(_NOTHING * film.areal_capacitance)
        for _ in range(_ROUNDS):
            right = np.searchsorted(rows[0], asked)
            between, inner = _rows(film, asked, (across[right - 1] + across[right]) / 2)
            guessed = _cubic(between[0], *rows[:3])
            highest_of = np.maximum(guessed, rows[1, right])
            wrong = between[0, (np.abs(guessed - between[1]) > _MISSED) & (highest_of > least)]
            rows, across = np.concatenate((rows, between), axis=1), np.concatenate((across, inner))
            order = np.argsort(rows[0])
            rows, across = rows[:, order], across[order]
            if not len(wrong):
                break
            place = np.searchsorted(rows[0], wrong)
            ends = np.concatenate((rows[0, place - 1], rows[0, place + 1]))
            asked = np.sort((np.tile(wrong, 2) + ends) / 2)
        self._keep(film, rows, across[:, 0])

    def _keep(self, film: GatedFilm, rows: Array, surface: Array) -> None:
        self.of, self.lowest, self.highest = film, float(rows[0, 0]), float(rows[0, -1])
        self._drive, self._free, self._slope, self._capacitance = rows
        self._surface = surface

    def behind(self, film: GatedFilm) -> ChargeTable:
        """The table of the same semiconductor behind another insulator, or with other states where they meet: nothing is solved.

        Equation: Q(ψ) = C·(u − ψ) − q·D_it·(ψ − ψ_n) of the semiconductor does not know what lies before it, so that
        u′ = ψ + [Q(ψ) + q·D_it′·(ψ − ψ_n′)]/C′, with ψ where film and insulator meet.

        Parameters
        ----------
        film : GatedFilm
            Valid range: states, thickness and back_charge are those of this table's film.

        Raises
        ------
        ValueError
            For another semiconductor.
        """
        own = self.of
        if (film.states, film.thickness, film.back_charge) != (own.states, own.thickness, own.back_charge):
            raise ValueError("film must have the states, thickness and back_charge of the table's own")
        psi, sheets = self._surface, [ELEMENTARY_CHARGE * each.interface_states for each in (own, film)]
        held = own.areal_capacitance * (self._drive - psi) - sheets[0] * (psi - own.interface_neutral)
        follows = np.maximum(1.0 - self._capacitance / own.areal_capacitance, np.finfo(float).tiny)
        drive = psi + (held + sheets[1] * (psi - film.interface_neutral)) / film.areal_capacitance
        pulled = self._capacitance / follows - sheets[0] + sheets[1]
        steeper = 1.0 + pulled / film.areal_capacitance
        made = ChargeTable.__new__(ChargeTable)
        rows = np.array([drive, self._free, self._slope / follows / steeper, pulled / steeper])
        made._keep(film, rows, psi)
        return made

    def free(self, drive: ArrayLike) -> Array:
        """Free electrons [C/m²] at drives [V]."""
        result: Array = np.exp(_cubic(self.inside(drive), self._drive, self._free, self._slope))
        return result

    def steepness(self, drive: ArrayLike) -> Array:
        """How the logarithm of the free electrons rises [1/V] at drives [V]."""
        u, step = self.inside(drive), 1e-4
        ends = [_cubic(u + each, self._drive, self._free, self._slope) for each in (-2 * step, -step)]
        last = _cubic(u, self._drive, self._free, self._slope)
        result: Array = (3.0 * last - 4.0 * ends[1] + ends[0]) / (2.0 * step)
        return result

    def capacitance(self, drive: ArrayLike) -> Array:
        """Between gate and channel at rest [F/m²] at drives [V]."""
        result: Array = np.interp(self.inside(drive), self._drive, self._capacitance)
        return result

    def integral(self, exponent: float) -> _Antiderivative:
        """Of Q_free to the power 1 + ``exponent``."""
        return _antiderivative(self, exponent)

    def film(self, exponent: float, scale: float) -> Film:
        """Sheet conductance ``scale``·Q^(1 + ``exponent``) [S] with its antiderivatives."""
        return _conducting(self, exponent, scale)

    def inside(self, drive: ArrayLike) -> Array:
        """The drives, refused above the table."""
        u = numbers(drive)
        if np.any(u > self.highest + 1e-9):
            raise ValueError(f"drive must be {self.highest:g} V or less, got {np.max(u):g}")
        return u


class _Antiderivative:
    """∫ Q^(1+γ) du, kept as its logarithm with the exact slope at every drive of the table."""

    def __init__(self, table: ChargeTable, exponent: float) -> None:
        drive, power = table._drive, 1.0 + exponent
        nodes, weights = np.polynomial.legendre.leggauss(_GAUSS)
        width = np.diff(drive)
        inner = drive[:-1, None] + (nodes + 1.0) / 2.0 * width[:, None]
        between = np.exp(power * _cubic(inner, drive, table._free, table._slope)) @ (weights / 2.0) * width
        ends = np.exp(power * table._free)
        # Far below, the charge is exponential: what lies left of the table is its value over its slope.
        before = ends[0] / max(power * table._slope[0], 1e-3)
        total = before + np.concatenate(([0.0], np.cumsum(between)))
        self._drive = drive
        self._log = np.log(np.maximum(total, np.finfo(float).tiny))
        self._slope = ends / np.maximum(total, np.finfo(float).tiny)

    def at(self, drive: Array) -> Array:
        result: Array = np.exp(_cubic(drive, self._drive, self._log, self._slope))
        return result


def charge_table(film: GatedFilm, lowest: float, highest: float) -> ChargeTable:
    """The table of a film between two drives; made once for each film and range.

    Parameters
    ----------
    film : GatedFilm
    lowest, highest : float [V]
        Valid range: lowest below highest.

    Returns
    -------
    ChargeTable

    Raises
    ------
    ValueError
        Outside the valid range, or where no band holds so many electrons.

    References
    ----------
    The film's charge depends only on gate voltage less channel potential: H. C. Pao, C. T. Sah, Solid-State Electron. 9, 927
    (1966), doi:10.1016/0038-1101(66)90068-2 (from memory).
    """
    if not (np.isfinite(lowest) and np.isfinite(highest) and lowest < highest):
        raise ValueError(f"lowest must be below highest, got {lowest:g} V and {highest:g} V")
    return _tables(film, float(lowest), float(highest))


@lru_cache(maxsize=64)
def _tables(film: GatedFilm, lowest: float, highest: float) -> ChargeTable:
    return ChargeTable(film, lowest, highest)


@lru_cache(maxsize=64)
def _conducting(table: ChargeTable, exponent: float, scale: float) -> Film:
    power, integral = 1.0 + exponent, table.integral(exponent)
    sheet = scale * np.exp(power * table._free)
    return Film(table._drive, sheet, power * table._slope, scale * np.exp(integral._log))


@lru_cache(maxsize=64)
def _antiderivative(table: ChargeTable, exponent: float) -> _Antiderivative:
    return _Antiderivative(table, exponent)


def film_current(
    transistor: FilmTransistor,
    gate_voltage: ArrayLike,
    drain_voltage: ArrayLike,
    table: ChargeTable | None = None,
) -> Array:
    """Current into the drain at the terminals, from Poisson's equation across the film and a gradual channel.

    Equation: I = (W/L)·∫ µ(Q)·Q(u) du from V_G − V_D to V_G − V_S (less the offset), with µ = µ₀·[Q/(q·n₀)]^γ; the
    contacts take I·R at source and drain, or what gated contacts need; a negative V_D exchanges them.

    Parameters
    ----------
    transistor : FilmTransistor
        Electrons carry the current.
    gate_voltage, drain_voltage : array (broadcast with each other) [V]
        Referred to the source. Valid range: finite; a family is ``gate[:, None]`` with ``drain[None, :]``.
    table : ChargeTable or None [C/m²]
        Of the same film; None makes one that spans the voltages.

    Returns
    -------
    array (broadcast shape) [A]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    H. C. Pao, C. T. Sah, Solid-State Electron. 9, 927 (1966), doi:10.1016/0038-1101(66)90068-2 (from memory).
    """
    gate, drain = np.broadcast_arrays(numbers(gate_voltage), numbers(drain_voltage))
    if not (np.all(np.isfinite(gate)) and np.all(np.isfinite(drain))):
        raise ValueError("gate_voltage and drain_voltage must be finite")
    backward = drain < 0
    over = np.where(backward, gate - drain, gate) - transistor.offset
    forward = np.abs(drain)
    if table is None:
        # Whole volts, so that the next family of the same film finds its table made.
        table = charge_table(
            transistor.film,
            float(np.floor(np.min(over - forward, initial=-1.0))) - 1.0,
            float(np.ceil(np.max(over, initial=0.0))),
        )
    table.inside(over)
    if transistor.contact is None:
        current = _channel_current(transistor, table, over, forward)
    else:
        film = table.film(transistor.mobility_exponent, _scale(transistor))
        per_width = crowded_current(
            film, over.ravel(), forward.ravel(), transistor.length, transistor.contact, backward.ravel()
        )
        current = transistor.width * per_width.reshape(over.shape)
    unit = thermal_voltage(transistor.film.states.temperature)
    current = current - transistor.off_current * np.expm1(-forward / unit)
    result: Array = np.where(backward, -current, current)
    return result


def _scale(transistor: FilmTransistor) -> float:
    """Sheet conductance over the charge to the power of one and the exponent."""
    scale: float = (
        transistor.mobility * (ELEMENTARY_CHARGE * transistor.reference) ** -transistor.mobility_exponent
    )
    return scale


def _channel_current(transistor: FilmTransistor, table: ChargeTable, over: Array, forward: Array) -> Array:
    """With a constant resistance at source and drain [A]."""
    integral = table.integral(transistor.mobility_exponent)
    factor = transistor.width / transistor.length * _scale(transistor)

    def channel(above: Array, across: Array) -> Array:
        across = np.maximum(across, 0.0)
        result: Array = factor * (integral.at(above) - integral.at(above - across))
        return result

    return with_contacts(channel, over, forward, transistor.contact_resistance / transistor.width)


def _rows(film: GatedFilm, drive: Array, start: Array | None = None) -> tuple[Array, Array]:
    """Drive, logarithm of the free charge, its slope, and capacitance: one row each; and the potentials across the film."""
    solved = film_charge(film, drive, start=start)
    free = np.maximum(solved.free, np.finfo(float).tiny)
    return np.array(
        [solved.drive, np.log(free), solved.free_slope / free, solved.gate_slope]
    ), solved.potential


def _cubic(at: Array, places: Array, values: Array, slopes: Array) -> Array:
    """Cubic between places from values and slopes; beyond the first place a straight line."""
    left = np.clip(np.searchsorted(places, at, side="right") - 1, 0, len(places) - 2)
    width = places[left + 1] - places[left]
    part = (at - places[left]) / width
    rise = values[left + 1] - values[left]
    down, up = slopes[left] * width, slopes[left + 1] * width
    inner = part * (down + part * (3.0 * rise - 2.0 * down - up + part * (down + up - 2.0 * rise)))
    result: Array = values[left] + np.where(part < 0.0, part * down, inner)
    return result
