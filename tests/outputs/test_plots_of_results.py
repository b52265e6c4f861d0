"""Figures of results: maps, splits, correlations, mobility and fits draw what the rooms below have found."""

import numpy as np
import pytest

from filmwright.learn import SplitValue, correlations
from filmwright.learn.wafer_map import MapPoint, wafer_map
from filmwright.measure import (
    Geometry,
    MobilityCurve,
    Sweep,
    extract,
    families_of,
    fit_families,
    mobility_against_gate,
)
from filmwright.measure.extraction import extract_many
from filmwright.outputs import (
    correlations_plot,
    fit_plots,
    integral_plot,
    live_figure,
    mobility_curve_plot,
    ratio_plot,
    splits_plot,
    wafer_map_plot,
)
from filmwright.units import to_si

GATE = np.linspace(-2, 10, 121)
GEOMETRY = Geometry(width=to_si(100, "um"), length=to_si(10, "um"), areal_capacitance=to_si(60, "nF/cm^2"))
GAIN = GEOMETRY.width / GEOMETRY.length * GEOMETRY.areal_capacitance * 1e-3


def sweep(drain=0.1, sign=1):
    """Square law with a soft onset at 1 V and 10 cm²/(V·s)."""
    over, end = (0.1 * np.logaddexp(0, (GATE - 1 - v) / 0.1) for v in (0.0, drain))
    amps = GAIN * (over**2 - end**2) / 2 + 1e-13
    gate = GATE
    if sign < 0:
        gate, amps = -GATE[::-1], -amps[::-1]
    return Sweep(
        gate_voltage=gate, drain_current=amps, drain_voltage=sign * drain, file="T07.csv", device="T07"
    )


@pytest.mark.analytic
def test_the_mobility_that_was_put_in_is_the_plateau_that_is_drawn():
    one = sweep()
    (result,) = extract([one], GEOMETRY)
    plot = mobility_curve_plot(mobility_against_gate(one, GEOMETRY, result))
    (panel,) = plot.panels
    assert panel.y.text == "mobility [cm²/(V·s)]"
    names = [series.label for series in panel.series]
    assert names[0] == "from transconductance"
    assert len(set(names)) == len(names) >= 3
    high = panel.series[0].y[panel.series[0].x > 4]
    assert high == pytest.approx(np.full(len(high), 10.0), rel=0.02)


@pytest.mark.property
def test_no_mobility_is_drawn_where_none_is_known():
    one = sweep()
    (result,) = extract([one], Geometry())
    curve = mobility_against_gate(one, Geometry(), result)
    assert isinstance(curve, MobilityCurve)
    assert curve.why_not
    assert mobility_curve_plot(curve) is None


@pytest.mark.property
@pytest.mark.parametrize("sign", [1, -1])
def test_straight_lines_stand_on_the_threshold_that_they_gave(sign):
    one = sweep(sign=sign)
    (result,) = extract([one], GEOMETRY)
    for name, draw, unit in (("ratio", ratio_plot, "√(µA·V)"), ("integral", integral_plot, "V")):
        parameter = result.parameters.get(f"threshold_voltage_{name}")
        plot = draw(one, result)
        if parameter is None or not parameter.valid:
            assert plot is None
            continue
        (panel,) = plot.panels
        assert panel.y.unit == unit
        assert panel.tangents[0].foot == (parameter.value, 0.0)
        assert (panel.spans[0].low, panel.spans[0].high) == pytest.approx(parameter.window)
        (x0, _), (x1, y1) = panel.tangents[0].start, panel.tangents[0].end
        inside = (panel.series[0].x >= min(parameter.window)) & (panel.series[0].x <= max(parameter.window))
        line = y1 / (x1 - x0) * (panel.series[0].x[inside] - x0)
        assert panel.series[0].y[inside] == pytest.approx(line, rel=0.1)


@pytest.mark.analytic
def test_a_map_draws_the_tilt_that_was_put_in_and_names_the_outlier():
    radius = 0.04
    grid = [
        (x, y)
        for x in np.linspace(-0.03, 0.03, 5)
        for y in np.linspace(-0.03, 0.03, 5)
        if np.hypot(x, y) < 0.035
    ]
    points = [
        MapPoint(device=f"D{k}", x=x, y=y, value=1.0 + 5.0 * x + 1e-4 * ((k * 7919) % 13 - 6))
        for k, (x, y) in enumerate(grid)
    ]
    points[3] = MapPoint(device="D3", x=points[3].x, y=points[3].y, value=2.5)
    points[4] = MapPoint(device="D4", x=points[4].x, y=points[4].y, cause="leaky gate")
    plot = wafer_map_plot(
        wafer_map("threshold_voltage", "W1", points, radius), name="threshold voltage", unit="V"
    )
    (panel,) = plot.panels
    row = panel.surface.z[20]
    assert row[30] - row[10] == pytest.approx(5.0 * radius, rel=0.02)
    assert panel.dots.outlier[3]
    figure = live_figure(panel)
    assert figure["data"][-1]["text"] == ["D3"]
    assert figure["data"][-2]["customdata"] == [["D4", "leaky gate"]]


@pytest.mark.property
def test_wafers_of_a_split_keep_their_own_box():
    values = {
        "plain": [SplitValue(wafer=wafer, value=1.0 + 0.1 * k) for wafer in ("W1", "W2") for k in range(5)],
        "annealed": [SplitValue(wafer="W3", value=0.5 + 0.1 * k) for k in range(5)],
    }
    (panel,) = splits_plot(values, name="threshold voltage", unit="V").panels
    assert panel.x.names == ("plain · W1", "plain · W2", "annealed · W3")
    assert [box.median for box in panel.boxes] == pytest.approx([1.2, 1.2, 0.7])


@pytest.mark.property
def test_correlations_are_written_in_their_cells_with_their_counts():
    one = np.arange(12.0)
    found = correlations({"threshold_voltage": one, "swing": -one, "leakage": np.where(one % 2, one, -one)})
    (panel,) = correlations_plot(found).panels
    (cells,) = live_figure(panel)["data"]
    at = panel.x.names.index("threshold voltage"), panel.x.names.index("swing")
    assert cells["text"][at[0]][at[1]] == "−1.00"
    assert cells["customdata"][at[0]][at[1]] == "12 devices"


@pytest.mark.property
def test_a_fit_is_drawn_through_its_points_with_its_residuals():
    sweeps = [sweep(0.1), sweep(5.0)]
    (result,) = fit_families(families_of(extract_many(sweeps, GEOMETRY), []), GEOMETRY)
    fit, residuals = fit_plots(result)
    linear = fit.panels[0]
    assert linear.y.text == "drain current [µA]"
    drawn = [series for series in linear.series if series.mark == "ring"]
    assert len(drawn) == 2
    for line, points in zip(linear.series[::2], drawn, strict=True):
        assert line.label.startswith("fit, ")
        assert np.all(line.low <= line.high)
        assert points.y == pytest.approx(line.y, rel=0.2, abs=0.2 * points.y.max())
    assert residuals.panels[0].series[0].y == pytest.approx(result.points.residual)
    assert fit.panels[1].y.scale == "log"
