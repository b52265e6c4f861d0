"""Tables of optical instruments: reflectance spectra, and ellipsometric angles by place on the wafer."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from filmwright.errors import BadInput, Problem, nearest
from filmwright.units import UnitProblem, read, to_si

Real = NDArray[np.float64]
_SPLIT = re.compile(r"[\t;,]|\s{2,}")
_UNIT = re.compile(r"^(?P<name>[^(\[]*)[(\[](?P<unit>[^)\]]*)[)\]]\s*$")
_NAMES = {
    "wavelength": ("wavelength", "lambda", "wl"),
    "incidence": ("aoi", "angle of incidence", "incidence"),
    "psi": ("psi",),
    "delta": ("delta",),
    "zone": ("zone",),
    "x": ("x_pos", "x", "x position"),
    "y": ("y_pos", "y", "y position"),
    "reflectance": ("reflectance", "r", "reflectivity"),
}
_ZONES = (1, 2, 3, 4)
"""Positions of polariser and analyser; their mean cancels small errors of both. Other numbers mark sums and ranges."""
_RANGE_OF_FOUR = 2.059
"""Mean range of four numbers with a spread of one: range/2.059 estimates the spread."""
_SAME_PLACE = to_si(0.1, "mm")
_FULL = 1.2
"""A reflectance above this, written without %, is a slip."""


@dataclass(frozen=True, kw_only=True)
class Spectrum:
    """A reflectance spectrum.

    Attributes
    ----------
    wavelength : array (w,) [m]
        Rising.
    reflectance : array (w,)
        Share of the power, 0 to 1.
    """

    wavelength: Real
    reflectance: Real


@dataclass(frozen=True, kw_only=True)
class Angles:
    """Ellipsometric angles of one place.

    Attributes
    ----------
    x, y : float [m]
        From the centre of the wafer.
    wavelength : array (w,) [m]
    incidence : array (a,) [rad]
    psi, delta : array (a, w) [rad]
        Means over the zones.
    psi_std, delta_std : array (a, w) [rad]
        Standard errors of those means; zero where there was one zone.
    """

    x: float
    y: float
    wavelength: Real
    incidence: Real
    psi: Real
    delta: Real
    psi_std: Real
    delta_std: Real


def read_spectrum(path: Path) -> Spectrum:
    """Read a reflectance spectrum: a table with a wavelength and a reflectance, units in the head.

    Parameters
    ----------
    path : Path
        E.g. ``wavelength (nm), reflectance (%)`` and a row for each wavelength.

    Raises
    ------
    BadInput
        With every problem of the file.
    """
    columns = _table(path, ("wavelength", "reflectance"))
    order = np.argsort(columns["wavelength"], kind="stable")
    waves, shares = columns["wavelength"][order], columns["reflectance"][order]
    if shares.max() > _FULL:
        raise BadInput(
            _problem(path, "the reflectance", "a share below 1, or in % with (%) in the head", f"{shares.max():g}",
                     "a share of the light cannot be above one and % is not guessed", 'write "reflectance (%)" in the head')
        )  # fmt: skip
    if np.any(np.diff(waves) <= 0):
        raise BadInput(
            _problem(path, "the wavelengths", "all different", "one twice", "two readings of one wavelength cannot be told apart",
                     "leave one row for each wavelength")
        )  # fmt: skip
    return Spectrum(wavelength=waves, reflectance=shares)


def is_spectrum(path: Path) -> bool:
    """Whether a table has a column of reflectance, rather than angles.

    Parameters
    ----------
    path : Path

    Raises
    ------
    BadInput
        When it is no text.
    """
    return "reflectance" in _columns(_split(_lines(path))[0])


def read_angles(path: Path) -> tuple[Angles, ...]:
    """Read ellipsometric angles, grouped by place, averaged over the zones 1 to 4 of polariser and analyser.

    Parameters
    ----------
    path : Path
        A table with wavelength, AOI (angle of incidence), psi and delta; zone, X_pos and Y_pos where there
        are some. Lines that begin with # are its head: names, then units.

    Raises
    ------
    BadInput
        With every problem of the file.
    """
    columns = _table(path, ("wavelength", "incidence", "psi", "delta"), ("zone", "x", "y"))
    count = columns["psi"].size
    zone = columns.get("zone", np.ones(count))
    kept = np.isin(zone, _ZONES) if "zone" in columns else np.ones(count, dtype=bool)
    if not kept.any():
        raise BadInput(
            _problem(path, "the zones", "some of 1 to 4", "none", "readings come by zone of polariser and analyser",
                     "export the readings, not their sums alone")
        )  # fmt: skip
    rows = {name: values[kept] for name, values in columns.items()}
    nowhere = np.zeros(int(kept.sum()))
    places = np.rint(np.stack([rows.get("x", nowhere), rows.get("y", nowhere)], axis=1) / _SAME_PLACE)
    found = []
    for place in np.unique(places, axis=0):
        here = np.all(places == place, axis=1)
        found.append(_angles(path, {name: values[here] for name, values in rows.items()}))
    return tuple(found)


def _angles(path: Path, rows: dict[str, Real]) -> Angles:
    waves, incidence = np.unique(rows["wavelength"]), np.unique(rows["incidence"])
    means = np.full((4, incidence.size, waves.size), np.nan)
    for i, angle in enumerate(incidence):
        for j, wave in enumerate(waves):
            here = (rows["incidence"] == angle) & (rows["wavelength"] == wave)
            if here.any():
                psi, delta = rows["psi"][here], _unrolled(rows["delta"][here])
                means[:, i, j] = psi.mean(), delta.mean(), _error(psi), _error(delta)
    if np.isnan(means).any():
        raise BadInput(
            _problem(path, "the readings of a place", "every wavelength at every angle of incidence", "gaps",
                     "the angles of a place are fitted together", "export full scans")
        )  # fmt: skip
    return Angles(
        x=float(rows["x"].mean()) if "x" in rows else 0.0,
        y=float(rows["y"].mean()) if "y" in rows else 0.0,
        wavelength=waves,
        incidence=incidence,
        psi=means[0],
        delta=np.mod(means[1], 2 * math.pi),
        psi_std=means[2],
        delta_std=means[3],
    )


def _unrolled(delta: Real) -> Real:
    """Angles brought beside the first one."""
    return np.asarray(delta[0] + np.mod(delta - delta[0] + math.pi, 2 * math.pi) - math.pi)


def _error(values: Real) -> float:
    """Standard error of the mean from the range, which serves better than a spread for four numbers."""
    return float(np.ptp(values)) / _RANGE_OF_FOUR / math.sqrt(values.size) if values.size > 1 else 0.0


def _table(path: Path, wanted: Sequence[str], welcome: Sequence[str] = ()) -> dict[str, Real]:
    """Columns by what they mean, in SI."""
    head, body = _split(_lines(path))
    columns = _columns(head)
    missing = [name for name in wanted if name not in columns]
    if missing or not body:
        given = ", ".join(cell for row in head[:1] for cell in row) or "no head"
        hint = (
            nearest(missing[0], [cell.lower() for row in head[:1] for cell in row])
            if missing and head
            else ""
        )
        raise BadInput(
            _problem(path, "the table", f"columns of {', '.join(wanted)} with numbers below", given,
                     f"{', '.join(missing) or 'the numbers'} cannot be found", hint or "name the columns in the first line")
        )  # fmt: skip
    found: dict[str, Real] = {}
    for name in (*wanted, *welcome):
        if name in columns:
            place, unit = columns[name]
            found[name] = _numbers(path, body, place, name, unit)
    return found


def _lines(path: Path) -> list[str]:
    try:
        return path.read_text("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as trouble:
        said = getattr(trouble, "strerror", None) or "no text"
        raise BadInput(
            Problem(
                what="the file",
                expected="a table of text",
                got=said[:1].lower() + said[1:],
                why="nothing can be read from it",
                remedy="check its name",
                file=str(path),
            )
        ) from None


def _split(lines: list[str]) -> tuple[list[list[str]], list[tuple[int, list[str]]]]:
    head: list[list[str]] = []
    body: list[tuple[int, list[str]]] = []
    for number, line in enumerate(lines, 1):
        cells = [cell.strip() for cell in _SPLIT.split(line.lstrip("#").strip())]
        if line.strip() and (line.startswith("#") or (not body and not _is_number(cells[0]))):
            head.append(cells)
        elif line.strip():
            body.append((number, cells))
    return head, body


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _columns(head: list[list[str]]) -> dict[str, tuple[int, str]]:
    """Place and unit of every column that means something."""
    units = head[1] if len(head) > 1 else []
    found: dict[str, tuple[int, str]] = {}
    for place, cell in enumerate(head[0] if head else []):
        match = _UNIT.match(cell)
        name = (match["name"] if match else cell).strip().lower()
        unit = match["unit"].strip() if match else (units[place] if place < len(units) else "")
        for meaning, written in _NAMES.items():
            if name in written and meaning not in found:
                found[meaning] = (place, "" if unit == "-" else unit)
    return found


_KIND = {"wavelength": "length", "incidence": "angle", "psi": "angle", "delta": "angle", "x": "length", "y": "length",
         "zone": "number", "reflectance": "fraction"}  # fmt: skip


def _numbers(path: Path, body: list[tuple[int, list[str]]], place: int, name: str, unit: str) -> Real:
    try:
        read(f"1 {unit}", _KIND[name], name)
    except UnitProblem as trouble:
        raise BadInput(trouble.problem.at(str(path), 1)) from None
    numbers, problems = [], []
    for line, cells in body:
        cell = cells[place] if place < len(cells) else ""
        if not _is_number(cell) or not math.isfinite(float(cell)):
            what = f"the {name} in this line"
            problems.append(
                _problem(path, what, "a number", f'"{cell}"', "a gap cannot be fitted", "fill it or leave the line out", line)
            )  # fmt: skip
        else:
            numbers.append(to_si(float(cell), unit))
    if problems:
        raise BadInput(*problems[:20])
    return np.array(numbers)


def _problem(path: Path, what: str, expected: str, got: str, why: str, remedy: str, line: int = 1) -> Problem:
    return Problem(what=what, expected=expected, got=got, why=why, remedy=remedy, file=str(path), line=line)
