"""Charge of a gated semiconductor film: Poisson's equation across the film for many gate voltages at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from filmwright.device.checks import Array, above_zero, not_negative, numbers
from filmwright.device.laws import thermal_voltage
from filmwright.device.states import Filled, FilmStates, fillings_of
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY

NODES = 64
"""Nodes across the film, closest together at the insulator: the charge is right to 2e-3 for films up to 40 nm, better when thinner."""
_GRADING = 3.0
_STEEPEST = 6.0
"""Furthest that one Newton step may move a potential [thermal voltages]: electrons rise exponentially."""
_STEPS = 200
_CLOSE = 1e-9
"""Change of the potential at which it has converged [thermal voltages]."""


@dataclass(frozen=True, kw_only=True)
class GatedFilm:
    """A film on a gate insulator.

    Attributes
    ----------
    states : FilmStates
    thickness : float [m]
        Of the film. Above 0.
    areal_capacitance : float [F/m²]
        Of the insulator. Above 0.
    interface_states : float [1/(m²·V)]
        Evenly spread over energy where film and insulator meet. At least 0.
    interface_neutral : float [V]
        Fermi level over q, from the band edge, at which they carry no charge.
    back_charge : float [C/m²]
        Fixed, on the far face. Finite.
    """

    states: FilmStates
    thickness: float
    areal_capacitance: float
    interface_states: float = 0.0
    interface_neutral: float = 0.0
    back_charge: float = 0.0

    def __post_init__(self) -> None:
        above_zero(thickness=self.thickness, areal_capacitance=self.areal_capacitance)
        not_negative(interface_states=self.interface_states)
        if not (np.isfinite(self.interface_neutral) and np.isfinite(self.back_charge)):
            raise ValueError("interface_neutral and back_charge must be finite")


@dataclass(frozen=True, kw_only=True)
class FilmCharge:
    """What lies in the film at each drive.

    Attributes
    ----------
    drive : array (n) [V]
        Gate voltage less channel potential, less (Φ_gate − χ)/q, plus fixed interface charge over capacitance.
    potential : array (n, nodes) [V]
        Fermi level less band edge, over q, from the gate's side to the far face.
    place : array (nodes) [m]
        Distance from the gate insulator.
    free : array (n) [C/m²]
        Charge of the free electrons of the film, counted positive.
    gate : array (n) [C/m²]
        Charge on the gate.
    free_slope, gate_slope : array (n) [F/m²]
        Their derivatives with the drive: the second is the areal capacitance between gate and film at rest.
    """

    drive: Array
    potential: Array
    place: Array
    free: Array
    free_slope: Array
    gate: Array
    gate_slope: Array


def film_charge(
    film: GatedFilm, drive: Array, nodes: int | Array = NODES, start: Array | None = None
) -> FilmCharge:
    """Solve Poisson's equation across a film for every drive.

    Equation: d/dx(ε·dψ/dx) = −q·[N_D − n(ψ) − n_t(ψ)], with ε·dψ/dx = −C·(u − ψ_s) + q·D_it·(ψ_s − ψ_n) at the
    insulator and −ε·dψ/dx = −σ_b at the far face; ψ = (E_F − E_C)/q. Finite volumes, Newton on all drives together.

    Parameters
    ----------
    film : GatedFilm
    drive : array (n) [V]
        u. Valid range: finite.
    nodes : int [1] or array (nodes) [1]
        Across the film, or their places over its thickness, from 0 to 1. Valid range: at least 3.
    start : array (n, nodes) [V] or None
        Where Newton's method begins; None begins with a film that is equally filled all through.

    Returns
    -------
    FilmCharge

    Raises
    ------
    ValueError
        Outside the valid range.
    RuntimeError
        When Newton's method does not settle.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory); finite volumes:
    S. Selberherr, Analysis and Simulation of Semiconductor Devices, Springer 1984 (from memory).
    """
    u = numbers(drive)
    places = graded(nodes) if isinstance(nodes, int) else numbers(nodes)
    if u.ndim != 1 or not np.all(np.isfinite(u)) or len(places) < 3:
        raise ValueError("drive must be finite and of one axis, and nodes at least 3")
    place = film.thickness * places
    problem = _Problem(film, u, place)
    potential = problem.solved(start)
    free, _ = problem.fillings.electrons(potential)
    follows = problem.follows(potential)
    return FilmCharge(
        drive=u,
        potential=potential,
        place=place,
        free=ELEMENTARY_CHARGE * (free.density @ problem.volumes),
        free_slope=ELEMENTARY_CHARGE * ((free.slope * follows) @ problem.volumes),
        gate=film.areal_capacitance * (u - potential[:, 0]),
        gate_slope=film.areal_capacitance * (1.0 - follows[:, 0]),
    )


class _Problem:
    """Residual and Jacobian of all drives, one tridiagonal block each."""

    def __init__(self, film: GatedFilm, drive: Array, place: Array) -> None:
        self.film, self.drive = film, drive
        self.unit = thermal_voltage(film.states.temperature)
        gaps = np.diff(place)
        self.links = VACUUM_PERMITTIVITY * film.states.permittivity / gaps
        self.volumes = np.concatenate(([gaps[0] / 2], (gaps[1:] + gaps[:-1]) / 2, [gaps[-1] / 2]))
        self.fillings = fillings_of(film.states)
        self.shape = (len(drive), len(place))
        self.sheet = ELEMENTARY_CHARGE * film.interface_states

    def solved(self, start: Array | None = None) -> Array:
        even = np.repeat(self._even()[:, None], self.shape[1], axis=1) if start is None else start
        potential = np.array(even)
        for _ in range(_STEPS):
            move = self._newton(potential)
            potential += np.clip(move, -_STEEPEST * self.unit, _STEEPEST * self.unit)
            if np.max(np.abs(move), initial=0.0) < _CLOSE * self.unit:
                return potential
        raise RuntimeError(f"the potential across the film did not settle in {_STEPS} steps")

    def _even(self) -> Array:
        """Potential of a film that is equally filled all through: where Newton's method begins."""
        film = self.film
        low = np.minimum(self.fillings.lowest, self.drive)
        high = np.full_like(self.drive, self.fillings.highest)
        most = ELEMENTARY_CHARGE * float(self.fillings.every(high[:1]).density[0]) * film.thickness
        if film.areal_capacitance * float(np.max(self.drive, initial=0.0)) > most:
            raise ValueError(
                f"drive must be small enough for the states of the film, got {np.max(self.drive):g} V: "
                f"its band cannot hold that many electrons"
            )
        for _ in range(30):
            middle = (low + high) / 2
            every = self.fillings.every(middle)
            total = film.areal_capacitance * (self.drive - middle) + film.back_charge
            total -= self.sheet * (middle - film.interface_neutral)
            total += ELEMENTARY_CHARGE * (film.states.donors - every.density) * film.thickness
            low, high = np.where(total > 0, middle, low), np.where(total > 0, high, middle)
        return (low + high) / 2

    def _newton(self, potential: Array) -> Array:
        film = self.film
        every = self.fillings.every(potential)
        residual = ELEMENTARY_CHARGE * self.volumes * (film.states.donors - every.density)
        flux = self.links * np.diff(potential, axis=1)
        residual[:, :-1] += flux
        residual[:, 1:] -= flux
        residual[:, 0] += film.areal_capacitance * (self.drive - potential[:, 0])
        residual[:, 0] -= self.sheet * (potential[:, 0] - film.interface_neutral)
        residual[:, -1] += film.back_charge
        return tridiagonal_blocks(self.links, self._diagonal(every), residual)

    def follows(self, potential: Array) -> Array:
        """How each potential follows the drive: the derivative of the solution."""
        pulled = np.zeros(self.shape)
        pulled[:, 0] = self.film.areal_capacitance
        every = self.fillings.every(potential)
        return tridiagonal_blocks(self.links, self._diagonal(every), pulled)

    def _diagonal(self, every: Filled) -> Array:
        diagonal: Array = ELEMENTARY_CHARGE * self.volumes * every.slope
        diagonal[:, :-1] += self.links
        diagonal[:, 1:] += self.links
        diagonal[:, 0] += self.film.areal_capacitance + self.sheet
        return diagonal


def tridiagonal_blocks(links: Array, diagonal: Array, right: Array) -> Array:
    """Solve one symmetric tridiagonal system per row; all rows share the links, which stand with a minus beside the diagonal."""
    from scipy.linalg import solveh_banded

    rows, nodes = diagonal.shape
    banded = np.zeros((2, rows * nodes))
    banded[1] = diagonal.ravel()
    beside = np.zeros((rows, nodes))
    beside[:, 1:] = -links
    banded[0] = beside.ravel()
    solved: Array = solveh_banded(banded, right.ravel(), overwrite_ab=True, check_finite=False)
    return solved.reshape(rows, nodes)


def graded(nodes: int) -> Array:
    """Places from 0 to 1, closest together at 0, where electrons gather."""
    even = np.arange(nodes) / (nodes - 1)
    result: Array = np.expm1(_GRADING * even) / np.expm1(_GRADING)
    return result
