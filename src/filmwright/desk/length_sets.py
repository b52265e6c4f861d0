"""The verb lengths: gaps or transistors of different length → contact, sheet and channel."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np

from filmwright.desk.curve_files import write_figure
from filmwright.desk.files import record_place
from filmwright.desk.structure_answers import Drawable, StructureAnswer, StructurePart
from filmwright.desk.structures import Words, each_file, judged, log_words, optional
from filmwright.errors import BadInput, Problem, nearest
from filmwright.measure import (
    GapReading,
    GatedLengths,
    LengthDevice,
    Meaning,
    NamePattern,
    Sweep,
    UngatedLengths,
    gated_lengths,
    has_columns,
    read_pattern,
    read_small_table,
    read_table,
    ungated_lengths,
)
from filmwright.units import plain

_LENGTH = Meaning(words=("length", "l", "gap", "spacing", "distance", "d"), dimension="length", wanted=True)
_WIDTH = Meaning(words=("width", "w"), dimension="length")
_GAPS = {
    "length": _LENGTH,
    "resistance": Meaning(words=("resistance", "r", "total resistance"), dimension="resistance", wanted=True),
    "width": _WIDTH,
    "name": Meaning(words=("name", "device", "pair", "gap name")),
}
_SIZES = {
    "name": Meaning(words=("file", "name", "device"), wanted=True),
    "length": _LENGTH,
    "width": _WIDTH,
}
_THRESHOLDS = ("tangent", "constant current")
_POINTS = 60


def lengths(  # noqa: PLR0913 - one argument per word
    files: Iterable[Path] = (),
    width: str = "",
    lengths_from: Path | None = None,
    pattern: str = "",
    length_error: str = "",
    capacitance: str = "",
    threshold: str = "tangent",
    overdrives: str = "",
    contact_length: str = "",
    end_resistance: str = "",
    figure: Path | None = None,
    lot: str = "",
    record: str | Path | None = None,
) -> StructureAnswer:
    """Contacts and channel of a set of different lengths: a table of resistances, or transfer curves of transistors.

    ``figure`` is where the lines of a gated set are written for print. With ``lot`` the sets of its masks are taken, with
    the curves of the record.
    """
    words, files = Words(), [Path(file) for file in files]
    wide = words.quantity(width, "length", "the width")
    error = words.quantity(length_error, "length", "the error of the lengths", positive=False) or 0.0
    areal = words.quantity(capacitance, "areal capacitance", "the areal capacitance")
    chosen = words.several(overdrives, "voltage", "the overdrives")
    reach = words.quantity(contact_length, "length", "the length of the contacts")
    end = _end(words, end_resistance)
    if threshold not in _THRESHOLDS:
        words.refuse(
            "the threshold",
            " or ".join(_THRESHOLDS),
            threshold,
            "it makes overdrives equal",
            nearest(threshold, _THRESHOLDS),
        )
    _one_source(words, lot, files)
    named = read_pattern(pattern) if pattern else None
    words.problems.raise_any()
    if lot:
        return _of_lot(lot, record, threshold, chosen, figure)
    if len(files) == 1 and has_columns(files[0], _GAPS):
        readings = judged("the table", str(files[0]), lambda: _gaps(files[0], wide, error))
        found = judged(
            "the set",
            str(files[0]),
            lambda: ungated_lengths(readings, math.inf if reach is None else reach, end),
        )
        sheet = found.parameters["sheet_resistance"]
        return StructureAnswer(
            kind="lengths",
            parts=(_ungated_part(files[0], found),),
            source=found,
            keep=log_words("sheet resistance", sheet.value if sheet.valid else None, sheet.std, "ohm"),
        )
    defined: Literal["tangent", "constant current"] = (
        "tangent" if threshold == "tangent" else "constant current"
    )
    sizes = _sizes(lengths_from) if lengths_from is not None else {}
    devices, problems = each_file(files, lambda file: _device(file, sizes, named, (wide, error)))
    gated = judged(
        "the set",
        ", ".join(str(file) for file in files[:3]) + (" …" if len(files) > 3 else ""),
        lambda: gated_lengths(devices, areal, defined, chosen),
    )
    answer = StructureAnswer(
        kind="lengths", parts=(_gated_part(gated, threshold),), problems=tuple(problems), source=gated
    )
    if figure is not None:
        write_figure(answer.plots(), figure)
    return answer


def _one_source(words: Words, lot: str, files: Sequence[Path]) -> None:
    if lot and files:
        words.refuse(
            "what to read",
            "files, or a lot of the record",
            f"--lot {lot} and {len(files)} files",
            "a set of the record has its curves and sizes there",
            "leave one of them out",
        )
    if not lot and not files:
        words.refuse(
            "what to read",
            "files, or --lot with a lot of the record",
            "nothing",
            "a set needs curves",
            "name one",
        )


def _of_lot(
    lot: str, record: str | Path | None, threshold: str, overdrives: tuple[float, ...], figure: Path | None
) -> StructureAnswer:
    """Every gated set of the masks of a lot, wafer by wafer, from the curves in its record."""
    from filmwright.desk.explain import gather
    from filmwright.desk.lot_lengths import FEWEST, sets_of
    from filmwright.record import Store

    with Store.open(record_place(record)) as store:
        story = gather(store, lot)
    sets = sets_of(story, threshold, overdrives)
    if not sets:
        raise BadInput(
            Problem(
                what=f"a set of different length in lot {story.lot.name}",
                expected=f"gated devices of one width and {FEWEST} lengths or more, {FEWEST} of them measured on one wafer",
                got=f"{len(story.probed)} measured files of which none make such a set",
                why="contacts and channel are told apart by the length",
                remedy="see the sets of the masks with:  filmwright devices PLAN; keep their curves with:  "
                f"filmwright log {story.lot.name} --curves FILE --device NAME --wafer W1",
            )
        )
    parts = []
    for each in sets:
        title = f"wafer {each.wafer}, {each.name}"
        out = tuple(f"{name} is left out: {why}" for name, why in each.left_out.items())
        if each.found is None:
            parts.append(StructurePart(title=title, parameters={}, warnings=(each.why_not, *out)))
            continue
        part = _gated_part(each.found, threshold)
        parts.append(replace(part, title=f"{title}: {part.title}", warnings=(*part.warnings, *out)))
    told = [each.found for each in sets if each.found is not None]
    answer = StructureAnswer(
        kind="lengths", parts=tuple(parts), source=told[0] if told else None, others=tuple(told[1:])
    )
    if figure is not None:
        write_figure(answer.plots(), figure)
    return answer


def _end(words: Words, text: str) -> tuple[float, float] | None:
    """An end resistance with its error, ``12 ohm +- 0.5``."""
    if not text:
        return None
    value, _, spread = text.replace("±", "+-").partition("+-")
    unit = value.strip().lstrip("0123456789.eE+-").strip()
    first = words.quantity(value.strip(), "resistance", "the end resistance")
    bare = spread.strip()
    second = words.quantity(
        bare if not bare or bare[-1:].isalpha() else f"{bare} {unit}", "resistance", "its error"
    )
    return None if first is None else (first, second or 0.0)


def _gaps(file: Path, width: float | None, error: float) -> list[GapReading]:
    table = read_small_table(file, _GAPS)
    wide = optional(table, "width", width)
    if not all(math.isfinite(each) for each in wide.values()):
        raise ValueError('the width is not known: add a column "width (um)" or say --width "100 um"')
    rows = range(len(table.lines))
    of_length = np.nan_to_num(table.errors.get("length", np.full(len(rows), error)), nan=error)
    of_resistance = np.nan_to_num(table.errors.get("resistance", np.zeros(len(rows))))
    names = table.texts.get("name", ())
    return [
        GapReading(
            name=names[k] if k < len(names) and names[k] else f"line {table.lines[k]}",
            length=float(table.numbers["length"][k]),
            resistance=float(table.numbers["resistance"][k]),
            width=wide[k],
            length_std=float(of_length[k]),
            resistance_std=float(of_resistance[k]),
        )
        for k in rows
    ]


def _sizes(file: Path) -> dict[str, tuple[float, float | None, float]]:
    """Length, width and length error by name of file or device."""
    table = read_small_table(file, _SIZES)
    wide = optional(table, "width", None)
    errors = np.nan_to_num(table.errors.get("length", np.zeros(len(table.lines))))
    return {
        Path(name).stem.lower(): (
            float(table.numbers["length"][k]),
            wide[k] if math.isfinite(wide[k]) else None,
            float(errors[k]),
        )
        for k, name in enumerate(table.texts["name"])
    }


def _device(
    file: Path,
    sizes: Mapping[str, tuple[float, float | None, float]],
    named: NamePattern | None,
    otherwise: tuple[float | None, float],
) -> LengthDevice:
    found = read_table(file)
    sweep = _linear(found.sweeps)
    told = (named.read(file) or {}) if named else {}
    length, width, error = sizes.get(file.stem.lower(), (None, None, 0.0))
    length = length or _number(told, "length") or (sweep.length if sweep else None)
    width = width or _number(told, "width") or (sweep.width if sweep else None) or otherwise[0]
    missing = [
        name
        for name, value in (
            ("a transfer curve at a known drain voltage", sweep),
            ("its length", length),
            ("its width", width),
        )
        if value is None
    ]
    if sweep is None or length is None or width is None:
        raise BadInput(
            Problem(
                what="the device",
                expected="a curve, a length and a width",
                got=f"not known: {', '.join(missing)}",
                why="it cannot take part in the set",
                file=str(file),
                remedy='say --name-pattern "{*}_w{width:um}_l{length:um}{*}", --lengths-from sizes.csv (file, length, width), or --width',
            )
        )
    return LengthDevice(
        name=file.stem, sweep=sweep, length=length, width=width, length_std=error or otherwise[1]
    )


def _number(told: Mapping[str, float | str], name: str) -> float | None:
    value = told.get(name)
    return value if isinstance(value, float) else None


def _linear(sweeps: Iterable[Sweep]) -> Sweep | None:
    """The curve at the smallest drain voltage, the bulk nearest to the source, the first way."""
    known = [each for each in sweeps if each.drain_voltage]
    if not known:
        return None
    return min(known, key=lambda each: (abs(each.drain_voltage or 0.0), abs(each.bulk_voltage or 0.0)))


def _ungated_part(file: Path, found: UngatedLengths) -> StructurePart:
    grid = np.linspace(0.0, float(found.length.max()), _POINTS)
    middle, low, high = found.line.band(grid)
    said = [f"{len(found.names)} gaps; scatter beyond the stated errors {100 * found.line.scatter:.2g} %"]
    said += [
        f"share of the contacts at {plain(d, 'um'):.4g} µm: {100 * share:.2g} %"
        for d, share in sorted(found.shares.items())
        if share > 0
    ]
    warnings = (*found.warnings, *(f"{name}: {why}" for name, why in found.outliers.items()))
    return StructurePart(
        title=f"{file}: ungated gaps",
        parameters=found.parameters,
        said=tuple(said),
        warnings=warnings,
        arrays={
            "length": Drawable(values=found.length, unit="um"),
            "resistance_width": Drawable(values=found.normalised, unit="ohm*cm"),
            "resistance_width_std": Drawable(values=found.normalised_std, unit="ohm*cm"),
            "line_length": Drawable(values=grid, unit="um"),
            "line": Drawable(values=middle, unit="ohm*cm"),
            "line_low": Drawable(values=low, unit="ohm*cm"),
            "line_high": Drawable(values=high, unit="ohm*cm"),
        },
    )


def _gated_part(found: GatedLengths, threshold: str) -> StructurePart:
    family, lines = found.family, found.lines
    grid = np.linspace(0.0, float(family.length.max()), _POINTS)
    bands = [found.band(at, grid) for at in range(family.overdrive.size)]
    said = [
        f"{len(found.names)} devices at overdrives of {', '.join(f'{each:.3g}' for each in family.overdrive)} V, threshold by {threshold}",
        f"scatter of the devices: {100 * lines.scatter:.2g} % common, {lines.shift:.2g} V of threshold, "
        f"{100 * lines.rest:.2g} % of each reading",
    ]
    seen = dict(zip(family.length, found.shares, strict=True))
    said += [
        f"share of the contacts at {plain(float(length), 'um'):.4g} µm and the largest overdrive: {100 * share[0]:.2g} % "
        f"({100 * share[1]:.2g} to {100 * share[2]:.2g} %)"
        for length, share in sorted(seen.items())
    ]
    warnings = (
        *found.warnings,
        *(f"{name}: {why}" for name, why in found.outliers.items()),
        *(f"{name} takes no part: {why}" for name, why in found.refused.items()),
    )
    return StructurePart(
        title=f"{len(found.names)} transistors of {len(set(family.length))} lengths",
        parameters=found.parameters,
        said=tuple(said),
        warnings=warnings,
        arrays={
            "overdrive": Drawable(values=family.overdrive, unit="V"),
            "length": Drawable(values=family.length, unit="um"),
            "resistance_width": Drawable(values=family.normalised, unit="ohm*cm"),
            "resistance_width_std": Drawable(values=family.noise, unit="ohm*cm"),
            "line_length": Drawable(values=grid, unit="um"),
            "line": Drawable(values=np.array([band[0] for band in bands]), unit="ohm*cm"),
            "line_low": Drawable(values=np.array([band[1] for band in bands]), unit="ohm*cm"),
            "line_high": Drawable(values=np.array([band[2] for band in bands]), unit="ohm*cm"),
        },
    )
