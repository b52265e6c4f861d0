"""Losses of films that are meant to stay, gathered once for the rules that judge them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from filmwright.emulate import NOMINAL, State
from filmwright.review.case import Case
from filmwright.units import show, to_si

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
    grown : float [m]
        Thickness as put down.
    corner : str
        The corner at which the worst loss appears.
    stays : bool
        Whether the film is on the wafer at the end, at that place.
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
    corner: str
    stays: bool
    kept: bool
    area: float

    @property
    def fraction(self) -> float:
        """Worst loss over thickness as put down."""
        return self.worst / self.grown if self.grown else 1.0

    @property
    def text(self) -> str:
        """The numbers as they are printed."""
        return (
            f"{show(self.typical, 'length')} typical, {show(self.worst, 'length')} with {self.corner}, "
            f"of {show(self.grown, 'length')} ({self.fraction:.0%})"
        )


def losses_of(case: Case, state: State) -> Iterator[FilmLoss]:
    """The worst loss per film of a step; the film that an etch is meant to remove is left out."""
    worst: dict[str, FilmLoss] = {}
    for corner, lost in state.losses.items():
        for loss in lost:
            amount = loss.taken
            if amount <= 0 or loss.where != "open" or case.kind(loss.material) == "organic":
                continue
            known = worst.get(loss.film)
            typical = amount if corner == NOMINAL.name else 0.0
            if known is not None:
                typical = max(typical, known.typical)
            if known is None or amount > known.worst or (corner == NOMINAL.name and typical > known.typical):
                worst[loss.film] = FilmLoss(
                    state=state,
                    material=loss.material,
                    film=loss.film,
                    typical=typical,
                    worst=max(amount, known.worst if known else 0.0),
                    grown=case.grown.get(loss.film, loss.before),
                    corner=corner if known is None or amount >= known.worst else known.corner,
                    stays=case.stays(loss) or (known.stays if known else False),
                    kept=case.kept is None or loss.material in case.kept,
                    area=max(loss.area, known.area if known else 0.0),
                )
    yield from (each for each in worst.values() if each.area > _SEEN)
