"""Thresholds of curves by the customary definitions, in one table."""

from __future__ import annotations

import numpy as np

from filmwright.measure.context import Column, Context, slope_refusals
from filmwright.measure.readings import crossings


def thresholds(context: Context) -> dict[str, Column]:
    """Thresholds by each definition, and the largest transconductance."""
    return {**_tangents(context), **_constant_current(context)}


def _tangents(context: Context) -> dict[str, Column]:
    linear, root, known, numbers = context.linear, context.root, context.known, context.numbers
    common = context.common
    unknown = ~np.isfinite(known.drain_voltage)
    smoothing = "smoothed by a parabola over a window chosen from the noise"
    refusals = {
        **common,
        **slope_refusals(linear),
        "no drain voltage": unknown,
        "not linear": known.drain_voltage >= numbers["over"],
    }
    root_refusals = {
        **common,
        **slope_refusals(root),
        "no drain voltage": unknown,
        "not saturated": known.drain_voltage < numbers["over_root"],
    }
    base = {"low": linear.low, "high": linear.high, "unit": "V", "volts": True}
    return {
        "threshold_voltage_linear": Column(
            value=linear.intercept,
            std=linear.intercept_std,
            method=f"tangent at the largest transconductance, to zero current, without V_D/2; {smoothing}",
            refusals=refusals,
            **base,  # type: ignore[arg-type]
        ),
        "threshold_voltage_linear_less_half_drain": Column(
            value=linear.intercept - known.drain_voltage / 2.0,
            std=linear.intercept_std,
            method=f"tangent at the largest transconductance, to zero current, less V_D/2; {smoothing}",
            refusals=refusals,
            **base,  # type: ignore[arg-type]
        ),
        "threshold_voltage_saturation": Column(
            value=root.intercept,
            std=root.intercept_std,
            low=root.low,
            high=root.high,
            unit="V",
            method=f"tangent at the steepest place of the root of the current, to zero; {smoothing}",
            refusals=root_refusals,
            volts=True,
        ),
        "transconductance_max": Column(
            value=linear.slope,
            std=linear.slope_std,
            low=linear.low,
            high=linear.high,
            unit="A/V",
            method=f"largest dI_D/dV_G; {smoothing}",
            refusals={"dead": common["dead"], **slope_refusals(linear)},
        ),
    }


def _constant_current(context: Context) -> dict[str, Column]:
    grid, curves, levels = context.grid, context.curves, context.levels
    common, numbers = context.common, context.numbers
    criterion = numbers["criterion"]
    target = np.where(np.isfinite(criterion), criterion, np.inf)[:, None]
    found, errors = crossings(grid, curves, context.points, levels.place, target)
    volts, std = found[:, 0], errors[:, 0]
    return {
        "threshold_voltage_constant_current": Column(
            value=volts,
            std=std,
            low=volts,
            high=volts,
            unit="V",
            method="gate voltage at I_D = (W/L)·10 nA, interpolated in the logarithm",
            refusals={
                **common,
                "size": ~np.isfinite(criterion),
                "not crossed": np.isfinite(criterion) & ~np.isfinite(volts),
                "floor": criterion < levels.usable,
            },
            volts=True,
        )
    }
