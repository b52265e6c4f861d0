"""A device whose truth is known: what was changed is what the comparison finds, and nothing is left."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from filmwright.desk.comparison import explained, of_lot, of_wafers
from filmwright.desk.comparison_fit import ON
from filmwright.desk.comparison_rows import Told, fields_of, notes_of, rows_of, untold
from filmwright.desk.explain import Probed, linear
from filmwright.desk.files import load
from filmwright.desk.invent import changed, table
from filmwright.desk.planning import new
from filmwright.device import TransistorDesign, film_current, stack_capacitance
from filmwright.emulate import Prediction, film_transistor, gate_of, predict, walk
from filmwright.measure import Geometry, Sweep, extract, read_table
from filmwright.units import ELEMENTARY_CHARGE, ROOM_TEMPERATURE, to_si

GATE = np.linspace(-3.0, 6.0, 91)
# An oxide channel of our own: judgement, so that every number is of the size that such films have.
NUMBERS = {
    "effective density of states": to_si(5e18, "1/cm^3"),
    "carrier density": to_si(1e16, "1/cm^3"),
    "permittivity": 13.0,
    "electron affinity": to_si(4.3, "eV"),
    "mobility": to_si(10, "cm^2/(V*s)"),
    "tail states": to_si(1e19, "1/cm^3") / to_si(0.05, "eV"),
    "tail energy": to_si(0.02, "eV"),
    "deep states": to_si(5e16, "1/cm^3"),
    "depth of deep states": to_si(0.4, "eV"),
    "width of deep states": to_si(0.1, "eV"),
    "interface trap density": to_si(5e11, "1/cm^2") / to_si(1, "eV"),
    "interface charge": 0.0,
    "back surface charge": 0.0,
    "mobility exponent": 0.1,
    "mobility activation energy": to_si(0.02, "eV"),
    "contact resistance": to_si(5, "ohm*cm"),
    "off current per width": 1e-9,
    "electrons per area": 3e16,
    "work function of the gate": to_si(4.33, "eV"),
    "permittivity of aluminium oxide": 8.0,
    "thickness of aluminium oxide": to_si(40, "nm"),
    "overlap of the source": 0.0,
    "overlap of the drain": 0.0,
    "width": to_si(50, "um"),
    "length": to_si(10, "um"),
    "thickness of the channel": to_si(25, "nm"),
}
RUN = {**NUMBERS, "thickness of aluminium oxide": to_si(36, "nm"), "length": to_si(11, "um")}
TRUTH = {**RUN, "interface charge": -4e15, "mobility": 0.8e-3, "interface trap density": 5.5e34}
FILMS = ("aluminium oxide",)


def prediction(numbers):
    capacitance = stack_capacitance([8.0], [numbers["thickness of aluminium oxide"]])
    return Prediction(
        name="T07",
        design=TransistorDesign(
            width=numbers["width"],
            length=numbers["length"],
            areal_capacitance=capacitance,
            mobility=numbers["mobility"],
            threshold_voltage=0.0,
        ),
        rests_on={},
        transistor=film_transistor(numbers, FILMS, ROOM_TEMPERATURE),
        numbers=numbers,
        dielectrics=FILMS,
    )


def probed(truth=TRUTH, wafer="W1", seed=0):
    current = film_current(film_transistor(truth, FILMS, ROOM_TEMPERATURE), GATE, np.full(91, 0.1))
    noisy = current * (1 + 0.002 * np.random.default_rng(seed).normal(size=91))
    sweep = Sweep(gate_voltage=GATE, drain_current=noisy, drain_voltage=0.1, file=f"{wafer}.csv")
    run = prediction(RUN)
    known = Geometry(width=RUN["width"], length=RUN["length"], areal_capacitance=run.design.areal_capacitance)
    return Probed(
        wafer=wafer,
        device="T07",
        file=sweep.file,
        sweeps=(sweep,),
        results=extract([sweep], known),
        planned=prediction(NUMBERS),
        as_run=run,
    )


@pytest.fixture(scope="module")
def case():
    found = explained(probed())
    assert found is not None
    return found


@pytest.mark.analytic
def test_charge_and_mobility_that_were_changed_are_found_and_nothing_is_left_of_the_on_current(case):
    assert case.fitted["interface charge"][1] == pytest.approx(-4e15, rel=0.15)
    assert case.fitted["mobility"][1] == pytest.approx(0.8e-3, rel=0.03)
    on = case.found[ON].explanation
    # The three make up all that was changed beside what was run.
    assert on.explained == pytest.approx(on.measured, rel=0.03)
    total = on.planned + sum(share.amount for share in on.shares) + on.rest.amount
    assert total == pytest.approx(on.measured, rel=1e-9)


@pytest.mark.analytic
def test_each_cause_moves_what_it_should(case):
    shares = {share.name: share for share in case.found[ON].explanation.shares}
    # A thinner insulator calls more charge, a longer channel and a smaller mobility carry less; contacts were not touched.
    assert shares["insulator"].amount > 0
    assert shares["channel length and width"].amount < 0
    assert shares["mobility"].amount < 0
    assert shares["contacts"].amount == pytest.approx(0.0, abs=1e-15)
    on = case.found[ON].explanation
    # Of the length alone: −ln(11/10) of the current, shared with what interacts with it.
    middle = (on.planned + on.explained) / 2
    assert shares["channel length and width"].amount == pytest.approx(-np.log(1.1) * middle, rel=0.15)
    volts = {share.name: share.amount for share in case.found["threshold voltage"].explanation.shares}
    # q·N/C of 4e11 electrons per cm² at 0.197 µF/cm²: 0.33 V, in part as on average over both insulators.
    assert volts["threshold charge"] == pytest.approx(0.33, abs=0.06)
    assert {name for name, _, _ in case.replaced} == {"thickness of aluminium oxide", "length"}


@pytest.mark.property
def test_wafers_are_told_together_and_everything_in_rows_words_and_fields(case):
    devices = [probed(wafer="W1"), probed({**TRUTH, "interface charge": -5e15}, wafer="W2", seed=1)]
    cases = of_wafers(devices, devices[0])
    assert [each.wafer for each in cases] == ["W1", "W2"]
    lot = of_lot(cases)
    one, other = (each.found["threshold voltage"].explanation.measured for each in cases)
    assert lot["threshold voltage"].measured == pytest.approx((one + other) / 2)
    assert lot["threshold voltage"].measured_std >= abs(one - other) / 2 * 0.99
    told = Told(device=case, wafers=cases, lot=lot)
    rows = rows_of(told, devices[0])
    assert len(rows) == len(case.found) + len(lot)
    assert any("cannot tell" in name for name, _ in rows[0].shares)
    words = " ".join(notes_of(told))
    assert "thickness of aluminium oxide 40 nm → 36 nm" in words
    assert "To tell the causes apart best, measure the" in words
    fields = fields_of(told)
    volts = next(each for each in fields if each["number"] == "threshold voltage")
    assert volts["unit"] == "V"
    assert volts["shares"][-1]["cause"] == "rest"


@pytest.mark.analytic
def test_a_curve_that_the_physical_model_cannot_make_is_not_shared_out_between_what_was_fitted():
    # A channel whose current falls with the gate voltage: no charge, trap or mobility makes that.
    device = probed()
    sweep = device.sweeps[0]
    bent = sweep.drain_current / (1.0 + np.maximum(GATE - 1.0, 0.0) ** 2)
    sweep = replace(sweep, drain_current=bent)
    known = Geometry(
        width=RUN["width"],
        length=RUN["length"],
        areal_capacitance=device.as_run.design.areal_capacitance,
    )
    bad = explained(replace(device, sweeps=(sweep,), results=extract([sweep], known)))
    assert bad is not None
    assert "the on current by" in bad.missed
    on = bad.found[ON].explanation
    assert {share.name for share in on.shares} == {
        "insulator",
        "channel thickness",
        "channel length and width",
        "contacts",
    }
    assert on.explained == pytest.approx(on.as_run)
    assert on.rest.amount == pytest.approx(on.measured - on.as_run)
    words = " ".join(notes_of(Told(device=bad)))
    assert "cannot tell what threshold charge, traps and mobility share" in words
    assert of_lot([bad]) == {}
    ((open_, settled),) = untold(Told(device=bad))
    assert bad.missed in open_
    assert "contact resistance" in settled
    assert untold(Told()) == ()


@pytest.mark.analytic
def test_a_far_shift_is_found_from_what_was_extracted():
    far = explained(probed({**TRUTH, "interface charge": -2.5e16, "mobility": 2.5e-4}))
    assert far is not None
    assert far.missed == ""
    assert far.fitted["interface charge"][1] == pytest.approx(-2.5e16, rel=0.05)
    assert far.fitted["mobility"][1] == pytest.approx(2.5e-4, rel=0.05)


@pytest.fixture(scope="module")
def invented(tmp_path_factory):
    """Four invented devices of the bundled example with what was drawn for each: mobility, shift, contact."""
    place = tmp_path_factory.mktemp("example")
    new(place, "humidity-switch", on="2026-10-26")
    work = load(place / "plan.yaml")
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-10-26", sections=False)
    working = trace.devices.working("transistor", {"gate": "G", "source": "S", "drain": "D"})
    random = np.random.default_rng(7)
    found = []
    for device in working[:: max(len(working) // 4, 1)][:4]:
        plan = predict(device, work.facts, gate_of(trace, device))
        truth = {
            "mobility": float(random.normal(0.85, 0.05)),
            "shift": float(random.normal(0.35, 0.1)),
            "contact": float(np.exp(random.normal(0.2, 0.1))),
        }
        path = place / f"{device.name}.csv"
        # The eighth part of all devices is drawn broken: these are not.
        text = table(changed(plan, **truth), np.random.default_rng(5))
        path.write_text(text, "utf-8")
        sweeps = read_table(path).sweeps
        design = plan.design
        known = Geometry(width=design.width, length=design.length, areal_capacitance=design.areal_capacitance)
        probe = Probed(
            wafer="W1",
            device=device.name,
            file=path.name,
            sweeps=sweeps,
            results=extract(sweeps, known),
            planned=plan,
            as_run=plan,
        )
        found.append((truth, probe, explained(probe)))
    return found


@pytest.mark.analytic
def test_what_was_drawn_for_invented_devices_lies_in_the_bands_of_what_is_found(invented):
    assert len(invented) == 4
    for truth, probe, case in invented:
        assert case is not None
        assert case.missed == "", (probe.device, case.missed)
        design = probe.planned.design
        on_file, charge, std = case.fitted["interface charge"]
        per_volt = design.areal_capacitance / ELEMENTARY_CHARGE
        assert (on_file - charge) / per_volt == pytest.approx(truth["shift"], abs=1.96 * std / per_volt)
        # Known to a tenth of a volt, or nothing is said by lying inside.
        assert std / per_volt < 0.1
        on_file, mobility, std = case.fitted["mobility"]
        assert mobility / on_file == pytest.approx(truth["mobility"], abs=1.96 * std / on_file)
        assert std / on_file < 0.2
        shares = {share.name: share for share in case.found["threshold voltage"].explanation.shares}
        volts = shares["threshold charge"]
        # The threshold by extrapolation does not follow a shift to the full: the mobility rises to the end of the sweep. What it
        # reads of the drawn shift alone, where nothing else was changed, is what the share must hold.
        sweep = probe.sweeps[linear(probe)]
        shifted = changed(probe.planned, mobility=1.0, shift=truth["shift"], contact=1.0)
        ends = [
            replace(sweep, drain_current=each.currents(sweep.gate_voltage, sweep.drain_voltage))
            for each in (probe.planned, shifted)
        ]
        known = Geometry(width=design.width, length=design.length, areal_capacitance=design.areal_capacitance)
        read = [each.parameters["threshold_voltage"].value for each in extract(ends, known)]
        assert volts.low - 0.02 <= read[1] - read[0] <= volts.high + 0.02
        rest = case.found[ON].explanation.rest
        assert rest.within_noise
