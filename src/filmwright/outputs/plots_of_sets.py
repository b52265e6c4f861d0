"""From results to figures: length sets, capacitance curves, stylus traces, predicted families."""

from __future__ import annotations

import numpy as np

from filmwright.emulate import Families
from filmwright.measure import CapacitanceResult, GatedLengths, StepHeights, Trace
from filmwright.outputs.plot import Axis, FloatArray, Level, Panel, Plot, Series
from filmwright.outputs.plot_parts import best_unit, in_unit, positive
from filmwright.outputs.plots_of_curves import value_text
from filmwright.outputs.plots_of_lots import LengthLine, length_plot, trace_plot


def gated_lengths_plot(found: GatedLengths, title: str = "") -> Plot:
    """R·W against length at every overdrive, with the lines, their 95 % bands and the point in which they meet.

    Parameters
    ----------
    found : GatedLengths
    title : str
    """
    family = found.family
    start = min(0.0, -found.crossing.offset if found.crossing is not None else 0.0)
    at = np.linspace(start, 1.05 * float(family.length.max()), 41)
    lines = []
    for number in range(len(family.overdrive)):
        fit, low, high = found.band(number, at)
        lines.append(
            LengthLine(
                overdrive=float(family.overdrive[number]),
                length=family.length,
                resistance=family.normalised[:, number],
                std=family.noise[:, number],
                names=found.names,
                at=at,
                fit=fit,
                low=low,
                high=high,
            )
        )
    crossing = None if found.crossing is None else (-found.crossing.offset, found.crossing.resistance)
    return length_plot(lines, crossing=crossing, title=title)


def capacitance_result_plot(found: CapacitanceResult, title: str = "") -> Plot:
    """Capacitance against bias, series resistance taken off where it could be, with the flat band.

    Parameters
    ----------
    found : CapacitanceResult
    title : str
    """
    unit = best_unit([found.capacitance], "capacitance")
    series = [_points(found.voltage, found.capacitance, unit, "one direction", 0)]
    if found.backward_voltage is not None and found.backward_capacitance is not None:
        series.append(
            _points(found.backward_voltage, found.backward_capacitance, unit, "the other direction", 1)
        )
    flat = found.parameters.get("flat_band_voltage")
    known = flat is not None and flat.valid and flat.value is not None
    levels = (
        (Level(value=flat.value, label=f"flat band {value_text(flat)}", across="x"),)
        if known and flat is not None and flat.value is not None
        else ()
    )
    panel = Panel(
        x=Axis(label="bias", unit="V"),
        y=Axis(label="capacitance", unit=unit),
        series=tuple(series),
        levels=levels,
    )
    return Plot(title=title or "Capacitance against voltage", panels=(panel,))


def _points(x: FloatArray, y: FloatArray, unit: str, label: str, number: int) -> Series:
    mark = ("circle", "square")[number]
    return Series(x=x, y=in_unit(y, unit), label=label, mark=mark, ink=number, dash=number, thin=True)


def step_plot(trace: Trace, found: StepHeights, title: str = "") -> Plot:
    """A stylus trace levelled, over the trace as recorded, with the windows of its levels and the steps with errors.

    Parameters
    ----------
    trace : Trace
    found : StepHeights
    title : str
    """
    said = "; ".join(f"step {value_text(each)}" for each in found.steps if each.value is not None)
    windows = [(each.start, each.stop) for each in found.windows]
    plot = trace_plot(
        trace.position,
        found.levelled,
        base=trace.height - trace.height[0],
        windows=windows,
        said=said,
        title=title,
    )
    panel = plot.panels[0]
    levelled, recorded = panel.series
    named = (
        Series(x=levelled.x, y=levelled.y, label="levelled"),
        Series(x=recorded.x, y=recorded.y, label="as recorded", ink=1, dash=1, thin=True),
    )
    return Plot(
        title=plot.title,
        panels=(Panel(x=panel.x, y=panel.y, series=named, spans=panel.spans, note=panel.note),),
    )


def predicted_family_plots(curves: Families, device: str = "") -> tuple[Plot, ...]:
    """Predicted transfer curves, linear and logarithmic with the gate current, output curves, and the capacitance.

    Parameters
    ----------
    curves : Families
    device : str
    """
    of = f" of {device}" if device else ""
    unit = best_unit([curves.transfer], "current")
    panels = [
        _family_panel(curves.gate, curves.transfer.T, curves.drains, Axis(label="drain current", unit=unit), "gate"),
        _family_panel(
            curves.gate, curves.transfer.T, curves.drains, Axis(label="|drain current|", unit="A", scale="log"), "gate",
            curves.gate_current,
        ),
        _family_panel(
            curves.drain, curves.output, curves.gates,
            Axis(label="drain current", unit=best_unit([curves.output], "current")), "drain",
        ),
    ]  # fmt: skip
    if curves.capacitance is not None:
        unit = best_unit([curves.capacitance], "capacitance")
        series = Series(x=curves.gate, y=in_unit(curves.capacitance, unit), label="source and drain together")
        gate, farads = Axis(label="gate voltage", unit="V"), Axis(label="capacitance", unit=unit)
        panels.append(Panel(title="capacitance", x=gate, y=farads, series=(series,)))
    return (Plot(title=f"Predicted curves{of}, not measured", panels=tuple(panels)),)


def _family_panel(
    x: FloatArray,
    curves: FloatArray,
    held: FloatArray,
    axis: Axis,
    swept: str,
    leak: FloatArray | None = None,
) -> Panel:
    """Curves of one kind, each named by the voltage that is held."""
    log = axis.scale == "log"
    symbol = "V_D" if swept == "gate" else "V_G"
    series = []
    for at, (y, volts) in enumerate(zip(curves, held, strict=True)):
        shown = positive(y) if log else in_unit(y, axis.unit)
        label = f"{symbol} {volts:.3g} V".replace("-", "−")
        series.append(Series(x=x, y=shown, label=label, ink=at % 7, dash=(0, 1, 3, 4, 5, 6)[at % 6]))
    for at, y in enumerate(leak.T if leak is not None else ()):
        series.append(
            Series(x=x, y=positive(y), label="" if at else "gate current", ink=at % 7, dash=2, thin=True)
        )
    title = "logarithmic" if log else "output" if swept == "drain" else "linear"
    return Panel(title=title, x=Axis(label=f"{swept} voltage", unit="V"), y=axis, series=tuple(series))
