"""What a rule may ask, and how it writes a finding."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from filmwright.emulate import CORNERS, HEATED, NOMINAL, HeatLedger, State, Trace, film_results, heat_ledger
from filmwright.knowledge import Belief, Book, Bottle, Medium, Method
from filmwright.numerics import Region
from filmwright.process import NORMAL_95
from filmwright.review.finding import Change, Finding, Severity
from filmwright.review.limited import Limited
from filmwright.review.shapes import narrowest_space, outline_widths
from filmwright.sources import Value
from filmwright.units import convert, to_si
from filmwright.wafer import Cell, Coat, Column, Device, Grow, Heat, Loss, Plan, Print, Remove

_LOOKS = 8
"""At how many places of a region it is looked whether a film stays."""

_BATHS = {"etch", "strip", "lift off", "clean", "rinse", "develop"}
"""Kinds of step that have a bath or a plasma."""

Point = tuple[float, float]
"""x and y on the drawing [nm]."""

_NEXT_TO_NOTHING = 1e-5
_WHOLE = 0.0995
"""From here on a part is told in whole per cent."""

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
    answers : tuple of str
        Keys of the questions that it answers: see :mod:`~filmwright.review.questions`.
    may_be_accepted : bool
        False for what must never happen: nobody accepts it.
    spoils : tuple of Severity
        With these weights it names a cause that leaves another wafer than was meant: what is read off later follows from it.
    follows : bool
        Read off the wafer, so that it follows from an earlier cause where there is one.
    same_step, because_of : tuple of str
        Rules that name the same cause in other words: at the same step, or anywhere in the flow.
    """

    name: str
    loses: str
    quantity: str
    source: str
    check: Callable[[Case], Iterator[Finding]]
    limits: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()
    may_be_accepted: bool = True
    spoils: tuple[Severity, ...] = ()
    follows: bool = False
    same_step: tuple[str, ...] = ()
    because_of: tuple[str, ...] = ()


