"""The verbs of test structures: lengths, sheet-resistance, capacitance, step-height."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from pathlib import Path
from typing import TypeVar

import numpy as np

from filmwright.desk.structure_answers import Drawable, StructureAnswer, StructurePart
from filmwright.device import SheetOutline, contact_size_shift
from filmwright.errors import BadInput, Problem, Problems
from filmwright.knowledge import UnknownName, book
from filmwright.measure import (
    CapacitanceResult,
    CapacitorSample,
    FourReading,
    Meaning,
    PinLine,
    SmallTable,
    StepHeights,
    Trace,
    four_point,
    read_capacitance,
    read_small_table,
    read_table,
    step_heights,
    van_der_pauw,
)
from filmwright.units import ROOM_TEMPERATURE, UnitProblem, plain, read

_T = TypeVar("_T")
_CONTACTS = {
    "i+": Meaning(words=("i+", "current in", "current from", "source"), dimension="number", wanted=True),
    "i-": Meaning(words=("i-", "i−", "current out", "current to", "sink"), dimension="number", wanted=True),
    "v+": Meaning(words=("v+", "voltage high", "voltage of"), dimension="number", wanted=True),
    "v-": Meaning(words=("v-", "v−", "voltage low", "voltage against"), dimension="number", wanted=True),
    "resistance": Meaning(words=("resistance", "r", "v/i"), dimension="resistance"),
    "voltage": Meaning(words=("voltage", "v", "u"), dimension="voltage"),
    "current": Meaning(words=("current", "i"), dimension="current"),
}
_STYLUS = {
    "position": Meaning(
        words=(
            "position",
            "x",
            "lateral",
            "distance",
            "scan length",
            "scan",
            "lateral position",
            "x position",
            "weg",
        ),
        dimension="length",
        wanted=True,
    ),
    "height": Meaning(
        words=("height", "z", "profile", "raw height", "total profile", "vertical", "step", "höhe"),
        dimension="length",
        wanted=True,
    ),
}


class Words:
    """Options as people write them; every slip is collected before anything is refused."""

    def __init__(self) -> None:
        self.problems = Problems()

    def quantity(self, text: str, dimension: str, what: str, positive: bool = True) -> float | None:
        """A quantity in SI; None where nothing was written."""
        if not text:
            return None
        try:
            value = float(read(text, dimension, what).value)
        except UnitProblem as trouble:
            self.problems.add(trouble.problem)
            return None
        if positive and value <= 0:
            self.refuse(what, "more than zero", text, "it has a size", "write a positive value")
            return None
        return value

    def several(self, text: str, dimension: str, what: str) -> tuple[float, ...]:
        """Quantities parted by commas."""
        parts = [
            self.quantity(each.strip(), dimension, what, positive=False)
            for each in text.split(",")
            if each.strip()
        ]
        return tuple(each for each in parts if each is not None)

    def refuse(self, what: str, expected: str, got: str, why: str, remedy: str) -> None:
        """Collect one problem."""
        self.problems.add(Problem(what=what, expected=expected, got=f'"{got}"', why=why, remedy=remedy))


def judged(what: str, file: str, call: Callable[[], _T]) -> _T:
    """What ``measure`` answers; what it refuses becomes a problem of the input."""
    try:
        return call()
    except ValueError as refusal:
        raise BadInput(
            Problem(
                what=what,
                expected="such that it can be read",
                got=str(refusal),
                why="no value follows from it",
                remedy="mend what is named, or leave that reading out",
                file=file,
            )
        ) from None


def each_file(files: Iterable[Path], call: Callable[[Path], _T]) -> tuple[list[_T], list[str]]:
    """The answer of every file; one that cannot be read stops the others only when none can be read."""
    found, problems = [], Problems()
    for file in files:
        try:
            found.append(call(Path(file)))
        except BadInput as bad:
            problems.found.extend(bad.problems)
    if not found:
        problems.raise_any()
    return found, [str(each) for each in problems.found]


def log_words(name: str, value: float | None, std: float | None, unit: str) -> str:
    """How a value is written down in the record."""
    if value is None:
        return ""
    spread = f" ± {plain(std, unit):.2g}" if std else ""
    return f'filmwright log LOT STEP --measured "{name}={plain(value, unit):.5g}{spread} {unit}"'


def sheet_resistance(
    file: Path,
    spacing: str = "",
    spacing_error: str = "",
    shape: str = "",
    at: str = "",
    thickness: str = "",
    contacts: str = "",
) -> StructureAnswer:
    """Sheet resistance from readings of four contacts: of a line of pins when the spacing is said, else round the edge."""
    words = Words()
    pitch = words.quantity(spacing, "length", "the spacing")
    pitch_error = words.quantity(spacing_error, "length", "the error of the spacing") or 0.0
    thick = words.quantity(thickness, "length", "the thickness")
    outline = _outline(words, shape)
    place = words.several(at, "length", "the place") or (0.0, 0.0)
    shift = _contact_shift(words, contacts, outline)
    if len(place) != 2:
        words.refuse(
            "the place", 'two lengths, "1 mm, 2 mm"', at, "a place has two coordinates", "write both"
        )
    words.problems.raise_any()
    readings = judged("the readings", str(file), lambda: _readings(file))
    if pitch is None:
        found = judged("the sample", str(file), lambda: van_der_pauw(readings, shift))
        title = "van der Pauw sample"
    else:
        line = PinLine(
            spacing=pitch,
            spacing_std=pitch_error,
            outline=outline,
            place=(place[0], place[1]),
            thickness=thick,
        )
        found = judged("the line of pins", str(file), lambda: four_point(readings, line))
        title = f"four pins in a line, {spacing} apart"
    sheet = found.parameters["sheet_resistance"]
    part = StructurePart(
        title=f"{file}: {title}", parameters=found.parameters, said=found.checks, warnings=found.warnings
    )
    return StructureAnswer(
        kind="sheet resistance",
        parts=(part,),
        keep=log_words("sheet resistance", sheet.value, sheet.std, "ohm"),
        source=found,
    )


def _readings(file: Path) -> list[FourReading]:
    table = read_small_table(file, _CONTACTS)
    numbers, errors = table.numbers, table.errors
    if "resistance" in numbers:
        values, spread = numbers["resistance"], errors.get("resistance")
    elif "voltage" in numbers and "current" in numbers:
        if np.any(numbers["current"] == 0):
            raise ValueError("a current of zero: no resistance follows from it")
        values, spread = numbers["voltage"] / numbers["current"], errors.get("voltage")
        spread = None if spread is None else spread / np.abs(numbers["current"])
    else:
        raise ValueError("neither a column of resistance nor columns of voltage and current are there")
    spread = np.zeros(len(values)) if spread is None else np.nan_to_num(spread)
    ends = [
        [round(float(each)) for each in np.nan_to_num(numbers[name])] for name in ("i+", "i-", "v+", "v-")
    ]
    return [
        FourReading(current=(a, b), voltage=(c, d), resistance=float(value), std=float(std))
        for a, b, c, d, value, std in zip(*ends, values, spread, strict=True)
        if math.isfinite(value)
    ]


def _outline(words: Words, text: str) -> SheetOutline:
    """The shape of the sheet as written: ``round 100 mm``, ``rectangle 20 mm x 10 mm``, ``strip 5 mm``, ``half plane``."""
    bare = text.strip().lower()
    if not bare or bare in ("boundless", "large"):
        return SheetOutline()
    if bare == "half plane":
        return SheetOutline(kind="half plane")
    kind, _, rest = bare.partition(" ")
    sizes = [words.quantity(each.strip(), "length", "the shape") for each in re.split(r"\s[x×]\s", rest)]
    known = [each for each in sizes if each is not None]
    if kind == "round" and len(known) == 1:
        return SheetOutline(kind="disc", diameter=known[0])
    if kind == "strip" and len(known) == 1:
        return SheetOutline(kind="strip", width=known[0])
    if kind == "rectangle" and len(known) == 2:
        return SheetOutline(kind="rectangle", length=known[0], width=known[1])
    if not words.problems.found:
        words.refuse(
            "the shape",
            '"round 100 mm", "rectangle 20 mm x 10 mm", "strip 5 mm" or "half plane"',
            text,
            "the edges change what the pins read",
            "write one of these",
        )
    return SheetOutline()


def _contact_shift(words: Words, text: str, outline: SheetOutline) -> float:
    """By how much four contacts of a stated size lower the reading of a round sample."""
    if not text:
        return 0.0
    for place in ("along the edge", "into the sample", "inside the edge"):
        if text.strip().endswith(place):
            size = words.quantity(text.strip().removesuffix(place).strip(), "length", "the contacts")
            if outline.kind != "disc":
                words.refuse(
                    "the contacts",
                    "those of a round sample of known diameter",
                    text,
                    "the law is that of a disc",
                    'say --shape "round 10 mm"',
                )
                return 0.0
            if size is not None and size >= outline.diameter / 4:
                words.refuse(
                    "the contacts",
                    "below a quarter of the diameter",
                    text,
                    "the law is the first term of a series",
                    "use a sample with smaller contacts",
                )
                return 0.0
            return 0.0 if size is None else 4 * contact_size_shift(place, size, outline.diameter)
    words.refuse(
        "the contacts",
        '"0.5 mm along the edge", "… into the sample" or "… inside the edge"',
        text,
        "how they lie decides how much they take",
        "write one of these",
    )
    return 0.0


def step_height(files: Iterable[Path], edges: str = "", bow: bool = False) -> StructureAnswer:
    """Step heights of stylus traces."""
    words = Words()
    places = words.several(edges, "length", "the edges")
    words.problems.raise_any()

    def one(file: Path) -> tuple[StructurePart, StepHeights]:
        trace = judged("the trace", str(file), lambda: _trace(file))
        found = judged("the trace", str(file), lambda: step_heights(trace, places, bow))
        return _step_part(file, trace, found), found

    parts, problems = each_file(files, one)
    first = parts[0][1].steps[0]
    return StructureAnswer(
        kind="step height",
        parts=tuple(part for part, _ in parts),
        problems=tuple(problems),
        keep=log_words("step height", None if first.value is None else abs(first.value), first.std, "nm"),
        source=parts[0][1],
    )


def _trace(file: Path) -> Trace:
    table = read_small_table(file, _STYLUS)
    x, z = table.numbers["position"], table.numbers["height"]
    good = np.isfinite(x) & np.isfinite(z)
    unique, first = np.unique(x[good], return_index=True)
    return Trace(position=unique, height=z[good][first], file=str(file))


def _step_part(file: Path, trace: Trace, found: StepHeights) -> StructurePart:
    names = (
        ["step height"] if len(found.steps) == 1 else [f"step {k}" for k in range(1, len(found.steps) + 1)]
    )
    windows = np.array([[w.start, w.stop, float(w.level)] for w in found.windows])
    places = ", ".join(f"{plain(edge, 'um'):.4g} µm" for edge in found.edges)
    taken = ", ".join(f"{plain(w.start, 'um'):.4g} to {plain(w.stop, 'um'):.4g} µm" for w in found.windows)
    return StructurePart(
        title=f"{file}: {found.shape}",
        parameters={**dict(zip(names, found.steps, strict=True)), **found.parameters},
        said=(f"edges at {places}", f"windows {taken}"),
        warnings=found.warnings,
        arrays={
            "position": Drawable(values=trace.position, unit="um"),
            "height": Drawable(values=trace.height, unit="nm"),
            "levelled": Drawable(values=found.levelled, unit="nm"),
            "window_start": Drawable(values=windows[:, 0], unit="um"),
            "window_stop": Drawable(values=windows[:, 1], unit="um"),
            "left_out": Drawable(values=found.left_out.astype(float), unit=""),
        },
    )


def capacitance(
    files: Iterable[Path],
    area: str = "",
    semiconductor: str = "",
    film: str = "",
    intrinsic: str = "",
    frequency: str = "",
    temperature: str = "",
) -> StructureAnswer:
    """What capacitance–voltage curves tell."""
    words = Words()
    warm = words.quantity(temperature, "temperature", "the temperature") or ROOM_TEMPERATURE
    often = words.quantity(frequency, "frequency", "the frequency")
    permittivity, said = _permittivity(words, semiconductor)
    sample = {
        "area": words.quantity(area, "area", "the area"),
        "permittivity": permittivity,
        "intrinsic_density": words.quantity(intrinsic, "volume density", "the intrinsic density"),
        "film_thickness": words.quantity(film, "length", "the film"),
    }
    words.problems.raise_any()

    def one(file: Path) -> list[tuple[StructurePart, CapacitanceResult]]:
        curves = read_table(file).capacitance
        if not curves:
            raise BadInput(
                Problem(
                    what="the table",
                    expected="a capacitance against a voltage",
                    got="none",
                    why="nothing can be read from it",
                    remedy='name the columns, e.g. "V (V), C (pF), G (uS)"',
                    file=str(file),
                )
            )
        own = CapacitorSample(**sample, temperature=curves[0].temperature or warm)
        read_off = []
        for curve in curves:
            read_off.append(judged("the curve", str(file), partial(read_capacitance, curve, own, often)))
        return [(_capacitance_part(file, each, said), each) for each in read_off]

    parts, problems = each_file(files, one)
    flat = [pair for several in parts for pair in several]
    areal = flat[0][1].parameters["areal_capacitance"]
    return StructureAnswer(
        kind="capacitance",
        parts=tuple(part for part, _ in flat),
        problems=tuple(problems),
        keep=log_words("areal capacitance", areal.value if areal.valid else None, areal.std, "nF/cm^2"),
        source=flat[0][1],
    )


def _permittivity(words: Words, name: str) -> tuple[float | None, tuple[str, ...]]:
    if not name:
        return None, ()
    try:
        value = book().material(name).values.get("permittivity")
    except UnknownName as unknown:
        words.refuse(
            "the semiconductor", "a material of the book", name, "its permittivity is needed", unknown.hint
        )
        return None, ()
    if value is None:
        words.refuse(
            "the semiconductor",
            "a material with a permittivity on file",
            name,
            "depths follow from it",
            "name another",
        )
        return None, ()
    return float(value.value), (
        f"permittivity of {name} {value.value:.4g} ± {value.std:.2g}: {value.source}; its error is not in those below",
    )


def _capacitance_part(file: Path, found: CapacitanceResult, said: tuple[str, ...]) -> StructurePart:
    arrays: dict[str, Drawable] = {
        "voltage": Drawable(values=found.voltage, unit="V"),
        "capacitance": Drawable(values=found.capacitance, unit="pF"),
        "profile_depth": Drawable(values=found.profile_depth, unit="nm"),
        "profile_density": Drawable(values=found.profile_density, unit="1/cm^3"),
    }
    if found.backward_voltage is not None and found.backward_capacitance is not None:
        arrays["backward_voltage"] = Drawable(values=found.backward_voltage, unit="V")
        arrays["backward_capacitance"] = Drawable(values=found.backward_capacitance, unit="pF")
    return StructurePart(
        title=f"{file}: accumulation at {found.accumulates} bias",
        parameters=found.parameters,
        said=(*found.said, *said),
        warnings=found.warnings,
        arrays=arrays,
    )


def optional(table: SmallTable, name: str, otherwise: float | None) -> Mapping[int, float]:
    """A column row by row, with another value where it is empty or not there."""
    column = table.numbers.get(name)
    rows = range(len(table.lines))
    filled = {k: float(column[k]) for k in rows if column is not None and math.isfinite(column[k])}
    return {k: filled.get(k, math.nan if otherwise is None else otherwise) for k in rows}
