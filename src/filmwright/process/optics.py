"""Light on a stack of films: reflectance, transmittance, what each film absorbs, psi and delta.

Complex indices are n − i·k; films are counted from the top, as light meets them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.numerics import (
    Polarisation,
    Wave,
    admittance,
    forward_index,
    pile,
    reflectances_of_many,
    with_back_side,
)

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]
_BOTH: tuple[Polarisation, ...] = ("s", "p")
_APERTURE_NODES = 6
"""Gauss nodes over the pupil; more change a reflectance by less than 1e-4 up to an aperture of 0.9."""


@dataclass(frozen=True, kw_only=True)
class Stacks:
    """Columns of films that light meets, all at the same wavelengths.

    Attributes
    ----------
    wavelength : array (w,) [m]
        In vacuum.
    index : complex array (m, w)
        n − i·k of every material that occurs.
    films : integer array (columns, f)
        Row of ``index`` of every film, from the top.
    thickness : array (columns, f) [m]
        Zero where a column has fewer films.
    below : integer array (columns,)
        Row of ``index`` of the wafer body.
    above : complex array (w,)
        Index of the medium above: air, or an immersion liquid; it must not absorb.
    plate : array (columns,) [m]
        Thickness of a body whose back side is seen (glass, foil); infinite where the body is opaque or its
        back is black. A finite body adds powers, not fields.
    behind : complex array (w,)
        Index of what lies behind a finite body.
    """

    wavelength: Real
    index: Complex
    films: NDArray[np.int64]
    thickness: Real
    below: NDArray[np.int64]
    above: Complex
    plate: Real
    behind: Complex

    def __post_init__(self) -> None:
        w, (columns, count) = self.wavelength.size, self.films.shape
        if self.wavelength.ndim != 1 or not np.all(self.wavelength > 0):
            raise ValueError("wavelengths must be one row of numbers above zero")
        if self.index.shape[1:] != (w,) or self.above.shape != (w,) or self.behind.shape != (w,):
            raise ValueError(f"every index must have {w} wavelengths")
        if self.thickness.shape != (columns, count) or self.below.shape != (columns,):
            raise ValueError(f"thickness must be ({columns}, {count}) and below ({columns},)")
        if self.plate.shape != (columns,):
            raise ValueError(f"plate must be ({columns},)")
        if not (np.all(self.thickness >= 0) and np.all(self.plate > 0)):
            raise ValueError("thicknesses must be zero or more, and a plate above zero")
        if np.any(self.index.imag > 0):
            raise ValueError("indices must be n − i·k with k of zero or more")

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return int(self.below.size)


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What becomes of the light that falls on stacks.

    Attributes
    ----------
    reflectance, transmittance : array (columns, w)
        Shares of the power that arrives. The transmittance of an opaque body is what enters it.
    absorbed : array (columns, f, w)
        Share taken by every film, from the top, of the light that arrives from above for the first time.
    body : array (columns, w)
        Share that stays in the body, or of a finite plate: in the body and, on the way back, in the films.
    """

    reflectance: Real
    transmittance: Real
    absorbed: Real
    body: Real


def stacks(
    wavelength: ArrayLike,
    columns: Sequence[Sequence[tuple[str, float]]],
    index: Mapping[str, Complex],
    *,
    plates: Mapping[str, float] | None = None,
    above: ArrayLike = 1.0,
    behind: ArrayLike = 1.0,
) -> Stacks:
    """Columns of named materials as stacks.

    Parameters
    ----------
    wavelength : array (w,) [m]
    columns : sequence of sequences of (material, thickness [m])
        Each from the top; its last entry is the wafer body, whose thickness does not count: see ``plates``.
    index : mapping from material to complex array (w,) or number [n − i·k]
    plates : mapping from material to float [m]
        Bodies whose back side is seen, with their thickness.
    above, behind : complex number or array (w,) [n − i·k]
        Index of the medium above, and behind a finite body.

    Returns
    -------
    stacks : Stacks [m]

    Raises
    ------
    ValueError
        When a column is empty or a material has no index.

    Notes
    -----
    Source: definition of the arrays.
    """
    waves = np.atleast_1d(np.asarray(wavelength, dtype=float))
    names = sorted({name for column in columns for name, _ in column})
    unknown = [name for name in names if name not in index]
    if unknown:
        raise ValueError(f"no optical constants were given for {', '.join(unknown)}")
    if not columns or not all(columns):
        raise ValueError("every column needs a body at least")
    row = {name: j for j, name in enumerate(names)}
    deepest = max(len(column) for column in columns) - 1
    films = np.zeros((len(columns), deepest), dtype=np.int64)
    thickness = np.zeros((len(columns), deepest))
    for j, column in enumerate(columns):
        for k, (name, d) in enumerate(column[:-1]):
            films[j, k], thickness[j, k] = row[name], d
    seen_through = plates or {}

    def spread(value: ArrayLike) -> Complex:
        return np.array(np.broadcast_to(np.asarray(value, dtype=complex), waves.shape))

    return Stacks(
        wavelength=waves,
        index=np.array([spread(index[name]) for name in names]),
        films=films,
        thickness=thickness,
        below=np.array([row[column[-1][0]] for column in columns], dtype=np.int64),
        above=spread(above),
        plate=np.array([seen_through.get(column[-1][0], math.inf) for column in columns]),
        behind=spread(behind),
    )


