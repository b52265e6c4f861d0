"""Contacts that lie over the gate: current crowds at their edge, and how far it reaches follows the gate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.device.checks import Array, above_zero, numbers
from filmwright.device.contacts import contact_front_resistance

_ROUNDS, _EXACT = 60, 1e-8
_LITTLE = 1e-5
"""Part of the channel's length to which the contacts' transfer lengths add up, below which they matter to first order only."""
_NEAR = 0.03
"""Drop over the voltage in which the film's conductance grows e-fold, below which the film is taken as exponential in it."""


@dataclass(frozen=True, kw_only=True)
class GatedContact:
    """Source and drain lying on the film over the gate.

    Attributes
    ----------
    specific_resistance : float [Ω·m²]
        ρ between metal and film. Above 0.
    source_overlap, drain_overlap : float [m]
        Length of film between contact and gate. Above 0.
    """

    specific_resistance: float
    source_overlap: float
    drain_overlap: float

    def __post_init__(self) -> None:
        above_zero(
            specific_resistance=self.specific_resistance,
            source_overlap=self.source_overlap,
            drain_overlap=self.drain_overlap,
        )


def gated_contact_resistance(
    specific_contact_resistance: float, sheet_conductance: ArrayLike, overlap: float
) -> Array:
    """Width-normalised resistance of one contact over the gate, for a voltage across it that changes the film little.

    Equation: R·W = √(ρ·R_sh)·coth(L_ov/L_T), L_T = √(ρ/R_sh), R_sh = 1/G of the film that the gate fills

    Parameters
    ----------
    specific_contact_resistance : float [Ω·m²]
        ρ. Valid range: above 0.
    sheet_conductance : array (any shape) [S]
        G of the film under the contact. Valid range: above 0.
    overlap : float [m]
        L_ov. Valid range: above 0.

    Returns
    -------
    array (shape of sheet_conductance) [Ω·m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    The front resistance of H. H. Berger, Solid-State Electron. 15, 145 (1972), doi:10.1016/0038-1101(72)90048-2 (from memory), with
    the gated sheet; staggered transistors: J. Kanicki, F. R. Libsch, J. Griffith, R. Polastre, J. Appl. Phys. 69, 2339 (1991),
    doi:10.1063/1.348716 (from memory).
    """
    above_zero(sheet_conductance=sheet_conductance)
    sheet = 1.0 / numbers(sheet_conductance)
    found = [
        contact_front_resistance(specific_contact_resistance, float(each), overlap, 1.0)
        for each in sheet.flat
    ]
    return np.array(found).reshape(sheet.shape)


class Conducting(NamedTuple):
    """Of a film at drives: sheet conductance [S], its logarithmic slope [1/V], and its first two antiderivatives [S·V], [S·V²]."""

    sheet: Array
    steepness: Array
    first: Array
    second: Array


