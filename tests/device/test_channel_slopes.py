"""The derivatives of the drain current: as differences give them, and as the scalar law has the current."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.device import CHANNEL_PARAMETERS, TransistorDesign, current_slopes, drain_current

GATE = np.tile(np.linspace(-4.0, 12.0, 33), 3)
DRAIN = np.repeat([0.1, 2.0, 10.0], 33)
NAMES = tuple(CHANNEL_PARAMETERS)

DEVICES = st.fixed_dictionaries(
    {
        "threshold_voltage": st.floats(-2.0, 4.0),
        "gain": st.floats(1e-7, 1e-3),
        "ideality": st.floats(1.0, 12.0),
        "contact_ohms": st.one_of(st.just(0.0), st.floats(1.0, 1e5)),
        "off_current": st.floats(0.0, 1e-9),
        "attenuation": st.floats(0.0, 0.3),
        "modulation": st.floats(0.0, 0.1),
        "body_factor": st.floats(1.0, 2.0),
    }
)


@pytest.mark.property
@given(DEVICES)
def test_the_current_is_that_of_the_transistor(values):
    design = TransistorDesign(
        width=1.0,
        length=1.0,
        areal_capacitance=1.0,
        mobility=values["gain"],
        threshold_voltage=values["threshold_voltage"],
        ideality=values["ideality"],
        contact_resistance=values["contact_ohms"],
        off_current=values["off_current"],
        attenuation=values["attenuation"],
        modulation=values["modulation"],
        body_factor=values["body_factor"],
    )
    found, _ = current_slopes(values, GATE, DRAIN, ())
    assert found[0] == pytest.approx(drain_current(design, GATE, DRAIN), rel=1e-9, abs=1e-24)


@pytest.mark.property
@given(DEVICES, st.sampled_from(NAMES))
def test_every_derivative_is_what_differences_say(values, name):
    values = {**values, "contact_ohms": values["contact_ohms"] + 1.0}
    values |= {each: values[each] + 0.01 for each in ("ideality", "body_factor")}
    _, slopes = current_slopes(values, GATE, DRAIN, NAMES)
    step = {"threshold_voltage": 1e-4, "attenuation": 1e-4, "modulation": 1e-4, "off_current": 1e-12}.get(
        name, 1e-4 * values[name]
    )
    base = {**values, name: values[name] + (step if name != "threshold_voltage" else 0.0)}
    up, down = ({**base, name: base[name] + sign * step} for sign in (1.0, -1.0))
    middle = current_slopes(base, GATE, DRAIN, NAMES)[1][0, NAMES.index(name)]
    measured = (current_slopes(up, GATE, DRAIN, ())[0] - current_slopes(down, GATE, DRAIN, ())[0])[0] / (
        2 * step
    )
    # Central differences: their error goes with the square of the step, their rounding with the current over it.
    noise = 1e-11 * np.abs(current_slopes(base, GATE, DRAIN, ())[0][0]) / step
    assert np.all(
        np.abs(measured - middle) <= 2e-5 * np.abs(middle) + 4 * noise + 1e-7 * np.abs(middle).max()
    )
    assert np.all(np.isfinite(slopes))


@pytest.mark.analytic
def test_far_above_threshold_the_slopes_are_those_of_the_square_law():
    # I = β·[(V_G − V_T)·V_D − V_D²/2]: dI/dV_T = −β·V_D, dI/dβ = I/β; in saturation dI/dV_T = −β·(V_G − V_T).
    values = {"threshold_voltage": 1.0, "gain": 1e-5, "ideality": 1.0}
    current, slopes = current_slopes(values, [11.0, 11.0], [0.1, 20.0], ("threshold_voltage", "gain"))
    assert current[0] == pytest.approx([1e-5 * (10 * 0.1 - 0.005), 1e-5 * 50], rel=1e-6)
    assert slopes[0, 0] == pytest.approx([-1e-6, -1e-4], rel=1e-6)
    assert slopes[0, 1] == pytest.approx(current[0] / 1e-5, rel=1e-6)


@pytest.mark.analytic
def test_below_threshold_the_current_falls_by_the_swing_and_so_does_its_slope():
    # I ~ exp((V_G − V_T)/(n·φ)): −dI/dV_T over I is 1/(n·φ).
    values = {"threshold_voltage": 5.0, "gain": 1e-5, "ideality": 2.0}
    current, slopes = current_slopes(values, [0.0], [1.0], ("threshold_voltage",), temperature=300.0)
    assert -slopes[0, 0, 0] / current[0, 0] == pytest.approx(1 / (2 * 0.0258520), rel=1e-4)


@pytest.mark.analytic
def test_with_large_contacts_the_current_is_that_of_the_two_resistors():
    values = {"threshold_voltage": 0.0, "gain": 1e-2, "contact_ohms": 1e6}
    current, slopes = current_slopes(values, [20.0], [0.1], ("contact_ohms",))
    assert current[0, 0] == pytest.approx(0.1 / 2e6, rel=1e-4)
    assert slopes[0, 0, 0] == pytest.approx(-0.1 / 2e12, rel=1e-3)


@pytest.mark.property
def test_names_and_ranges_are_refused():
    with pytest.raises(ValueError, match="mobility"):
        current_slopes({"mobility": 1.0}, 1.0, 1.0, ())
    with pytest.raises(ValueError, match="ideality"):
        current_slopes({"ideality": 0.5}, 1.0, 1.0, ())
    with pytest.raises(ValueError, match="drain_voltage"):
        current_slopes({}, 1.0, -1.0, ())


@pytest.mark.property
def test_what_memory_held_before_is_no_part_of_the_answer(monkeypatch):
    # A signalling NaN in fresh memory makes any arithmetic on it an error.
    fresh = np.empty

    def dirty(shape):
        found = fresh(shape)
        found.view(np.uint64)[...] = 0x7FF0000000000001
        return found

    monkeypatch.setattr("filmwright.device.channel_slopes.np.empty", dirty)
    values = {"threshold_voltage": 1.0, "gain": 1e-5, "contact_ohms": 1e3, "off_current": 1e-12}
    _, slopes = current_slopes(values, [0.0, 10.0], [0.1, 5.0], ("contact_ohms", "off_current", "modulation"))
    assert np.all(np.isfinite(slopes))
