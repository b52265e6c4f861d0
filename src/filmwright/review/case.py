"""What a rule may ask, and how it writes a finding."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from filmwright.emulate import CORNERS, NOMINAL, State, Trace
from filmwright.knowledge import Book, Lab, limits
from filmwright.numerics import Region
from filmwright.review.finding import Finding, Severity
from filmwright.units import convert, to_si, write
from filmwright.wafer import Cell, Coat, Grow, Layer, Loss, Plan

_LOOKS = 8
"""At how many places of a region it is looked whether a film stays."""

_STRIP_NM = convert(to_si(0.25, "um"), "nm")
"""Area over border of a long strip is half its width; strips up to 0.5 µm wide are edges, not places."""


@dataclass(frozen=True, kw_only=True)
class Rule:
    """A rule of the review: one thing that someone who has done this for years checks.

    Attributes
    ----------
    name : str
    loses : str
        What can be lost.
    quantity : str
        What is computed, in words.
    limits : tuple of str
        Names of the limits that it uses; a lab may change them.
    source : str
    check : function Case → iterator of Finding
    """

    name: str
    loses: str
    quantity: str
    source: str
    check: Callable[[Case], Iterator[Finding]]
    limits: tuple[str, ...] = ()


class Case:
    """A walked flow with the facts and the limits that hold in this lab."""

    def __init__(self, trace: Trace, facts: Book) -> None:
        self.trace = trace
        self.facts = facts
        self.flow = trace.flow
        self.lab: Lab = trace.lab

    def limit(self, name: str) -> float:
        """A limit [SI]: the lab's own, else the shipped one."""
        return self.lab.limits.get(name, limits()[name].value)

    def limit_text(self, name: str) -> str:
        """A limit as it is printed."""
        return write(self.limit(name), limits()[name].unit)

    def limit_source(self, name: str) -> str:
        """Where a limit comes from."""
        if name in self.lab.limits:
            return f"{name}: {self.limit_text(name)}, the lab's own ({self.lab.file or self.lab.name})"
        return f"{name}: {self.limit_text(name)}, {limits()[name].source}"

    def before(self, state: State) -> Plan:
        """The plan view before a step."""
        place = self.places[id(state)]
        return self.trace.states[place - 1].wafer.plan if place else self.trace.start.plan

    @cached_property
    def places(self) -> dict[int, int]:
        """Position of each state in the trace."""
        return {id(state): place for place, state in enumerate(self.trace.states)}

    def after(self, state: State) -> tuple[State, ...]:
        """The states that follow."""
        return self.trace.states[self.places[id(state)] + 1 :]

    @cached_property
    def grown(self) -> dict[str, float]:
        """Film label → thickness [m] over flat ground as put down, nominal."""
        return {film: thickness for film, (thickness, _) in self._put_down.items()}

    @cached_property
    def _put_down(self) -> dict[str, tuple[float, float]]:
        found = {
            layer.film: (layer.thickness, 0.0)
            for cell in self.trace.start.plan.cells
            for layer in cell.column.layers
        }
        for state in self.trace.states:
            for action in state.actions:
                if isinstance(action, Grow | Coat):
                    found[action.film] = (action.thickness, state.thickness_std or 0.0)
        return found

    @cached_property
    def last(self) -> State | None:
        """The last step: findings on the finished wafer stand there, and may be accepted there."""
        return self.trace.states[-1] if self.trace.states else None

    @cached_property
    def materials_at_the_end(self) -> frozenset[str]:
        """Every material that is on the wafer at the end."""
        return materials_on(self.trace.final.plan)

    @cached_property
    def kept(self) -> dict[str, float] | None:
        """Material → part that must be left, where the plan says so; None when it says nothing."""
        expect = self.flow.expect
        if expect is None or not expect.keep:
            return None
        return {film.material: film.fraction for film in expect.keep}

    @cached_property
    def finished(self) -> bool:
        """Whether the wafer is as the plan ends it; what must be there at the end is not asked of a history under way."""
        return self.flow.finished and bool(self.trace.states)

    def stays(self, state: State, loss: Loss) -> bool:
        """Whether a film is meant to stay where it lost in a step: see :meth:`meant_to_stay`."""
        return self.meant_to_stay(state, loss.film, loss.material, loss.region)

    def meant_to_stay(self, state: State, film: str, material: str, region: Region) -> bool:
        """Whether a film is meant to stay, somewhere in a region, from a step on.

        It is there at the end, or what took it was not meant to: neither an etch of its material nor a bath that let it
        float off with the resist.
        """
        return any(
            not self._taken_as_meant(state, film, material, point)
            for point in _points(region)
            if (column := self.before(state).column_at(*point)) is not None and column.film(film) is not None
        )

    def _taken_as_meant(self, state: State, film: str, material: str, point: tuple[float, float]) -> bool:
        """Whether a film is gone from a point at the end because it was meant to go."""
        later = self.trace.states[self.places[id(state)] :]

        def gone(each: State) -> bool:
            column = each.wafer.plan.column_at(*point)
            return column is None or column.film(film) is None

        if not gone(later[-1]):
            return False
        # What is gone stays gone, so the step that took it is found by halving.
        taker = later[bisect_left(later, True, key=gone)]
        floated = any(loss.film == film and loss.where == "floated" for loss in taker.losses[NOMINAL.name])
        return floated or (taker.step.kind == "etch" and taker.step.material == material)

    def as_grown(self, film: str, corner: str) -> float:
        """Thickness [m] of a film over flat ground as put down at a corner of the spread."""
        thickness, std = self._put_down[film]
        return thickness + next(each.film for each in CORNERS if each.name == corner) * std

    @staticmethod
    def broad(cell: Cell) -> bool:
        """Whether a cell is more than a strip along edges: its area over its border exceeds half a micrometre."""
        return cell.region.area > _STRIP_NM * cell.region.perimeter

    def meant(self, cell: Cell, film: str) -> bool:
        """Whether a film is at home in a cell: whether the finished nominal wafer has it there."""
        columns = [self.trace.final.plan.column_at(*point) for point in _points(cell.region)]
        return any(column is not None and column.film(film) is not None for column in columns)

    def kind(self, material: str) -> str:
        """conductor, semiconductor, insulator, organic or substrate."""
        return self.facts.material(material).kind


def _points(region: Region) -> list[tuple[float, float]]:
    """Places inside a region, spread over its parts [nm]."""
    parts = region.parts()
    return [part.point_inside() for part in parts[:: max(1, len(parts) // _LOOKS)]]


def materials_on(plan: Plan) -> frozenset[str]:
    """Every material that lies somewhere on the wafer, its body included."""
    return frozenset(layer.material for cell in plan.cells for layer in cell.column.layers)


def exposed(plan: Plan) -> dict[str, Layer]:
    """Material → one of its layers that lies uncovered somewhere."""
    return {cell.column.top.material: cell.column.top for cell in plan.cells}


def finding(  # noqa: PLR0913 - the fields of a finding
    state: State | None,
    severity: Severity,
    what: str,
    expected: str,
    got: str,
    why: str,
    remedy: str,
    source: str,
    line: int | None = None,
) -> Finding:
    """A finding at a step, or at another line of the plan; the rule's name is filled in by the review."""
    step = state.step if state else None
    return Finding(
        rule="",
        severity=severity,
        step=step.number if step else "",
        line=line if line is not None or step is None else step.line,
        what=what,
        expected=expected,
        got=got,
        why=why,
        remedy=remedy,
        source=source,
    )


def step_named(state: State) -> str:
    """How a step is called in a finding."""
    return f'step {state.step.number} "{state.step.title}"'
