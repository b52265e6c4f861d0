"""What every planner may ask: the facts, the lab, the masks and the date for which rates are believed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from filmwright.emulate.trace import Corner, EtchFigures
from filmwright.flow import Flow, Step
from filmwright.knowledge import Belief, Book, CalibratedQuantity, Lab, Medium, believe
from filmwright.numerics import Region
from filmwright.process import USUAL_VALUE, Derivation, Setting
from filmwright.sources import Source, Value
from filmwright.units import Quantity, write
from filmwright.wafer import Action, Kind, Plan


@dataclass(frozen=True, kw_only=True)
class Context:
    """Everything around a step.

    Attributes
    ----------
    flow : Flow
    lab : Lab
    facts : Book
    on : str
        ISO date for which rates are believed.
    remaining : mapping from (mask, resist tone) to Region
        Where resist stays after development.
    """

    flow: Flow
    lab: Lab
    facts: Book
    on: str
    remaining: Mapping[tuple[str, str], Region] = field(default_factory=dict)

    def believe(
        self,
        of: CalibratedQuantity,
        step: Step,
        material: str = "",
        medium: str = "",
        setting: float | None = None,
    ) -> Belief | None:
        """What is believed of a number for this step's tool and recipe today; the recipe counts only where it is named."""
        return believe(
            self.lab,
            self.facts,
            of=of,
            tool=step.tool,
            material=material,
            medium=medium,
            recipe=step.recipe,
            setting=setting,
            on=self.on,
        )

    def unevenness(self, step: Step, usual: Value | None) -> tuple[float, str]:
        """(max − min)/(2 × mean) over the wafer for a step's tool, and what it rests on."""
        tool = self.lab.tools.get(step.tool)
        if tool is not None and tool.non_uniformity is not None:
            return tool.non_uniformity, f"{tool.name}, lab file line {tool.line}"
        if usual is not None:
            return usual.value, str(usual.source)
        return 0.0, "not known"

    def at_place(self, step: Step, usual: Value | None, place: int, at_edge: int) -> float:
        """A film or a rate at a place of the wafer over its mean: 1 ± unevenness.

        Parameters
        ----------
        step : Step
        usual : Value or None
            Unevenness of the method where the tool has none.
        place : int
            1 at the edge, −1 in the middle, 0 at the mean.
        at_edge : int
            1 where more is at the edge, −1 where more is in the middle; the tool says better where it is known.
        """
        tool = self.lab.tools.get(step.tool)
        more = {"edge": 1, "middle": -1}.get(tool.faster_at if tool is not None else "", at_edge)
        return 1 + place * more * self.unevenness(step, usual)[0] if place else 1.0

    def at(self, step: Step) -> Context:
        """The same for the day of a step: what was measured since says nothing of what was done before."""
        day = day_of(step, self.on)
        return self if day == self.on else replace(self, on=day)

    def overhead(self, step: Step) -> float:
        """Load, pump-down, heat-up, cool-down and unload [s] of a step's tool."""
        tool = self.lab.tools.get(step.tool)
        return tool.around if tool else 0.0

    @cached_property
    def kinds(self) -> dict[str, Kind]:
        """Material → conductor, semiconductor, insulator or organic; currents through a wafer body are not followed."""
        return {
            material.name: "insulator" if material.kind == "substrate" else material.kind
            for material in self.facts.materials.values()
        }


def day_of(step: Step, on: str) -> str:
    """ISO date for which rates are believed at a step: its own where it was done before ``on``."""
    begun = (step.started or step.finished)[:10]
    return min(begun, on) if begun else on


Actions = Callable[[Corner, Plan], tuple[Action, ...]]
"""What happens to the wafer at a corner of the spread; the plan view is that of the wafer at the corner."""


