"""Several numbers of a device shared out between the same causes at once, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from filmwright.learn.compare import Explanation, Factor, Share, check_factors, shapley
from filmwright.learn.robust import weighted_mean

Models = Callable[[Sequence[Mapping[str, float]]], Mapping[str, NDArray[np.float64]]]
"""Sets of parameters [SI] → every compared number for each of them; NaN where it has none."""

ITSELF = "the measured value itself"


@dataclass(frozen=True, kw_only=True)
class SharedOut:
    """One number of a device with its causes.

    Attributes
    ----------
    explanation : Explanation
    contributions : mapping from parameter to float [unit of the number]
        Standard deviation that each parameter leaves between the causes, largest first: what a better measurement of it would
        take away.
    """

    explanation: Explanation
    contributions: Mapping[str, float]


def share_out_many(
    models: Models,
    factors: Sequence[Factor],
    measured: Mapping[str, tuple[float, float]],
    fixed: Mapping[str, float] | None = None,
    follows: Mapping[str, Mapping[str, float]] | None = None,
) -> dict[str, SharedOut]:
    """Share the differences of several numbers out between the same causes.

    Equation: as for :func:`share_out`; the band of a share is that of the parameters of its own cause, moved by one
    standard deviation up and down where everything is as it was, and added in squares.

    All sets of parameters are given to ``models`` in one call.

    Parameters
    ----------
    models : callable
    factors : sequence of Factor, 1 to 8
    measured : mapping from number to value and standard deviation
    fixed : mapping from parameter to float [SI] or None
        The same in the plan and in the device.
    follows : mapping from parameter to mapping from parameter to float [SI], or None
        How far fitted parameters move when a parameter moves by its standard deviation up, since they were fitted with it:
        what one share gains another loses, and little of it is left in the rest.

    Returns
    -------
    mapping from number to SharedOut; a number that the models do not give somewhere is left out

    Raises
    ------
    ValueError
        For too many factors, or a parameter in two of them.

    References
    ----------
    L. S. Shapley, in Contributions to the Theory of Games II, 307 (1953) (from memory).
    """
    check_factors(factors, fixed or {})
    count = len(factors)
    taken = [frozenset(each) for size in range(count + 1) for each in combinations(range(count), size)]
    # A cause that is as planned changes nothing, whatever else is as it was: its sets need not be asked for.
    changed = frozenset(
        at for at, factor in enumerate(factors) if dict(factor.planned) != dict(factor.actual)
    )
    places = {each: place for place, each in enumerate(each for each in taken if each <= changed)}
    asked = [_given(factors, each, fixed or {}) for each in places]
    moves = [
        (at, name, std) for at, factor in enumerate(factors) for name, std in factor.std.items() if std > 0
    ]
    whole = _given(factors, frozenset(range(count)), fixed or {})
    for _, name, std in moves:
        asked += [{**whole, name: whole[name] + std}, {**whole, name: whole[name] - std}]
    found = models(asked)
    result = {}
    for number, (value, std) in measured.items():
        values = np.asarray(found[number], dtype=float)
        if not np.all(np.isfinite(values)) or not math.isfinite(value):
            continue
        corners = {each: float(values[places[each & changed]]) for each in taken}
        shifts = (values[len(places) :: 2] - values[len(places) + 1 :: 2]) / 2.0
        result[number] = _told(factors, corners, (value, std), _parts(moves, shifts.tolist(), follows or {}))
    return result


def _given(factors: Sequence[Factor], taken: frozenset[int], fixed: Mapping[str, float]) -> dict[str, float]:
    given = dict(fixed)
    for at, factor in enumerate(factors):
        given.update(factor.actual if at in taken else factor.planned)
    return given


def _parts(
    moves: Sequence[tuple[int, str, float]],
    shifts: Sequence[float],
    follows: Mapping[str, Mapping[str, float]],
) -> dict[str, dict[int, float]]:
    """By parameter: how far it and what follows it move the share of each factor, to first order."""
    slopes = {name: (at, shift / std) for (at, name, std), shift in zip(moves, shifts, strict=True)}
    found = {}
    for at, name, std in moves:
        part = {at: slopes[name][1] * std}
        for other, move in follows.get(name, {}).items():
            if other in slopes:
                owner, slope = slopes[other]
                part[owner] = part.get(owner, 0.0) + slope * move
        found[name] = part
    return found


def _told(
    factors: Sequence[Factor],
    corners: Mapping[frozenset[int], float],
    measured: tuple[float, float],
    parts: Mapping[str, Mapping[int, float]],
) -> SharedOut:
    count = len(factors)
    everything = frozenset(range(count))
    squares = [math.fsum(part.get(at, 0.0) ** 2 for part in parts.values()) for at in range(count)]
    together = math.fsum(math.fsum(part.values()) ** 2 for part in parts.values())
    contributions = {name: math.hypot(*part.values()) for name, part in parts.items()}
    contributions[ITSELF] = measured[1]
    ranked = dict(sorted(contributions.items(), key=lambda each: -each[1]))
    shares = [
        Share(name=factor.name, amount=amount, std=math.sqrt(square))
        for factor, amount, square in zip(factors, shapley(corners, count), squares, strict=True)
    ]
    rest = Share(
        name="rest",
        amount=measured[0] - corners[everything],
        std=math.sqrt(measured[1] ** 2 + together),
    )
    first = next(iter(ranked))
    return SharedOut(
        explanation=Explanation(
            planned=corners[frozenset()],
            as_run=corners[frozenset(at for at, factor in enumerate(factors) if factor.known == "as run")],
            explained=corners[everything],
            measured=measured[0],
            measured_std=measured[1],
            shares=tuple(sorted(shares, key=lambda share: -abs(share.amount))),
            rest=rest,
            measure_next=first if ranked[first] > 0 else "",
        ),
        contributions={name: each for name, each in ranked.items() if each > 0},
    )


def over_wafers(found: Sequence[Explanation]) -> Explanation:
    """One explanation for several wafers, each of which counts as one.

    The means are those of the wafers; their standard deviation is what the wafers scatter by, and at least what each of them
    leaves open, which all share.

    Parameters
    ----------
    found : sequence of Explanation, one for each wafer

    Raises
    ------
    ValueError
        Without any, or when they name different causes.
    """
    if not found or any({s.name for s in each.shares} != {s.name for s in found[0].shares} for each in found):
        raise ValueError("explanations of the same causes are needed, one for each wafer")

    def mean(values: Sequence[float], stds: Sequence[float]) -> tuple[float, float]:
        middle, scatter = weighted_mean(values, [0.0] * len(values))
        return middle, math.hypot(scatter, math.fsum(stds) / len(stds))

    shares = []
    for name in [share.name for share in found[0].shares]:
        own = [share for each in found for share in each.shares if share.name == name]
        amount, std = mean([share.amount for share in own], [share.std for share in own])
        shares.append(Share(name=name, amount=amount, std=std))
    rest, rest_std = mean([each.rest.amount for each in found], [each.rest.std for each in found])
    measured, measured_std = mean([each.measured for each in found], [each.measured_std for each in found])
    return Explanation(
        planned=math.fsum(each.planned for each in found) / len(found),
        as_run=math.fsum(each.as_run for each in found) / len(found),
        explained=math.fsum(each.explained for each in found) / len(found),
        measured=measured,
        measured_std=measured_std,
        shares=tuple(sorted(shares, key=lambda share: -abs(share.amount))),
        rest=Share(name="rest", amount=rest, std=rest_std),
        measure_next=found[0].measure_next,
    )
