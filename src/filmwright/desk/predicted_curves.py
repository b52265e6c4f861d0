"""Predicted curves at the voltages of measured ones, with their bands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

import numpy as np

from filmwright.device import film_current
from filmwright.emulate import Prediction, Trace, drawn_alike, thickness_of
from filmwright.measure import Sweep
from filmwright.wafer import Device

if TYPE_CHECKING:
    from filmwright.outputs import Predicted

LOW_DRAIN = 0.1
"""Drain voltage of a curve whose table does not tell it [V]."""

DRAWS = 64
"""Transistors drawn for the band of a curve; its ends then lie within a tenth of its width."""

_ENDS = (0.025, 0.975)

Origin = Literal["planned", "as run"]


def film_spreads(trace: Trace, device: Device) -> dict[str, float]:
    """Relative standard deviation of each film of a device, by the name under which its thickness is predicted from."""
    spreads = {
        state.step.material: (state.thickness_std or 0.0) / state.thickness
        for state in trace.states
        if state.step.kind == "deposit" and state.thickness
    }
    found = {
        thickness_of(k, material): spreads.get(material, 0.0)
        for k, (material, _) in enumerate(device.dielectric)
    }
    return found | {"thickness of the channel": spreads.get(device.semiconductor[0][0], 0.0)}


def predicted_curve(
    sweep: Sweep, prediction: Prediction, origin: Origin, spreads: Mapping[str, float]
) -> Predicted:
    """The curve of one sweep with its 95 % band from the spreads of all that it rests on; no band for a compact transistor."""
    from filmwright.outputs import Curve, Predicted

    drain = np.full_like(
        sweep.gate_voltage, LOW_DRAIN if sweep.drain_voltage is None else sweep.drain_voltage
    )
    curve = Curve(
        voltage=sweep.gate_voltage,
        current=prediction.currents(sweep.gate_voltage, drain),
        label=f"predicted, {origin}",
        origin=origin,
    )
    drawn_from = drawn_alike(prediction, DRAWS, spreads)
    if not drawn_from:
        return Predicted(curve=curve)
    currents = [film_current(each, sweep.gate_voltage, drain) for each in drawn_from]
    low, high = np.quantile(currents, _ENDS, axis=0)
    return Predicted(curve=curve, low=low, high=high)
