"""A lot told once for compare, next and report: walked as planned and as run, with its curves and predictions."""

from __future__ import annotations

import itertools
import json
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.lived import entries_of, life_of
from filmwright.desk.files import Work
from filmwright.desk.left_out import left_out
from filmwright.desk.lots import sound_lot
from filmwright.device import drain_current
from filmwright.emulate import Prediction, Trace, Walked, gate_of, predict, trace_of, walk, walk_on
from filmwright.errors import BadInput
from filmwright.flow import Flow
from filmwright.knowledge import book
from filmwright.learn import Explanation, Factor, share_out
from filmwright.measure import (
    Condition,
    CurveResult,
    Geometry,
    Parameter,
    Rule,
    Sweep,
    extract_many,
    read_conditions,
    read_table,
    shape_of_file,
    with_corrections,
)
from filmwright.record import Event, Lot, MeasurementFile, Store
from filmwright.units import convert

SHOWN = (
    "threshold_voltage",
    "field_effect_mobility",
    "saturation_mobility",
    "subthreshold_swing",
    "on_off_ratio",
)


@dataclass(frozen=True, kw_only=True)
class Probed:
    """One measured file of one device, beside what is predicted for it.

    Attributes
    ----------
    wafer, device, file : str
    sweeps : tuple of Sweep
    results : tuple of CurveResult, one per sweep
    planned, as_run : Prediction or None
        None where the device was not found on that wafer or its values are not on file.
    predicted : mapping from 'planned' and 'as run' to results of the same sweeps on predicted curves
    expected : mapping from 'planned' and 'as run' to the predicted sweeps, or None
    problem : str
        Why the file could not be read; empty when it could.
    left_out : str
        Why a person excluded the device; empty when nobody did.
    conditions : mapping from condition to Condition
        What the file says about how it was measured.
    fringe : bool or None
        Whether the channel film is wider than the contacts, as planned; None where the device was not found.
    kept : str
        When the file was put into the record.
    """

    wafer: str
    device: str
    file: str
    sweeps: tuple[Sweep, ...] = ()
    results: tuple[CurveResult, ...] = ()
    planned: Prediction | None = None
    as_run: Prediction | None = None
    predicted: Mapping[str, tuple[CurveResult, ...]] | None = None
    expected: Mapping[str, tuple[Sweep, ...]] | None = None
    problem: str = ""
    left_out: str = ""
    conditions: Mapping[str, Condition] = field(default_factory=dict)
    fringe: bool | None = None
    kept: str = ""


@dataclass(frozen=True, kw_only=True)
class Story:
    """A lot with everything that follows from its record.

    Attributes
    ----------
    lot : Lot
    work : Work
        With the newest version of the flow.
    events : tuple of Event
        Those that hold.
    planned : Trace
    run : mapping from wafer to Trace
    probed : tuple of Probed
    versions : int
        Of the flow.
    corrected : int
        Entries that were corrected or taken back, and the entries that did it.
    again : mapping from wafer to int
        Steps that were done again.
    problems : tuple of str
        Entries that could not be followed.
    """

    lot: Lot
    work: Work
    events: tuple[Event, ...]
    planned: Trace
    run: Mapping[str, Trace]
    probed: tuple[Probed, ...]
    versions: int = 1
    corrected: int = 0
    again: Mapping[str, int] = field(default_factory=dict)
    problems: tuple[str, ...] = ()

    def walked_alike(self, lot: Lot, work: Work, ways: Mapping[str, Flow]) -> bool:
        """Whether plan and wafers went these ways already; the drawing is that of the lot, which never changes."""
        own, new = self.work, work
        return (
            self.lot == lot
            and (own.flow, own.lab, own.facts) == (new.flow, new.lab, new.facts)
            and {wafer: trace.flow for wafer, trace in self.run.items()} == ways
        )

    @property
    def followed(self) -> tuple[str, ...]:
        """What of the record is minded beside a plain run, in sentences; empty where there is nothing of the kind."""
        said = []
        if self.versions > 1:
            said.append(f"The flow is its version {self.versions}, as it was last saved.")
        if self.corrected:
            said.append("Corrected entries stand as corrected, and what was taken back does not count.")
        again = [f"{wafer} ({count})" for wafer, count in self.again.items() if count]
        if again:
            said.append(
                f"Steps that were done again count each time, with their own losses: {', '.join(again)}."
            )
        return (*said, *(f"Not followed: {each}." for each in self.problems))

    @property
    def invented(self) -> bool:
        """Whether the lot is an example."""
        return self.lot.invented


