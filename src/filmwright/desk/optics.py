"""The verb thickness: a measured spectrum, or ellipsometric angles, and the films → every thickness that explains them."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.knowledge import OpticalConstants, UnknownName, book, optical_choices, optically_unknown
from filmwright.learn import FilmModel, GrownFilm, grown_film
from filmwright.measure import Angles, is_spectrum, read_angles, read_spectrum
from filmwright.process import (
    Measured,
    Order,
    Stacks,
    film_orders,
    measured_angles,
    measured_reflectance,
    stacks,
)
from filmwright.units import UnitProblem, convert, read, to_si

Complex = NDArray[np.complex128]
_CLEAR = re.compile(r"^clear\s+(?P<n>\d+(?:\.\d+)?)$")
_SIZED = re.compile(r"^(?P<name>.*?)\s+(?P<size>\d[\d.]*\s*(?:nm|um|µm|ang|Å))$")
_SPREAD_PSI, _SPREAD_DELTA = to_si(0.05, "deg"), to_si(0.2, "deg")
"""Spread of a single ellipsometric reading where zones do not tell it."""
_FREE = 0.2
"""How far the index of a grown film may be off where nobody says."""
_SHAPES = {
    1: (
        'from the top, parted by /, one film without a thickness, the body last: "zinc oxide / silicon nitride 100 nm / chromium"',
        "write the thickness of all films but one",
    ),
    2: (
        'the grown film, the film beneath and the body, none with a thickness: "clear 1.48 / silicon dioxide / silicon"',
        "the map before tells the film beneath, place by place: leave its thickness out",
    ),
}
"""How many films may be without a thickness: what the stack then looks like, and what to do."""


@dataclass(frozen=True, kw_only=True)
class PlaceOrders:
    """What one place allows.

    Attributes
    ----------
    x, y : float [m]
    orders : tuple of Order
        The best first.
    """

    x: float
    y: float
    orders: tuple[Order, ...]


@dataclass(frozen=True, kw_only=True)
class ThicknessAnswer:
    """Thicknesses of a film, place by place, or the map of a film grown between two measurements.

    Attributes
    ----------
    file : Path
    film : str
        The film in question.
    model : str
        What was assumed of the rest.
    index : float or None
        Index that the shifts of the orders are added to, in the middle of the wavelengths.
    places : tuple of PlaceOrders
    grown : GrownFilm or None
    said : tuple of str
        Data sets and what else must be known.
    """

    file: Path
    film: str
    model: str
    index: float
    places: tuple[PlaceOrders, ...]
    grown: GrownFilm | None = None
    said: tuple[str, ...] = ()

    def fields(self) -> dict[str, Any]:
        """For programs; lengths in nanometres and millimetres, as named."""
        found: dict[str, Any] = {
            "file": str(self.file),
            "film": self.film,
            "model": self.model,
            "places": [
                {
                    "x_mm": convert(place.x, "mm"),
                    "y_mm": convert(place.y, "mm"),
                    "orders": [_order_fields(order, self.index) for order in place.orders],
                }
                for place in self.places
            ],
            "said": list(self.said),
        }
        if self.grown is not None:
            found["map"] = _map_fields(self.grown)
        return found


def _order_fields(order: Order, index: float) -> dict[str, Any]:
    low, high = order.thickness_interval
    return {
        "thickness_nm": convert(order.thickness, "nm"),
        "interval_95_nm": [convert(low, "nm"), convert(high, "nm")],
        "index": index + order.shift,
        "index_interval_95": [index + each for each in order.shift_interval],
        "reduced_chi2": order.reduced_chi2,
        "odds": order.odds,
        "notes": list(order.notes),
    }


def _map_fields(grown: GrownFilm) -> dict[str, Any]:
    fit = grown.fit
    return {
        "median_nm": convert(grown.median, "nm"),
        "non_uniformity": grown.uniformity.value,
        "formula": grown.uniformity.formula,
        "index": grown.index,
        "index_spread_95": grown.index_spread,
        "centre_nm": convert(fit.centre, "nm"),
        "radial_nm": convert(fit.bowl, "nm"),
        "radial_std_nm": convert(fit.stds[3], "nm"),
        "radius_mm": convert(fit.radius, "mm"),
        "explained": fit.explained,
        "places": [
            {"x_mm": convert(x, "mm"), "y_mm": convert(y, "mm"), "thickness_nm": convert(d, "nm"), "before_nm": convert(u, "nm")}
            for x, y, d, u in zip(grown.x, grown.y, grown.thickness, grown.under, strict=True)
        ],
        "notes": list(grown.notes),
    }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Film:
    """One entry of the stack as written; ``depth`` is None for the film in question and for the body."""

    name: str
    depth: float | None
    clear: float | None


def thickness(
    file: Path,
    films: str,
    up_to: str = "2 um",
    free_index: float = 0.0,
    spread: str = "1 %",
    before: Path | None = None,
    data: Sequence[str] = (),
) -> ThicknessAnswer:
    """Every thickness of one film that explains a measured spectrum or measured psi and delta.

    Parameters
    ----------
    file : Path
        A reflectance spectrum, or ellipsometric angles of one place or many.
    films : str
        The stack from the top, parted by ``/``: materials with their thickness, one film without (the one in
        question), the body last. ``clear 1.48`` is a film of that index.
    up_to : str
        End of the search.
    free_index : float
        How far the index of the film may be off; 0 keeps it.
    spread : str
        Standard deviation of a reflectance.
    before : Path or None
        Angles of the same wafer before the film was grown: the answer becomes a map.
    data : sequence of str
        Optical data sets to use instead of the usual ones, by their names.

    Raises
    ------
    BadInput
        With every problem of the words and files.
    """
    problems = Problems()
    stack = _films(films, 1 if before is None else 2, problems)
    reach = _quantity(up_to, "length", "the end of the search", problems)
    noise = _quantity(spread, "fraction", "the spread of the reflectance", problems)
    if not 0 <= free_index < 1:
        freedom = "from 0 to below 1", f"{free_index:g}"
        problems.add(_problem("the freedom of the index", *freedom, "it is added to n", "write 0.1"))
    problems.raise_any()
    place = next(j for j, film in enumerate(stack[:-1]) if film.depth is None)
    waves, measured, angles = _read(file, noise, before)
    column, index, said = _stacked(stack, waves, data)
    grown: GrownFilm | None = None
    places: tuple[PlaceOrders, ...] = ()
    if before is not None:
        grown = _map(read_angles(before), angles, stack, index, (reach, free_index or _FREE))
    else:
        places = tuple(
            PlaceOrders(x=x, y=y, orders=film_orders(column, place, each, (0.0, reach), free_index))
            for x, y, each in measured
        )
    rest = " / ".join(_written(film, film is stack[place]) for film in stack)
    return ThicknessAnswer(
        file=file,
        film=stack[place].name,
        model=grown.model if grown else f"{rest}; sharp flat interfaces, no roughness",
        index=float(index[stack[place].name][waves.size // 2].real),
        places=places,
        grown=grown,
        said=said,
    )


def _read(
    file: Path, noise: float, before: Path | None
) -> tuple[NDArray[np.float64], list[tuple[float, float, Measured]], tuple[Angles, ...]]:
    """Wavelengths, the data of every place, and the angles where that is what the file holds."""
    if not is_spectrum(file):
        angles = read_angles(file)
        return angles[0].wavelength, [(each.x, each.y, _angles(each)) for each in angles], angles
    if before is not None:
        why = "a map is made of angles"
        raise BadInput(
            _problem("the file before", "left out with a spectrum", str(before), why, "leave it out")
        )
    found = read_spectrum(file)
    return found.wavelength, [(0.0, 0.0, measured_reflectance(found.reflectance, noise))], ()


def _written(film: _Film, asked: bool) -> str:
    if asked:
        return f"{film.name} ?"
    return film.name if film.depth is None else f"{film.name} {convert(film.depth, 'nm'):.4g} nm"


def _films(text: str, wanted: int, problems: Problems) -> list[_Film]:
    parts = [part.strip() for part in text.split("/")]
    films = []
    for part in parts:
        sized = _SIZED.match(part)
        name = sized["name"] if sized else part
        depth = _quantity(sized["size"], "length", f'the thickness of "{name}"', problems) if sized else None
        clear = _CLEAR.match(name)
        if clear is None and name:
            try:
                name = book().material(name).name
            except UnknownName as unknown:
                problems.add(_problem("a film", "a known material, or a clear film such as clear 1.48", f'"{name}"',
                                      "its optical constants are needed", unknown.hint))  # fmt: skip
        films.append(_Film(name=name, depth=depth, clear=float(clear["n"]) if clear else None))
    asked = sum(film.depth is None for film in films[:-1])
    if (
        len(films) < 2
        or not all(film.name for film in films)
        or asked != wanted
        or (wanted == 2 and len(films) != 3)
    ):
        expected, remedy = _SHAPES[wanted]
        problems.add(
            _problem("the films", expected, f'"{text}"', "one thickness is looked for and the rest must be known", remedy)
        )  # fmt: skip
    return films


def _stacked(
    films: Sequence[_Film], waves: NDArray[np.float64], data: Sequence[str]
) -> tuple[Stacks, dict[str, Complex], tuple[str, ...]]:
    index: dict[str, Complex] = {}
    said: list[str] = []
    for film in films:
        if film.clear is not None:
            index[film.name] = np.full(waves.shape, film.clear, dtype=complex)
            continue
        constants = _constants(film.name, data)
        index[film.name] = constants.index(waves)
        said.append(f"{film.name}: {constants.name}, {constants.condition} ({constants.source})")
        others = [each.name for each in optical_choices(film.name) if each is not constants]
        said += [f"   other data sets: {', '.join(others)}"] if others else []
        said += [note] if (note := constants.beyond(waves)) else []
    column = [(film.name, film.depth or 0.0) for film in films]
    known = [each.name for film in films if film.clear is None for each in optical_choices(film.name)]
    problems = Problems()
    for name in data:
        if name not in known:
            problems.add(
                _problem("a data set", "one of these films", f'"{name}"', "it would not be used", nearest(name, known))
            )  # fmt: skip
    problems.raise_any()
    return stacks(waves, [column], index), index, tuple(dict.fromkeys(said))


def _constants(material: str, data: Sequence[str]) -> OpticalConstants:
    """The data set that was named for the material, else the usual one."""
    choices = optical_choices(material)
    if not choices:
        why = optically_unknown(material)
        remedy = 'write the film as "clear" with its index'
        raise BadInput(_problem("the optical constants", f"on file for {material}", "none", why, remedy))
    return next((each for each in choices if each.name in data), choices[0])


def _angles(angles: Angles) -> Measured:
    return measured_angles(
        angles.incidence.tolist(),
        angles.psi,
        angles.delta,
        np.where(angles.psi_std > 0, angles.psi_std, _SPREAD_PSI),
        np.where(angles.delta_std > 0, angles.delta_std, _SPREAD_DELTA),
    )


def _map(
    before: Sequence[Angles],
    after: Sequence[Angles],
    films: Sequence[_Film],
    index: dict[str, Complex],
    numbers: tuple[float, float],
) -> GrownFilm:
    reach, free = numbers
    rim = max(math.hypot(each.x, each.y) for each in after)
    top, under, body = (film.name for film in films)
    model = FilmModel(
        names=(body, under, top),
        body=index[body],
        under=index[under],
        grown=float(index[top].real.mean()),
        index_range=free,
        thickest=reach,
    )
    try:
        return grown_film(before, after, model, rim)
    except ValueError as trouble:
        raise BadInput(
            _problem(
                "the two maps",
                "of the same places of one wafer",
                str(trouble),
                "the film is told by difference",
                "check the files",
            )
        ) from None


def _quantity(text: str, dimension: str, what: str, problems: Problems) -> float:
    try:
        value = read(text, dimension, what).value
    except UnitProblem as trouble:
        problems.add(trouble.problem)
        return math.nan
    if not value > 0:
        problems.add(
            _problem(what, "above zero", f'"{text}"', "nothing can be found there", "write a positive value")
        )
    return value


def _problem(what: str, expected: str, got: str, why: str, remedy: str) -> Problem:
    return Problem(what=what, expected=expected, got=got, why=why, remedy=remedy)
