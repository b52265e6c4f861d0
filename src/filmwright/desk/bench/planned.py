"""What to do at each step of a wafer: settings that follow from the wafer as it is, with what to see before and after."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from filmwright.desk.answers import StepSettings

Standing = Literal["done", "taken as done", "ahead"]
"""Of a step: written down, not written down although a later one was begun, still to do."""


@dataclass(frozen=True, kw_only=True)
class StepWait:
    """A longest time from the end of a step to a later one.

    Attributes
    ----------
    before : str
        Code of the later step.
    title : str
        Of the later step.
    longest : float [s]
    why : str
    """

    before: str
    title: str
    longest: float
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Moved:
    """A setting that is no longer as planned, because of what was read on the wafer.

    Attributes
    ----------
    name : str
        Of the setting.
    planned, now : str
        With units.
    because : tuple of str
        The readings that it follows from, each with its step.
    """

    name: str
    planned: str
    now: str
    because: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlannedStep:
    """One step as it stands at the bench.

    Attributes
    ----------
    settings : StepSettings
        What to dial in, with bands, ages and sources; cautions, gear and waste; number, code, title and tool.
    kind : str
        Of step.
    visit : int
        1 for the first time; more after rework.
    standing : Standing
    because : str
        What the step is for.
    before, after : str
        Small sections as SVG in one window; both empty where no shape changes along the cut.
    colour, colours : str
        Of the field afterwards as ``#rrggbb``, and the colours of the die in words; empty where not known or unchanged.
    look : tuple of str
        What it should look like afterwards.
    hold : str
        What to look at before going on; empty when there is no hold point.
    irreversible : bool
        Whether it cannot be taken back.
    duration : float [s]
        At the tool, with its overhead.
    waits : tuple of StepWait
        That begin at its end.
    moved : tuple of Moved
        Settings that follow from readings and are no longer as planned.
    """

    settings: StepSettings
    kind: str
    visit: int = 1
    standing: Standing = "ahead"
    because: str = ""
    before: str = ""
    after: str = ""
    colour: str = ""
    colours: str = ""
    look: tuple[str, ...] = ()
    hold: str = ""
    irreversible: bool = False
    duration: float = 0.0
    waits: tuple[StepWait, ...] = ()
    moved: tuple[Moved, ...] = ()

    @property
    def number(self) -> str:
        """Of the elementary step."""
        return self.settings.number

    @property
    def code(self) -> str:
        """Short code of the elementary step."""
        return self.settings.code

    @property
    def title(self) -> str:
        """What to do in a few words."""
        return self.settings.title

    def fields(self) -> dict[str, Any]:
        """For programs; pictures are left out."""
        return {
            **self.settings.fields(),
            "kind": self.kind,
            "visit": self.visit,
            "standing": self.standing,
            "because": self.because,
            "colour": self.colour,
            "colours": self.colours,
            "look": list(self.look),
            "hold": self.hold,
            "irreversible": self.irreversible,
            "waits": [vars(each) for each in self.waits],
            "moved": [{**vars(each), "because": list(each.because)} for each in self.moved],
        }


@dataclass(frozen=True, kw_only=True)
class PlannedLot:
    """All steps of one wafer of a lot, or of the lot as planned.

    Attributes
    ----------
    lot, wafer : str
        ``wafer`` empty: the plan alone.
    position : int
        Of the last entry that is minded.
    stamp : tuple of int
        As of :meth:`Bench.stamp`: everything that is minded.
    title : str
        Of the flow.
    drawn : bool
        Whether every step is told and every picture drawn; else only those of the steps at hand are.
    steps : tuple of PlannedStep
        Those done, each visit by itself, then those ahead as far as they are told.
    done : int
        How many of them are done or begun.
    problems : tuple of str
        Entries that could not be followed.
    invented : bool
    """

    lot: str
    wafer: str
    position: int
    title: str
    steps: tuple[PlannedStep, ...]
    done: int = 0
    problems: tuple[str, ...] = ()
    invented: bool = False
    stamp: tuple[int, ...] = ()
    drawn: bool = True

    def with_rest(self, older: PlannedLot) -> PlannedLot:
        """These steps, and behind them those of an older answer that are not told anew yet."""
        told = {(each.number, each.visit) for each in self.steps}
        rest = (
            each for each in older.steps if each.standing == "ahead" and (each.number, each.visit) not in told
        )
        return replace(self, steps=(*self.steps, *rest))

    @property
    def next(self) -> PlannedStep | None:
        """The first step ahead; None when all is done."""
        return self.steps[self.done] if self.done < len(self.steps) else None

    def step(self, word: str) -> PlannedStep | None:
        """The step of a number or a code: the visit that is still ahead, else the last one."""
        found = [each for each in self.steps if word in {each.number, each.code}]
        ahead = [each for each in found if each.standing == "ahead"]
        return next(iter(ahead or found[-1:]), None)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "wafer": self.wafer,
            "position": self.position,
            "done": self.done,
            "steps": [each.fields() for each in self.steps],
            "problems": list(self.problems),
            "invented": self.invented,
        }