@dataclass(frozen=True, kw_only=True)
class Planned:
    """What a planner says of one step: what to dial in, how long, and what then happens to the wafer.

    Attributes
    ----------
    settings : tuple of Setting
    time : float [s]
        Process time, without the tool's overhead.
    actions : function (Corner, Plan at that corner) → tuple of Action
    hazards : tuple of str
        Keys of the facts' hazards.
    medium : Medium or None
        What touches the exposed surface.
    thickness, thickness_std : float or None [m]
        Of the film that is put down.
    rate : Belief or None
    look, warnings : tuple of str
    follows : tuple of Setting
        What follows from the settings: nothing to dial in, but to have ready or to see on a dial.
    results : mapping from quantity to Belief
        What the lab's own runs say of the film that is put down: ``refractive index``, ``stress``.
    etch : EtchFigures or None
    waste : str
        What the bath holds afterwards, beside what its hazard says.
    """

    settings: tuple[Setting, ...]
    time: float
    actions: Actions
    hazards: tuple[str, ...] = ()
    medium: Medium | None = None
    thickness: float | None = None
    thickness_std: float | None = None
    rate: Belief | None = None
    look: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    follows: tuple[Setting, ...] = ()
    results: Mapping[str, Belief] = field(default_factory=dict)
    etch: EtchFigures | None = None
    waste: str = ""


Planner = Callable[[Step, Context, Plan], Planned]


def nothing(corner: Corner, there: Plan) -> tuple[Action, ...]:
    """No action: the step looks, waits or measures."""
    return ()


def by_plan(step: Step, name: str, quantity: Quantity) -> Setting:
    """A setting that the plan fixes itself, or the recipe that it names."""
    if name in step.by_recipe:
        return _by_recipe(step, name, quantity)
    source = Source(citation="the plan", where=f"line {step.line}", kind="plan")
    return Setting(
        name=name,
        value=quantity.value,
        unit=quantity.unit,
        spread=quantity.spread,
        source=source,
        evidence=f"the plan, line {step.line}" + (f": {step.because}" if step.because else ""),
        because="as the plan says",
    )


def _by_recipe(step: Step, name: str, quantity: Quantity) -> Setting:
    line = step.by_recipe[name]
    source = Source(
        citation=f'recipe "{step.recipe}" of {step.tool}', where=f"lab file line {line}", kind="lab"
    )
    return Setting(
        name=name,
        value=quantity.value,
        unit=quantity.unit,
        spread=quantity.spread,
        source=source,
        evidence=f'recipe "{step.recipe}" of {step.tool}, lab file line {line}',
        because="as the recipe says",
    )


def asked_settings(step: Step, *without: str) -> tuple[Setting, ...]:
    """All settings that the plan fixes itself, but for those that are computed."""
    return tuple(
        by_plan(step, name, quantity) for name, quantity in step.asked.items() if name not in without
    )


def from_value(name: str, value: Value, because: str = "") -> Setting:
    """A setting that is custom: a set point with its usual range, which is a choice and no uncertainty."""
    usual = (
        f"usual {write(value.low, value.unit)} to {write(value.high, value.unit)}"
        if value.low < value.high
        else ""
    )
    evidence = "; ".join(part for part in (usual, value.condition, str(value.source)) if part)
    derived = Derivation(
        law=replace(USUAL_VALUE, source=value.source),
        result=value.value,
        unit=value.unit,
        low=value.low,
        high=value.high,
        notes=tuple(each for each in (value.condition, because) if each),
    )
    return Setting(
        name=name,
        value=value.value,
        unit=value.unit,
        source=value.source,
        evidence=evidence,
        because=because,
        derived=derived,
    )


def in_words(name: str, text: str, source: Source, evidence: str = "") -> Setting:
    """A setting that is a choice or a condition in words."""
    return Setting(name=name, unit="", source=source, text=text, evidence=evidence or str(source))


def acted(step: Step, name: str, planned: float) -> float:
    """What counts for the wafer: what was really set where the record has it, else what is planned [SI]."""
    return step.done.get(name, planned)