BAD = (
    "dead",
    "shorted",
    "gate shorted",
    "gate broke down",
    "leaky gate",
    "no gate control",
    "never off",
    "never on",
)
"""Classes of curves of a device that does not work, the heaviest cause first."""

Say = Callable[[str], None]


def gather(
    store: Store,
    name: str,
    sections: bool = False,
    curves: bool = True,
    predicted: bool = True,
    before: Story | None = None,
    tell: Say = lambda what: None,
) -> Story:
    """Walk a lot as planned and, per wafer, as run; read and extract its measured files.

    Parameters
    ----------
    store : Store
    name : str
        Of the lot.
    sections : bool
        Whether sections are emulated, too.
    curves : bool
        Whether the measured files are read.
    predicted : bool
        Whether the same curves are predicted, too; :func:`with_predicted` does it later.
    before : Story or None
        The same lot told earlier; while its wafers went the same way, they are not walked again.
    tell : function of str
        Is told what is worked out next.
    """
    lot = sound_lot(store, name)
    house = Bench(store)
    work, events = house.work(name), house.events(name)
    on = lot.started[:10]
    lives = {
        piece.name: life_of(house, name, piece.name)
        for piece in house.progress(name).pieces
        if any(event.step for event in entries_of(events, piece.name))
    }
    ways = {wafer: life.history for wafer, life in lives.items()}
    if before is not None and before.walked_alike(lot, work, ways):
        planned, run = before.planned, before.run
    else:
        walked = _walker(work, on, sections, tell)
        planned = walked("the plan", work.flow)
        run = {wafer: walked(f"wafer {wafer} as it was made", way) for wafer, way in ways.items()}
    tell("the measured curves")
    files = [file for file in store.files(lot.name) if file.device] if curves else []
    read = [_read(store, file, planned, run.get(file.wafer or lot.wafers[0])) for file in files]
    out = left_out(events, lot.wafers)
    read = [replace(each, left_out=out.get((each.wafer, each.device), "")) for each in read]
    story = Story(
        lot=lot,
        work=work,
        events=events,
        planned=planned,
        run=run,
        probed=tuple(_extracted(read)),
        versions=len(house.versions(name)),
        corrected=len(house.written(name)) - len(events),
        again={wafer: sum(step.visit > 1 for step in life.history.steps) for wafer, life in lives.items()},
        problems=tuple(dict.fromkeys(problem for life in lives.values() for problem in life.problems)),
    )
    return with_predicted(story) if predicted else story


def _walker(work: Work, on: str, sections: bool, tell: Say) -> Callable[[str, Flow], Trace]:
    """Walks flows of one lot; without sections, which need corners, they share the steps that they have in common."""
    known: list[Walked] = []

    def walked(what: str, flow: Flow) -> Trace:
        tell(what)
        if sections:
            return walk(flow, work.lab, work.facts, work.drawing, on=on)
        known.append(walk_on(flow, work.lab, work.facts, work.drawing, on=on, kept=known))
        return trace_of(known[-1])

    return walked


