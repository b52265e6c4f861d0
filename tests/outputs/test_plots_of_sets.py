"""Figures of length sets, capacitance curves, stylus traces and predicted families draw the numbers that were found."""

import numpy as np
import pytest

from filmwright.emulate import Families
from filmwright.measure import (
    CapacitanceResult,
    LengthDevice,
    Parameter,
    Sweep,
    Trace,
    gated_lengths,
    step_heights,
)
from filmwright.outputs import (
    capacitance_result_plot,
    gated_lengths_plot,
    live_figure,
    notebook_figures,
    predicted_family_plots,
    step_plot,
)
from filmwright.units import to_si

UM, WIDTH = to_si(1, "um"), to_si(100, "um")


def transistors():
    """Contacts of 2 Ω·cm and channels of a sheet conductance that grows with the overdrive, with 0.2 % of noise."""
    chance = np.random.default_rng(2)
    gate = np.linspace(-2, 12, 141)
    made = []
    for at, length in enumerate((5, 10, 20, 40, 80)):
        over = 0.1 * np.logaddexp(0, (gate - 1) / 0.1)
        sheet = 1 / (6e-7 * np.maximum(over - 0.05, 1e-9))
        amps = 0.1 * WIDTH / (2 * 0.02 + sheet * length * UM) * (1 + 0.002 * chance.normal(size=gate.size))
        curve = Sweep(
            gate_voltage=gate, drain_current=amps + 1e-12 * chance.normal(size=gate.size), drain_voltage=0.1
        )
        made.append(
            LengthDevice(name=f"T{at}", sweep=curve, length=length * UM, length_std=0.05 * UM, width=WIDTH)
        )
    return made


@pytest.mark.analytic
def test_lines_of_a_length_set_are_those_that_were_fitted_and_meet_at_the_contacts():
    found = gated_lengths(transistors())
    (panel,) = gated_lengths_plot(found).panels
    count = len(found.family.overdrive)
    points, lines = panel.series[: 2 * count : 2], panel.series[1 : 2 * count : 2]
    for number, (dots, line) in enumerate(zip(points, lines, strict=True)):
        assert dots.y == pytest.approx(found.family.normalised[:, number] * 100)
        middle, low, high = found.band(number, line.x * UM)
        assert line.y == pytest.approx(middle * 100)
        assert (line.low, line.high) == (pytest.approx(low * 100), pytest.approx(high * 100))
    ring = panel.series[2 * count]
    assert ring.mark == "ring"
    assert ring.y[0] == pytest.approx(4.0, abs=1.0)
    assert ring.x[0] == pytest.approx(-found.crossing.offset / UM)
    assert panel.y.text == "resistance times width [Ω·cm]"


@pytest.mark.analytic
def test_the_flat_band_is_drawn_where_it_was_found():
    flat = Parameter(value=-0.42, std=0.01, unit="V", method="m", window=None, valid=True)
    bias = np.linspace(-3, 3, 31)
    found = CapacitanceResult(
        file="C1.csv", accumulates="positive", parameters={"flat_band_voltage": flat}, voltage=bias,
        capacitance=1e-11 * (2 + np.tanh(bias)), backward_voltage=bias, backward_capacitance=1e-11 * (2 + np.tanh(bias - 0.3)),
        profile_depth=np.empty(0), profile_density=np.empty(0), said=(), warnings=(),
    )  # fmt: skip
    (panel,) = capacitance_result_plot(found).panels
    assert panel.y.text == "capacitance [pF]"
    assert panel.series[0].y == pytest.approx(found.capacitance * 1e12)
    (level,) = panel.levels
    assert (level.value, level.across) == (-0.42, "x")
    assert live_figure(panel)["layout"]["shapes"][0]["x0"] == -0.42


@pytest.mark.analytic
def test_a_step_is_drawn_levelled_with_its_windows():
    position = np.linspace(0, 500, 1001) * UM
    rough = 1e-10 * np.random.default_rng(1).normal(size=1001)
    height = 58e-9 * (position > 250 * UM) + 1e-4 * position + rough
    trace = Trace(position=position, height=height)
    found = step_heights(trace)
    (panel,) = step_plot(trace, found).panels
    levelled = panel.series[0]
    right = levelled.y[levelled.x > 300].mean() - levelled.y[levelled.x < 200].mean()
    assert right == pytest.approx(58.0, abs=0.5)
    assert len(panel.spans) == len(found.windows)
    assert panel.note.startswith("step 57.99")


@pytest.mark.reference
def test_a_predicted_family_has_a_curve_for_every_held_voltage_and_is_called_predicted():
    gate, drain = np.linspace(-5, 5, 21), np.linspace(0, 5, 11)
    curves = Families(
        gate=gate, drains=np.array([0.1, 5.0]), transfer=np.outer(np.exp(gate), [1e-8, 1e-7]),
        gate_current=np.full((21, 2), 1e-13), drain=drain, gates=np.arange(1.0, 6.0), output=np.outer(np.arange(1.0, 6.0), drain) * 1e-6,
        capacitance=np.full(21, 3e-13),
    )  # fmt: skip
    (plot,) = predicted_family_plots(curves, "T07")
    assert "not measured" in plot.title
    linear, log, output, capacitance = plot.panels
    assert [series.label for series in linear.series] == ["V_D 0.1 V", "V_D 5 V"]
    assert linear.series[1].y == pytest.approx(curves.transfer[:, 1] * 1e6)
    assert log.series[-1].y == pytest.approx(np.full(21, 1e-13))
    assert [series.label for series in output.series] == [f"V_G {v} V" for v in range(1, 6)]
    assert capacitance.y.unit == "fF"
    assert len(notebook_figures(plot)) == 4
