"""Figures: what is drawn equals the numbers, twice; units on every axis; directions, windows and causes are there."""

import json
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from filmwright.measure import Geometry, Sweep, extract
from filmwright.outputs import (
    Axis,
    Curve,
    Definition,
    LengthLine,
    Panel,
    Place,
    Plot,
    Predicted,
    Replicate,
    Series,
    capacitance_plot,
    correlation_plot,
    definitions_plot,
    length_plot,
    live_figure,
    map_plot,
    mobility_plot,
    notebook_figures,
    output_plot,
    panel_svg,
    plot_html,
    predicted_plot,
    printed_plots,
    residual_plot,
    split_plot,
    straight_line_plot,
    trace_plot,
    transconductance_plot,
    transfer_plot,
    with_scripts,
)
from filmwright.outputs.palette import contrast, luminance
from filmwright.outputs.plot import DARK_INKS, DASHES, INKS, MARKS
from filmwright.outputs.plots_of_lots import wafer_outline
from filmwright.units import to_si

GATE = np.linspace(-5, 15, 201)
GEOMETRY = Geometry(width=to_si(100, "um"), length=to_si(10, "um"), areal_capacitance=to_si(60, "nF/cm^2"))


def current(threshold, drain, seed=0):
    """A smooth transistor with a little noise, n-type."""
    rng = np.random.default_rng(seed)
    softness, gain = 0.15, 4e-6
    over = softness * np.logaddexp(0, (GATE - threshold) / softness)
    end = softness * np.logaddexp(0, (GATE - threshold - drain) / softness)
    clean = gain * (over**2 - end**2) / 2
    return clean * (1 + 2e-3 * rng.normal(size=GATE.size)) + 1e-12 * rng.normal(size=GATE.size)


def loop(sign=1.0):
    """Both directions at two drain voltages, the way back 0.8 V later; mirrored for p."""
    made = []
    for pair, drain in enumerate((0.1, 20.0)):
        for rising in (True, False):
            amps = current(1.2 if rising else 2.0, drain, 2 * pair + rising)
            leak = np.full(GATE.size, 2e-12)
            gate = GATE
            if sign < 0:
                gate, amps, leak = -GATE[::-1], -amps[::-1], -leak
            made.append(
                Sweep(
                    gate_voltage=gate, drain_current=amps, gate_current=leak, drain_voltage=sign * drain,
                    rising=rising if sign > 0 else not rising, pair=pair, file="T07.csv", label=f"VD {sign * drain} V",
                )
            )  # fmt: skip
    return made


@pytest.fixture(scope="module")
def transfer():
    sweeps = loop()
    results = extract(sweeps, GEOMETRY)
    return sweeps, results, transfer_plot(sweeps, results, "T07 <a>")


def every_plot(sweeps, results):
    volts = np.linspace(0, 10, 21)
    places = [Place(x=0.01 * k, y=-0.01, value=None if k == 2 else 1.0 + k, label=f"D{k}", why_not="dead" * (k == 2))
              for k in range(4)]  # fmt: skip
    length = np.array([5e-6, 10e-6, 20e-6])
    line = LengthLine(overdrive=5.0, length=length, resistance=0.2 + length * 2e4, std=np.full(3, 0.01), at=length,
                      fit=0.2 + length * 2e4, low=0.1 + length * 2e4, high=0.3 + length * 2e4)  # fmt: skip
    guess = Curve(voltage=GATE, current=np.abs(current(1.4, 0.1)), label="predicted, as run", origin="as run")
    mobility = np.full(21, 1e-3)
    return [
        transfer_plot(sweeps, results),
        transconductance_plot(sweeps, results),
        definitions_plot(results[0]),
        output_plot([Curve(voltage=volts, current=1e-6 * volts, label="V_G 5 V")]),
        mobility_plot([Definition(name="effective", gate_voltage=volts, value=mobility, low=mobility / 2, high=2 * mobility)]),
        straight_line_plot(volts, volts - 1, axis=Axis(label="H", unit="V"), foot=1.0, window=(3, 6), label="V_T 1 V"),
        map_plot(places, size=0.1, name="threshold voltage", unit="V", outliers=("D3",), fitted=lambda x, y: 1 + x + y * y),
        split_plot([Replicate(split="a", wafer="W1", values=(1.0, 2.0, 3.0, 4.0, 9.0))], name="mobility", unit="cm^2/(V*s)"),
        correlation_plot(["a", "b"], np.array([[1.0, np.nan], [np.nan, 1.0]])),
        length_plot([line], crossing=(-1e-7, 0.19), said="20 ± 1 Ω·cm"),
        predicted_plot([Curve(voltage=GATE, current=sweeps[0].drain_current, label="measured")],
                       [Predicted(curve=guess, low=guess.current / 2, high=guess.current * 2)]),
        capacitance_plot(volts, np.full(21, 6e-4), flat_band=0.4, corrected=np.full(21, 6.1e-4)),
        trace_plot(volts * 1e-6, volts * 1e-9, base=volts * 0.0, windows=((1e-6, 3e-6),), said="step 58 ± 1 nm"),
        residual_plot(volts, np.sin(volts), axis=Axis(label="gate voltage", unit="V")),
    ]  # fmt: skip


