"""The verb statistics: what many measured devices tell together, with or without a record."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from filmwright.desk.device_table import (
    NOT_NAMED,
    About,
    matched,
    measured_files,
    read_device_table,
)
from filmwright.desk.explain import Probed, Story, cause, gather, linear, saturated
from filmwright.desk.files import record_place
from filmwright.desk.left_out import read_splits, variants
from filmwright.desk.population_answers import StatisticsAnswer
from filmwright.desk.population_pictures import write_pictures
from filmwright.desk.table_reading import TableReading, rules_for, tables
from filmwright.emulate import Listed, list_devices
from filmwright.errors import BadInput, Problem
from filmwright.learn import DeviceOutcome, population
from filmwright.measure import CurveResult, Geometry, Sweep, extract_many
from filmwright.record import Store
from filmwright.units import UnitProblem, convert, read, to_si

TOLD = (
    "threshold_voltage",
    "field_effect_mobility",
    "saturation_mobility",
    "subthreshold_swing",
    "on_off_ratio",
    "hysteresis",
    "gate_leakage",
)
"""Parameters that are told unless others are asked for."""


def statistics(  # noqa: PLR0913 - one word per thing that can be said of devices
    files: Iterable[Path] = (),
    lot: str = "",
    table: Path | None = None,
    column: Iterable[str] = (),
    name_pattern: str = "",
    split: Iterable[str] = (),
    parameter: Iterable[str] = (),
    capacitance: str = "",
    radius: str = "",
    polarity: str = "",
    as_csv: bool = False,
    record: str | Path | None = None,
    page: Path | None = None,
    figure: Path | None = None,
) -> StatisticsAnswer:
    """What many devices tell together: files with a table of devices, or a lot of the record.

    ``page`` and ``figure`` are written where they are asked for.
    """
    wanted = tuple(each.strip().replace(" ", "_") for each in parameter) or TOLD
    far = _quantity(radius, "length", "the radius")
    if lot:
        with Store.open(record_place(record)) as store:
            story = gather(store, lot)
        found, notes = outcomes_of(story, wanted)
        title, half, over = f"lot {story.lot.name}", half_die(story), "die"
        units = units_of([result for each in story.probed for result in each.results])
    else:
        found, notes, units = _from_files(
            measured_files(Path(each) for each in files),
            table,
            tuple(column),
            name_pattern,
            wanted,
            _quantity(capacitance, "areal capacitance", "the areal capacitance"),
        )
        title, half, over = f"{len(found)} measured files", None, "wafer"
    variants_given = read_splits(split, dict.fromkeys(each.wafer for each in found))
    found = [
        replace(each, split=variants_given.get(each.wafer, each.split)) if variants_given else each
        for each in found
    ]
    found, apart = _of_one_polarity(found, polarity)
    _check(found, wanted)
    answer = StatisticsAnswer(
        title=title,
        told=population(found, far or half),
        outcomes=tuple(found),
        units=units,
        over=over,
        notes=(*apart, *notes),
        as_csv=as_csv,
    )
    written = write_pictures(answer, page, figure)
    return replace(answer, notes=(*answer.notes, *(f"Written: {path}" for path in written)))


def answer_of_story(story: Story, wanted: Sequence[str] = TOLD) -> StatisticsAnswer:
    """What the measured devices of a lot that was gathered tell together."""
    found, notes = outcomes_of(story, wanted)
    found, apart = _of_one_polarity(found, "")
    _check(found, wanted)
    return StatisticsAnswer(
        title=f"lot {story.lot.name}",
        told=population(found, half_die(story)),
        outcomes=tuple(found),
        units=units_of([result for each in story.probed for result in each.results]),
        over="die",
        notes=(*apart, *notes),
    )


def _of_one_polarity(
    found: Sequence[DeviceOutcome], wanted: str
) -> tuple[list[DeviceOutcome], tuple[str, ...]]:
    """The devices of one polarity, the commoner one unless another is asked for: n and p have nothing to share."""
    counts = Counter(each.polarity for each in found if each.polarity)
    own = wanted or max(counts, key=lambda name: counts[name], default="")
    kept = [each for each in found if each.polarity in ("", own)]
    others = [name for name in counts if name != own]
    if not others:
        return kept, ()
    said = f"{counts[others[0]]} devices of {others[0]} type are told apart: --polarity {others[0]}"
    return kept, (said,)


def _check(found: Sequence[DeviceOutcome], wanted: Sequence[str]) -> None:
    why, remedy = "statistics are taken over devices", "name measured files, a folder, or a lot with --lot"
    if not found:
        raise BadInput(
            Problem(what="the measured devices", expected="at least one", got="none", why=why, remedy=remedy)
        )
    if all(each.left_out for each in found):
        raise BadInput(
            Problem(
                what="the measured devices",
                expected="at least one that is not excluded",
                got=f"{len(found)}, all excluded",
                why=why,
                remedy="take one back: filmwright log LOT --include DEVICE --note WHY",
            )
        )
    known = {name for each in found for name in each.parameters}
    if not known & set(wanted) and not all(each.cause for each in found):
        raise BadInput(
            Problem(
                what="the parameters",
                expected="some that were extracted",
                got=", ".join(wanted),
                why="nothing else can be told of the devices",
                remedy="leave --parameter out, or see the names with filmwright extract FILE --json",
            )
        )


def _quantity(text: str, dimension: str, what: str) -> float | None:
    if not text:
        return None
    try:
        value = read(text, dimension, what).value
    except UnitProblem as trouble:
        raise BadInput(trouble.problem) from None
    if not value > 0:
        raise BadInput(
            Problem(
                what=what, expected="more than zero", got=f'"{text}"', why="it is a size", remedy="correct it"
            )
        )
    return value


def units_of(results: Iterable[CurveResult]) -> dict[str, str]:
    """Of each parameter the unit in which it is printed."""
    return {name: each.unit for result in results for name, each in result.parameters.items()}


def half_die(story: Story) -> float:
    """Half the longer side of the die [m]."""
    die = story.planned.start.plan.die.bounds
    return to_si(max(die[2] - die[0], die[3] - die[1]), "nm") / 2


def outcomes_of(story: Story, wanted: Sequence[str] = TOLD) -> tuple[list[DeviceOutcome], list[str]]:
    """The measured devices of a lot with size, place, variant and exclusion, and notes; the last file of each counts."""
    die = story.planned.start.plan.die.bounds
    middle = ((die[0] + die[2]) / 2, (die[1] + die[3]) / 2)
    parted = variants(story.events)
    newest = {(each.wafer, each.device): each for each in story.probed}
    notes = [
        f"{device} of wafer {wafer} was measured {count} times: the last file counts"
        for (wafer, device), count in Counter((p.wafer, p.device) for p in story.probed).items()
        if count > 1
    ]
    drawn = {
        each.name: _drawn(each) for each in list_devices(story.planned, story.work.facts, story.work.drawing)
    }
    found = []
    for (wafer, name), probed in newest.items():
        trace = story.run.get(wafer, story.planned)
        device = trace.devices.named(name) or story.planned.devices.named(name)
        about = About(device=name, wafer=wafer, split=parted.get(wafer, ""), left_out=probed.left_out)
        if device is not None:
            x, y = (to_si(device.place[k] - middle[k], "nm") for k in (0, 1))
            edge = device.perimeter or (2 * device.width if device.width else None)
            about = replace(
                about, width=device.width, length=device.length, area=device.area or None, edge=edge, x=x, y=y
            )
        found.append(replace(_outcome(about, probed, wanted), drawn=drawn.get(name, "")))
    if found:
        notes.append("places are those in the die: the record has no place of the die on the wafer")
    return found, notes


def _drawn(each: Listed) -> str:
    if each.drawn_width is None or each.drawn_length is None:
        return ""
    return f"W {convert(each.drawn_width, 'um'):.4g} µm, L {convert(each.drawn_length, 'um'):.4g} µm"


def _from_files(
    files: Sequence[Path],
    table: Path | None,
    columns: Sequence[str],
    pattern: str,
    wanted: Sequence[str],
    capacitance: float | None,
) -> tuple[list[DeviceOutcome], list[str], dict[str, str]]:
    rows, notes = read_device_table(table, columns) if table is not None else ((), ())
    said = list(notes)
    own_files = [each for each in files if table is None or each.resolve() != table.resolve()]
    asked = TableReading(name_pattern=pattern)
    measured, problems = tables(asked, own_files, rules_for(asked, own_files)[0])
    sweeps = [
        (_about(Path(each.file), own[0], rows), Path(each.file), own, "")
        for each in measured
        for own in _by_device(each.sweeps)
    ]
    sweeps += [
        (matched(file, rows) or About(), file, (), str(first))
        for file, first in {Path(each.file): each for each in reversed(problems)}.items()
    ]
    sweeps.sort(key=lambda each: own_files.index(each[1]) if each[1] in own_files else len(own_files))
    curveless = [Path(each.file).name for each in measured if not each.sweeps]
    if curveless:
        some = ", ".join(curveless[:3]) + (" …" if len(curveless) > 3 else "")
        said.append(f"{len(curveless)} files hold no transfer curve and are no devices here: {some}")
    unmatched = sum(table is not None and matched(file, rows) is None for _, file, _, _ in sweeps)
    if unmatched:
        said.append(f"{unmatched} devices have no row in the table")
    said += dict.fromkeys(note for each in measured for note in each.warnings if "does not follow" in note)
    flat = [(k, sweep) for k, (_, _, own, _) in enumerate(sweeps) for sweep in own]
    geometries = [
        Geometry(
            width=sweeps[k][0].width,
            length=sweeps[k][0].length,
            areal_capacitance=capacitance or sweep.areal_capacitance,
        )
        for k, sweep in flat
    ]
    results = list(extract_many([sweep for _, sweep in flat], geometries))
    dealt: list[list[CurveResult]] = [[] for _ in sweeps]
    for (k, _), result in zip(flat, results, strict=True):
        dealt[k].append(result)
    named = _named([about for about, *_ in sweeps], [file for _, file, _, _ in sweeps], said)
    found = [
        _outcome(
            about,
            Probed(
                wafer=about.wafer,
                device=about.device,
                file=file.name,
                sweeps=own,
                results=tuple(dealt[k]),
                problem=problem,
            ),
            wanted,
        )
        for k, (about, (_, file, own, problem)) in enumerate(zip(named, sweeps, strict=True))
    ]
    return found, said, units_of(results)


def _by_device(sweeps: Sequence[Sweep]) -> list[tuple[Sweep, ...]]:
    """The sweeps of a file, those of each device together."""
    found: dict[tuple[str, str], list[Sweep]] = {}
    for each in sweeps:
        found.setdefault((each.wafer, each.device), []).append(each)
    return [tuple(own) for own in found.values()]


def _about(file: Path, sweep: Sweep, rows: Sequence[About]) -> About:
    """What the table of devices says of a curve; where it is silent, what the curve's own file and its name say."""
    row = matched(file, rows, sweep.device) or About()
    return replace(
        row,
        device=row.device or sweep.device,
        wafer=row.wafer or sweep.wafer,
        width=row.width or sweep.width,
        length=row.length or sweep.length,
    )