class Film:
    """Sheet conductance of a film against drive, integrated once and twice, read between by cubics in the logarithm."""

    def __init__(self, drive: Array, sheet: Array, steepness: Array, first: Array) -> None:
        self._drive, width = drive, np.diff(drive)
        self._logs = np.array([np.log(sheet), np.log(first)])
        self._slopes = np.array([steepness, sheet / first])
        nodes, weights = np.polynomial.legendre.leggauss(4)
        inner = (drive[:-1, None] + (nodes + 1.0) / 2.0 * width[:, None]).ravel()
        pieces = np.exp(self._read(inner)[0][1]).reshape(-1, len(nodes)) @ (weights / 2.0) * width
        # Far below everything is exponential: what lies left of the table is a value over its slope.
        second = first[0] * (first[0] / sheet[0]) + np.concatenate(([0.0], np.cumsum(pieces)))
        self._logs = np.vstack((self._logs, np.log(second)))
        self._slopes = np.vstack((self._slopes, first / second))

    def at(self, drive: Array) -> Conducting:
        """Everything at drives [V]."""
        logs, steepness = self._read(drive)
        sheet, first, second = np.exp(logs)
        return Conducting(sheet, steepness, first, second)

    def where(self, first: Array) -> Array:
        """Drive at which the first antiderivative has a value; the antiderivative falls on exponentially below the table."""
        wanted = np.log(np.maximum(first, np.finfo(float).tiny))
        values, slopes = self._logs[1], self._slopes[1]
        left = np.clip(np.searchsorted(values, wanted, side="right") - 1, 0, len(values) - 2)
        width = self._drive[left + 1] - self._drive[left]
        rise, beyond = values[left + 1] - values[left], wanted - values[left]
        down, up = slopes[left] * width, slopes[left + 1] * width
        second, third = 3.0 * rise - 2.0 * down - up, down + up - 2.0 * rise
        part = np.clip(beyond / rise, 0.0, 1.0)
        for _ in range(3):
            miss = part * (down + part * (second + part * third)) - beyond
            part = np.clip(part - miss / (down + part * (2.0 * second + 3.0 * part * third)), 0.0, 1.0)
        result: Array = np.where(
            beyond < 0.0, self._drive[0] + beyond / slopes[0], self._drive[left] + part * width
        )
        return result

    def _read(self, drive: Array) -> tuple[Array, Array]:
        """All rows at drives, and the slope of the first."""
        left = np.clip(np.searchsorted(self._drive, drive, side="right") - 1, 0, len(self._drive) - 2)
        width = self._drive[left + 1] - self._drive[left]
        part = (drive - self._drive[left]) / width
        low = self._logs[:, left]
        rise = self._logs[:, left + 1] - low
        down, up = self._slopes[:, left] * width, self._slopes[:, left + 1] * width
        bend = np.maximum(part, 0.0)
        second, third = 3.0 * rise - 2.0 * down - up, down + up - 2.0 * rise
        value = low + part * down + bend * bend * (second + bend * third)
        return value, (down[0] + bend * (2.0 * second[0] + 3.0 * bend * third[0])) / width


def injected(
    metal: Conducting, drop: Array, front: Conducting, contact: tuple[float, Array]
) -> tuple[Array, Array]:
    """Current per width that a source passes into the film when its front edge lies ``drop`` above the metal [A/m].

    Equation: I/W = √[(2/ρ)·∫(u_m − u)·G du]·tanh(L_ov/L_T), u from u_m − drop to u_m

    The integral is exact for a contact much longer than L_T, whatever the drop; the factor, given squared, is exact for small drops.
    """
    resistance, overlap = contact
    scaled = drop * metal.steepness
    with np.errstate(invalid="ignore", over="ignore"):
        near = metal.sheet / metal.steepness**2 * (-np.expm1(-scaled) - scaled * np.exp(-scaled))
    least = metal.sheet * drop**2 / 2.0 * (1.0 - 2.0 * scaled / 3.0)
    near = np.where(scaled < 1e-4, least, near)
    far = metal.second - front.second - drop * front.first
    moment = np.maximum(np.where(scaled < _NEAR, near, far), 0.0)
    short = np.tanh(overlap / np.sqrt(resistance * front.sheet))
    return np.sqrt(2.0 / resistance * moment) * short, short**2


def collected(
    metal: Conducting, rise: Array, front: Conducting, contact: tuple[float, Array]
) -> tuple[Array, Array]:
    """Current per width that a drain takes from a film whose front edge lies ``rise`` below the metal [A/m], and its factor."""
    resistance, overlap = contact
    scaled = rise * metal.steepness
    with np.errstate(invalid="ignore", over="ignore"):
        near = metal.sheet / metal.steepness**2 * ((scaled - 1.0) * np.exp(scaled) + 1.0)
    least = metal.sheet * rise**2 / 2.0 * (1.0 + 2.0 * scaled / 3.0)
    near = np.where(scaled < 1e-4, least, near)
    far = rise * front.first - front.second + metal.second
    moment = np.maximum(np.where(scaled < _NEAR, near, far), 0.0)
    short = np.tanh(overlap / np.sqrt(resistance * front.sheet))
    return np.sqrt(2.0 / resistance * moment) * short, short**2


