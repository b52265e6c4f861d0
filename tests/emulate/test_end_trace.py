"""What is seen while the films of the examples are etched."""

from collections.abc import Callable

import numpy as np
import pytest

from filmwright.emulate import EndTrace, Trace, end_traces
from filmwright.knowledge import book, optical

Walked = Callable[..., Trace]
SWITCH, DELAY = "humidity-switch", "delay-line"


def seen(trace: Trace, material: str) -> EndTrace:
    return next(each for each in end_traces(trace, book()).values() if each.material == material)


@pytest.mark.literature
def test_fringes_come_at_half_a_wavelength_in_the_film(walked: Walked):
    # Born and Wolf 7.6: a film that thins by λ/2n brings one fringe; the dips of zinc oxide are that far apart in time.
    trace = seen(walked(DELAY), "zinc oxide")
    bright = trace.reflectance
    dips = [
        k
        for k in range(1, len(bright) - 1)
        if bright[k] < bright[k - 1] and bright[k] <= bright[k + 1] and trace.time[k] < trace.end
    ]
    index = float(optical("zinc oxide").index(np.array([trace.wavelength]))[0].real)
    state = next(s for s in walked(DELAY).states if s.step.kind == "etch" and s.step.material == "zinc oxide")
    apart = trace.time[dips[1]] - trace.time[dips[0]]
    assert apart == pytest.approx(trace.wavelength / (2 * index * state.rate.value), rel=0.03)


@pytest.mark.analytic
def test_the_line_of_a_reactant_rises_by_the_loading(walked: Walked):
    trace = seen(walked(DELAY), "molybdenum")
    state = next(s for s in walked(DELAY).states if s.step.kind == "etch" and s.step.material == "molybdenum")
    assert trace.line.end == "rises"
    k = book().models["loading"]["sulfur hexafluoride and oxygen plasma"].value
    assert trace.light[0] == pytest.approx(1 / (1 + k * state.etch.open_share), rel=1e-6)
    assert trace.light[-1] == pytest.approx(1.0)
    assert trace.first < trace.end < trace.last


@pytest.mark.analytic
def test_the_line_of_a_product_falls_to_nothing_between_the_first_and_the_last_ring(walked: Walked):
    # film ±1.5 %, etch ±5 %, no loading on file: rings clear from 0.985/1.05 to 1.015/0.95 of the end
    trace = seen(walked(SWITCH), "aluminium oxide")
    assert trace.first == pytest.approx(0.985 / 1.05 * trace.end, rel=2e-3)
    assert trace.last == pytest.approx(1.015 / 0.95 * trace.end, rel=2e-3)
    assert np.all(trace.light[trace.time < trace.first] == pytest.approx(1.0))
    assert np.all(trace.light[trace.time > trace.last] == pytest.approx(0.0))


@pytest.mark.analytic
def test_colours_end_with_what_lies_beneath(walked: Walked):
    # The last stage is bare oxide on silicon, whatever was etched: the same colour as the field before the film came.
    trace = seen(walked(SWITCH), "titanium")
    assert [part for part, _, _ in trace.stages] == [1.0, 0.75, 0.5, 0.25, 0.0]
    assert trace.colours.startswith("100% ")
    assert trace.reflectance[-1] == pytest.approx(
        trace.reflectance[np.searchsorted(trace.time, trace.end) + 1], rel=0.02
    )
    assert seen(walked(SWITCH), "indium gallium zinc oxide").line is None
