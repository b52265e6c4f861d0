"""The light that the films beneath send back into the resist: swing of the dose, dose of each window, latent image, time to clear."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.latent_image import (
    Lit,
    Window,
    bleached_at,
    clearing_of,
    line_waves,
    lit,
    resist_index,
    told_of,
)
from filmwright.emulate.trace import State, Trace
from filmwright.emulate.undercut import LOWER, undercut_of
from filmwright.knowledge import Book, Resist, optical
from filmwright.process import Derivation, Setting, coupled_light, resist_laws, swing_share
from filmwright.units import show

_POINTS = 41
"""Thicknesses over one period: the extremes are then found to some thousandths of a period."""


def with_swing(trace: Trace, facts: Book, only: Iterable[str] = ()) -> Trace:
    """The trace with what the optics of its exposures bring: swing, dose of each window, latent image, time to clear.

    The optical data are opened for it.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : iterable of str
        Numbers of the steps to look at; empty for all exposures.
    """
    wanted = set(only)
    exposures = {s.step.name: s.step.number for s in trace.states if s.step.kind == "expose"}
    # A development asks for the image of its own exposure.
    asked = [exposures.get(s.step.name, "") for s in trace.states if s.step.number in wanted]
    optics = lit(trace, facts, asked) if asked or not wanted else {}
    states = []
    for state in trace.states:
        kind, here = state.step.kind, not wanted or state.step.number in wanted
        one = optics.get(exposures.get(state.step.name, ""))
        if one is None or not here or kind not in ("expose", "develop"):
            states.append(state)
            continue
        resist = facts.resist(state.step.resist)
        if kind == "expose":
            states.append(_told(state, _of_exposure(one, resist, facts, bool(wanted))))
        else:
            states.append(_of_development(state, one, resist, facts, bool(wanted)))
    return replace(trace, states=tuple(states))


def _of_exposure(one: Lit, resist: Resist, facts: Book, deep: bool) -> tuple[list[Setting], tuple[str, ...]]:
    swing = swing_of(one.windows[0], resist, facts)
    numbers = [] if swing is None else [follows("swing of the dose", swing)]
    words: tuple[str, ...] = ()
    if swing is not None:
        words = (
            f"dose taken up by the resist swings by {100 * (swing.result or 0.0):.2g} % every "
            f"{show(swing.inputs[0].value, 'length')} of its thickness (computed)",
        )
    numbers += told_of(one, resist, facts)
    low, high = one.stack_band
    if len(one.windows) > 1:
        words += (f"its windows need {low:.2f} to {high:.2f} times their mean dose (computed)",)
    bleached = bleached_at(one, resist, facts, deep)
    return [*numbers, *([bleached] if bleached is not None else [])], words


def _told(state: State, told: tuple[list[Setting], tuple[str, ...]]) -> State:
    numbers, words = told
    return replace(state, look=(*state.look, *words), follows=(*state.follows, *numbers))


def _of_development(state: State, one: Lit, resist: Resist, facts: Book, deep: bool) -> State:
    numbers = clearing_of(one, resist, facts, deep)
    return replace(state, follows=(*state.follows, *numbers, *undercut_of(state, numbers, resist, facts)))


def swing_of(window: Window, resist: Resist, facts: Book) -> Derivation | None:
    """Swing of the light that the resist takes up around its thickness, over one stack.

    None where the optics of the resist or of a film are not on file.

    Parameters
    ----------
    window : Window
    resist : Resist
    facts : Book
        Lines of the mercury lamp.
    """
    lines, depth = line_waves(facts), window.depth
    films = tuple(each for each in window.beneath if each[0] != LOWER)
    seen = resist_index(resist, lines)
    constants = {name: optical(name) for name, _ in films}
    if seen is None or any(each is None for each in constants.values()):
        return None
    index = {name: each.index(lines) for name, each in constants.items() if each is not None}
    n = resist.values["index while exposed"].value
    period = float(lines.mean()) / (2 * n)
    depths = depth + period * np.linspace(-0.5, 0.5, _POINTS)
    coupled = coupled_light(depths, lines, seen, films, index).mean(axis=1)
    # What a thicker resist takes up more of is no swing: the slope over the period is taken out.
    level = coupled - np.linspace(coupled[0], coupled[-1], _POINTS) + coupled.mean()
    over = " on ".join(name for name, _ in films[:2])
    return resist_laws.MEAN_SWING.derive(
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
