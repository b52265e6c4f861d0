"""Figures of a report: how the parameters of the typical device were read."""

from __future__ import annotations

from filmwright.desk.explain import Probed, linear
from filmwright.outputs import (
    Picture,
    definitions_plot,
    transconductance_plot,
    transfer_plot,
)


def read_pictures(chosen: Probed, invented: bool) -> tuple[Picture, ...]:
    """All sweeps of one device with the tangents and windows that were used, and its thresholds compared."""
    plots = [
        transfer_plot(chosen.sweeps, chosen.results, f"How the parameters of {chosen.device} were read"),
        transconductance_plot(chosen.sweeps, chosen.results, f"Transconductance of {chosen.device}"),
    ]
    place = linear(chosen)
    compared = None if place is None else definitions_plot(chosen.results[place])
    if compared is not None:
        plots.append(compared)
    return tuple(Picture(title=plot.title, plot=plot, invented=invented) for plot in plots)
