"""Why a device differs from its plan: the difference shared out between its causes, with a visible rest."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Literal

from filmwright.learn.belief import Z95

Model = Callable[[Mapping[str, float]], float]
Known = Literal["as run", "measured"]
MOST_FACTORS = 8


@dataclass(frozen=True, kw_only=True)
class Factor:
    """A cause with the parameters that it moves.

    Attributes
    ----------
    name : str
        E.g. ``thickness``, ``geometry``, ``contact``, ``threshold and mobility``.
    planned, actual : mapping from parameter to float [SI]
        The same parameters in both.
    std : mapping from parameter to float [SI]
        Spread of the actual value; a parameter that is missing is taken as exact.
    known : 'as run' or 'measured'
        Whether the actual value follows from what was done, or from a measurement of the device.
    """

    name: str
    planned: Mapping[str, float]
    actual: Mapping[str, float]
    std: Mapping[str, float] = field(default_factory=dict)
    known: Known = "as run"

    def __post_init__(self) -> None:
        if (
            not self.planned
            or set(self.planned) != set(self.actual)
            or not set(self.std) <= set(self.planned)
        ):
            raise ValueError(
                f"planned and actual of {self.name} must name the same parameters, and std only those"
            )


@dataclass(frozen=True, kw_only=True)
class Share:
    """The part of a difference that one cause explains.

    Attributes
    ----------
    name : str
    amount, std : float [SI]
    low, high : float [SI]
        95 % interval.
    """

    name: str
    amount: float
    std: float

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval."""
        return self.amount - Z95 * self.std

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval."""
        return self.amount + Z95 * self.std

    @property
    def within_noise(self) -> bool:
        """Whether zero lies inside the interval."""
        return self.low <= 0 <= self.high


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """As planned, as run and measured side by side, and what lies between them.

    Attributes
    ----------
    planned : float [SI]
        The model with every parameter as planned.
    as_run : float [SI]
        With what was really done.
    explained : float [SI]
        With everything that is known of the device, measured parameters included.
    measured, measured_std : float [SI]
    shares : tuple of Share
        Largest first; they add up to explained − planned.
    rest : Share
        measured − explained.
    measure_next : str
        The parameter whose better measurement would shrink the band of the rest most; empty when all are
        exact.
    """

    planned: float
    as_run: float
    explained: float
    measured: float
    measured_std: float
    shares: tuple[Share, ...]
    rest: Share
    measure_next: str


def share_out(
    model: Model,
    factors: Sequence[Factor],
    measured: float,
    measured_std: float = 0.0,
    fixed: Mapping[str, float] | None = None,
) -> Explanation:
    """Share a difference between causes by substituting one after the other, averaged over all orders.

    φᵢ = Σ_S |S|! (n−|S|−1)! / n! · (f(S ∪ i) − f(S)), S over the sets of the other factors. The bands
    follow by linear
    propagation: each parameter is moved by one standard deviation up and down, and the moves are added in
    squares.

    Parameters
    ----------
    model : callable
        Takes a mapping from parameter to float [SI], gives the compared number [SI].
    factors : sequence of Factor, 1 to 8
    measured, measured_std : float [SI]
    fixed : mapping from parameter to float [SI] or None
        Parameters that are the same in the plan and in the device.

    Raises
    ------
    ValueError
        For too many factors, a parameter in two of them, or a model that gives no number.

    References
    ----------
    L. S. Shapley, in Contributions to the Theory of Games II, 307 (1953) (from memory).
    """
    check_factors(factors, fixed or {})
    corners = _corners(model, factors, fixed or {})
    amounts = shapley(corners, len(factors))
    everything = frozenset(range(len(factors)))
    rest = measured - corners[everything]
    moves: dict[str, tuple[list[float], float]] = {}
    for index, factor in enumerate(factors):
        for name, std in factor.std.items():
            if std > 0:
                moves[name] = _moved(model, factors, fixed or {}, (index, name, std))
    spreads = [math.sqrt(sum(shift[i] ** 2 for shift, _ in moves.values())) for i in range(len(factors))]
    rest_std = math.sqrt(measured_std**2 + sum(whole**2 for _, whole in moves.values()))
    shares = [Share(name=f.name, amount=a, std=s) for f, a, s in zip(factors, amounts, spreads, strict=True)]
    return Explanation(
        planned=corners[frozenset()],
        as_run=corners[frozenset(i for i, factor in enumerate(factors) if factor.known == "as run")],
        explained=corners[everything],
        measured=measured,
        measured_std=measured_std,
        shares=tuple(sorted(shares, key=lambda share: -abs(share.amount))),
        rest=Share(name="rest", amount=rest, std=rest_std),
        measure_next=_widest(moves, measured_std),
    )


def check_factors(factors: Sequence[Factor], fixed: Mapping[str, float]) -> None:
    """Refuse too many factors, and a parameter in two of them."""
    if not 1 <= len(factors) <= MOST_FACTORS:
        raise ValueError(f"between 1 and {MOST_FACTORS} factors can be told apart, got {len(factors)}")
    names = [name for factor in factors for name in factor.planned] + list(fixed)
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"each parameter must belong to one factor, got {', '.join(twice)} twice")


def _corners(
    model: Model, factors: Sequence[Factor], fixed: Mapping[str, float]
) -> dict[frozenset[int], float]:
    """The model for every set of factors that are taken as they were."""
    found = {}
    for size in range(len(factors) + 1):
        for taken in combinations(range(len(factors)), size):
            given = dict(fixed)
            for index, factor in enumerate(factors):
                given.update(factor.actual if index in taken else factor.planned)
            value = float(model(given))
            if not math.isfinite(value):
                names = ", ".join(factors[i].name for i in taken) or "nothing"
                raise ValueError(f"the model must give a number, got {value} with {names} as it was")
            found[frozenset(taken)] = value
    return found


def shapley(corners: Mapping[frozenset[int], float], count: int) -> list[float]:
    """The share of each factor from the value of every set of factors."""
    amounts = [0.0] * count
    for taken, value in corners.items():
        for index in set(range(count)) - taken:
            weight = (
                math.factorial(len(taken)) * math.factorial(count - len(taken) - 1) / math.factorial(count)
            )
            amounts[index] += weight * (corners[taken | {index}] - value)
    return amounts


def _moved(
    model: Model, factors: Sequence[Factor], fixed: Mapping[str, float], move: tuple[int, str, float]
) -> tuple[list[float], float]:
    """Half the difference of all shares, and of the explained value, between a parameter one std up and
    down."""
    index, name, std = move
    sides = []
    for sign in (1.0, -1.0):
        factor = factors[index]
        actual = {**factor.actual, name: factor.actual[name] + sign * std}
        changed = [*factors]
        changed[index] = Factor(name=factor.name, planned=factor.planned, actual=actual)
        corners = _corners(model, changed, fixed)
        sides.append((shapley(corners, len(factors)), corners[frozenset(range(len(factors)))]))
    (up, whole_up), (down, whole_down) = sides
    return [(a - b) / 2 for a, b in zip(up, down, strict=True)], (whole_up - whole_down) / 2


def _widest(moves: Mapping[str, tuple[list[float], float]], measured_std: float) -> str:
    sizes = {name: abs(whole) for name, (_, whole) in moves.items()}
    sizes["the measured value itself"] = measured_std
    widest = max(sizes, key=lambda name: sizes[name])
    return widest if sizes[widest] > 0 else ""