class Case(Limited):
    """A walked flow with the facts and the limits that hold in this lab."""

    def __init__(self, trace: Trace, facts: Book) -> None:
        self.trace = trace
        self.facts = facts
        self.flow = trace.flow
        super().__init__(trace.lab)
        # What many rules read of one plan, or of one place of it, is read once; the trace keeps the plans alive.
        self._stacks: dict[int, Mapping[Column, float]] = {}
        self._columns: dict[tuple[int, Point], Column | None] = {}
        self._cells: dict[int, Cell] = {}
        self._points: dict[int, tuple[Point, ...]] = {}
        self._widths: dict[int, tuple[float, float]] = {}
        self._reads: dict[tuple[int, str], Any] = {}

    def stacks(self, plan: Plan) -> Mapping[Column, float]:
        """Every column of a plan with the area [m²] that carries it."""
        known = self._stacks.get(id(plan))
        if known is None:
            known = self._stacks[id(plan)] = plan.areas()
        return known

    def uncovered(self, plan: Plan) -> dict[str, float]:
        """Material → its uncovered area [m²]."""
        found: dict[str, float] = self._read_once(plan, "uncovered", _uncovered)
        return found

    def materials(self, plan: Plan) -> frozenset[str]:
        """Every material that lies somewhere on the wafer, its body included."""
        found: frozenset[str] = self._read_once(plan, "materials", _materials)
        return found

    def organics(self, plan: Plan) -> frozenset[str]:
        """Resists and polymers on the wafer."""
        return frozenset(name for name in self.materials(plan) if self.kind(name) == "organic")

    def beneath(self, plan: Plan, material: str) -> frozenset[str]:
        """What lies directly under a material where it is uncovered."""
        return frozenset(
            column.layers[-2].material
            for column in self.stacks(plan)
            if column.top.material == material and len(column.layers) > 1
        )

    def column(self, plan: Plan, point: Point) -> Column | None:
        """The column at a point [nm], looked up once."""
        key = (id(plan), point)
        if key not in self._columns:
            self._columns[key] = self._looked_up(plan, point)
        return self._columns[key]

    def _looked_up(self, plan: Plan, point: Point) -> Column | None:
        if plan.divided:
            return plan.column_at(*point)
        # Points asked for in a row mostly lie in one cell: the last one that held a point is tried first.
        last = self._cells.get(id(plan))
        if last is not None and last.region.holds(*point):
            return last.column
        found = next((cell for cell in plan.cells if cell.region.holds(*point)), None)
        if found is None:
            return None
        self._cells[id(plan)] = found
        return found.column

    def points(self, region: Region) -> tuple[Point, ...]:
        """Places inside a region, spread over its parts [nm]."""
        found = self._points.get(id(region))
        if found is None:
            found = self._points[id(region)] = region.points_inside(_LOOKS)
        return found

    def _read_once(self, plan: Plan, what: str, read: Callable[[Mapping[Column, float]], Any]) -> Any:
        key = (id(plan), what)
        if key not in self._reads:
            self._reads[key] = read(self.stacks(plan))
        return self._reads[key]

    def medium(self, state: State) -> Medium | None:
        """The bath or plasma of a step; None for a step without one."""
        return self.facts.medium(state.step.medium) if state.step.kind in _BATHS else None

    def plasma(self, state: State) -> bool:
        """Whether a step's medium is a plasma."""
        medium = self.medium(state)
        return medium is not None and medium.kind == "plasma"

    def method(self, state: State) -> Method:
        """How a step puts its film down."""
        return self.facts.method(state.step.method)

    def temperature(self, state: State) -> float:
        """Wafer temperature of a step [K]: as set, as planned, else the usual one or what its own heat makes; 0 where nothing heats."""
        step = state.step
        if "temperature" in step.done:
            return step.done["temperature"]
        if "temperature" in step.asked:
            return step.asked["temperature"].value
        if step.kind == "deposit":
            warmed = [each.value for each in state.follows if each.name == HEATED and each.value is not None]
            return max([self.method(state).temperature.value, *warmed])
        return max((action.temperature for action in state.actions if isinstance(action, Heat)), default=0.0)

    def time(self, state: State) -> float:
        """How long a bath, a plasma or heat acts in a step [s]; 0 where nobody knows."""
        acting = (action.time for action in state.actions if isinstance(action, Heat | Remove))
        set_to = (each.value for each in state.settings if each.name == "time" and each.value is not None)
        return max(acting, default=state.step.done.get("time", next(set_to, 0.0)))

    def coat_before(self, state: State) -> State | None:
        """The last coat before a step."""
        place = self.places[id(state)]
        return next((s for s in reversed(self.trace.states[:place]) if s.step.kind == "coat"), None)

    def bottle(self, resist: str) -> Bottle | None:
        """The bottle of a resist that is in use: the one that was opened last; None where none is on file."""
        opened = [b for b in self.lab.bottles if b.resist == resist and b.opened <= self.trace.on]
        return max(opened, key=lambda each: each.opened, default=None)

    def days_until(self, day: str) -> float:
        """Days from an ISO date to the one for which the flow was walked."""
        return float((date.fromisoformat(self.trace.on) - date.fromisoformat(day)).days)

    @cached_property
    def printed(self) -> bool:
        """Whether a drawing was printed at all."""
        return any(isinstance(action, Print) for state in self.trace.states for action in state.actions)

    @staticmethod
    def drawn_nm(length: float) -> float:
        """A length [m] on the drawing [nm]."""
        return convert(length, "nm")

    def narrowest(self, printed: Print) -> float | None:
        """Width [m] of the narrowest line or window that a print leaves, as drawn."""
        found = self._widths_of(printed)[0]
        return to_si(found, "nm") if math.isfinite(found) else None

    def narrowest_space(self, printed: Print, reach: float) -> float | None:
        """Width [m] of the narrowest space that a print leaves below a reach [m], as drawn; None where none is so narrow."""
        found = narrowest_space(printed.keep, convert(reach, "nm"), self._widths_of(printed)[1])
        return None if found is None else to_si(found, "nm")

    def _widths_of(self, printed: Print) -> tuple[float, float]:
        """Least width inside an outline and of a slot in one [nm]; read once."""
        key = id(printed.keep)
        if key not in self._widths:
            self._widths[key] = outline_widths(printed.keep)
        return self._widths[key]

    def bears(self, material: str, air: bool) -> Value | None:
        """The temperature [K] that a material bears in air, or in vacuum and inert gas; None where it is not on file."""
        values = self.facts.material(material).values
        in_air = values.get("temperature limit in air")
        return in_air if air else values.get("temperature limit in vacuum") or in_air

    @cached_property
    def transistors(self) -> tuple[Device, ...]:
        """Transistors of the finished die; none where the plan expects devices of other kinds only."""
        expect = self.flow.expect
        others = expect is not None and bool(expect.devices)
        if expect is not None and others and all(each.kind != "transistors" for each in expect.devices):
            return ()
        return self.trace.devices.transistors

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
    def heat(self) -> HeatLedger:
        """What every step heats to and every film has seen."""
        return heat_ledger(self.trace, self.facts, self.limit("ledger energy"))

    @cached_property
    def _own_stresses(self) -> Mapping[str, Belief]:
        return film_results(self.trace.states, "stress")

    def stress(self, material: str, film: str) -> Value | None:
        """The stress of a film [Pa]: what the lab's runs say of it, else the usual one of its material; None where neither is."""
        usual, own = self.facts.material(material).values.get("stress"), self._own_stresses.get(film)
        if own is None or usual is None:
            return usual
        half = NORMAL_95 * own.std
        return replace(usual, value=own.value, low=own.value - half, high=own.value + half, source=own.source)

    @cached_property
    def grown(self) -> dict[str, float]:
        """Film label → thickness [m] over flat ground as put down, nominal."""
        return {film: thickness for film, (thickness, _) in self._put_down.items()}

    @cached_property
    def _put_down(self) -> dict[str, tuple[float, float]]:
        found = {
            layer.film: (layer.thickness, 0.0)
            for column in self.trace.start.plan.columns
            for layer in column.layers
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
        return self.materials(self.trace.final.plan)

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
            for point in self.points(region)
            if (column := self.column(self.before(state), point)) is not None
            and column.film(film) is not None
        )

    def _taken_as_meant(self, state: State, film: str, material: str, point: Point) -> bool:
        """Whether a film is gone from a point at the end because it was meant to go."""

        def gone(each: State) -> bool:
            column = self.column(each.wafer.plan, point)
            return column is None or column.film(film) is None

        if not self.trace.states:
            return False
        later = self.trace.states[self.places[id(state)] :]
        if not gone(self.trace.states[-1]):
            # An etch that was meant to take it all, and did not: another rule tells of the rest.
            return any(_etches(each, material) and self._thinned(each, film, point) for each in later[1:])
        # Most often the next etch of its material takes it; else, as what is gone stays gone, halving finds the taker.
        own = next((k for k, each in enumerate(later) if _etches(each, material)), None)
        if own is None or not gone(later[own]) or (own and gone(later[own - 1])):
            own = bisect_left(later, True, key=gone)
        taker = later[own]
        floated = any(loss.film == film and loss.where == "floated" for loss in taker.losses[NOMINAL.name])
        return floated or _etches(taker, material)

    def _thinned(self, state: State, film: str, point: Point) -> bool:
        """Whether a step takes from a film at a point."""
        columns = self.column(self.before(state), point), self.column(state.wafer.plan, point)
        layers = [column.film(film) if column is not None else None for column in columns]
        return layers[0] is not None and layers[1] is not None and layers[1].thickness < layers[0].thickness

    def as_grown(self, film: str, corner: str) -> float:
        """Thickness [m] of a film over flat ground as put down at a corner of the spread."""
        thickness, std = self._put_down[film]
        return thickness + next(each.film for each in CORNERS if each.name == corner) * std

    @staticmethod
    def broad(region: Region) -> bool:
        """Whether a region is more than strips along edges: area over border is half the width of a strip."""
        return region.area > _STRIP_NM * region.perimeter

    def meant(self, cell: Cell, film: str) -> bool:
        """Whether a film is at home in a cell: whether the finished nominal wafer has it there."""
        columns = [self.column(self.trace.final.plan, point) for point in self.points(cell.region)]
        return any(column is not None and column.film(film) is not None for column in columns)

    def kind(self, material: str) -> str:
        """conductor, semiconductor, insulator, organic or substrate."""
        return self.facts.material(material).kind


