"""The clock of an etch that its own open area slows down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context
from filmwright.flow import Step
from filmwright.process import Shares, loaded_time, unloaded_time
from filmwright.wafer import EtchRate, Plan, etched

_LONG = 4.0
"""How far ahead it is looked for what is uncovered midway, over the time to the first clearing."""


@dataclass(frozen=True, kw_only=True)
class Loading:
    """Real time against the time at the rates of a small chip, for which rates on file hold.

    Attributes
    ----------
    coefficient : float
        k of ``rate = rate of a chip / (1 + k × open share)``; 0 where none is on file.
    shares : sequence of (float [s], float)
        Open share of the film that is etched, from each unloaded time on.
    """

    coefficient: float = 0.0
    shares: Shares = ((0.0, 0.0),)

    def real(self, unloaded: float) -> float:
        """How long an etch takes that would take ``unloaded`` [s] on a chip."""
        return loaded_time(unloaded, self.shares, self.coefficient)

    def on_chip(self, time: float) -> float:
        """What a real time [s] is worth at the rates of a chip."""
        return unloaded_time(time, self.shares, self.coefficient)

    def clearing(self, factor: float) -> Loading:
        """The same where film and rate differ so that everything clears ``factor`` times as late."""
        return replace(self, shares=[(begin * factor, share) for begin, share in self.shares])

    @property
    def open_share(self) -> float:
        """The share that is open at the beginning."""
        return self.shares[0][1]


def loading_of(step: Step, ctx: Context, now: Plan, rates: Mapping[str, EtchRate]) -> Loading:
    """The clock of an etch: which share of the die carries its film in the open, and from when on no longer.

    The whole wafer is taken to be covered with such dies.

    Parameters
    ----------
    step : Step
    ctx : Context
    now : Plan
        The die before the etch.
    rates : mapping from material to EtchRate
    """
    value = ctx.facts.models["loading"].get(ctx.facts.medium(step.medium).name)
    rate = rates.get(step.material)
    if value is None or rate is None or rate.down <= 0:
        return Loading()
    areas = now.areas()
    whole = sum(areas.values())
    changes: dict[float, float] = {0.0: 0.0}
    thickest = max(
        (
            layer.thickness
            for column in areas
            for layer in column.layers[1:]
            if layer.material == step.material
        ),
        default=0.0,
    )
    for column, area in areas.items():
        for bite in etched(column, rates, _LONG * thickest / rate.down)[1]:
            if bite.layer.material == step.material:
                over = bite.begun + (bite.layer.thickness - bite.after) / rate.down
                changes[bite.begun] = changes.get(bite.begun, 0.0) + area / whole
                changes[over] = changes.get(over, 0.0) - area / whole
    share, shares = 0.0, []
    for moment in sorted(changes):
        share += changes[moment]
        shares.append((moment, min(max(share, 0.0), 1.0)))
    return Loading(coefficient=value.value, shares=shares)
