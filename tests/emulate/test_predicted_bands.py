"""Bands, leakage and warming of predicted transistors."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from filmwright.device import poole_frenkel_current
from filmwright.emulate import Thinnest, Trace, bands, families, gate_leak, gate_of, predict, warming
from filmwright.knowledge import book

Walked = Callable[..., Trace]
SWITCH = "humidity-switch"


@pytest.fixture(scope="module")
def told(request):
    trace = request.getfixturevalue("walked")(SWITCH)
    device = trace.devices.named("T10")
    return trace, device, predict(device, book(), gate_of(trace, device))


@pytest.mark.analytic
def test_a_band_is_that_of_the_one_value_that_a_number_follows(told):
    _, _, found = told
    # The offset is (Φ − χ)/q less charge over capacitance: linear in the two energies, so their spreads add in squares.
    within = bands(found, lambda made: [{"offset": each.offset} for each in made])["offset"]
    gate, film = found.rests_on["work function of the gate"], found.rests_on["electron affinity"]
    charge, permittivity = (
        found.rests_on["interface charge"],
        found.rests_on["permittivity of aluminium oxide"],
    )
    del permittivity  # Without a charge on file the capacitance does not move the offset.
    per_charge = 1.602176634e-19 / found.design.areal_capacitance
    std = math.hypot(gate.std / 1.602176634e-19, film.std / 1.602176634e-19, charge.std * per_charge)
    assert within.high - within.low == pytest.approx(2 * 1.96 * std, rel=1e-6)
    assert sum(share for _, share in within.shares) == pytest.approx(1.0)


@pytest.mark.analytic
def test_a_factor_of_two_in_mobility_is_one_in_current(told):
    _, _, found = told
    within = bands(
        found, lambda made: [{"mobility": each.mobility} for each in made], frozenset({"mobility"})
    )["mobility"]
    own = dict(within.shares)["mobility"]
    known = found.rests_on["mobility"]
    # Log-normal: the bounds on file enclose 95 %; its part of the band is the band of the value alone.
    reach = math.log(within.high / within.value) * math.sqrt(own)
    assert reach == pytest.approx(math.log(known.high / known.low) / 2, rel=0.01)


@pytest.mark.analytic
def test_the_gate_leaks_over_its_flat_parts_by_the_law_of_its_traps(told):
    trace, device, found = told
    leak, why = gate_leak(found, device, book(), Thinnest(trace))
    assert not why
    assert leak is not None
    material, thickness = device.dielectric[0]
    values = book().material(material).values
    gate = 6.0
    density = poole_frenkel_current(
        gate / thickness,
        values["trap conductivity"].value,
        values["trap depth"].value / 1.602176634e-19,
        values["high-frequency permittivity"].value,
        found.temperature,
    )
    area = device.width * (device.length + sum(device.overlaps.values()) + 2 * thickness)
    assert leak.currents(gate, 0.0) == pytest.approx(area * float(density), rel=0.02)
    assert leak.currents(-gate, 0.0) < 0
    curves = families(found, leak, 6.0, 5.0, 0.1)
    assert curves.gate_current is not None
    assert np.all(np.abs(curves.gate_current[-1]) < curves.transfer[-1])


@pytest.mark.analytic
def test_a_channel_warms_through_the_films_beneath_it(told):
    trace, device, found = told
    heat = warming(found, device, trace, book())
    assert heat.resistance is not None
    area = device.width * device.length
    beneath = trace.final.plan.column_at(*device.place)
    least = 0.0
    for layer in beneath.layers[1:]:
        if layer.material == device.semiconductor[0][0]:
            break
        value = book().material(layer.material).values.get("thermal conductivity")
        least += layer.thickness / value.value / area if value is not None else 0.0
    assert heat.resistance > least > 0
    body = book().material(beneath.layers[0].material).values["thermal conductivity"].value
    assert heat.resistance - least == pytest.approx(8 / (3 * math.pi**2 * body * math.sqrt(area / math.pi)))
