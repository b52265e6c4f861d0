"""Drift and diffusion of electrons along a channel in two dimensions: short channels, injection at contacts, steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from filmwright.device.channel_mesh import ChannelSection
from filmwright.device.checks import Array, numbers
from filmwright.device.electrostatics import graded
from filmwright.device.laws import thermal_voltage
from filmwright.device.states import Filled, fillings_of
from filmwright.numerics import BlockTridiagonal, gathered_places
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY, to_si

ACROSS, BENEATH = 21, 5
"""Nodes across the film, and across the insulator without the gate and without the film's own face."""
_AT_FACE = to_si(0.2, "nm")
"""Gap between nodes at both faces of the film, where electrons gather and where contacts fill it."""
_FARTHEST = 20.0
"""Furthest that one Newton step may move a potential [thermal voltages]."""
_STEPS, _LEFT = 60, 1e-9
"""Steps, and what the last one may leave [thermal voltages]: of a step of Newton's method that is about its square."""
_AGAIN = 0.3
"""Step [thermal voltages] up to which the next one takes the same matrix: it gains as much as this one was small."""
_NEAR = 2.0
"""Move [thermal voltages] from which the quasi-Fermi level is made anew to carry one current through the potential."""
Flags = NDArray[np.bool_]
_Index = slice | tuple[slice, ...]
_LAST = 4
"""Answers before through which the next one is guessed."""
_SMALLEST = 1e-3
"""Part of a bias step below which halving it is given up."""


@dataclass(frozen=True, kw_only=True)
class Bias:
    """A section at one bias.

    Attributes
    ----------
    gate, drain : float [V]
        Gate voltage less (Φ_gate − χ)/q, and drain voltage, both referred to the source.
    potential : array (columns, BENEATH + ACROSS) [V]
        Band edge downwards over q: insulator from the gate's side, then film.
    quasi_fermi : array (columns, ACROSS) [V]
        Of the electrons, downwards: 0 at the source, the drain voltage at the drain.
    current : float [A/m]
        Into the drain, per width.
    steps : int
        Newton steps that it took.
    """

    gate: float
    drain: float
    potential: Array
    quasi_fermi: Array
    current: float
    steps: int


def channel_currents(
    section: ChannelSection, gate: Array, drain: float, tell: Callable[[int], None] | None = None
) -> tuple[Bias, ...]:
    """A section at one gate voltage after the other, each begun from the one before.

    Equation: div(ε·grad ψ) = −q·[N_D − n − n_t], div J = 0 with J = −q·µ·n·grad V; n and n_t from ψ − V by the states of the
    film. Finite volumes; the current between two nodes after Scharfetter and Gummel with the degeneracy in its
    potential; Newton on ψ and V together; a mobility that follows the electrons of its column is renewed at every step.

    Parameters
    ----------
    section : ChannelSection
    gate : array (n) [V]
        Gate voltages less (Φ_gate − χ)/q. Valid range: finite.
    drain : float [V]
        Valid range: finite.
    tell : function or None
        Is told how many gate voltages are done.

    Returns
    -------
    tuple (n) of Bias

    Raises
    ------
    ValueError
        Outside the valid range.
    RuntimeError
        When Newton's method does not settle even in small steps of the bias.

    References
    ----------
    D. L. Scharfetter, H. K. Gummel, IEEE Trans. Electron Devices 16, 64 (1969), doi:10.1109/T-ED.1969.16566 (from memory);
    S. Selberherr, Analysis and Simulation of Semiconductor Devices, Springer 1984 (from memory).
    """
    gates = numbers(gate)
    if gates.ndim != 1 or not np.all(np.isfinite(gates)) or not np.isfinite(drain):
        raise ValueError("gate must be finite and of one axis, drain finite")
    grid = _Grid(section)
    found: list[Bias] = []
    if not len(gates):
        return ()
    # Where the channel is fullest the drain voltage is taken up most easily; from there the gate goes down.
    order = np.argsort(-gates)
    first = float(gates[order[0]])
    state = _towards(grid, grid.rest(first), first, float(drain))
    for place in order:
        value = float(gates[place])
        try:
            state = _newton(
                grid, _guess(found[-_LAST:], value) if len(found) > 1 else state, value, float(drain)
            )
        except _UnsettledError:
            state = _towards(grid, state, value, float(drain))
        found.append(state)
        if tell is not None:
            tell(len(found))
    return tuple(found[k] for k in np.argsort(order))