def _wave(stack: Stacks, transverse: Complex | float, polarisation: Polarisation) -> Wave:
    films = [stack.index[stack.films[:, j]] for j in range(stack.films.shape[1])]
    return pile(
        [stack.above, *films, stack.index[stack.below]],
        [stack.thickness[:, j, None] for j in range(stack.films.shape[1])],
        stack.wavelength,
        transverse,
        polarisation,
    )


def _seen(stack: Stacks, sine: float, polarisation: Polarisation) -> Seen:
    """One polarisation at one angle."""
    transverse = stack.above * sine
    front = _wave(stack, transverse, polarisation)
    shape = (stack.columns, stack.wavelength.size)
    reflected = np.array(np.broadcast_to(np.abs(front.reflected) ** 2, shape))
    flux = np.array([np.broadcast_to(each, shape) for each in front.flux])
    passed, kept = flux[-1].copy(), np.zeros(shape)
    finite = np.isfinite(stack.plate)
    if finite.any():
        some = _chosen(stack, finite)
        body = some.index[some.below]
        films = [some.index[some.films[:, j]] for j in range(some.films.shape[1])]
        up = pile(
            [body, *films[::-1], some.above],
            [some.thickness[:, j, None] for j in range(some.films.shape[1])][::-1],
            some.wavelength,
            transverse,
            polarisation,
        )
        back = pile([body, some.behind], [], some.wavelength, transverse, polarisation)
        root = np.sqrt(body**2 - transverse**2)
        through = np.exp(-4 * np.pi * np.abs(root.imag) * some.plate[:, None] / some.wavelength)
        down = _wave(some, transverse, polarisation)
        reflected[finite], passed[finite], rest = with_back_side(down, up, back, through)
        kept[finite] = rest - (1 - np.abs(down.reflected) ** 2 - down.flux[-1])
    taken = (flux[:-1] - flux[1:]).transpose(1, 0, 2)
    return Seen(reflectance=reflected, transmittance=passed, absorbed=taken, body=kept)


def _chosen(stack: Stacks, chosen: NDArray[np.bool_]) -> Stacks:
    some = {name: getattr(stack, name)[chosen] for name in ("films", "thickness", "below", "plate")}
    return replace(stack, **some)


def _mean(parts: Sequence[tuple[float, Seen]]) -> Seen:
    def mixed(name: str) -> Real:
        return np.asarray(sum(weight * getattr(each, name) for weight, each in parts))

    return Seen(
        reflectance=mixed("reflectance"),
        transmittance=mixed("transmittance"),
        absorbed=mixed("absorbed"),
        body=mixed("body"),
    )


def illuminated(
    stack: Stacks,
    angle: float = 0.0,
    polarisation: Literal["s", "p", "unpolarised"] = "unpolarised",
    aperture: float = 0.0,
    nodes: int = _APERTURE_NODES,
) -> Seen:
    """Shares of the light that stacks reflect, pass and absorb, in double precision.

    Parameters
    ----------
    stack : Stacks [m]
    angle : float [rad], 0 to below π/2
        Between the light and the normal, in the medium above; 0 under a microscope.
    polarisation : 's', 'p' or 'unpolarised' [word]
    aperture : float, 0 to below the index above [sin θ]
        Numerical aperture n·sin θ of an objective whose pupil is filled evenly; it averages over all angles
        and both polarisations and goes with ``angle`` 0.
    nodes : int, 1 or more [angles]
        Angles that stand for the pupil; two are good to 1e-4 up to an aperture of 0.3 on films up to 2 µm.

    Returns
    -------
    seen : Seen [share of the power]

    Raises
    ------
    ValueError
        When angle or aperture is out of its range, or both are given.

    Notes
    -----
    Source: transfer matrix of thin films, H. A. Macleod, Thin-Film Optical Filters, ch. 2 (from memory); an
    evenly filled pupil of an aplanatic objective weighs sin²θ evenly.
    """
    if not 0 <= angle < math.pi / 2:
        raise ValueError(f"the angle must be from 0 to below 90 °, got {math.degrees(angle):g} °")
    if aperture and angle:
        raise ValueError("give an angle or an aperture, not both")
    chosen = _BOTH if polarisation == "unpolarised" else (polarisation,)
    angles = [(1.0, math.sin(angle))]
    if aperture:
        angles = pupil(aperture / float(stack.above.real.min()), nodes)
        chosen = _BOTH
    elif angle == 0:
        chosen = _BOTH[:1]
    return _mean(
        [(weight / len(chosen), _seen(stack, sine, each)) for weight, sine in angles for each in chosen]
    )


