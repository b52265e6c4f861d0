"""The verb that predicts the curves of a transistor from what was emulated."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np

from filmwright.desk.accepted import informed
from filmwright.desk.curve_files import write_figure
from filmwright.desk.files import record_place, today
from filmwright.desk.lots import frozen
from filmwright.desk.predict_answers import PredictAnswer, PredictedNumber
from filmwright.desk.predicted_curves import film_spreads
from filmwright.device import FilmTransistor, charge_table, charging_frequency, film_current
from filmwright.emulate import (
    Families,
    Prediction,
    SectionCurrents,
    Thinnest,
    Trace,
    UnreadableChannelError,
    bands,
    currents_on_section,
    families,
    gate_leak,
    gate_of,
    section_of,
    walk,
    warming,
)
from filmwright.emulate import predict as predicted
from filmwright.errors import BadInput, Problem, nearest
from filmwright.knowledge import Book, book
from filmwright.masks import Drawing
from filmwright.measure import Geometry, Sweep, extract_many
from filmwright.units import UnitProblem, read, show
from filmwright.wafer import Device

_LINEAR = ("threshold_voltage", "field_effect_mobility", "subthreshold_swing", "onset_voltage")
_SATURATED = ("saturation_mobility",)
_FACTORS = frozenset({"on_current", "field_effect_mobility", "saturation_mobility", "subthreshold_swing"})
Tell = Callable[[int, int, str], None]
_POINTS, _LEAST = 31, 1.1
"""Gate voltages at which a section is solved, and the current over what leaks from which they begin."""
_COLDEST, _WARMEST = 200.0, 420.0
"""Between which the laws in temperature were tried [K]."""


def predict(  # noqa: PLR0913 - one word per option
    plan: Path,
    device: str = "",
    lab: Path | None = None,
    record: str | Path | None = None,
    lot: str = "",
    wafer: str = "",
    temperature: str = "20 degC",
    as_csv: bool = False,
    figure: Path | None = None,
    section: bool = False,
    on: str = "",
    tell: Tell | None = None,
) -> PredictAnswer:
    """Predicted transfer, output and capacitance curves of one transistor, with parameters, bands and warnings.

    Parameters
    ----------
    plan : Path
    device : str
        Its name; empty takes the longest of those that work.
    lab, record : Path or None
    lot, wafer : str
        As run on this wafer of a lot in the record; empty: as planned.
    temperature : str
    as_csv : bool
    figure : Path or None
        Where the curves are written for print.
    section : bool
        Solve its transfer curves in two dimensions on its own section too.
    on : str
        Date of the walk; empty for today.
    tell : callable (done, total, what) or None
    """
    kelvin = _temperature(temperature)
    which, trace, facts, drawing = _walked(plan, lab, record, (lot, wafer), on)
    made = _device(trace, device, plan, which)
    found = predicted(made, facts, gate_of(trace, made), kelvin)
    if found is None:
        raise BadInput(_not_on_file(made))
    gate, drain, low = _voltages(trace, facts)
    leak, why = gate_leak(found, made, facts, Thinnest(trace))
    curves = families(found, leak, gate, drain, low)
    answer = PredictAnswer(
        flow=str(plan),
        device=made.name or made.kind,
        which=which,
        prediction=found,
        curves=curves,
        numbers=_numbers(found, curves, film_spreads(trace, made)),
        frequency=_frequency(found, gate),
        leak=why if leak is None else leak.words,
        warnings=tuple(_warnings(found, made, trace, facts, curves)),
        section=_on_section(trace, drawing, (made, found), curves, tell) if section else None,
        as_csv=as_csv,
    )
    if figure is not None:
        write_figure(answer.plots(), figure)
    return answer


def _on_section(
    trace: Trace,
    drawing: Drawing | None,
    made: tuple[Device, Prediction],
    curves: Families,
    tell: Tell | None,
) -> SectionCurrents:
    device, found = made
    gate = np.linspace(_wakes(curves), curves.gate[-1], _POINTS)

    def told(done: int, total: int) -> None:
        if tell is not None:
            tell(done, total, "currents on the section")

    try:
        if drawing is None or not device.name:
            raise UnreadableChannelError("a device is found on the drawing by its name")
        cut = section_of(trace, drawing, device)
        return currents_on_section(cut, device, found, book(), (gate, curves.drains.tolist()), tell=told)
    except (UnreadableChannelError, RuntimeError) as bad:
        raise BadInput(
            Problem(
                what=f"the section of {device.name or 'this transistor'}",
                expected="a whole film over its gate, between two contacts that touch it",
                got=str(bad),
                why="currents in two dimensions are solved on what the section shows",
                remedy=f'look at it with:  filmwright draw PLAN --cut "{device.name} along"; without --section the even film is '
                "predicted",
            )
        ) from bad


def _wakes(curves: Families) -> float:
    """Gate voltage [V] from which more flows than leaks at the highest drain voltage: below, a section has nothing to tell."""
    current = np.abs(curves.transfer[:, -1])
    awake = np.flatnonzero(current > _LEAST * current.min() + np.finfo(float).tiny)
    return float(curves.gate[max(int(awake[0]) - 1, 0)] if len(awake) else curves.gate[0])


def _temperature(text: str) -> float:
    try:
        value = read(text, "temperature").value
    except UnitProblem as bad:
        raise BadInput(
            Problem(
                what="--temperature",
                expected='a temperature, "20 degC" or "300 K"',
                got=f'"{text}"',
                why=str(bad),
                remedy='write it like "60 degC"',
            )
        ) from bad
    if not _COLDEST <= value <= _WARMEST:
        raise BadInput(
            Problem(
                what="--temperature",
                expected=f"between {show(_COLDEST, 'temperature')} and {show(_WARMEST, 'temperature')}",
                got=show(value, "temperature"),
                why="the laws in temperature were tried only there",
                remedy="choose one between",
            )
        )
    return value


def _walked(
    plan: Path, lab: Path | None, record: str | Path | None, run: tuple[str, str], on: str
) -> tuple[str, Trace, Book, Drawing | None]:
    name, wafer = run
    if not name:
        work = informed(plan, lab, record)
        trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today())
        return "as planned", trace, work.facts, work.drawing
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.lived import life_of, wafer_named
    from filmwright.record import Store

    with Store.open(record_place(record)) as store:
        lot, _ = frozen(store, name)
        house = Bench(store)
        chosen = wafer_named(house, name, wafer)
        work, flow = house.work(name), life_of(house, name, chosen).history
        trace = walk(flow, work.lab, work.facts, work.drawing, on=lot.started[:10])
    return f"as run on wafer {chosen} of lot {lot.name}", trace, book(), work.drawing


def _device(trace: Trace, name: str, plan: Path, which: str) -> Device:
    known = [each for each in trace.devices.transistors if each.name]
    if name:
        found = trace.devices.named(name)
        if found is not None and found.kind == "transistor":
            return found
    else:
        working = [
            d for d in trace.devices.working("transistor", {}) if d.width and d.length and d.dielectric
        ]
        chosen = max(working, key=lambda d: (bool(d.name), d.length or 0.0, d.width or 0.0), default=None)
        if chosen is not None:
            return chosen
    names = [each.name for each in known]
    raise BadInput(
        Problem(
            what="--device",
            expected=f"the name of a transistor that the die {which} holds"
            + (f", from {names[0]} to {names[-1]}" if names else "; it holds none"),
            got=f'"{name}"' if name else "no transistor that works",
            why="its films and sizes are read off the emulated wafer",
            remedy=nearest(name, names)
            if name and names
            else "see what the plan makes with:  filmwright devices PLAN; a lot has devices once its last steps are logged",
            file=str(plan),
        )
    )


def _not_on_file(device: Device) -> Problem:
    films = " and ".join(material for material, _ in device.semiconductor) or "a channel"
    return Problem(
        what=f"a prediction of {device.name or 'this transistor'}",
        expected="mobility, carriers, states, permittivity and affinity of its channel, and the gate's work function",
        got=f"not all of them are on file for {films}",
        why="a guess would look like a prediction",
        remedy="measure them and add them to the book (docs/adding-facts.md), or choose a channel that is on file",
    )


def _voltages(trace: Trace, facts: Book) -> tuple[float, float, float]:
    """Highest gate and drain voltage of the plan's probing, and the low drain voltage [V]."""
    asked = next((step.asked for step in reversed(trace.flow.steps) if step.kind == "probe"), {})
    expect = trace.flow.expect
    usual = expect.probe_voltage if expect is not None and expect.probe_voltage is not None else 5.0
    gate = asked["gate"].value if "gate" in asked else usual
    drain = asked["drain"].value if "drain" in asked else gate
    return abs(gate), abs(drain), facts.models["probing"]["drain for the linear curve"].value * abs(drain)