def across_film(section: ChannelSection) -> Array:
    """Places of the nodes across the film over its thickness, closest together at both faces; :data:`ACROSS` of them.

    Parameters
    ----------
    section : ChannelSection

    Returns
    -------
    array (ACROSS,)
        From 0 to 1.
    """
    thickness = float(np.median(section.film))
    places = gathered_places(0.0, thickness, (), min(_AT_FACE, thickness / (ACROSS - 1)), ACROSS)
    even = np.linspace(0.0, 1.0, ACROSS)
    result: Array = np.interp(even, np.linspace(0.0, 1.0, len(places)), places) / thickness
    return result


class _UnsettledError(Exception):
    """Newton's method left the neighbourhood of the answer."""


def _guess(last: list[Bias], gate: float) -> Bias:
    """The polynomial through the biases before."""
    gates = [each.gate for each in last]
    if len(set(gates)) < len(gates):
        return last[-1]
    weights = [
        float(np.prod([(gate - other) / (own - other) for other in gates if other != own])) for own in gates
    ]
    pairs = list(zip(weights, last, strict=True))
    return replace(
        last[-1],
        potential=sum((weight * each.potential for weight, each in pairs), np.zeros(())),
        quasi_fermi=sum((weight * each.quasi_fermi for weight, each in pairs), np.zeros(())),
    )


def _towards(grid: _Grid, state: Bias, gate: float, drain: float) -> Bias:
    """The bias asked for, in steps that are halved where Newton's method does not settle."""
    first, size, reached = state, 1.0, 0.0
    while reached < 1.0:
        part = min(reached + size, 1.0)
        aim = (first.gate + part * (gate - first.gate), first.drain + part * (drain - first.drain))
        try:
            state = _newton(grid, state, *aim)
        except _UnsettledError as left:
            size /= 2.0
            if size < _SMALLEST:
                raise RuntimeError(
                    f"no answer found at a gate of {aim[0]:g} V, a drain of {aim[1]:g} V"
                ) from left
            continue
        reached, size = part, min(size * 2.0, 1.0)
    return state


def _newton(grid: _Grid, start: Bias, gate: float, drain: float) -> Bias:
    """Newton's method; once it is close, a matrix serves for several steps."""
    potential, quasi_fermi = start.potential.copy(), start.quasi_fermi.copy()
    matrix: _Matrix | None = None
    before = np.inf
    for step in range(1, _STEPS + 1):
        electrons = grid.electrons(potential, quasi_fermi)
        fresh = matrix is None
        if matrix is None:
            matrix = grid.matrix(electrons, quasi_fermi)
        try:
            move = matrix.move(grid.balance(electrons, potential, quasi_fermi, (gate, drain)))
        except np.linalg.LinAlgError as refused:
            raise _UnsettledError from refused
        if not np.all(np.isfinite(move)):
            raise _UnsettledError
        farthest = float(np.max(np.abs(move))) / grid.unit
        potential += np.clip(move[:, : grid.rows], -_FARTHEST * grid.unit, _FARTHEST * grid.unit)
        quasi_fermi += np.clip(move[:, grid.rows :], -_FARTHEST * grid.unit, _FARTHEST * grid.unit)
        if farthest > _NEAR:
            quasi_fermi = grid.carried(potential, quasi_fermi, drain)
        left = farthest**2 if fresh else farthest**2 / before
        if left < _LEFT:
            current = grid.current(potential, quasi_fermi)
            return Bias(
                gate=gate,
                drain=drain,
                potential=potential,
                quasi_fermi=quasi_fermi,
                current=current,
                steps=step,
            )
        if farthest > (_AGAIN if fresh else _AGAIN * before):
            matrix = None
        before = farthest
    raise _UnsettledError


@dataclass(frozen=True)
class _Slopes:
    """Derivatives of the current between neighbours a and b, over q·µ·φ, with their potentials and quasi-Fermi levels."""

    by_a: tuple[Array, Array]
    by_b: tuple[Array, Array]