def _read(store: Store, file: MeasurementFile, planned: Trace, run: Trace | None) -> Probed:
    probed = Probed(
        wafer=file.wafer,
        device=file.device,
        file=file.name,
        planned=_prediction(planned, file.device),
        as_run=_prediction(run, file.device),
        fringe=_fringe(planned, file.device),
        kept=file.kept,
    )
    try:
        sweeps, conditions = _sweeps(store.raw(file.sha256), file)
        return replace(probed, sweeps=sweeps, conditions=conditions)
    except BadInput as bad:
        # The bytes were read from a temporary file; a person knows them by the name under which they were kept.
        first = bad.problems[0]
        return replace(probed, problem=str(first.at(file.name, first.line)))


def _extracted(read: Sequence[Probed]) -> list[Probed]:
    """Parameters of all measured sweeps at once, dealt out to their files again."""
    results = _dealt([(probed.sweeps, known_of(probed)) for probed in read])
    return [replace(probed, results=own) for probed, own in zip(read, results, strict=True)]


def with_predicted(story: Story) -> Story:
    """The same sweeps on predicted curves, as planned and as run, read off by the same definitions.

    Devices of the same sizes and films have the same curves: each is predicted and extracted once.
    """
    places: dict[tuple[object, ...], int] = {}
    asked: list[tuple[tuple[Sweep, ...], Geometry]] = []
    wanted: list[dict[str, int]] = []
    for probed in story.probed:
        own: dict[str, int] = {}
        for which, found in (("planned", probed.planned), ("as run", probed.as_run)):
            if found is None or not probed.sweeps:
                continue
            key = _curves_of(found, probed.sweeps)
            if key not in places:
                places[key] = len(asked)
                asked.append((as_predicted(probed.sweeps, found), _geometry(found)))
            own[which] = places[key]
        wanted.append(own)
    results = _dealt(asked)
    return replace(
        story,
        probed=tuple(
            replace(
                probed,
                predicted={which: results[place] for which, place in own.items()},
                expected={which: asked[place][0] for which, place in own.items()},
            )
            for probed, own in zip(story.probed, wanted, strict=True)
        ),
    )


def _dealt(asked: Sequence[tuple[Sequence[Sweep], Geometry]]) -> list[tuple[CurveResult, ...]]:
    """Parameters of the curves of many files at once, dealt out to their files.

    Each is extracted under a name of its own: two files of one name are never paired, nor a predicted curve with a measured one.
    """
    curves = [
        (replace(sweep, file=str(place)), known, sweep.file)
        for place, (sweeps, known) in enumerate(asked)
        for sweep in sweeps
    ]
    if not curves:
        return [() for _ in asked]
    found = extract_many([each[0] for each in curves], [each[1] for each in curves])
    every = (replace(result, file=each[2]) for result, each in zip(found, curves, strict=True))
    return [tuple(itertools.islice(every, len(sweeps))) for sweeps, _ in asked]


def _curves_of(found: Prediction, sweeps: Sequence[Sweep]) -> tuple[object, ...]:
    """What the currents of a prediction follow from."""
    voltages = tuple((sweep.gate_voltage.tobytes(), sweep.drain_voltage) for sweep in sweeps)
    return (tuple(sorted(found.numbers.items())), found.dielectrics, found.temperature, voltages)


def _sweeps(raw: bytes, file: MeasurementFile) -> tuple[tuple[Sweep, ...], Mapping[str, Condition]]:
    """The curves of a kept file, read as a person corrected it when it was kept."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / file.name
        path.write_bytes(raw)
        read_as = json.loads(file.parameters).get("read as", ())
        rule = Rule(name="as corrected", shape=shape_of_file(path)) if read_as else None
        rules = [with_corrections(rule, read_as)] if rule is not None else []
        sweeps = tuple(replace(sweep, file=file.name) for sweep in read_table(path, rules).sweeps)
        return sweeps, read_conditions(path)


def _fringe(planned: Trace, device: str) -> bool | None:
    found = planned.devices.named(device)
    return found.fringe if found is not None and found.kind == "transistor" else None


def known_of(probed: Probed) -> Geometry:
    """What is known about a device beside its curves: sizes and capacitance as run, else as planned; the film's edge."""
    return replace(_geometry(probed.as_run or probed.planned), fringe=probed.fringe)


