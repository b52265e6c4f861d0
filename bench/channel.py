"""A transfer curve in two dimensions, and one step of Newton's method beside general sparse elimination."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.sparse import coo_matrix, csc_matrix
from scipy.sparse.linalg import spsolve

from filmwright.device import (
    ChannelSection,
    FilmStates,
    GatedFilm,
    areal_capacitance,
    channel_currents,
    even_section,
)
from filmwright.device.drift_diffusion import ACROSS, BENEATH, _Grid, _Matrix
from filmwright.units import to_si

Row = tuple[str, float, str, float, str]

POINTS, LEAST_NODES = 50, 15_000
FILM, INSULATOR, PERMITTIVITY = to_si(25, "nm"), to_si(40, "nm"), 8.0


def channel() -> ChannelSection:
    """A channel of 10 µm with exponential tail states, on as many nodes as asked for."""
    states = FilmStates(
        permittivity=10.0,
        density_of_states=5e24,
        donors=1e22,
        temperature=300.0,
        tail_density=5e25,
        tail_energy=0.03,
    )
    film = GatedFilm(
        states=states, thickness=FILM, areal_capacitance=areal_capacitance(PERMITTIVITY, INSULATOR)
    )
    columns = -(-LEAST_NODES // (ACROSS + BENEATH)) + 10
    return even_section(
        length=to_si(10, "um"), overlap=to_si(3, "um"), film=film, insulator=INSULATOR, columns=columns
    )


def _step(section: ChannelSection, gate: float, drain: float) -> tuple[_Matrix, np.ndarray]:
    """Newton's matrix at a bias, and what a gate moved by a tenth of a volt leaves wrong."""
    grid = _Grid(section)
    bias = channel_currents(section, np.array([gate]), drain)[0]
    electrons = grid.electrons(bias.potential, bias.quasi_fermi)
    wrong = grid.balance(electrons, bias.potential, bias.quasi_fermi, (gate + 0.1, drain))
    return grid.matrix(electrons, bias.quasi_fermi), wrong


def sparse(system: _Matrix, wrong: np.ndarray) -> tuple[csc_matrix, np.ndarray]:
    """The same system for a general library, rows divided by their largest element as ours are."""
    blocks, n = wrong.shape
    scale = 1.0 / np.max(np.abs(system.diagonal), axis=2)
    k, i, j = np.nonzero(system.diagonal)
    rows, columns, values = [k * n + i], [k * n + j], [system.diagonal[k, i, j] * scale[k, i]]
    row, column = system.places.T
    first = np.arange(blocks - 1)[:, None] * n
    for couplings, own, other in ((system.behind, 0, n), (system.before, n, 0)):
        rows.append((first + own + row).ravel())
        columns.append((first + other + column).ravel())
        values.append((couplings.values * scale.ravel()[rows[-1]].reshape(couplings.values.shape)).ravel())
    cells = (np.concatenate(rows), np.concatenate(columns))
    return coo_matrix((np.concatenate(values), cells), shape=(blocks * n,) * 2).tocsc(), (
        -wrong * scale
    ).ravel()


def _seconds(call: Callable[[], object]) -> float:
    begin = time.perf_counter()
    call()
    return time.perf_counter() - begin


def measure() -> list[Row]:
    """Rows of the table: a curve beside its one-step peer scaled to it, and one step beside a general solver."""
    section = channel()
    nodes = len(section.along) * (ACROSS + BENEATH)
    gates = np.linspace(-1.0, 8.0, POINTS)
    found: list[int] = []
    curve = _seconds(lambda: found.extend(each.steps for each in channel_currents(section, gates, 0.1)))
    kept, wrong = _step(section, 4.0, 0.1)
    matrix, right = sparse(kept, wrong)
    own, peer = [], []
    for _ in range(3):
        again = _Matrix(wrong.shape[0], wrong.shape[1] - ACROSS)
        again.diagonal, again.behind, again.before = kept.diagonal, kept.behind, kept.before
        own.append(_seconds(lambda again=again: again.move(wrong)))  # type: ignore[misc]
        peer.append(_seconds(lambda: spsolve(matrix, right)))
    ours, theirs = statistics.median(own), statistics.median(peer)
    size = f"{nodes} nodes, {sum(found)} steps for {POINTS} points"
    name = "SuperLU of scipy, its default ordering"
    return [
        ("2-D channel, one step", ours, name, theirs, f"{nodes} nodes"),
        ("2-D transfer curve", curve, f"{name}, for its steps alone", theirs * sum(found), size),
    ]