class _Grid:
    """Volumes and links of a section, and Newton's system on them."""

    def __init__(self, section: ChannelSection) -> None:
        self.section = section
        states = section.states
        self.unit = thermal_voltage(states.temperature)
        self.fillings = fillings_of(states)
        self.rows = BENEATH + ACROSS
        width = np.diff(section.along)
        self.wide = np.concatenate(([width[0] / 2], (width[1:] + width[:-1]) / 2, [width[-1] / 2]))
        film = np.diff(across_film(section)) * section.film[:, None]
        below = np.diff(1.0 - graded(BENEATH + 2)[::-1]) * section.insulator[:, None]
        own = VACUUM_PERMITTIVITY * states.permittivity
        under = VACUUM_PERMITTIVITY * section.insulator_permittivity
        self.upward = np.concatenate((under / below, own / film), axis=1) * self.wide[:, None]
        """Links of a column to the row above, the gate's first."""
        self.high = _halves(film)
        shares = np.zeros((len(width) + 1, self.rows))
        # The volume of the gate's own row is not wanted; the film's face belongs to both.
        shares[:, : BENEATH + 1] += under * _halves(below)[:, 1:]
        shares[:, BENEATH:] += own * self.high
        self.sideways = _between(shares) / width[:, None]
        self.volume = self.high * self.wide[:, None]
        self.open_up = self.wide[:, None] / film
        self.open_sideways = _between(self.high) / width[:, None]
        self.lead_up, self.lead_sideways = self.open_up, self.open_sideways
        self.face = ELEMENTARY_CHARGE * section.interface_states * self.wide
        self.source, self.drain = self._covered()
        self.into_metal: Array | None = None
        if section.contact_resistivity > 0:
            per_width = self.wide[:, None] / section.contact_resistivity
            eased = ELEMENTARY_CHARGE * section.mobility * self.unit
            self.into_metal = per_width / eased * np.ones(self.high.shape)

    def _covered(self) -> tuple[Flags, Flags]:
        """Film nodes under the two contacts."""
        section = self.section
        source = np.zeros(self.high.shape, dtype=bool)
        drain = source.copy()
        row = -1 if section.contacts == "far" else 0
        slack = 1e-9 * (section.along[-1] - section.along[0])
        source[:, row] = section.along <= section.source_ends + slack
        drain[:, row] = section.along >= section.drain_begins - slack
        return source, drain

    def rest(self, gate: float) -> Bias:
        """A first guess without drain voltage: every column as if it stood alone and evenly filled."""
        from filmwright.device.electrostatics import GatedFilm, film_charge

        section = self.section
        columns = len(section.along)
        film = GatedFilm(
            states=section.states,
            thickness=float(np.median(section.film)),
            areal_capacitance=VACUUM_PERMITTIVITY
            * section.insulator_permittivity
            / float(np.median(section.insulator)),
            interface_states=section.interface_states,
            interface_neutral=section.interface_neutral,
            back_charge=section.back_charge,
        )
        across = film_charge(film, np.array([gate]), across_film(section)).potential[0]
        rise = (1.0 - graded(BENEATH + 2)[::-1])[1:-1]
        column = np.concatenate((gate + (across[0] - gate) * rise, across))
        return Bias(
            gate=gate,
            drain=0.0,
            potential=np.tile(column, (columns, 1)),
            quasi_fermi=np.zeros((columns, ACROSS)),
            current=0.0,
            steps=0,
        )

    def electrons(self, potential: Array, quasi_fermi: Array) -> tuple[Filled, Filled]:
        """Free electrons, and all of them; the mobility of every column follows those that it now holds."""
        free, every = self.fillings.electrons(potential[:, BENEATH:] - quasi_fermi)
        self._ease(free)
        return free, every

    def balance(
        self,
        electrons: tuple[Filled, Filled],
        potential: Array,
        quasi_fermi: Array,
        voltages: tuple[float, float],
    ) -> Array:
        """What is wrong with the charge and the current of every node, and with the values under the contacts."""
        (free, every), (gate, drain) = electrons, voltages
        section, rows = self.section, self.rows
        wrong = np.zeros((len(potential), rows + ACROSS))
        charge, current = wrong[:, :rows], wrong[:, rows:]
        _spread(charge, self.upward[:, 1:] * np.diff(potential, axis=1), 1)
        _spread(charge, self.sideways * np.diff(potential, axis=0), 0)
        charge[:, 0] += self.upward[:, 0] * (gate - potential[:, 0])
        charge[:, BENEATH:] += ELEMENTARY_CHARGE * self.volume * (section.states.donors - every.density)
        level = potential[:, BENEATH] - quasi_fermi[:, 0]
        charge[:, BENEATH] -= self.face * (level - section.interface_neutral)
        charge[:, -1] += section.back_charge * self.wide
        _spread(current, self._flows(free, quasi_fermi, np.s_[:, :-1], np.s_[:, 1:], self.lead_up), 1)
        _spread(current, self._flows(free, quasi_fermi, np.s_[:-1], np.s_[1:], self.lead_sideways), 0)
        for covered, level_held in ((self.source, 0.0), (self.drain, drain)):
            own = quasi_fermi[covered]
            # Against a resistance of the interface the film takes its charge at the contact with it.
            charge[:, BENEATH:][covered] = (
                potential[:, BENEATH:][covered]
                - section.contact_level
                - (own if self.into_metal is not None else level_held)
            )
            if self.into_metal is None:
                current[covered] = own - level_held
            else:
                current[covered] += self.into_metal[covered] * (own - level_held)
        return wrong

    def matrix(self, electrons: tuple[Filled, Filled], quasi_fermi: Array) -> _Matrix:
        """How what is wrong follows the potentials and quasi-Fermi levels."""
        free, every = electrons
        matrix = _Matrix(len(quasi_fermi), self.rows)
        self._poisson(matrix, every)
        self._continuity(
            matrix,
            self._slopes(free, quasi_fermi, np.s_[:, :-1], np.s_[:, 1:], self.lead_up),
            self._slopes(free, quasi_fermi, np.s_[:-1], np.s_[1:], self.lead_sideways),
        )
        self._contacts(matrix)
        return matrix

    def _ease(self, free: Filled) -> None:
        """The mobility of every column follows the electrons that it now holds; Newton's matrix takes it as given."""
        section = self.section
        if not section.mobility_exponent:
            return
        held = np.maximum((free.density * self.high).sum(axis=1) / section.reference, np.finfo(float).tiny)
        ease = held**section.mobility_exponent
        self.lead_up = self.open_up * ease[:, None]
        self.lead_sideways = self.open_sideways * _between(ease)[:, None]

    def _poisson(self, matrix: _Matrix, every: Filled) -> None:
        rows = self.rows
        slope = np.zeros((len(self.wide), rows))
        slope -= self.upward
        slope[:, :-1] -= self.upward[:, 1:]
        slope[:-1] -= self.sideways
        slope[1:] -= self.sideways
        held = ELEMENTARY_CHARGE * self.volume * every.slope
        held[:, 0] += self.face
        slope[:, BENEATH:] -= held
        row, film = np.arange(rows), np.arange(BENEATH, rows)
        diagonal = matrix.diagonal
        diagonal[:, row, row] = slope
        diagonal[:, row[:-1], row[1:]] = diagonal[:, row[1:], row[:-1]] = self.upward[:, 1:]
        diagonal[:, film, film + ACROSS] += held
        matrix.behind.potential[:] = matrix.before.potential[:] = self.sideways

    def _continuity(self, matrix: _Matrix, across: _Slopes, along: _Slopes) -> None:
        rows = self.rows
        diagonal, behind, before = matrix.diagonal, matrix.behind, matrix.before
        low = np.arange(rows, rows + ACROSS - 1)
        for shift, by_a, by_b in (
            (ACROSS, across.by_a[0], across.by_b[0]),
            (0, across.by_a[1], across.by_b[1]),
        ):
            diagonal[:, low, low - shift] += by_a
            diagonal[:, low, low + 1 - shift] += by_b
            diagonal[:, low + 1, low - shift] -= by_a
            diagonal[:, low + 1, low + 1 - shift] -= by_b
        row = np.arange(rows, rows + ACROSS)
        for shift, by_a, by_b in ((ACROSS, along.by_a[0], along.by_b[0]), (0, along.by_a[1], along.by_b[1])):
            diagonal[:-1, row, row - shift] += by_a
            diagonal[1:, row, row - shift] -= by_b
        behind.current[:], behind.quasi_fermi[:] = along.by_b
        before.current[:], before.quasi_fermi[:] = -along.by_a[0], -along.by_a[1]

    def _contacts(self, matrix: _Matrix) -> None:
        """Rows under a contact hold its values instead, or let the current into the metal against a resistance."""
        diagonal, covered = matrix.diagonal, self.source | self.drain
        column, row = np.nonzero(covered)
        for first in (BENEATH,) if self.into_metal is not None else (BENEATH, self.rows):
            place = first + row
            diagonal[column, place] = 0.0
            diagonal[column, place, place] = 1.0
        for couplings, own in ((matrix.behind, covered[:-1]), (matrix.before, covered[1:])):
            couplings.potential[:, BENEATH:][own] = 0.0
            if self.into_metal is None:
                couplings.current[own] = couplings.quasi_fermi[own] = 0.0
        if self.into_metal is not None:
            level = self.rows + row
            diagonal[column, BENEATH + row, level] = -1.0
            diagonal[column, level, level] += self.into_metal[column, row]

    def _flows(self, free: Filled, quasi_fermi: Array, a: _Index, b: _Index, lead: Array) -> Array:
        """The current from the nodes a to the nodes b, over q·µ·φ."""
        na, nb = free.density[a], free.density[b]
        step = (quasi_fermi[b] - quasi_fermi[a]) / self.unit + np.log(nb / na)
        result: Array = lead * (nb * _bernoulli(step)[0] - na * _bernoulli(-step)[0])
        return result

    def _slopes(self, free: Filled, quasi_fermi: Array, a: _Index, b: _Index, lead: Array) -> _Slopes:
        """How that current follows the potentials and quasi-Fermi levels at both ends."""
        unit = self.unit
        (na, nb), (sa, sb) = (free.density[a], free.density[b]), (free.slope[a], free.slope[b])
        step = (quasi_fermi[b] - quasi_fermi[a]) / unit + np.log(nb / na)
        forward, forward_slope = _bernoulli(step)
        reverse, reverse_slope = _bernoulli(-step)
        pull = nb * forward_slope + na * reverse_slope
        ra, rb = sa / na, sb / nb
        return _Slopes(
            by_a=(lead * (-sa * reverse - pull * ra), lead * (sa * reverse - pull * (1.0 / unit - ra))),
            by_b=(lead * (sb * forward + pull * rb), lead * (-sb * forward + pull * (1.0 / unit - rb))),
        )

    def carried(self, potential: Array, quasi_fermi: Array, drain: float) -> Array:
        """The quasi-Fermi level that carries one current through a given potential: linear in exp(−V/φ)."""
        free, _ = self.electrons(potential, quasi_fermi)
        # Density over exp(−V/φ): what the potential offers, with the degeneracy of the last guess.
        offered = np.log(free.density) + quasi_fermi / self.unit
        up, side = (
            _conductance(offered, np.s_[:, :-1], np.s_[:, 1:]),
            _conductance(offered, np.s_[:-1], np.s_[1:]),
        )
        up, side = up + np.log(self.lead_up), side + np.log(self.lead_sideways)
        most = np.full(offered.shape, -np.inf)
        for links, low, high in ((up, np.s_[:, :-1], np.s_[:, 1:]), (side, np.s_[:-1], np.s_[1:])):
            most[low], most[high] = np.maximum(most[low], links), np.maximum(most[high], links)
        level = np.where(self.source, 0.0, drain)
        if self.into_metal is not None:
            level = np.clip(quasi_fermi, min(0.0, drain), max(0.0, drain))
        return self._harmonic(up, side, most, (np.exp(-level / self.unit), drain))

    def _harmonic(self, up: Array, side: Array, most: Array, held_at: tuple[Array, float]) -> Array:
        """−φ·ln of the function that is the mean of its neighbours, weighted by their links, between the contacts."""
        columns = len(most)
        diagonal, row = np.zeros((columns, ACROSS, ACROSS)), np.arange(ACROSS)
        right, held = np.zeros((columns, ACROSS)), self.source | self.drain
        total = np.zeros_like(most)
        for own, other in ((np.s_[:, :-1], (row[:-1], row[1:])), (np.s_[:, 1:], (row[1:], row[:-1]))):
            part = np.where(held[own], 0.0, np.exp(up - most[own]))
            total[own] += part
            diagonal[:, other[0], other[1]] = -part
        behind = np.where(held[:-1], 0.0, np.exp(side - most[:-1]))
        before = np.where(held[1:], 0.0, np.exp(side - most[1:]))
        total[:-1] += behind
        total[1:] += before
        diagonal[:, row, row] = np.where(held, 1.0, total)
        ends, drain = held_at
        right[held] = ends[held]
        places = np.stack((row, row), axis=1)
        found = BlockTridiagonal(diagonal, -before, -behind, places).solve(right)
        lowest, highest = sorted((1.0, float(np.exp(-drain / self.unit))))
        result: Array = -self.unit * np.log(np.clip(found, lowest, highest))
        return result

    def currents(self, potential: Array, quasi_fermi: Array) -> Array:
        """Current through every gap between columns, towards the source [A/m]."""
        free, _ = self.electrons(potential, quasi_fermi)
        along = self._flows(free, quasi_fermi, np.s_[:-1], np.s_[1:], self.lead_sideways)
        result: Array = -ELEMENTARY_CHARGE * self.section.mobility * self.unit * along.sum(axis=1)
        return result

    def current(self, potential: Array, quasi_fermi: Array) -> float:
        """Of the channel: the median over the gaps between the contacts, which are all alike but for rounding."""
        section = self.section
        middle = (section.along[1:] + section.along[:-1]) / 2
        inside = (middle > section.source_ends) & (middle < section.drain_begins)
        return float(np.median(self.currents(potential, quasi_fermi)[inside]))