def _prediction(trace: Trace | None, device: str) -> Prediction | None:
    found = trace.devices.named(device) if trace is not None else None
    if trace is None or found is None or found.kind != "transistor":
        return None
    return predict(found, book(), gate_of(trace, found))


def _geometry(found: Prediction | None) -> Geometry:
    if found is None:
        return Geometry()
    design = found.design
    return Geometry(width=design.width, length=design.length, areal_capacitance=design.areal_capacitance)


def as_predicted(sweeps: Sequence[Sweep], found: Prediction) -> tuple[Sweep, ...]:
    """The same sweeps with the currents of a prediction, all from one table of its charge."""
    drains = [0.1 if sweep.drain_voltage is None else sweep.drain_voltage for sweep in sweeps]
    counts = [len(sweep.gate_voltage) for sweep in sweeps]
    currents = found.currents(
        np.concatenate([sweep.gate_voltage for sweep in sweeps]), np.repeat(drains, counts)
    )
    return tuple(
        replace(sweep, drain_current=current, gate_current=None, label=f"{sweep.label}, predicted")
        for sweep, current in zip(sweeps, np.split(currents, np.cumsum(counts)[:-1]), strict=True)
    )


def good(probed: Probed) -> bool:
    """Whether a device works: read, not classified as dead, leaky, shorted or never off, and with a threshold."""
    bad = set(BAD)
    return (
        bool(probed.results)
        and not any(bad & set(result.classes) for result in probed.results)
        and any(result.parameters["threshold_voltage"].valid for result in probed.results)
    )


def cause(probed: Probed) -> str:
    """Why a device does not work; empty when it does."""
    if probed.problem:
        return "not readable"
    found = [name for result in probed.results for name in result.classes]
    for name in BAD:
        if name in found:
            return name
    return "" if good(probed) else "no threshold"


def linear(probed: Probed) -> int | None:
    """Which sweep is the forward one at the smallest drain voltage."""
    places = [
        place
        for place, result in enumerate(probed.results)
        if result.direction == "forward" and result.drain_voltage is not None
    ]
    return min(places, key=lambda place: abs(probed.results[place].drain_voltage or 0.0), default=None)


def saturated(probed: Probed) -> int | None:
    """Which sweep is the forward one at the largest drain voltage."""
    places = [
        place
        for place, result in enumerate(probed.results)
        if result.direction == "forward" and result.drain_voltage is not None
    ]
    return max(places, key=lambda place: abs(probed.results[place].drain_voltage or 0.0), default=None)


