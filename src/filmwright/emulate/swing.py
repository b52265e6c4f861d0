"""The light that the films beneath send back into the resist: how the dose that it takes up swings with its thickness."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.trace import State, Trace
from filmwright.knowledge import Book, Resist, optical
from filmwright.process import (
    MEAN_SWING,
    Derivation,
    coupled_light,
    extinction_of_absorption,
    swing_share,
)
from filmwright.units import show
from filmwright.wafer import Column, Plan

_LINES = {"365 nm": "i line", "405 nm": "h line", "436 nm": "g line"}
_POINTS = 81
"""Thicknesses over one period: the extremes are then found to a thousandth of a period."""


def with_swing(trace: Trace, facts: Book, only: Iterable[str] = ()) -> Trace:
    """The trace with the swing of the dose told at its exposures; the optical data are opened for it.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : iterable of str
        Numbers of the steps to look at; empty for all exposures.
    """
    wanted, states = set(only), []
    for place, state in enumerate(trace.states):
        derived = None
        if state.step.kind == "expose" and (not wanted or state.step.number in wanted):
            plan = trace.states[place - 1].wafer.plan if place else trace.start.plan
            derived = swing_of(plan, facts.resist(state.step.resist), facts)
        states.append(_told(state, derived) if derived is not None else state)
    return replace(trace, states=tuple(states))


def _told(state: State, derived: Derivation) -> State:
    swing, period = derived.result or 0.0, derived.inputs[0]
    words = (
        f"dose taken up by the resist swings by {100 * swing:.2g} % every {show(period.value, 'length')} "
        "of its thickness (computed)"
    )
    return replace(
        state, look=(*state.look, words), follows=(*state.follows, follows("swing of the dose", derived))
    )


def swing_of(plan: Plan, resist: Resist, facts: Book) -> Derivation | None:
    """Swing of the light that the resist takes up around its thickness, over the films that cover most of the die.

    None where no such resist lies on the wafer, or the optics of the resist or of a film are not on file.

    Parameters
    ----------
    plan : Plan
        Before the exposure.
    resist : Resist
    facts : Book
        Lines of the mercury lamp.
    """
    areas: dict[Column, float] = {}
    for cell in plan.once.cells:
        if cell.column.top.material == resist.material:
            areas[cell.column] = areas.get(cell.column, 0.0) + cell.region.area
    if not areas or "index while exposed" not in resist.values:
        return None
    column = max(areas, key=lambda each: areas[each])
    depth, under = column.top.thickness, list(reversed(column.layers[:-1]))
    lines = np.array([facts.models["mercury lamp"][name].value for name in _LINES.values()])
    seen = resist_index(resist, lines)
    constants = {layer.material: optical(layer.material) for layer in under}
    if seen is None or any(each is None for each in constants.values()):
        return None
    index = {name: each.index(lines) for name, each in constants.items() if each is not None}
    n = resist.values["index while exposed"].value
    period = float(lines.mean()) / (2 * n)
    depths = depth + period * np.linspace(-0.5, 0.5, _POINTS)
    films = [(layer.material, layer.thickness) for layer in under]
    coupled = coupled_light(depths, lines, seen, films, index).mean(axis=1)
    # What a thicker resist takes up more of is no swing: the slope over the period is taken out.
    level = coupled - np.linspace(coupled[0], coupled[-1], _POINTS) + coupled.mean()
    over = " on ".join(layer.material for layer in under[:2])
    return MEAN_SWING.derive(
        lambda period, most, least: swing_share([most, least]),
        {
            "period": chosen(
                "p", f"period of thickness on {over}", period, "nm", "mean wavelength over twice the index"
            ),
            "most": chosen("A_max", "most light taken up", float(level.max()), "%", "multilayer optics"),
            "least": chosen("A_min", "least light taken up", float(level.min()), "%", "multilayer optics"),
        },
        unit="%",
        notes=(f"mean of the lines g, h and i, resist of {show(depth, 'length')} on {over}",),
    )


def resist_index(resist: Resist, lines: NDArray[np.float64]) -> NDArray[np.complex128] | None:
    """n − i·k of an unexposed resist at the lines of the lamp; None where its absorption is not on file."""
    n, found = resist.values["index while exposed"].value, []
    for name, line in zip(_LINES, lines, strict=True):
        if f"Dill A at {name}" not in resist.values or f"Dill B at {name}" not in resist.values:
            return None
        alpha = resist.values[f"Dill A at {name}"].value + resist.values[f"Dill B at {name}"].value
        found.append(n - 1j * extinction_of_absorption(alpha, float(line)))
    return np.array(found)