class _Matrix:
    """Newton's matrix: blocks on the diagonal, and the few elements that couple a column to the next and to the one before."""

    def __init__(self, columns: int, rows: int) -> None:
        size = rows + ACROSS
        self.diagonal = np.zeros((columns, size, size))
        self.behind = _Couplings(columns - 1, rows)
        self.before = _Couplings(columns - 1, rows)
        low, high, film = np.arange(rows), np.arange(rows, size), np.arange(BENEATH, rows)
        self.places = np.stack((np.concatenate((low, high, high)), np.concatenate((low, film, high))), axis=1)

    @cached_property
    def eliminated(self) -> BlockTridiagonal:
        """Ready to be solved with."""
        return BlockTridiagonal(self.diagonal, self.before.values, self.behind.values, self.places)

    def move(self, wrong: Array) -> Array:
        """What puts right what is wrong, array (columns, rows + ACROSS)."""
        return self.eliminated.solve(-wrong)


class _Couplings:
    """Of columns to their neighbours: of each potential to its like, of each current to both values of its node."""

    def __init__(self, gaps: int, rows: int) -> None:
        self.values = np.zeros((gaps, rows + 2 * ACROSS))
        self.potential, self.current, self.quasi_fermi = np.split(self.values, (rows, rows + ACROSS), axis=1)