def reflectances(stack: Stacks, aperture: float = 0.0, threads: int = 1) -> NDArray[np.float32]:
    """Reflectance alone, of as many columns as there are, in single precision (within 2e-5 of :func:`illuminated`).

    Parameters
    ----------
    stack : Stacks [m]
    aperture : float, 0 to below the index above [sin θ]
        Numerical aperture of the objective.
    threads : int, 1 or more [count]
        The columns are shared out.

    Returns
    -------
    reflectance : array (columns, w) [share of the power]

    Raises
    ------
    ValueError
        When the aperture is out of its range.

    Notes
    -----
    Source: as :func:`illuminated`. A plate whose back side is seen goes through :func:`illuminated`.
    """
    finite = np.isfinite(stack.plate)
    if finite.any():
        found = np.empty((stack.columns, stack.wavelength.size), np.float32)
        found[finite] = illuminated(_chosen(stack, finite), aperture=aperture).reflectance
        if not finite.all():
            found[~finite] = reflectances(_chosen(stack, ~finite), aperture, threads)
        return found
    nodes = pupil(aperture / float(stack.above.real.min())) if aperture else [(1.0, 0.0)]
    both = _BOTH if aperture else _BOTH[:1]
    whole = np.zeros((stack.columns, stack.wavelength.size), np.float32)
    for weight, sine in nodes:
        transverse = stack.above * sine
        forward = forward_index(stack.index, transverse)
        over = forward_index(stack.above, transverse)
        for each in both:
            part = reflectances_of_many(
                (stack.films, stack.thickness, stack.below),
                forward,
                admittance(stack.index, forward, each),
                admittance(stack.above, over, each),
                stack.wavelength,
                threads,
            )
            part *= np.float32(weight / len(both))
            whole += part
    return whole


def pupil(sine: float, count: int = _APERTURE_NODES) -> list[tuple[float, float]]:
    """Weights and sines of the angles that stand for an evenly filled pupil: Gauss–Legendre over sin²θ.

    Parameters
    ----------
    sine : float, above 0 and below 1 [sin θ]
        Of the half angle of the cone.
    count : int, 1 or more [angles]

    Returns
    -------
    nodes : list of (weight, sine) [sin θ]
        The weights add up to one.

    Raises
    ------
    ValueError
        When the sine is out of its range.

    Notes
    -----
    Source: Gauss–Legendre quadrature; the sine condition maps pupil area to sin²θ.
    """
    if not 0 < sine < 1:
        raise ValueError(f"the sine of the half angle must be above 0 and below 1, got {sine:g}")
    places, weights = np.polynomial.legendre.leggauss(count)
    squares = sine**2 * (places + 1) / 2
    return [(float(w) / 2, math.sqrt(float(u))) for w, u in zip(weights, squares, strict=True)]


def psi_delta(stack: Stacks, angle: float | Real) -> tuple[Real, Real]:
    """Ellipsometric angles: tan ψ·exp(iΔ) = r_p/r_s with n − i·k, Δ near 180 ° for bare silicon.

    Parameters
    ----------
    stack : Stacks [m]
        The back side of a finite body is left out: it adds no coherent light.
    angle : float or array (w,) [rad], above 0 and below π/2
        Of incidence; an array has one for each wavelength.

    Returns
    -------
    psi, delta : array (columns, w) [rad]
        ψ from 0 to π/2, Δ from 0 to 2π.

    Raises
    ------
    ValueError
        When the angle is out of its range.

    Notes
    -----
    Source: R. M. A. Azzam, N. M. Bashara, Ellipsometry and Polarized Light (1977), ch. 4 (from memory).
    """
    steep = np.asarray(angle, dtype=float)
    if not np.all((steep > 0) & (steep < math.pi / 2)):
        raise ValueError(f"the angle must be above 0 and below 90 °, got {np.degrees(steep).max():g} °")
    transverse = stack.above * np.sin(steep)
    p, s = (_wave(stack, transverse, each).reflected for each in _BOTH[::-1])
    # Tangential fields of p turn their sign against those of the convention; nothing reflected gives ψ = Δ = 0.
    return np.arctan2(np.abs(p), np.abs(s)), np.mod(np.angle(-p * np.conj(s)), 2 * np.pi)
