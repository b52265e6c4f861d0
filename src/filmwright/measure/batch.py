"""All parameters of many curves on the same gate voltages at once. Curves are n-type: low currents first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from filmwright.measure.channel_mobilities import channel_mobilities
from filmwright.measure.classes import read_classes
from filmwright.measure.context import Column, Context, Known, read_context
from filmwright.measure.gate_leakage import gate_leakage
from filmwright.measure.mobilities import mobilities
from filmwright.measure.readings import Flags
from filmwright.measure.smoothing import Array
from filmwright.measure.subthreshold import below_threshold
from filmwright.measure.thresholds import thresholds

TOPICS: tuple[Callable[[Context], dict[str, Column]], ...] = (
    thresholds,
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
    """

    columns: Mapping[str, Column]
    numbers: Mapping[str, Array]
    classes: Mapping[str, Flags]


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
        return Batch(columns=columns, numbers={**context.numbers, **classes.numbers}, classes=context.classes)