def _etches(state: State, material: str) -> bool:
    return state.step.kind == "etch" and state.step.material == material


def _uncovered(stacks: Mapping[Column, float]) -> dict[str, float]:
    found: dict[str, float] = {}
    for column, area in stacks.items():
        found[column.top.material] = found.get(column.top.material, 0.0) + area
    return found


def _materials(stacks: Mapping[Column, float]) -> frozenset[str]:
    return frozenset(layer.material for column in stacks for layer in column.layers)


def finding(  # noqa: PLR0913 - the fields of a finding
    state: State | None,
    severity: Severity,
    what: str,
    expected: str,
    got: str,
    why: str,
    remedy: str,
    source: str,
    change: Change | None = None,
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
        change=change,
    )


def step_named(state: State) -> str:
    """How a step is called in a finding."""
    return f'step {state.step.number} "{state.step.title}"'


def percent(part: float) -> str:
    """A part as it is printed: whole per cent, two digits below ten, and what is next to nothing by its bound."""
    if 0 < abs(part) < _NEXT_TO_NOTHING:
        return f"below {100 * _NEXT_TO_NOTHING:g} %"
    return f"{100 * part:.0f} %" if abs(part) >= _WHOLE else f"{100 * part:.2g} %"


def far_end(name: str) -> str:
    """A corner of the spread as it is told, e.g. ``films 2 σ thin and etches 2 σ fast``."""
    corner = next((each for each in CORNERS if each.name == name and each.film), None)
    if corner is None:
        return name
    film, rate = ("thin" if corner.film < 0 else "thick"), ("fast" if corner.rate > 0 else "slow")
    return f"films {abs(corner.film):g} σ {film} and etches {abs(corner.rate):g} σ {rate}"
