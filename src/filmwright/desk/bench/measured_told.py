"""What the measured devices of a lot tell: parameters and devices first, then the comparison with the prediction."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from filmwright.errors import BadInput

if TYPE_CHECKING:
    from filmwright.desk.bench.measured_devices import MeasuredDevice
    from filmwright.desk.explain import Story
    from filmwright.record import Store

STAGES = ("parameters", "comparison with the prediction")
"""What is told, in the order in which it is worked out."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """What a lot's measured files tell.

    Attributes
    ----------
    statistics : mapping, or None
        The fields of the statistics; None where nothing can be told yet.
    devices : tuple of MeasuredDevice
        Every device with its fate, parameters, place, curves and exclusion.
    half : (float, float) [mm]
        Half the sides of the die on which they lie.
    compared : mapping, or None
        The fields of the comparison with the prediction.
    noticed : tuple of str
        What was noticed at the files, a shifted row of devices among it.
    unread : tuple of (file, why)
        Kept files that cannot be read as they are.
    problems : tuple of str
        Why something cannot be told.
    done : int
        How many of :data:`STAGES` are in it.
    """

    statistics: dict[str, Any] | None = None
    devices: tuple[MeasuredDevice, ...] = ()
    half: tuple[float, float] = (0.0, 0.0)
    compared: dict[str, Any] | None = None
    noticed: tuple[str, ...] = ()
    unread: tuple[tuple[str, str], ...] = ()
    problems: tuple[str, ...] = ()
    done: int = 0

    @property
    def waited_for(self) -> str:
        """What is still worked out; empty when all of it is there."""
        return STAGES[self.done] if self.done < len(STAGES) else ""

    def device(self, wafer: str, device: str) -> MeasuredDevice | None:
        """A measured device by its name."""
        return next((each for each in self.devices if (each.wafer, each.device) == (wafer, device)), None)


def told_from(store: Store, lot: str) -> Told:
    """Everything that is told of a lot's measured files; what one question cannot answer does not stop the others."""
    from filmwright.desk.explain import gather, with_predicted

    story = gather(store, lot, predicted=False)
    said = parameters(story)
    story = with_predicted(story)
    return comparison(story, said)


def parameters(story: Story) -> Told:
    """The first part: yield, parameters, splits, every device."""
    from filmwright.desk.bench.measured_devices import devices_of_story, half_sides
    from filmwright.desk.population import TOLD, answer_of_story

    said = Told(
        unread=tuple((each.file, each.problem) for each in story.probed if each.problem),
        noticed=_noticed(story),
        half=half_sides(story),
        done=1,
    )
    try:
        answer = answer_of_story(story, TOLD)
    except BadInput as bad:
        return _with_problems(said, bad)
    return replace(said, statistics=answer.fields(), devices=devices_of_story(story, answer))


def comparison(story: Story, so_far: Told) -> Told:
    """The second part: as planned, as run and measured; the devices with the curves that were expected of them."""
    from filmwright.desk.bench.measured_devices import devices_of_story
    from filmwright.desk.learning import compared
    from filmwright.desk.population import TOLD, answer_of_story

    if so_far.statistics is not None:
        so_far = replace(so_far, devices=devices_of_story(story, answer_of_story(story, TOLD)))
    try:
        answer = compared(story)
    except BadInput as bad:
        return replace(_with_problems(so_far, bad), done=2)
    beside = {**answer.fields(), "cells": [row.cells for row in answer.rows]}
    return replace(so_far, compared=beside, done=2)


def printed(story: Story) -> tuple[tuple[str, str], ...]:
    """Figures for print of what is told: title and SVG of each."""
    from filmwright.desk.population import TOLD, answer_of_story
    from filmwright.desk.population_pictures import plots_of
    from filmwright.outputs import printed_plots

    plots = plots_of(answer_of_story(story, TOLD))
    drawn = printed_plots(plots, "svg") if plots else ()
    return tuple((plot.title, svg.decode()) for plot, svg in zip(plots, drawn, strict=True))


def _with_problems(so_far: Told, bad: BadInput) -> Told:
    return replace(
        so_far, problems=tuple(dict.fromkeys((*so_far.problems, *(str(each) for each in bad.problems))))
    )


def _noticed(story: Story) -> tuple[str, ...]:
    """What was noticed at the curves, and what sizes and currents say of the order of probing, as the word extract tells it."""
    from filmwright.desk.explain import known_of
    from filmwright.desk.identity import order_of_probing

    own = [(each, sweep) for each in story.probed for sweep in each.sweeps]
    shifted = order_of_probing(
        [replace(sweep, device=each.device, wafer=each.wafer) for each, sweep in own],
        [known_of(each) for each, _ in own],
    )
    warned = (f"{each.file}: {warning}" for each, sweep in own for warning in sweep.warnings)
    return tuple(dict.fromkeys((*shifted, *warned)))