def _named(abouts: Sequence[About], files: Sequence[Path], said: list[str]) -> list[About]:
    """Each device under a name of its own: a column that repeats names is a kind, and the file then names the device."""
    given = [replace(each, wafer=each.wafer or NOT_NAMED) for each in abouts]
    if any(not each.wafer for each in abouts):
        said.append("some wafers are not named: devices without one are taken as of one wafer")
    twice = [p for p, n in Counter((e.wafer, e.device) for e in given if e.device).items() if n > 1]
    if twice:
        said.append(
            f"“{twice[0][1]}” names several devices of one wafer: it is taken for a kind, and files name the devices"
        )
    return [
        replace(each, kind=each.kind or each.device, device=file.stem) if twice or not each.device else each
        for each, file in zip(given, files, strict=True)
    ]


def _outcome(about: About, probed: Probed, wanted: Sequence[str]) -> DeviceOutcome:
    """A device with the parameters of its curve at low drain voltage, those of saturation at high."""
    low, high = _unbiased(probed, linear), _unbiased(probed, saturated)
    parameters, stds, conditions = {}, {}, {}
    for name in wanted:
        at = high if "saturation" in name else low
        found = probed.results[at].parameters.get(name) if at is not None else None
        if found is None:
            continue
        if found.valid and found.value is not None and math.isfinite(found.value):
            parameters[name] = found.value
            conditions[f"definition of {name}"] = re.sub(r"\d[\d.]*", "…", found.method)
            if found.std is not None:
                stds[name] = found.std
    if low is not None:
        conditions.update(_conditions(probed.sweeps[low], probed.results[low]))
    return DeviceOutcome(
        wafer=about.wafer,
        device=about.device,
        cause=cause(probed) if probed.results or probed.problem else "not readable",
        parameters=parameters,
        stds=stds,
        kind=about.kind,
        polarity=probed.results[low].type if low is not None else "",
        width=about.width,
        length=about.length,
        area=about.area or _product(about.width, about.length),
        edge=about.edge or (2 * about.width if about.width else None),
        x=about.x,
        y=about.y,
        split=about.split,
        day=about.day,
        tool=about.tool,
        position=about.position,
        conditions=conditions,
        left_out=about.left_out,
    )


