"""Figures of a report: how the parameters of the typical device were read, and where on the die they lie."""

from __future__ import annotations

from filmwright.desk.explain import Probed, Story, cause, good, linear
from filmwright.outputs import (
    Picture,
    Place,
    definitions_plot,
    map_plot,
    transconductance_plot,
    transfer_plot,
)
from filmwright.units import to_si


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


def map_pictures(story: Story) -> tuple[Picture, ...]:
    """The threshold over the die of the first wafer."""
    die = story.planned.start.plan.die.bounds
    middle = ((die[0] + die[2]) / 2, (die[1] + die[3]) / 2)
    places, seen = [], False
    for each in story.probed:
        if each.wafer != story.lot.wafers[0]:
            continue
        device = story.planned.devices.named(each.device)
        if device is None:
            continue
        place = linear(each)
        value = (
            each.results[place].parameters["threshold_voltage"].value
            if good(each) and place is not None
            else None
        )
        seen = seen or value is not None
        x, y = (to_si(device.place[k] - middle[k], "nm") for k in (0, 1))
        places.append(Place(x=x, y=y, value=value, label=each.device, why_not=cause(each)))
    if not seen:
        return ()
    size = to_si(max(die[2] - die[0], die[3] - die[1]), "nm")
    return (
        Picture(
            title="Threshold over the probed die",
            plot=map_plot(places, size=size, name="threshold voltage", unit="V", mark="die"),
            caption=f"Wafer {story.lot.wafers[0]}; crosses gave no value: point at one for its cause.",
            invented=story.invented,
        ),
    )