def named(figure, start):
    return next(trace for trace in figure["data"] if trace.get("name", "").startswith(start))


@pytest.mark.analytic
def test_the_drawn_numbers_are_the_measured_ones(transfer):
    sweeps, _, plot = transfer
    small, large, log, _ = (json.loads(json.dumps(live_figure(panel))) for panel in plot.panels)
    for figure, sweep, label in (
        (small, sweeps[0], "V_D 0.1 V, forward"),
        (large, sweeps[3], "V_D 20 V, backward"),
    ):
        trace = named(figure, label)
        assert trace["x"] == pytest.approx(GATE, rel=1e-6)
        assert trace["y"] == pytest.approx(sweep.drain_current * 1e6, rel=1e-6, abs=1e-9)
        assert figure["layout"]["yaxis"]["title"]["text"] == "drain current [µA]"
    assert named(log, "V_D 0.1 V, forward")["y"] == pytest.approx(np.abs(sweeps[0].drain_current), rel=1e-6)
    assert named(log, "gate current")["y"] == pytest.approx(np.full(201, 2e-12))
    assert log["layout"]["yaxis"]["type"] == "log"
    assert log["layout"]["yaxis"]["title"]["text"] == "|drain current| [A]"


@pytest.mark.analytic
def test_tangents_stand_on_the_thresholds_and_windows_are_those_that_were_used(transfer):
    sweeps, results, plot = transfer
    for panel, at, name, spans in (
        (plot.panels[0], 0, "threshold_voltage_linear", 1),
        (plot.panels[-1], 2, "threshold_voltage_saturation", 1),
    ):
        parameter = results[at].parameters[name]
        assert parameter.valid
        (tangent,) = panel.tangents
        assert tangent.foot == (parameter.value, 0.0)
        assert len(panel.spans) == spans
        assert (panel.spans[0].low, panel.spans[0].high) == parameter.window
        middle = sum(parameter.window) / 2
        x1, y1 = tangent.end
        on_line = y1 * (middle - parameter.value) / (x1 - parameter.value)
        curve = np.interp(middle, sweeps[at].gate_voltage, panel.series[0].y)
        assert on_line == pytest.approx(curve, rel=0.02)
    swing = results[0].parameters["subthreshold_swing"]
    line = plot.panels[2].tangents[0]
    decades = np.log10(line.end[1] / line.start[1])
    assert (line.end[0] - line.start[0]) / decades == pytest.approx(swing.value, rel=1e-9)


@pytest.mark.property
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_arrows_show_both_directions_where_there_is_hysteresis(sign):
    sweeps = loop(sign)
    plot = transfer_plot(sweeps, extract(sweeps, GEOMETRY))
    for panel in plot.panels:
        ways = {arrow.label.split(",")[1]: np.sign(arrow.head[0] - arrow.tail[0]) for arrow in panel.arrows}
        assert ways == {" forward: direction": sign, " backward: direction": -sign}
        figure = live_figure(panel)
        heads = [each for each in figure["layout"]["annotations"] if each["showarrow"]]
        assert len(heads) == len(panel.arrows)
        for head, arrow in zip(heads, panel.arrows, strict=True):
            top = np.log10(arrow.head[1]) if panel.y.scale == "log" else arrow.head[1]
            assert (head["x"], head["y"]) == pytest.approx((arrow.head[0], top))


@pytest.mark.property
def test_no_arrow_where_one_direction_was_measured():
    sweeps = loop()[::2]
    plot = transfer_plot(sweeps, extract(sweeps, GEOMETRY))
    assert not any(panel.arrows for panel in plot.panels)


@pytest.mark.property
def test_the_floor_is_marked_where_the_current_is_only_a_bound(transfer):
    sweeps, results, plot = transfer
    assert "floor-limited" in results[0].classes
    (level,) = plot.panels[2].levels
    assert level.value == pytest.approx(
        sweeps[0].drain_current.max() / results[0].parameters["on_off_ratio"].value
    )
    assert "floor" in level.label


