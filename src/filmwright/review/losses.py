"""Losses of films that are meant to stay, gathered once for the rules that judge them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from filmwright.emulate import NOMINAL, State
from filmwright.review.case import Case, far_end, percent
from filmwright.units import show, to_si
from filmwright.wafer import Loss

_SEEN = to_si(100, "um^2")
"""Losses over less of the die than this are corners of shapes, not places."""


@dataclass(frozen=True, kw_only=True)
class FilmLoss:
    """What one film lost in one step, at its worst place.

    Attributes
    ----------
    state : State
    material, film : str
    typical, worst : float [m]
        Nominal, and at the worst corner of the spread.
    grown, grown_there : float [m]
        Thickness as put down, nominal and at that corner.
    corner : str
        The corner at which the worst loss appears.
    stays : bool
        Whether the film is meant to stay at that place.
    gone : bool
        Whether it is gone somewhere, nominal.
    kept : bool
        Whether the plan says that it must survive.
    area : float [m²]
        Where it happens.
    """

    state: State
    material: str
    film: str
    typical: float
    worst: float
    grown: float
    grown_there: float
    corner: str
    stays: bool
    gone: bool
    kept: bool
    area: float

    @property
    def fraction(self) -> float:
        """Worst loss over thickness as put down there."""
        return self.worst / self.grown_there if self.grown_there else 1.0

    @property
    def typical_fraction(self) -> float:
        """Typical loss over nominal thickness as put down."""
        return self.typical / self.grown if self.grown else 1.0

    @property
    def text(self) -> str:
        """The numbers as they are printed: typical, and at the worst corner."""
        typical = f"{show(self.typical, 'length')} typical"
        if self.corner == NOMINAL.name:
            return f"{typical}, of {show(self.grown, 'length')} ({percent(self.fraction)})"
        there = f"{show(self.worst, 'length')} of {show(self.grown_there, 'length')}"
        return f"{typical} ({percent(self.typical_fraction)}), {there} ({percent(self.fraction)}) with {far_end(self.corner)}"

    def against(self, limit: float) -> str:
        """The numbers, and which of them passes a limit."""
        if self.typical_fraction > limit:
            return f"{self.text}: already the typical loss passes the limit"
        if self.fraction > limit:
            return f"{self.text}: only the far end of the spread passes the limit"
        return self.text


def losses_of(case: Case, state: State) -> Iterator[FilmLoss]:
    """The worst loss per film of a step, over all places that count and all corners of the spread."""
    found: dict[str, list[tuple[str, Loss]]] = {}
    for corner, lost in state.losses.items():
        for loss in lost:
            if (
                loss.taken > 0
                and loss.where == "open"
                and loss.area > _SEEN
                and case.kind(loss.material) != "organic"
            ):
                found.setdefault(loss.film, []).append((corner, loss))
    for film, losses in found.items():
        corner, worst = max(losses, key=lambda each: each[1].taken / case.as_grown(film, each[0]))
        nominal = [loss for name, loss in losses if name == NOMINAL.name]
        yield FilmLoss(
            state=state,
            material=worst.material,
            film=film,
            typical=max((loss.taken for loss in nominal), default=0.0),
            worst=worst.taken,
            grown=case.grown[film],
            grown_there=case.as_grown(film, corner),
            corner=corner,
            stays=any(case.stays(state, loss) for _, loss in losses),
            gone=any(loss.after <= 0 for loss in nominal),
            kept=case.kept is None or worst.material in case.kept,
            area=max(loss.area for loss in nominal or [worst]),
        )
