"""Sets of different length of a lot, from the curves in its record."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from filmwright.desk import lot_lengths
from filmwright.desk.explain import Probed, linear
from filmwright.desk.report_lengths import length_pictures, length_tables
from filmwright.device import TransistorDesign, drain_current
from filmwright.emulate import Prediction
from filmwright.measure import Geometry, Sweep, extract_many
from filmwright.wafer import Device, LengthSet

CONTACT = 0.15
"""Resistance of one contact times the width that the curves are made with [Ω·m]."""

WIDTH = 1e-4
LENGTHS = (5e-6, 1e-5, 2e-5, 4e-5, 8e-5)


@dataclass(frozen=True)
class _Lot:
    """What is asked of a story."""

    probed: tuple[Probed, ...]
    planned: object = None


@dataclass(frozen=True)
class _Walked:
    devices: object = None


def probed(name: str, length: float, mobility: float = 1e-3, left_out: str = "") -> Probed:
    """A device measured as the law says, with its prediction."""
    design = TransistorDesign(
        width=WIDTH,
        length=length,
        areal_capacitance=1.7e-3,
        mobility=mobility,
        threshold_voltage=1.0,
        ideality=1.5,
        contact_resistance=CONTACT,
        off_current=1e-14,
    )
    gate = np.linspace(-2.0, 6.0, 81)
    noise = np.random.default_rng(3).normal(0.0, 1e-3, gate.size)
    current = drain_current(design, gate, np.full_like(gate, 0.1)) * (1 + noise)
    sweep = Sweep(gate_voltage=gate, drain_current=current, drain_voltage=0.1, file=f"{name}.csv")
    geometry = Geometry(width=WIDTH, length=length, areal_capacitance=1.7e-3)
    return Probed(
        wafer="W1",
        device=name,
        file=f"{name}.csv",
        sweeps=(sweep,),
        results=tuple(extract_many([sweep], [geometry])),
        as_run=Prediction(name=name, design=design, rests_on={}, numbers={}),
        left_out=left_out,
    )


def lot(monkeypatch: pytest.MonkeyPatch, devices: tuple[Probed, ...]) -> _Lot:
    """A lot whose masks hold one set of these devices."""
    members = tuple(
        Device(
            kind="transistor", name=each.device, terminals={}, nets={}, place=(0.0, 0.0), area=1e-9, width=WIDTH,
            length=each.as_run.design.length,
        )
        for each in devices
        if each.as_run is not None
    )  # fmt: skip
    drawn = LengthSet(name="", arranged="apart", gated=True, width=WIDTH, members=members)
    monkeypatch.setattr(lot_lengths, "length_sets", lambda _: (drawn,))
    return _Lot(probed=devices, planned=_Walked())


@pytest.mark.analytic
def test_the_contact_resistance_that_the_curves_were_made_with_is_found(monkeypatch: pytest.MonkeyPatch):
    devices = tuple(probed(f"T{k}", length) for k, length in enumerate(LENGTHS))
    (found,) = lot_lengths.sets_of(lot(monkeypatch, devices))
    assert found.contact is not None
    assert found.contact.value == pytest.approx(CONTACT, rel=0.05), "from the circuit: two contacts in series"


@pytest.mark.analytic
def test_what_the_set_tells_is_taken_off_the_mobility_of_its_devices(monkeypatch: pytest.MonkeyPatch):
    devices = tuple(probed(f"T{k}", length) for k, length in enumerate(LENGTHS))
    story = lot(monkeypatch, devices)
    sets = lot_lengths.sets_of(story)
    after = lot_lengths.with_contacts(story, sets)
    short = after.probed[0].results[0].parameters
    assert short["contact_corrected_mobility"].value == pytest.approx(1e-3, rel=0.06), "that of the channel"
    assert short["effective_mobility"].value < 0.9e-3, "apparent, contacts not taken off"
    assert devices[0].results[0].parameters["contact_corrected_mobility"].value is None


@pytest.mark.property
def test_an_excluded_device_is_named_with_its_reason_and_takes_no_part(monkeypatch: pytest.MonkeyPatch):
    devices = [probed(f"T{k}", length) for k, length in enumerate(LENGTHS)]
    devices[2] = probed("T2", LENGTHS[2], mobility=1e-4, left_out="probe slipped")
    story = lot(monkeypatch, tuple(devices))
    (found,) = lot_lengths.sets_of(story)
    assert found.left_out == {"T2": "excluded: probe slipped"}
    assert found.contact is not None
    assert found.contact.value == pytest.approx(CONTACT, rel=0.05)
    tables = length_tables(story, (found,))
    assert "excluded: probe slipped" in " ".join(tables[0].notes)
    assert len(length_pictures((found,), invented=True)) == 1


@pytest.mark.property
def test_two_lengths_tell_nothing_and_say_so(monkeypatch: pytest.MonkeyPatch):
    devices = tuple(probed(f"T{k}", length) for k, length in enumerate((1e-5, 1e-5, 2e-5)))
    devices = (*devices[:2], probed("T9", 2e-5, left_out="scratched"))
    (found,) = lot_lengths.sets_of(lot(monkeypatch, devices))
    assert found.found is None
    assert found.contact is None
    assert "two lengths" in found.why_not
    assert linear(devices[0]) == 0
