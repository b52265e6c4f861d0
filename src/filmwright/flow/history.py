"""What was really done → a flow: a history takes the same way as a plan.

A history is a row of *visits*, each with what was set, seen and measured in it. Which visit an entry belongs to, and what lies
ahead, is the rule of :mod:`filmwright.flow.ways`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow.extra import steps_from_text
from filmwright.flow.grammar import LOGGED, SPREAD
from filmwright.flow.types import Flow, Step
from filmwright.flow.ways import Ways
from filmwright.knowledge import Lab
from filmwright.units import Quantity

DoneKind = Literal[
    "start", "finish", "set", "seen", "measured", "skip", "repeat", "extra", "rework", "note", "hold", "split"
]


@dataclass(frozen=True, kw_only=True)
class Done:
    """One thing that the record says of one step.

    Attributes
    ----------
    step : str
        Number of the elementary step.
    what : str
        ``start``, ``finish``, ``set``, ``seen``, ``measured``, ``skip`` or ``repeat``. ``rework`` goes back to the step, ``extra``
        is a step that is not in the plan, done after it: ``text`` is its plan text. ``split`` is the planned value of a setting
        on this wafer.
    name : str
        Of the setting or the measurement.
    value : float or None [SI]
    happened : str
        ISO time.
    unit, text : str
    """

    step: str
    what: DoneKind
    name: str = ""
    value: float | None = None
    happened: str = ""
    unit: str = ""
    text: str = ""


_LOOKS = {"inspect", "measure", "probe", "park"}
"""Steps that leave the wafer as it is: without them it is finished all the same."""


@dataclass
class _Story:
    """One visit of one step."""

    done: dict[str, float] = field(default_factory=dict)
    measured: dict[str, float] = field(default_factory=dict)
    started: str = ""
    finished: str = ""


@dataclass(frozen=True, kw_only=True)
class Lived:
    """A wafer's way through a flow: what was done, then what is ahead.

    Attributes
    ----------
    flow : Flow
        Its steps are those done, each visit by itself, and then those ahead.
    done : int
        How many of its steps are done or begun.
    untold : frozenset of int
        Places of steps that nobody wrote down and that are taken as done as planned.
    problems : tuple of str
        Entries that could not be followed.
    """

    flow: Flow
    done: int
    untold: frozenset[int] = frozenset()
    problems: tuple[str, ...] = ()

    @property
    def history(self) -> Flow:
        """What was done, as a flow that ends there."""
        ahead = [step for step in self.flow.steps[self.done :] if step.kind not in _LOOKS]
        return replace(
            self.flow, steps=self.flow.steps[: self.done], finished=self.flow.finished and not ahead
        )


def step_of(flow: Flow, word: str) -> Step:
    """The elementary step that a number (``3.2``) or a short code (``03C``) names."""
    for step in flow.steps:
        if word in {step.number, step.code} or word.upper() == step.code:
            return step
    known = [step.code for step in flow.steps]
    raise BadInput(
        Problem(
            what="the step",
            expected="a number like 3.2 or a code like 03C of the plan",
            got=f'"{word}"',
            why="what is asked and what is written down belongs to one step",
            remedy=nearest(word, known),
            file=flow.file,
        )
    )


def steps_asked(flow: Flow, word: str) -> tuple[Step, ...]:
    """All elementary steps that a word names: one of them (``3.2``, ``03C``), or a written step (``3`` or its name).

    Raises
    ------
    BadInput
        When no step is called so.
    """
    if any(word in {step.number, step.code} or word.upper() == step.code for step in flow.steps):
        return (step_of(flow, word),)
    written = {step.number.split(".")[0] for step in flow.steps if word and step.name == word} or {word}
    found = tuple(step for step in flow.steps if step.number.split(".")[0] in written)
    return found or (step_of(flow, word),)


def as_run(flow: Flow, record: Iterable[Done], lab: Lab | None = None) -> Flow:
    """The flow as it was run on one wafer.

    Steps that were skipped are left out, repeated and reworked ones stand once for each visit, extra ones where they were done;
    what was set and what was measured stands in fields of its own beside what was planned. Steps of which the record says
    nothing yet are left out behind the last one that was begun, so that the result is the wafer as it is now.
    """
    return lived(flow, record, lab).history


def lived(flow: Flow, record: Iterable[Done], lab: Lab | None = None) -> Lived:
    """The flow as it was run on one wafer, and as it goes on from there.

    Parameters
    ----------
    flow : Flow
    record : iterable of Done
        In the order in which it happened.
    lab : Lab or None
        Whose tools extra steps may name.
    """
    record = tuple(record)
    told = _Told(_with_splits(flow, record), lab or Lab(name=""))
    for entry in record:
        told.hear(entry)
    done, untold = told.steps()
    home = _brought_home(done)
    ahead = tuple(replace(step, visit=told.visits_of(place)) for place, step in told.ahead())
    return Lived(
        flow=replace(told.flow, steps=(*home, *ahead)),
        done=len(home),
        untold=untold,
        problems=tuple(told.problems),
    )


def _with_splits(flow: Flow, record: Sequence[Done]) -> Flow:
    """The plan of one wafer of a split: the settings of its variant in the place of those of the plan."""
    own: dict[str, dict[str, Done]] = {}
    for entry in record:
        if entry.what == "split" and entry.name and entry.value is not None:
            own.setdefault(entry.step, {})[entry.name] = entry
    if not own:
        return flow
    return replace(flow, steps=tuple(_split(step, own.get(step.number, {})) for step in flow.steps))


def _split(step: Step, own: Mapping[str, Done]) -> Step:
    asked = dict(step.asked)
    for name, entry in own.items():
        value = entry.value
        if value is None:
            continue
        if name in asked:
            asked[name] = replace(asked[name], value=value, unit=entry.unit or asked[name].unit)
        elif name in LOGGED:
            asked[name] = Quantity(value=value, dimension=LOGGED[name], unit=entry.unit)
    kept = {name: line for name, line in step.by_recipe.items() if name not in own}
    return replace(step, asked=asked, by_recipe=kept) if own else step


class _Told:
    """Hears a record entry by entry and keeps the ways that it tells of."""

    def __init__(self, flow: Flow, lab: Lab) -> None:
        self.flow, self.lab = flow, lab
        self.places = {step.number: place for place, step in enumerate(flow.steps)}
        self.ways: Ways[_Story] = Ways(_Story)
        self.extras: dict[int, list[tuple[int, Step, _Story]]] = {}
        self.extra: dict[str, _Story] = {}
        self.problems: list[str] = []

    def hear(self, entry: Done) -> None:
        """Put one entry where it belongs."""
        place = self.places.get(entry.step)
        if entry.what == "extra":
            self._extra(entry, place)
        elif entry.step in self.extra:
            _tell(self.extra[entry.step], entry)
        elif place is not None and (story := self.ways.hear(entry.what, place, entry.name)) is not None:
            _tell(story, entry)

    def _extra(self, entry: Done, place: int | None) -> None:
        """A step that is not in the plan stands after the one that it is told with, else after the last begun."""
        way = self.ways.newest
        at = place if place is not None and place in way.visits else way.last
        count = 1 + sum(number.startswith(f"{entry.step or 0}.") for number in self.extra)
        try:
            found = steps_from_text(entry.text, self.flow, self.lab)
        except BadInput as bad:
            first = bad.problems[0]
            self.problems.append(
                f'the extra step after {entry.step or "the last one"} ("{entry.text[:60]}") is not followed: '
                f"{first.what} must be {first.expected}, got {first.got}"
            )
            return
        of = self.flow.steps[place].code if place is not None else "X"
        for k, step in enumerate(found, start=count):
            number = f"{entry.step or 0}.{k}"
            story = _Story(started=entry.happened)
            self.extra[number] = story
            self.extras.setdefault(len(self.ways.all), []).append(
                (at, replace(step, number=number, code=f"{of}{k}"), story)
            )

    def steps(self) -> tuple[list[Step], frozenset[int]]:
        """The visits in order, and which of them nobody wrote down."""
        found: list[Step] = []
        untold: set[int] = set()
        counts: dict[int, int] = {}
        for count, way in enumerate(self.ways.all, start=1):
            extras = self.extras.get(count, [])
            end = max(way.last, max((at for at, _, _ in extras), default=-1))
            found.extend(_lived(step, story) for at, step, story in extras if at < way.start)
            for place in range(way.start, end + 1):
                story = way.visits.get(place)
                if story is not None or way.assumed(place):
                    counts[place] = counts.get(place, 0) + 1
                    if story is None:
                        untold.add(len(found))
                    step = replace(self.flow.steps[place], visit=counts[place])
                    found.append(_lived(step, story or _Story()))
                found.extend(_lived(step, told) for at, step, told in extras if at == place)
        return found, frozenset(untold)

    def visits_of(self, place: int) -> int:
        """Which visit of a step the next one is."""
        return 1 + self.ways.done(place)

    def ahead(self) -> list[tuple[int, Step]]:
        """The steps that nobody has begun on the newest way, in the order of the plan."""
        return [(place, step) for place, step in enumerate(self.flow.steps) if self.ways.ahead(place)]


def _brought_home(steps: list[Step]) -> tuple[Step, ...]:
    """What a later step measured, given to the step that made it.

    A thickness or step height belongs to the last deposition of that material before it; a line width, with the drawn
    width beside it, tells the print bias of the last development of that mask.
    """
    home = list(steps)
    for place, step in enumerate(steps):
        found = step.measured
        if step.kind == "measure" and step.material and ("step height" in found or "thickness" in found):
            name = "step height" if "step height" in found else "thickness"
            more = {"thickness": found[name]}
            if name + SPREAD in found:
                more["thickness" + SPREAD] = found[name + SPREAD]
            _give(home, place, "deposit", "material", step.material, more)
        drawn = step.done.get("drawn width", found.get("drawn width"))
        if "line width" in found and drawn is not None:
            more = {
                "print bias": (found["line width"] - drawn) / 2,
                "line width": found["line width"],
                "drawn width": drawn,
            }
            if "line width" + SPREAD in found:
                more["line width" + SPREAD] = found["line width" + SPREAD]
            _give(home, place, "develop", "mask", step.mask or step.material, more)
    return tuple(home)


def _give(
    home: list[Step], before: int, kind: str, field_name: str, wanted: str, more: Mapping[str, float]
) -> None:
    for place in range(before, -1, -1):
        step = home[place]
        if step.kind == kind and getattr(step, field_name) == wanted:
            home[place] = replace(step, measured={**step.measured, **more})
            return


def _tell(story: _Story, entry: Done) -> None:
    if entry.what == "start":
        story.started = story.started or entry.happened
    elif entry.what == "finish":
        story.finished = entry.happened
    elif entry.what == "hold":
        story.finished = story.finished or entry.happened  # who decides at a hold point has looked
    elif entry.value is not None and entry.value <= 0:
        return  # no time, thickness or dose is zero or less: such an entry tells of a slip, not of the wafer
    elif entry.what == "set" and entry.value is not None:
        story.done[entry.name] = entry.value
    elif entry.what in {"measured", "seen"} and entry.value is not None:
        story.measured[entry.name] = entry.value


def _lived(step: Step, story: _Story) -> Step:
    done: Mapping[str, float] = dict(story.done)
    return replace(
        step, done=done, measured=dict(story.measured), started=story.started, finished=story.finished
    )