def _sweeps(curves: Families, transfer: np.ndarray) -> list[Sweep]:
    return [
        Sweep(
            gate_voltage=curves.gate,
            drain_current=transfer[:, k],
            drain_voltage=float(drain),
            label="predicted",
        )
        for k, drain in enumerate(curves.drains)
    ]


def _numbers(
    found: Prediction, curves: Families, thicknesses: Mapping[str, float]
) -> tuple[PredictedNumber, ...]:
    design = found.design
    geometry = Geometry(
        width=design.width,
        length=design.length,
        areal_capacitance=design.areal_capacitance,
        temperature=found.temperature,
    )

    def read_off(transistors: Sequence[FilmTransistor]) -> list[Mapping[str, float]]:
        spans = [(-curves.gate[-1] - curves.drains[-1] - 3.0, curves.gate[-1] + 3.0) for _ in transistors]
        tables = [
            charge_table(made.film, math.floor(low - made.offset), math.ceil(high - made.offset))
            for made, (low, high) in zip(transistors, spans, strict=True)
        ]
        transfers = [
            film_current(made, curves.gate[:, None], curves.drains[None, :], table)
            for made, table in zip(transistors, tables, strict=True)
        ]
        results = list(extract_many([each for one in transfers for each in _sweeps(curves, one)], geometry))
        told: list[Mapping[str, float]] = []
        for transfer, linear, saturated in zip(transfers, results[::2], results[1::2], strict=True):
            numbers = {"on_current": float(transfer[-1, -1])}
            for names, result in ((_LINEAR, linear), (_SATURATED, saturated)):
                for name in names:
                    parameter = result.parameters.get(name)
                    if parameter is not None and parameter.valid and parameter.value is not None:
                        numbers[name] = parameter.value
            told.append(numbers)
        return told

    within = bands(found, read_off, _FACTORS, thicknesses)
    linear, saturated = extract_many(_sweeps(curves, curves.transfer), geometry)
    rows = [
        PredictedNumber(
            name="on_current",
            unit="uA",
            method=f"at V_G {curves.gate[-1]:g} V and V_D {curves.drains[-1]:g} V",
            value=float(curves.transfer[-1, -1]),
            band=within.get("on_current"),
        )
    ]
    for names, result in ((_LINEAR, linear), (_SATURATED, saturated)):
        for name in names:
            parameter = result.parameters.get(name)
            if parameter is None:
                continue
            good = parameter.valid and parameter.value is not None
            rows.append(
                PredictedNumber(
                    name=name,
                    unit=parameter.unit,
                    method=parameter.method,
                    value=parameter.value if good else None,
                    band=within.get(name) if good else None,
                    why_not=parameter.why_not,
                )
            )
    return tuple(rows)