def crowded_current(
    film: Film, over: Array, across: Array, length: float, contact: GatedContact, swapped: NDArray[np.bool_]
) -> Array:
    """Current per width through source, channel and drain in a row [A/m], the gate filling the film under all three.

    Equation: I/W = i_s(y) = [F(y) − F(x)]/L = i_d(x), with y and x the drives of the channel's ends and F = ∫ G du

    Where both transfer lengths are next to nothing beside L the drops are taken to first order; else by Newton's method on
    i_d² − i_s², close to a line in the drop at the source, kept inside its bracket by halving.

    Parameters
    ----------
    film : Film
    over, across : array (n) [V]
        Drive at the source metal, and voltage from source to drain. Valid range: ``across`` at least 0.
    length : float [m]
    contact : GatedContact
    swapped : array (n) of bool
        Where the terminal called drain acts as the source.
    """
    rho = contact.specific_resistance
    ends = (contact.source_overlap, contact.drain_overlap)
    first, last = np.where(swapped, ends[1], ends[0]), np.where(swapped, ends[0], ends[1])
    source, drain = film.at(over), film.at(over - across)
    reaches = [
        reach / np.tanh(overlap / reach)
        for reach, overlap in (
            (np.sqrt(rho * source.sheet), first),
            (np.sqrt(rho * drain.sheet), last),
        )
    ]
    share = (reaches[0] + reaches[1]) / length
    current: Array = (source.first - drain.first) / length * (1.0 - np.minimum(share, _LITTLE))
    crowded = (share > _LITTLE) & (across > 0)
    if np.any(crowded):
        here = (over[crowded], across[crowded])
        contacts = ((rho, first[crowded]), (rho, last[crowded]))
        current[crowded] = _with_both(film, *here, length, *contacts)
    return current


def _with_both(
    film: Film,
    over: Array,
    across: Array,
    length: float,
    first: tuple[float, Array],
    last: tuple[float, Array],
) -> Array:
    """The current of :func:`crowded_current` where the contacts matter."""
    rho = first[0]
    source, drain = film.at(over), film.at(over - across)
    slopes = [
        np.sqrt(end.sheet / rho) * np.tanh(contact[1] / np.sqrt(rho * end.sheet))
        for end, contact in ((source, first), (drain, last))
    ]
    low, high = np.zeros_like(over), across.copy()
    # Begins with three resistances in a row; at the drain, where the film may hold next to nothing, only as far as it counts.
    middle = length * across / (source.first - drain.first)
    most = np.minimum(1.0 / slopes[1], middle)
    drop = np.minimum(across / slopes[0] / (1.0 / slopes[0] + middle + most), across / 2.0)
    found, left = np.zeros_like(over), np.arange(len(over))
    for _ in range(_ROUNDS):
        ends = (_of(source, left), _of(drain, left))
        contacts = ((rho, first[1][left]), (rho, last[1][left]))
        given, miss, fall = _missed(film, over[left], across[left], length, drop[left], ends, contacts)
        found[left] = given
        rises = miss > 0
        low[left], high[left] = (
            np.where(rises, drop[left], low[left]),
            np.where(rises, high[left], drop[left]),
        )
        moved = drop[left] + miss / np.maximum(fall, np.finfo(float).tiny)
        inside = (moved > low[left]) & (moved < high[left])
        drop[left] = np.where(inside, moved, (low[left] + high[left]) / 2.0)
        open_ = (np.abs(miss) > _EXACT * given**2) & (high[left] - low[left] > _EXACT * high[left])
        left = left[open_]
        if not len(left):
            break
    return found


def _of(conducting: Conducting, places: NDArray[np.intp]) -> Conducting:
    return Conducting(*(each[places] for each in conducting))


def _missed(
    film: Film,
    over: Array,
    across: Array,
    length: float,
    drop: Array,
    ends: tuple[Conducting, Conducting],
    contacts: tuple[tuple[float, Array], tuple[float, Array]],
) -> tuple[Array, Array, Array]:
    """Injected current per width, by how much its square misses the collected one's, and how the miss falls with the drop."""
    (source, drain), (first, last), rho = ends, contacts, contacts[0][0]
    front = film.at(over - drop)
    given, short = injected(source, drop, front, first)
    left = np.maximum(front.first - given * length, drain.first)
    end = np.clip(film.where(left), over - across, over)
    rise, there = end - (over - across), film.at(end)
    taken, reached = collected(drain, rise, there, last)
    # d(i²)/du = (2/ρ)·(voltage to the metal)·G, by the integrals' own definition.
    by_drop = 2.0 / rho * drop * front.sheet * short
    steeper = front.sheet + length * by_drop / np.maximum(2.0 * given, np.finfo(float).tiny)
    return given, taken**2 - given**2, by_drop + 2.0 / rho * rise * reached * steeper
