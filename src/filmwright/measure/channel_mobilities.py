"""Mobilities that say where they were read: effective, average over the charge, without contacts; reliability factors."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from filmwright import device
from filmwright.measure.context import Column, Context, interpolated, slope_refusals
from filmwright.measure.mobilities import UNPHYSICAL_MOBILITY
from filmwright.measure.readings import Flags, point_noise
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, or_else

TWICE = 2.0
"""A conductance counts as that of the linear region from so many drain voltages of overdrive on."""

CONTACTS_DOMINATE = 0.5
"""Share of the contacts in the resistance from which what is left for the channel is not told well."""


def channel_mobilities(context: Context) -> dict[str, Column]:
    """Mobilities from the conductance at stated overdrives, from the charge, and without contacts."""
    end = np.full(len(context.curves), context.grid[-1])
    middle = (end + _threshold(context)) / 2.0
    return {
        "effective_mobility": _effective(context, end, "at the end of the sweep"),
        "effective_mobility_at_half_overdrive": _effective(
            context, middle, "at half of the largest overdrive"
        ),
        "average_mobility": _average(context, end),
        "contact_corrected_mobility": _without_contacts(context, end),
        "contact_share": _contact_share(context, end),
        **_reliability(context),
    }


def _threshold(context: Context) -> Array:
    """Threshold of the linear region, V_D/2 taken off: from where a conductance counts its overdrive."""
    return context.linear.intercept - or_else(context.known.drain_voltage) / 2.0


def _sizes(context: Context) -> tuple[Array, Array, Array, Flags]:
    """W, L and areal capacitance, 1 where one of them is not known, and where that is."""
    known = context.known
    missing: Flags = ~np.isfinite(known.width * known.length * known.areal_capacitance)
    width, length, areal = (
        np.where(missing, 1.0, each) for each in (known.width, known.length, known.areal_capacitance)
    )
    return width, length, areal, missing


def _refusals(context: Context, missing: Flags, value: Array) -> dict[str, Flags]:
    return {
        **context.common,
        "geometry": missing,
        "ionic": context.known.ionic,
        "no drain voltage": ~(context.known.drain_voltage > 0),
        "unphysical": np.asarray(value > UNPHYSICAL_MOBILITY),
    }


def _noise_at(context: Context, current: Array) -> Array:
    """Relative noise of one point at a current."""
    return point_noise(context.noise, current) / np.abs(current)


def _effective(context: Context, gate: Array, where: str) -> Column:
    width, length, areal, missing = _sizes(context)
    current = interpolated(context.grid, context.curves, gate)
    drain = np.where(context.known.drain_voltage > 0, context.known.drain_voltage, 1.0)
    over = gate - context.linear.intercept
    held = np.where(over > 0, over, 1.0)
    value = device.effective_mobility(current / drain, width, length, areal, held)
    value = np.where(missing | ~(over > 0), np.nan, value)
    std = value * np.hypot(_noise_at(context, current), context.linear.intercept_std / held)
    return Column(
        value=value,
        std=std,
        low=gate,
        high=gate,
        unit="cm^2/(V*s)",
        method=f"(I_D/V_D)·L/[W·C·(V_G − V_T − V_D/2)] {where}, V_T of the linear tangent less V_D/2; contacts not taken off",
        refusals={
            **_refusals(context, missing, value),
            **slope_refusals(context.linear),
            "little overdrive": ~(over > TWICE * context.known.drain_voltage),
        },
        numbers={"held_over": over},
    )


def _average(context: Context, gate: Array) -> Column:
    width, length, areal, missing = _sizes(context)
    levels, swings = context.levels, context.swings
    above = swings.decades - np.log10(levels.off)
    onset, few = swings.volts - above * swings.swing, len(context.grid) < FEWEST_FOR_NOISE
    onset_std = np.hypot(above * swings.std, swings.swing * levels.off_std / levels.off / np.log(10.0))
    over = gate - onset
    held = np.where(over > 0, over, 1.0)
    drain = np.where(context.known.drain_voltage > 0, context.known.drain_voltage, 1.0)
    current = context.curves[:, -1]
    value = device.average_mobility(current, width, length, areal, held, drain)
    value = np.where(missing | ~(over > 0), np.nan, value)
    across = np.minimum(drain, held)
    lean = or_else(onset_std) * across / (held * across - across**2 / 2.0)
    return Column(
        value=value,
        std=value * np.hypot(_noise_at(context, current), lean),
        low=onset,
        high=gate,
        unit="cm^2/(V*s)",
        method=(
            "I_D·L/{W·C·[u·v − v²/2]}, u = V_G − V_on at the end of the sweep, v = V_D or u: the mean over all charge above"
            " the onset, whatever µ(V_G); contacts not taken off"
        ),
        refusals={
            **_refusals(context, missing, value),
            "no decade": ~np.isfinite(onset),
            "coarse onset": np.asarray((swings.points <= 3) & ((swings.span > 2.0) | few)),
        },
    )


def _without_contacts(context: Context, gate: Array) -> Column:
    width, length, areal, missing = _sizes(context)
    per_width = context.known.contact_resistance
    unknown: Flags = ~np.isfinite(per_width)
    current = np.maximum(context.curves[:, -1], np.finfo(float).tiny)
    drain = np.where(context.known.drain_voltage > 0, context.known.drain_voltage, 1.0)
    ohms = np.where(unknown, 0.0, per_width) / width
    over = gate - context.linear.intercept
    held = np.where(over > 0, over, 1.0)
    conductance = device.conductance_without_contacts(current, drain, ohms)
    value = device.effective_mobility(or_else(conductance), width, length, areal, held)
    value = np.where(missing | unknown | ~(over > 0) | ~np.isfinite(conductance), np.nan, value)
    share = 2.0 * ohms * current / drain
    contact_std = np.where(unknown, 0.0, or_else(context.known.contact_resistance_std)) / width
    parts = np.stack(
        [
            _noise_at(context, current) / (1.0 - share),
            context.linear.intercept_std / held,
            2.0 * contact_std * current / drain / (1.0 - share),
        ]
    )
    return Column(
        value=value,
        std=value * np.sqrt(np.sum(parts**2, axis=0)),
        low=gate,
        high=gate,
        unit="cm^2/(V*s)",
        method=(
            "L/[W·C·(V_G − V_T − V_D/2)·(V_D/I_D − 2R)] at the end of the sweep, with the contact resistance R·W that was given"
        ),
        refusals={
            **_refusals(context, missing, value),
            "no contact resistance": unknown,
            **slope_refusals(context.linear),
            "little overdrive": ~(over > TWICE * context.known.drain_voltage),
            "contacts dominate": np.asarray(share > CONTACTS_DOMINATE),
        },
        numbers={"held_over": over, "contact_percent": 100.0 * share},
    )


def _contact_share(context: Context, gate: Array) -> Column:
    """What contacts can hold of the resistance at the end of the sweep, from how far the curve ends below its tangent."""
    linear, drain = context.linear, context.known.drain_voltage
    over = gate - linear.intercept
    held, current = np.where(over > 0, over, 1.0), np.maximum(context.curves[:, -1], np.finfo(float).tiny)
    attenuation = (linear.slope * held / current - 1.0) / held
    known = np.isfinite(attenuation) & (over > 0)
    value = device.contact_share(np.where(known, attenuation, -1.0), held)
    noise = np.hypot(_noise_at(context, current), linear.slope_std / linear.slope)
    return Column(
        value=np.where(known & (attenuation < 0) & (linear.slope > 0), 0.0, value),
        std=(1.0 - value) * noise,
        low=linear.low,
        high=gate,
        unit="",
        method=(
            "θ·x/(1 + θ·x) with θ from the current at the end of the sweep below the steepest tangent, x the overdrive there: "
            "the part of V_D/I_D that does not fall with the gate voltage"
        ),
        refusals={
            **context.common,
            "ionic": context.known.ionic,
            **slope_refusals(linear),
            "no drain voltage": ~(drain > 0),
            "little overdrive": ~(over > TWICE * drain),
            "one curve": np.ones(len(value), dtype=bool),
        },
        bound="at most",
        numbers={"held_over": over},
    )


def _reliability(context: Context) -> Mapping[str, Column]:
    """Reliability factors of the two claimed mobilities, where the sweep holds zero gate voltage."""
    grid, known, numbers = context.grid, context.known, context.numbers
    outside: Flags = np.full(len(context.curves), not (grid[0] <= 0.0 < grid[-1]))
    zero, most = np.maximum(numbers["zero"], 0.0), np.maximum(context.curves[:, -1], 0.0)
    volts = np.full(len(most), max(float(grid[-1]), np.finfo(float).tiny))
    columns = {}
    for name, tangents, law, refused, of in (
        (
            "reliability_factor_linear",
            context.linear,
            device.reliability_linear,
            "not linear",
            "[(I − I₀)/V_G]/g_m",
        ),
        (
            "reliability_factor_saturation",
            context.root,
            device.reliability_saturation,
            "not saturated",
            "{[(√I − √I₀)/V_G]/(d√I/dV_G)}²",
        ),
    ):
        rising = tangents.slope > 0
        slope = np.where(rising, tangents.slope, 1.0)
        value = np.where(rising & ~outside, law(most, zero, volts, slope), np.nan)
        power = 1.0 if name.endswith("linear") else 2.0
        wrong = known.drain_voltage >= numbers["over"]
        if power > 1:
            wrong = known.drain_voltage < numbers["over_root"]
        columns[name] = Column(
            value=value,
            std=value * np.hypot(power * tangents.slope_std / slope, _noise_at(context, most)),
            low=np.zeros(len(value)),
            high=np.full(len(value), grid[-1]),
            unit="",
            method=f"{of}, I at the largest V_G, I₀ at zero; the claimed mobility times this is what the whole curve supports",
            refusals={
                **context.common,
                "ionic": known.ionic,
                **slope_refusals(tangents),
                "no drain voltage": ~np.isfinite(known.drain_voltage),
                refused: np.asarray(wrong),
                "zero outside": outside,
            },
        )
    return columns
