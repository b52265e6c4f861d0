"""Currents on the section of the example, against those of an even film."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from filmwright.emulate import (
    Trace,
    UnreadableChannelError,
    currents_on_section,
    gate_of,
    predict,
    section_of,
)
from filmwright.knowledge import book
from filmwright.masks import chip, drawing_of

Walked = Callable[..., Trace]
SWITCH = "humidity-switch"


@pytest.fixture(scope="module")
def solved(walked: Walked):
    trace, facts = walked(SWITCH), book()
    device = trace.devices.named("T07")
    prediction = predict(device, facts, gate_of(trace, device))
    section = section_of(trace, drawing_of(chip(SWITCH)), device)
    gate = np.array([0.0, 2.0, 6.0])
    return currents_on_section(section, device, prediction, facts, (gate, (0.1, 5.0)), columns=240)


@pytest.mark.analytic
def test_a_channel_of_some_micrometres_carries_what_an_even_film_does(solved):
    # Contacts and the end of a short channel are all that differs.
    np.testing.assert_allclose(solved.current[:, 0], solved.even[:, 0], rtol=0.05)
    np.testing.assert_allclose(solved.current[:, 1], solved.even[:, 1], rtol=0.1)
    assert np.any(np.abs(solved.current / solved.even - 1) > 1e-3)


@pytest.mark.property
def test_the_section_says_how_long_the_channel_is_and_where_its_barrier_comes_from(solved):
    assert solved.cut.contact == "titanium"
    assert solved.cut.length == pytest.approx(4.75e-6, rel=0.01)
    assert solved.nodes > 2500
    assert any("work function of titanium" in note for note in solved.notes)


@pytest.mark.property
def test_without_states_on_file_it_is_refused(walked: Walked):
    trace, facts = walked(SWITCH), book()
    device = trace.devices.named("T07")
    prediction = replace(predict(device, facts, gate_of(trace, device)), transistor=None)
    section = section_of(trace, drawing_of(chip(SWITCH)), device)
    with pytest.raises(UnreadableChannelError, match="states"):
        currents_on_section(section, device, prediction, facts, (np.array([1.0]), (0.1,)))
