"""The film that was grown between two ellipsometric maps of one wafer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.learn.maps import MapFit, NonUniformity, fit_map, non_uniformity
from filmwright.measure import Angles
from filmwright.process import Measured, Order, Stacks, film_orders, measured_angles, stacks
from filmwright.units import to_si

Real = NDArray[np.float64]
_NEAR = to_si(0.2, "mm")
_LEAST_PSI, _LEAST_DELTA = to_si(0.02, "deg"), to_si(0.1, "deg")
"""An ellipsometer is not truer than this, whatever its zones say."""


@dataclass(frozen=True, kw_only=True)
class GrownFilm:
    """A wafer map of a film, from the angles before and after it was grown.

    Attributes
    ----------
    x, y : array (n,) [m]
        Places that were measured both times.
    under : array (n,) [m]
        Thickness of the film that was there before.
    thickness : array (n,) [m]
        Of the grown film, with one index for the whole wafer.
    orders : tuple of tuples of Order
        At every place, all thicknesses that were found, the best first.
    index : float
        The index that the wafer shares: the median over the places, each fitted with its own.
    index_spread : float
        Half the middle 95 % of the places' own indices.
    median : float [m]
    uniformity : NonUniformity
    fit : MapFit
        A plane and a bowl; the bowl is the radial part.
    model : str
        What was assumed.
    notes : tuple of str
    """

    x: Real
    y: Real
    under: Real
    thickness: Real
    orders: tuple[tuple[Order, ...], ...]
    index: float
    index_spread: float
    median: float
    uniformity: NonUniformity
    fit: MapFit
    model: str
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FilmModel:
    """What is assumed of the wafer: a known body, a known film of unknown thickness, and the film that was grown.

    Attributes
    ----------
    names : tuple of three str
        Body, film beneath, grown film.
    body, under : complex array (w,)
        Their index n − i·k at the wavelengths of the maps.
    grown : float
        A first guess of the index of the grown film, which is taken to be clear.
    index_range : float
        How far that may be off.
    thickest : float [m]
        End of the search, for both films.
    """

    names: tuple[str, str, str]
    body: NDArray[np.complex128]
    under: NDArray[np.complex128]
    grown: float
    index_range: float
    thickest: float


def grown_film(
    before: Sequence[Angles], after: Sequence[Angles], model: FilmModel, radius: float
) -> GrownFilm:
    """Thickness of a film over the wafer: first what lay there before, then what was grown upon it.

    Parameters
    ----------
    before, after : sequence of Angles
        The two maps; places that only one of them has are left out.
    model : FilmModel
    radius : float [m]
        Of the wafer.

    Raises
    ------
    ValueError
        When fewer than five places were measured both times.
    """
    pairs = [
        (one, two) for one in before for two in after if math.hypot(one.x - two.x, one.y - two.y) < _NEAR
    ]
    if len(pairs) < 5:
        raise ValueError(f"a map needs five places measured both times, got {len(pairs)}")
    reach = (0.0, model.thickest)
    under = [film_orders(_stack(one, model, 0.0)[0], 0, _data(one), reach)[0] for one, _ in pairs]
    free = [
        film_orders(_stack(two, model, below.thickness)[1], 0, _data(two), reach, model.index_range)[0]
        for (_, two), below in zip(pairs, under, strict=True)
    ]
    indices = np.array([model.grown + each.shift for each in free])
    shared = float(np.median(indices))
    orders = tuple(
        film_orders(_stack(two, model, below.thickness, shared)[1], 0, _data(two), reach)
        for (_, two), below in zip(pairs, under, strict=True)
    )
    thickness = np.array([each[0].thickness for each in orders])
    x, y = np.array([two.x for _, two in pairs]), np.array([two.y for _, two in pairs])
    low, high = np.quantile(indices, [0.025, 0.975])
    return GrownFilm(
        x=x,
        y=y,
        under=np.array([each.thickness for each in under]),
        thickness=thickness,
        orders=orders,
        index=shared,
        index_spread=float(high - low) / 2,
        median=float(np.median(thickness)),
        uniformity=non_uniformity(thickness),
        fit=fit_map(x, y, thickness, radius),
        model=(
            f"{model.names[2]} (clear, one index for the wafer) on {model.names[1]} (thickness of each place from the "
            f"map before, unchanged by the growth) on {model.names[0]}; sharp flat interfaces, no roughness"
        ),
        notes=_notes(under, orders, len(before) + len(after) - 2 * len(pairs)),
    )


def _stack(
    angles: Angles, model: FilmModel, under: float, grown: float | None = None
) -> tuple[Stacks, Stacks]:
    """The wafer before, and with the grown film."""
    body, film, new = model.names
    index = {body: model.body, film: model.under, new: np.asarray(model.grown if grown is None else grown)}
    bare, grown_on = [(film, under), (body, 0.0)], [(new, 0.0), (film, under), (body, 0.0)]
    return stacks(angles.wavelength, [bare], index), stacks(angles.wavelength, [grown_on], index)


def _data(angles: Angles) -> Measured:
    return measured_angles(
        angles.incidence.tolist(),
        angles.psi,
        angles.delta,
        np.hypot(angles.psi_std, _LEAST_PSI),
        np.hypot(angles.delta_std, _LEAST_DELTA),
    )


_ROUGH = 5.0
"""Reduced χ² above which a place does not follow the model."""


def _notes(under: Sequence[Order], orders: Sequence[tuple[Order, ...]], alone: int) -> tuple[str, ...]:
    off = (
        sum(each.reduced_chi2 > _ROUGH for each in under),
        sum(each[0].reduced_chi2 > _ROUGH for each in orders),
    )
    rivals = sum(len(each) > 1 and each[1].odds > 0.05 for each in orders)
    said = (
        (alone, f"{alone} places were measured once only and are left out"),
        (
            off[0],
            f"{off[0]} places miss the model of the wafer before by more than their spread (reduced χ² above {_ROUGH:g})",
        ),
        (
            off[1],
            f"{off[1]} places miss the model of the grown film by more than their spread (reduced χ² above {_ROUGH:g})",
        ),
        (rivals, f"at {rivals} places another order is as likely as one in twenty"),
    )
    return tuple(text for count, text in said if count)