def _spread(kept: Array, flow: Array, axis: int) -> None:
    """What flows from each node to the next, added to the one that it enters and taken from the other."""
    low, high = (np.s_[:-1], np.s_[1:]) if axis == 0 else (np.s_[:, :-1], np.s_[:, 1:])
    kept[low] += flow
    kept[high] -= flow


def _bernoulli(x: Array) -> tuple[Array, Array]:
    """x/(eˣ − 1) and its derivative."""
    x = np.clip(x, -600.0, 600.0)
    small = np.abs(x) < 1e-3
    safe = np.where(small, 1.0, x)
    value = np.where(small, 1.0 - x / 2.0 + x * x / 12.0, safe / np.expm1(safe))
    slope = np.where(small, -0.5 + x / 6.0, value * (1.0 - value) / safe - value)
    return value, slope


def _conductance(offered: Array, a: _Index, b: _Index) -> Array:
    """Logarithm of the link between two nodes for exp(−V/φ): the offered density times Bernoulli's function of its rise."""
    forward, _ = _bernoulli(offered[b] - offered[a])
    result: Array = offered[b] + np.log(forward)
    return result


def _halves(gaps: Array) -> Array:
    """Height that belongs to each node: half of the gap on either side."""
    result = np.zeros((gaps.shape[0], gaps.shape[1] + 1))
    result[:, :-1] += gaps / 2
    result[:, 1:] += gaps / 2
    return result


def _between(values: Array) -> Array:
    """Means of neighbouring columns."""
    result: Array = (values[1:] + values[:-1]) / 2
    return result
