"""Mobilities of curves by the customary definitions."""

from __future__ import annotations

import numpy as np

from filmwright import device
from filmwright.measure.context import Column, Context, slope_refusals

UNPHYSICAL_MOBILITY = 1.0
"""Apparent mobility [m²/(V·s)] above which no film or silicon channel at room temperature goes."""


def mobilities(context: Context) -> dict[str, Column]:
    """Mobilities from the tangents; apparent, because contacts are not taken off."""
    linear, root, known, numbers = context.linear, context.root, context.known, context.numbers
    common = context.common
    incomplete = ~np.isfinite(known.width * known.length * known.areal_capacitance)
    width, length, areal = (
        np.where(incomplete, 1.0, each) for each in (known.width, known.length, known.areal_capacitance)
    )
    biased = known.drain_voltage > 0
    drain = np.where(biased, known.drain_voltage, 1.0)
    field_effect = device.linear_mobility(linear.slope, width, length, areal, drain)
    field_effect = np.where(incomplete | ~biased, np.nan, field_effect)
    saturated = device.saturation_mobility(root.slope, width, length, areal)
    saturated = np.where(incomplete, np.nan, saturated)
    known_first = {**common, "geometry": incomplete, "ionic": known.ionic}
    return {
        "field_effect_mobility": Column(
            value=field_effect,
            std=field_effect * linear.slope_std / linear.slope,
            low=linear.low,
            high=linear.high,
            unit="cm^2/(V*s)",
            method="g_m·L/(W·C·V_D) at the largest transconductance; apparent, contacts not taken off",
            refusals={
                **known_first,
                **slope_refusals(linear),
                "no drain voltage": ~np.isfinite(known.drain_voltage),
                "not linear": known.drain_voltage >= numbers["over"],
                "unphysical": field_effect > UNPHYSICAL_MOBILITY,
            },
        ),
        "saturation_mobility": Column(
            value=saturated,
            std=2.0 * saturated * root.slope_std / root.slope,
            low=root.low,
            high=root.high,
            unit="cm^2/(V*s)",
            method="2L/(W·C)·(d√I_D/dV_G)² at the steepest place; apparent, contacts not taken off",
            refusals={
                **known_first,
                **slope_refusals(root),
                "no drain voltage": ~np.isfinite(known.drain_voltage),
                "not saturated": known.drain_voltage < numbers["over_root"],
                "unphysical": saturated > UNPHYSICAL_MOBILITY,
            },
        ),
    }
