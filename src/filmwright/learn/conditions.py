"""Whether two sets were measured in the same way: what is not alike is said before they are compared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

MUST_AGREE = ("drain voltage", "bulk voltage", "direction", "temperature", "light", "delay")
"""Conditions that move a parameter by themselves: sets that differ in one of them are not compared.

A definition of a parameter belongs to them too (its name begins with ``definition``).
"""

SHOULD_AGREE = ("gate step", "gate range", "age", "atmosphere")
"""Conditions that may move a parameter: what differs is said, and the sets are compared."""


@dataclass(frozen=True, kw_only=True)
class Differing:
    """One condition that is not the same in two sets."""

    what: str
    first: str
    second: str

    def __str__(self) -> str:
        return f"{self.what}: {self.first} against {self.second}"


@dataclass(frozen=True, kw_only=True)
class ConditionCheck:
    """Two sets, held against each other before anything of theirs is compared.

    Attributes
    ----------
    first, second : str
    refused, said : tuple of Differing
        Differences that forbid a comparison, and those that only have to be told.
    unknown : tuple of str
        Conditions that are on file for one set at most.
    """

    first: str
    second: str
    refused: tuple[Differing, ...] = ()
    said: tuple[Differing, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def comparable(self) -> bool:
        """Whether nothing that is known forbids the comparison."""
        return not self.refused

    @property
    def why_not(self) -> str:
        """Why the sets are not compared; empty when they are."""
        if self.comparable:
            return ""
        return "measured differently: " + "; ".join(str(each) for each in self.refused)


Conditions = Mapping[str, Sequence[str]]
"""Of one set: for each condition the values met in it, as they are printed; empty where it is not on file."""


def compare_conditions(
    first: Conditions, second: Conditions, names: tuple[str, str] = ("first", "second")
) -> ConditionCheck:
    """Hold the conditions of two sets against each other.

    A condition agrees when both sets hold the same values; one that is not on file for a set is *unknown*, which is
    said and forbids nothing.

    Parameters
    ----------
    first, second : mapping from condition to values
    names : tuple of str
    """
    refused: list[Differing] = []
    said: list[Differing] = []
    unknown = []
    stated = dict.fromkeys((*first, *second))
    for what in (
        *dict.fromkeys((*MUST_AGREE, *SHOULD_AGREE)),
        *(each for each in stated if _definition(each)),
    ):
        one, two = (frozenset(each.get(what, ())) for each in (first, second))
        if not one or not two:
            unknown.append(what)
        elif one != two:
            apart = Differing(what=what, first=_listed(one), second=_listed(two))
            (refused if what in MUST_AGREE or _definition(what) else said).append(apart)
    return ConditionCheck(
        first=names[0], second=names[1], refused=tuple(refused), said=tuple(said), unknown=tuple(unknown)
    )


def _definition(what: str) -> bool:
    return what.startswith("definition")


def _listed(values: frozenset[str]) -> str:
    some = sorted(values)
    return ", ".join(some[:4]) + (f" and {len(some) - 4} more" if len(some) > 4 else "")
