"""How the die looks through a microscope: every kind of place on it, its spectrum and its colour.

Reflected light on the column of films at each place, seen straight down or averaged over the aperture of an objective. What a
microscope adds (focus, diffraction at edges, dirt) is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from filmwright.errors import BadInput, Problem, nearest
from filmwright.knowledge import OpticalConstants, lamp_temperatures, lights, optical, optically_unknown
from filmwright.numerics import Region
from filmwright.process import Eye, appearance, eye, illuminated, stacks
from filmwright.units import to_si
from filmwright.wafer import Column, Plan

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]
Films = tuple[tuple[str, float], ...]
"""Materials and thicknesses [m] from the top, the body last."""

DAYLIGHT = "daylight D65"
_HIDDEN = 1e-3
"""Part of the light that comes back from beneath a film that hides what lies there."""

_BLACK = 1e-4
"""Part of the light that comes back from the far side of a body that counts as opaque."""


@dataclass(frozen=True, kw_only=True)
class Seen:
    """One kind of place, as it looks.

    Attributes
    ----------
    column : Column
    area : float [m²]
        On the whole die.
    hex : str
        sRGB as ``#rrggbb``; empty when the optics of a film are not known.
    name : str
        Everyday name of the colour; empty too then.
    luminance : float or None
        Share of the light that the eye sees reflected.
    unknown : tuple of str
        What is not known, in words.
    """

    column: Column
    area: float
    hex: str = ""
    name: str = ""
    luminance: float | None = None
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Look:
    """The die, as it looks.

    Attributes
    ----------
    plan : Plan
    seen : tuple of Seen
        One for each column, in the order of the plan.
    light : str
        The lamp.
    aperture : float
        Numerical aperture of the objective; 0 looks straight down.
    data : tuple of str
        Optical data sets that were used, one a material.
    notes : tuple of str
        Where data do not reach over all visible light.
    """

    plan: Plan
    seen: tuple[Seen, ...]
    light: str
    aperture: float
    data: tuple[str, ...] = field(default=())
    notes: tuple[str, ...] = field(default=())

    def within(self, x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[Seen, Region], ...]:
        """What lies in an upright rectangle [nm], each kind of place with its shape there."""
        of = {seen.column: seen for seen in self.seen}
        a, b, c, d = self.plan.die.bounds
        whole = x0 <= a and y0 <= b and x1 >= c and y1 >= d
        cells = self.plan.cells if whole else self.plan.within(x0, y0, x1, y1)
        return tuple((of[cell.column], cell.region) for cell in cells)


@dataclass(frozen=True, kw_only=True)
class _Spectra:
    """Spectra of different stacks; the films that were counted; what is not known of those without one; the data used."""

    of: dict[Films, Real]
    shown: dict[Films, Films]
    unknown: dict[Films, tuple[str, ...]]
    constants: dict[str, OpticalConstants]


def looks_of(
    plans: Sequence[Plan],
    *,
    light: str = DAYLIGHT,
    aperture: float = 0.0,
    own: Mapping[str, float] | None = None,
) -> tuple[Look, ...]:
    """How each of several plans of one die looks; all their columns go through the optics in one call.

    Parameters
    ----------
    plans : sequence of Plan
    light : str
        The lamp: see :func:`lamp_named`.
    aperture : float
        Numerical aperture of the objective, 0 to below 1.
    own : mapping from film label to float
        Index at 633 nm of films of which it was measured: the data of their material are shifted to it.
    """
    lamp = lamp_named(light)
    check_aperture(aperture)
    viewer = eye(lamp)
    films = {column: films_of(column, own) for plan in plans for column in plan.columns}
    spectra = _spectra(viewer.wavelength, set(films.values()), aperture)
    painted = _painted(spectra, viewer)

    def seen(column: Column, area: float) -> Seen:
        known = painted.get(films[column])
        if known is None:
            return Seen(column=column, area=area, unknown=spectra.unknown[films[column]])
        shown, name, luminance = known
        return Seen(column=column, area=area, hex=shown, name=name, luminance=luminance)

    found = []
    for plan in plans:
        used = sorted({m for column in plan.columns for m, _ in spectra.shown.get(films[column], ())})
        constants = [spectra.constants[material] for material in used]
        found.append(
            Look(
                plan=plan,
                seen=tuple(seen(column, area) for column, area in plan.areas().items()),
                light=lamp,
                aperture=aperture,
                data=tuple(f"{each.material}: {each.name}" for each in constants),
                notes=tuple(note for each in constants if (note := each.beyond(viewer.wavelength))),
            )
        )
    return tuple(found)


def _painted(spectra: _Spectra, viewer: Eye) -> dict[Films, tuple[str, str, float]]:
    """Screen colour, everyday name and luminance of every spectrum."""
    if not spectra.of:
        return {}
    colours = appearance(np.array(list(spectra.of.values())), viewer)
    luminance = [float(each) for each in colours.luminance]
    return dict(zip(spectra.of, zip(colours.hex, colours.names, luminance, strict=True), strict=True))


def spectra_of(
    columns: Sequence[Column],
    wavelengths: Real,
    aperture: float = 0.0,
    nodes: int = 6,
    own: Mapping[str, float] | None = None,
) -> tuple[Real | None, ...]:
    """Reflectance spectra of columns; None where the optics of a film are not known.

    Parameters
    ----------
    columns : sequence of Column
    wavelengths : array (w,) [m]
    aperture : float
        Numerical aperture of the objective; 0 looks straight down.
    nodes : int
        Angles that stand for the aperture: see :func:`filmwright.process.illuminated`.
    own : mapping from film label to float
        As in :func:`looks_of`.
    """
    films = [films_of(column, own) for column in columns]
    found = _spectra(np.asarray(wavelengths, dtype=float), set(films), aperture, nodes).of
    return tuple(found.get(each) for each in films)


def colours_of_films(
    columns: Sequence[Films], *, light: str = DAYLIGHT
) -> tuple[tuple[str, str] | None, ...]:
    """Screen colour and everyday name of stacks of films, straight down; None where the optics of a film are not known.

    Parameters
    ----------
    columns : sequence of Films
    light : str
    """
    viewer = eye(lamp_named(light))
    painted = _painted(_spectra(viewer.wavelength, set(columns), 0.0), viewer)
    return tuple((found[0], found[1]) if (found := painted.get(each)) else None for each in columns)


def films_of(column: Column, own: Mapping[str, float] | None = None) -> Films:
    """The films of a column as light meets them; one whose own index is known has it behind the name of its material."""
    known = own or {}
    return tuple(
        (
            f"{layer.material}{_OWN}{known[layer.film]:.4f}" if layer.film in known else layer.material,
            layer.thickness,
        )
        for layer in reversed(column.layers)
    )


_OWN = " of index "
_AT = to_si(633, "nm")
"""Wavelength of ellipsometers at which the index of a run is told."""


def _index(name: str, constants: OpticalConstants, wavelength: Real) -> Complex:
    """The index of a material's data, shifted by as much as a film's own index at 633 nm lies off them."""
    found = constants.index(wavelength)
    _, own, value = name.partition(_OWN)
    return found + (float(value) - float(constants.index(np.array([_AT]))[0].real)) if own else found


def lamp_named(light: str) -> str:
    """The full name of a lamp from a part of it, such as ``D65`` or ``halogen``.

    Raises
    ------
    BadInput
        When none, or more than one, is called so.
    """
    lamps = (*lights(), *lamp_temperatures())
    asked = light.strip().lower()
    found = [lamp for lamp in lamps if lamp.lower() == asked] or [
        lamp for lamp in lamps if asked and asked in lamp.lower()
    ]
    if len(found) == 1:
        return found[0]
    raise BadInput(
        Problem(
            what="the light",
            expected="one of " + ", ".join(lamps),
            got=f'"{light}"',
            why="a colour is that of a film under a lamp",
            remedy=nearest(light, lamps),
        )
    )


def check_aperture(aperture: float) -> None:
    """Refuse a numerical aperture that no dry objective has."""
    if not 0 <= aperture < 1:
        raise BadInput(
            Problem(
                what="the numerical aperture",
                expected="from 0 (straight down) to below 1 (a dry objective)",
                got=f"{aperture:g}",
                why="colours are averaged over the angles that the objective takes in",
                remedy="write the number that stands on the objective, such as 0.3",
            )
        )


def _spectra(wavelength: Real, wanted: set[Films], aperture: float, nodes: int = 6) -> _Spectra:
    materials = sorted({material for films in wanted for material, _ in films})
    constants = {m: known for m in materials if (known := optical(m.partition(_OWN)[0])) is not None}
    index: dict[str, Complex] = {m: _index(m, known, wavelength) for m, known in constants.items()}
    shown: dict[Films, Films] = {}
    unknown: dict[Films, tuple[str, ...]] = {}
    for films in sorted(wanted):
        visible = _visible(films, wavelength, index)
        missing = dict.fromkeys(material for material, _ in visible if material not in index)
        if missing:
            unknown[films] = tuple(
                f"{material}: {optically_unknown(material.partition(_OWN)[0])}" for material in missing
            )
        else:
            shown[films] = visible
    order = sorted(set(shown.values()))
    rows: dict[Films, Real] = {}
    if order:
        stack = stacks(wavelength, order, index, plates=_plates(order, wavelength, index))
        rows = dict(zip(order, illuminated(stack, aperture=aperture, nodes=nodes).reflectance, strict=True))
    of = {films: rows[visible] for films, visible in shown.items()}
    return _Spectra(of=of, shown=shown, unknown=unknown, constants=constants)


def _visible(films: Films, wavelength: Real, index: dict[str, Complex]) -> Films:
    """The films down to one that hides what lies beneath, where something beneath is not known."""
    if all(material in index for material, _ in films):
        return films
    left = 1.0
    for k, (material, thickness) in enumerate(films):
        if material not in index:
            return films
        left *= _through(material, thickness, wavelength, index) ** 2
        if left < _HIDDEN:
            return films[: k + 1]
    return films


def _through(material: str, thickness: float, wavelength: Real, index: dict[str, Complex]) -> float:
    """Largest share of the light that a film lets through once, by its absorption alone (Lambert and Beer)."""
    return float(np.exp(4 * np.pi * index[material].imag * thickness / wavelength).max())


def _plates(order: Sequence[Films], wavelength: Real, index: dict[str, Complex]) -> dict[str, float]:
    """Bodies whose back side is seen, with their thickness."""
    bodies = dict(films[-1] for films in order)
    return {
        material: thickness
        for material, thickness in bodies.items()
        if _through(material, thickness, wavelength, index) ** 2 > _BLACK
    }
