"""The wafer: its die in plan, one section along a cut, and the places that no drawing shows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from filmwright.numerics import Region
from filmwright.wafer.actions import Action, Print
from filmwright.wafer.column import Column
from filmwright.wafer.column_places import BACK, RIM, on_back, on_rim
from filmwright.wafer.plan import Plan
from filmwright.wafer.plan_cells import Cell, Loss
from filmwright.wafer.section import Section

NOWHERE = Region.of([])


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What an action did besides changing shapes.

    Attributes
    ----------
    losses : tuple of Loss
        On the die, in plan.
    torn : tuple of str
        What a solvent could not reach or left hanging, in words.
    floated : frozenset of str
        Labels of the films that lost their footing somewhere.
    """

    losses: tuple[Loss, ...] = ()
    torn: tuple[str, ...] = ()
    floated: frozenset[str] = frozenset()


@dataclass(frozen=True, kw_only=True)
class Wafer:
    """What lies where. Operations return new wafers.

    Attributes
    ----------
    plan : Plan
        The die from above.
    section : Section or None
        Along the chosen cut.
    chips : mapping from name to Plan
        Witness chips: small, without a pattern. Resist stays on none of them, for a mask has no place for them.
    places : mapping from name to Column
        ``rim`` and ``back``; what reaches them is told in ``column_places``.
    """

    plan: Plan
    section: Section | None = None
    chips: Mapping[str, Plan] = field(default_factory=dict)
    places: Mapping[str, Column] = field(default_factory=dict)

    @classmethod
    def start(cls, plan: Plan, section: Section | None = None, chips: Iterable[str] = ()) -> Wafer:
        """A wafer as bought, with witness chips cut from the same stock."""
        bought = plan.columns[0]
        places = dict.fromkeys((RIM, BACK), bought)
        bare = Plan.undivided(plan.die, (Cell(region=plan.die, column=bought),), plan.born)
        return cls(
            plan=plan,
            section=section,
            chips=MappingProxyType(dict.fromkeys(chips, bare)),
            places=MappingProxyType(places),
        )

    def apply(self, action: Action, along: Sequence[str] = ()) -> tuple[Wafer, Effect]:
        """The wafer after an action, and what the action did besides.

        Parameters
        ----------
        action : Action
        along : sequence of str
            Witness chips that go through this action.
        """
        plan, losses = self.plan.apply(action)
        section = None if self.section is None else self.section.apply(action)
        chips = {name: _on_chip(chip, action) if name in along else chip for name, chip in self.chips.items()}
        after = replace(
            self, plan=plan, section=section, chips=MappingProxyType(chips), places=self._places(action)
        )
        return after, Effect(losses=losses, torn=_torn(losses, section), floated=_floated(losses))

    def _places(self, action: Action) -> Mapping[str, Column]:
        born, die = self.plan.born, self.plan.die
        after = {
            name: on_back(column, action, born) if name == BACK else on_rim(column, action, born, die)
            for name, column in self.places.items()
        }
        return MappingProxyType(after)

    def chip(self, name: str) -> Column:
        """The films of a witness chip."""
        return self.chips[name].cells[0].column


def _on_chip(chip: Plan, action: Action) -> Plan:
    if isinstance(action, Print):
        action = replace(action, keep=NOWHERE, bias=0.0)
    return chip.apply(action)[0]


def _torn(losses: Sequence[Loss], section: Section | None) -> tuple[str, ...]:
    sealed = sorted({loss.material for loss in losses if loss.where == "sealed"})
    words = [f"{material} sealed under a film" for material in sealed]
    for event in section.events if section is not None else ():
        if event.kind in {"bridged", "torn"}:
            words.append(f"{event.material} {event.kind} on the cut")
    return tuple(dict.fromkeys(words))


def _floated(losses: Sequence[Loss]) -> frozenset[str]:
    return frozenset(loss.film for loss in losses if loss.where == "floated")