def _product(width: float | None, length: float | None) -> float | None:
    return width * length if width and length else None


def _unbiased(probed: Probed, pick: Callable[[Probed], int | None]) -> int | None:
    """Which sweep is read: the forward one at the smallest (largest) drain voltage, with the bulk nearest the source."""
    bulks = [abs(each.bulk_voltage) for each in probed.results if each.bulk_voltage is not None]
    near = min(bulks, default=None)
    places = [
        at
        for at, each in enumerate(probed.results)
        if near is None or each.bulk_voltage is None or abs(each.bulk_voltage) <= near + 1e-9
    ]
    own = replace(
        probed,
        results=tuple(probed.results[at] for at in places),
        sweeps=tuple(probed.sweeps[at] for at in places),
    )
    at = pick(own)
    if at is None and places:
        at = 0
    return None if at is None else places[at]


def _conditions(sweep: Sweep, result: CurveResult) -> Mapping[str, str]:
    """Under which a curve was measured, rounded so that what differs only by noise is the same."""
    grid = sweep.gate_voltage
    found = {
        "direction": result.direction,
        "gate step": f"{float(np.median(np.diff(grid))):.2g} V",
        "gate range": f"{grid[0]:.2g} V to {grid[-1]:.2g} V",
    }
    if result.drain_voltage is not None:
        found["drain voltage"] = f"{abs(result.drain_voltage):.2g} V"
    if result.bulk_voltage is not None:
        found["bulk voltage"] = f"{abs(result.bulk_voltage):.2g} V"
    kelvin = getattr(sweep, "temperature", None)
    if kelvin is not None:
        found["temperature"] = f"{convert(kelvin, 'degC'):.0f} °C"
    return found