@pytest.mark.reference
def test_the_plotting_library_accepts_every_figure(transfer):
    """Its own checks know every attribute; a slip in a name would be refused."""
    sweeps, results, _ = transfer
    for plot in every_plot(sweeps, results):
        figures = notebook_figures(plot)
        assert len(figures) == len(plot.panels)
        for figure, panel in zip(figures, plot.panels, strict=True):
            if panel.series:
                drawn = {trace.name: trace for trace in figure.data if trace.name}
                for series in panel.series:
                    if series.label:
                        assert len(drawn[series.label].x) == len(series.x)


@pytest.mark.property
def test_every_axis_has_a_unit_and_every_picture_says_what_it_is(transfer):
    sweeps, results, _ = transfer
    for plot in every_plot(sweeps, results):
        for number, panel in enumerate(plot.panels):
            for axis, key in ((panel.x, "xaxis"), (panel.y, "yaxis")):
                if axis.scale != "names":
                    text = live_figure(panel)["layout"][key]["title"]["text"]
                    assert re.search(r"\[.+\]$", text), text
            svg = panel_svg(panel, prefix=f"a{number}-", title=plot.title)
            root = ET.fromstring(svg)
            assert root.find("{http://www.w3.org/2000/svg}title").text == plot.title
            assert root.find("{http://www.w3.org/2000/svg}desc").text == panel.told
            assert "<text" not in svg
            assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", svg)
            ids = re.findall(r'\bid="([^"]+)"', svg)
            assert all(each.startswith(f"a{number}-") for each in ids)


@pytest.mark.property
def test_the_same_description_gives_the_same_picture(transfer):
    panel = transfer[2].panels[0]
    assert panel_svg(panel, prefix="a-") == panel_svg(panel, prefix="a-")


@pytest.mark.property
def test_a_page_holds_the_library_once_and_no_address(transfer):
    _, _, plot = transfer
    page = f"<html><body>{plot_html(plot, 'a-')}{plot_html(plot, 'b-')}</body></html>"
    made = with_scripts(page)
    assert made == with_scripts(made)
    assert made.count('id="figure-library"') == 1
    assert made.count('class="figure"') == 2 * len(plot.panels)
    bare = made.replace("http://www.w3.org/2000/svg", "").replace("http://www.w3.org/1999/xlink", "")
    assert "http" not in bare
    assert " src=" not in bare
    assert len(made) < 3_000_000
    assert with_scripts("<body>no figure</body>") == "<body>no figure</body>"
    assert "T07 &lt;a&gt;" in made
    assert "T07 <a>" not in made


@pytest.mark.property
def test_print_is_one_journal_column_with_its_fonts(transfer):
    _, _, plot = transfer
    (svg,) = printed_plots((plot,), "svg")
    root = ET.fromstring(svg)
    assert float(root.get("width").removesuffix("pt")) == pytest.approx(86 / 25.4 * 72, rel=1e-3)
    assert not list(root.iter("{http://www.w3.org/2000/svg}text"))
    (pdf,) = printed_plots((plot, plot), "pdf")
    assert len(re.findall(rb"/Type /Page\b(?!s)", pdf)) == 2
    assert b"/FontFile2" in pdf
    assert b"/Type3" not in pdf
    first, second = printed_plots((plot, plot), "png")
    assert first == second
    assert first.startswith(b"\x89PNG")
    with pytest.raises(ValueError, match="not as gif"):
        printed_plots((plot,), "gif")


@pytest.mark.property
def test_curves_are_told_apart_without_colour():
    """Each ink has a dash and most a mark of its own; inks stand clear of white paper, the dark ones of a dark page."""
    assert len(set(DASHES)) == len(DASHES) == len(INKS) == len(DARK_INKS)
    assert len(set(MARKS)) == len(MARKS)
    assert all(contrast(ink, "#ffffff") > 3.5 for ink in INKS)
    assert all(contrast(ink, "#1d2125") > 4.5 for ink in DARK_INKS)
    assert luminance(INKS[1]) - luminance(INKS[0]) > 0.1


@pytest.mark.analytic
def test_a_map_counts_crosses_rings_what_stands_out_and_keeps_its_causes():
    places = [
        Place(x=0.0, y=0.0, value=1.0, label="D1"),
        Place(x=0.01, y=0.0, value=None, label="D2", why_not="dead"),
        Place(x=0.0, y=-0.02, value=9.0, label="D3"),
    ]
    (panel,) = map_plot(places, size=0.1, name="threshold voltage", unit="V", outliers=("D3",)).panels
    assert panel.note == "2 of 3 with a value, × none"
    good, bad, rings = live_figure(panel)["data"][-3:]
    assert good["marker"]["color"] == [1.0, 9.0]
    assert good["x"] == [0.0, 0.0]
    assert good["y"] == [0.0, -20.0]
    assert bad["customdata"] == [["D2", "dead"]]
    assert rings["text"] == ["D3"]
    assert good["marker"]["colorbar"]["title"]["text"] == "threshold voltage [V]"
    assert panel.x.text == "x, flat down [mm]"
    assert (panel.x.low, panel.x.high) == pytest.approx((-54, 54))