def _frequency(found: Prediction, gate: float) -> float | None:
    """Up to which the channel follows, at the highest gate voltage [1/s]."""
    made = found.transistor
    if made is None:
        return None
    drive = gate - made.offset
    table = charge_table(made.film, -5.0, float(np.ceil(max(drive, 1.0))))
    sheet = made.mobility * float(table.free(drive))
    return float(charging_frequency(sheet, made.film.areal_capacitance, made.length))


def _warnings(found: Prediction, device: Device, trace: Trace, facts: Book, curves: Families) -> list[str]:
    said = []
    power = float(curves.drain[-1] * np.max(curves.output[:, -1]))
    heat = warming(found, device, trace, facts)
    limit = facts.models["prediction"]["warming to tell"].value
    if heat.resistance is None:
        said.append(f"self-heating is not known: {heat.words}")
    elif power * heat.resistance > limit:
        said.append(
            f"self-heating: {show(power, 'power')} warm the channel by some {power * heat.resistance:.3g} kelvin through "
            f"{heat.words}; above {limit:.3g} kelvin the curves are no longer those of the stated temperature"
        )
    if curves.gate_current is not None:
        leaks, share = np.abs(curves.gate_current[-1, 0]), facts.models["probing"]["leakage share"].value
        if leaks > share * abs(curves.transfer[-1, 0]):
            said.append(
                f"gate leakage: {show(float(leaks), 'current')} at the highest gate voltage, "
                f"{100 * float(leaks / abs(curves.transfer[-1, 0])):.3g} % of the drain current of the linear curve"
            )
    said.extend(_near_breakdown(device, trace, facts, float(curves.gate[-1] + curves.drains[-1])))
    if np.min(found.design.threshold_voltage - curves.gate[0]) < 0:
        said.append("the channel is on over the whole sweep: it is never off")
    return said


def _near_breakdown(device: Device, trace: Trace, facts: Book, voltage: float) -> list[str]:
    """Field at the thinnest place, with the gate at one end of its sweep and the drain at its highest, against breakdown."""
    thin = Thinnest(trace)
    if len(device.dielectric) != 1:
        return []
    material, thickness = device.dielectric[0]
    limit = facts.material(material).values.get("breakdown field")
    narrow = thin.of(material)
    least = min(thickness, narrow[0]) if narrow is not None else thickness
    if limit is None or voltage / least < limit.low / 2.0:
        return []
    return [
        f"breakdown: {show(voltage, 'voltage')} from gate to drain are {show(voltage / least, 'field')} at the thinnest place of "
        f"{material} ({show(least, 'length')}), which breaks down between {show(limit.low, 'field')} and {show(limit.high, 'field')}"
    ]
