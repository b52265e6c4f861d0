"""All parameters of many curves on the same gate voltages at once. Curves are n-type: low currents first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from filmwright.measure.channel_mobilities import channel_mobilities
from filmwright.measure.classes import read_classes
from filmwright.measure.context import Column, Context, Known, read_context
from filmwright.measure.curve_thresholds import curve_thresholds
from filmwright.measure.gate_leakage import gate_leakage
from filmwright.measure.mobilities import mobilities
from filmwright.measure.readings import Flags, crossings
from filmwright.measure.smoothing import Array
from filmwright.measure.subthreshold import below_threshold
from filmwright.measure.thresholds import thresholds

TOPICS: tuple[Callable[[Context], dict[str, Column]], ...] = (
    thresholds,
    curve_thresholds,
    mobilities,
    channel_mobilities,
    below_threshold,
    gate_leakage,
)
"""What is read, topic by topic: each takes the context and gives its columns by name."""


@dataclass(frozen=True, kw_only=True)
class Batch:
    """Parameters of curves on one grid.

    Attributes
    ----------
    columns : mapping from name to Column
    numbers : mapping from name to array (n_curves,)
        What the reasons and the classes quote.
    classes : mapping from class to array of bool
    crossed, crossed_std : array (n_curves, n_levels) [V]
        Gate voltages at the wanted currents, and their errors.
    clear : array (n_curves,) [A]
        Current from which on the curve stands clear of its floor.
    """

    columns: Mapping[str, Column]
    numbers: Mapping[str, Array]
    classes: Mapping[str, Flags]
    crossed: Array
    crossed_std: Array
    clear: Array


def extract_batch(grid: Array, curves: Array, gate_currents: Array, known: Known) -> Batch:
    """All parameters with errors of curves on the same gate voltages; what cannot be computed is NaN, and
    refused.

    Parameters
    ----------
    grid : array (n_points,) [V]
        Rising.
    curves : array (n_curves, n_points) [A]
    gate_currents : array (n_curves, n_points) [A]
        NaN where not measured.
    known : Known

    Returns
    -------
    Batch
    """
    with np.errstate(all="ignore"):
        context = read_context(grid, curves, gate_currents, known)
        classes = read_classes(context)
        context = replace(context, classes=classes.found)
        columns = {name: column for topic in TOPICS for name, column in topic(context).items()}
        volts, errors = crossings(grid, curves, context.points, context.levels.place, known.targets)
        return Batch(
            columns=columns,
            numbers={**context.numbers, **classes.numbers},
            classes=context.classes,
            crossed=volts,
            crossed_std=errors,
            clear=context.levels.usable,
        )