@pytest.mark.analytic
def test_the_rim_of_a_wafer_is_a_circle_with_its_flat_below():
    rim = wafer_outline(50.0)
    on_rim = np.hypot(rim.x, rim.y)
    assert on_rim == pytest.approx(np.full(len(on_rim), 50.0))
    assert rim.y.min() == pytest.approx(-50 * np.sqrt(1 - 0.28**2))
    assert np.hypot(*np.array([wafer_outline(50.0, "notch").x, wafer_outline(50.0, "notch").y])).min() < 49
    fitted = map_plot(
        [Place(x=0, y=0, value=1.0, label="D")], size=0.1, name="a", unit="V", fitted=lambda x, y: 2 + 100 * x
    )
    surface = fitted.panels[0].surface
    assert surface.z[20, 30] == pytest.approx(2 + 100 * 0.025)
    assert np.isnan(surface.z[0, 0])


@pytest.mark.reference
def test_a_box_is_that_of_the_quartiles_and_every_device_is_shown():
    values = (1.0, 2.0, 3.0, 4.0, 9.0)
    plot = split_plot(
        [Replicate(split="300 °C", wafer="W1", values=values, names=tuple("abcde")), Replicate(split="350 °C", wafer="W2", values=(5.0,))],
        name="threshold voltage", unit="V", means={"300 °C": (3.0, 2.0, 4.0)},
    )  # fmt: skip
    (panel,) = plot.panels
    (box,) = panel.boxes
    assert (box.quarter, box.median, box.three_quarters) == tuple(np.percentile(values, (25, 50, 75)))
    assert (box.low, box.high) == (1.0, 4.0)
    assert sorted(panel.series[0].y) == list(values)
    assert panel.x.names == ("300 °C · W1", "350 °C · W2")
    assert panel.series[0].mark != panel.series[1].mark
    assert panel.series[0].notes[0] == "W1 a"
    assert list(panel.series[2].low) == [2.0, 2.0]


@pytest.mark.analytic
def test_lengths_and_resistances_are_drawn_in_the_units_of_their_axes():
    length = np.array([5e-6, 10e-6])
    line = LengthLine(overdrive=5.0, length=length, resistance=np.array([0.1, 0.2]), std=np.array([0.01, 0.01]), at=length,
                      fit=np.array([0.1, 0.2]), low=np.array([0.09, 0.19]), high=np.array([0.11, 0.21]))  # fmt: skip
    (panel,) = length_plot([line], crossing=(-1e-6, 0.02)).panels
    assert panel.y.text == "resistance times width [Ω·cm]"
    assert list(panel.series[0].x) == pytest.approx([5, 10])
    assert list(panel.series[0].y) == pytest.approx([10, 20])
    assert panel.series[0].high - panel.series[0].y == pytest.approx(1.96)
    assert (panel.series[2].x[0], panel.series[2].y[0]) == pytest.approx((-1.0, 2.0))
    bars = live_figure(panel)["data"][0]["error_y"]
    assert bars["array"] == pytest.approx([1.96, 1.96])


@pytest.mark.property
def test_many_curves_are_thinned_and_the_figure_says_so():
    sweeps = loop()[:1] * 40
    plot = transfer_plot(sweeps, extract(sweeps, GEOMETRY))
    assert plot.panels[0].note == "12 of 40 curves are drawn"
    assert len(plot.panels[0].series) == 12


@pytest.mark.property
def test_a_description_without_unit_or_with_half_a_band_is_refused():
    one = np.zeros(2)
    with pytest.raises(ValueError, match="no unit"):
        Axis(label="drain current")
    with pytest.raises(ValueError, match="two ends"):
        Series(x=one, y=one, low=one)
    with pytest.raises(ValueError, match="equal length"):
        Series(x=one, y=np.zeros(3))
    with pytest.raises(ValueError, match="need a mark"):
        Series(x=one, y=one, line=False)
    with pytest.raises(ValueError, match="at least one panel"):
        Plot(title="none", panels=())
    assert Panel(x=Axis(label="a", unit="V"), y=Axis(label="b", unit="1")).told == "b [1] against a [V]"