def typical(probed: Sequence[Probed]) -> Probed | None:
    """The working device whose threshold is the median: none is picked for its looks."""
    working = [
        (each, _threshold(each))
        for each in probed
        if good(each) and each.as_run and each.planned and not each.left_out
    ]
    ranked = sorted(((value, each.device, each.wafer) for each, value in working if value is not None))
    if not ranked:
        return None
    middle = ranked[len(ranked) // 2]
    return next(each for each, _ in working if (each.device, each.wafer) == middle[1:])


def _threshold(probed: Probed) -> float | None:
    place = linear(probed)
    if place is None:
        return None
    parameter = probed.results[place].parameters["threshold_voltage"]
    return parameter.value if parameter.valid else None


def shared_out(probed: Probed) -> Explanation | None:
    """The on-current of one device: planned, as run, measured, and what lies between them.

    Threshold and mobility of the device are taken from the difference between the extraction on the measured and on the
    predicted curve, so that the bias of a definition cancels.
    """
    place = linear(probed)
    if place is None or probed.planned is None or probed.as_run is None or not probed.predicted:
        return None
    measured, run = probed.results[place].parameters, probed.predicted["as run"][place].parameters
    names = ("threshold_voltage", "field_effect_mobility")
    if not all(measured[n].valid and run[n].valid and measured[n].value and run[n].value for n in names):
        return None
    sweep, planned, as_run = probed.sweeps[place], probed.planned.design, probed.as_run.design
    shift = (measured["threshold_voltage"].value or 0.0) - (run["threshold_voltage"].value or 0.0)
    ratio = (measured["field_effect_mobility"].value or 1.0) / (run["field_effect_mobility"].value or 1.0)
    gate, drain = float(sweep.gate_voltage[-1]), float(sweep.drain_voltage or 0.1)
    factors = (
        Factor(
            name="insulator and channel thickness",
            planned={
                "areal_capacitance": planned.areal_capacitance,
                "base_threshold": planned.threshold_voltage,
            },
            actual={
                "areal_capacitance": as_run.areal_capacitance,
                "base_threshold": as_run.threshold_voltage,
            },
            std={},
            known="as run",
        ),
        Factor(
            name="channel length and width",
            planned={"width": planned.width, "length": planned.length},
            actual={"width": as_run.width, "length": as_run.length},
            std={},
            known="as run",
        ),
        Factor(
            name="threshold charge",
            planned={"shift": 0.0},
            actual={"shift": shift},
            std={"shift": measured["threshold_voltage"].std or 0.0},
            known="measured",
        ),
        Factor(
            name="mobility and contacts",
            planned={"mobility": planned.mobility},
            actual={"mobility": as_run.mobility * ratio},
            std={
                "mobility": as_run.mobility
                * (measured["field_effect_mobility"].std or 0.0)
                / (measured["field_effect_mobility"].value or 1.0)
            },
            known="measured",
        ),
    )

    def model(given: Mapping[str, float]) -> float:
        design = replace(
            planned,
            areal_capacitance=given["areal_capacitance"],
            threshold_voltage=given["base_threshold"] + given["shift"],
            width=given["width"],
            length=given["length"],
            mobility=given["mobility"],
        )
        return float(drain_current(design, gate, drain))

    top = float(sweep.drain_current[-1])
    noise = float(np.std(np.diff(sweep.drain_current[-6:], 2))) / np.sqrt(6.0)
    return share_out(model, factors, top, noise)


def parameter_rows(
    probed: Probed,
) -> list[tuple[str, str, float | None, float | None, float | None, float | None, str]]:
    """(name, unit, planned, as run, measured, its std, why it is not measured) of the linear sweep; of the saturated one for its own."""
    rows = []
    for name in SHOWN:
        place = saturated(probed) if name == "saturation_mobility" else linear(probed)
        if place is None:
            continue
        parameter = probed.results[place].parameters[name]
        values = [
            _printed(probed.predicted.get(which), place, name) if probed.predicted else None
            for which in ("planned", "as run")
        ]
        fields = parameter.fields()
        measured = fields["value"] if parameter.valid else None
        if measured is None and not any(value is not None for value in values):
            continue
        std = fields["std"] if parameter.valid else None
        rows.append((name, parameter.unit, values[0], values[1], measured, std, _why_not(parameter)))
    return rows


def _why_not(parameter: Parameter) -> str:
    """Why a parameter has no measured value, with the bound that it has instead; empty where it has one."""
    if parameter.valid:
        return ""
    value = parameter.fields()["value"]
    bound = f"{parameter.bound} {value:.3g}: " if parameter.bound and value is not None else ""
    return f"{bound}{parameter.why_not or 'the curve does not tell it'}"


def _printed(results: tuple[CurveResult, ...] | None, place: int, name: str) -> float | None:
    if results is None:
        return None
    parameter = results[place].parameters[name]
    return parameter.fields()["value"] if parameter.valid else None


def micrometres(length: float) -> float:
    """A length [m] in µm."""
    return convert(length, "um")
