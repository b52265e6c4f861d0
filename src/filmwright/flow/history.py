"""What was really done → a flow: a history takes the same way as a plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow.grammar import SPREAD
from filmwright.flow.types import Flow, Step

DoneKind = Literal[
    "start", "finish", "set", "seen", "measured", "skip", "repeat", "extra", "rework", "note", "hold"
]


@dataclass(frozen=True, kw_only=True)
class Done:
    """One thing that the record says of one step.

    Attributes
    ----------
    step : str
        Number of the elementary step.
    what : str
        ``start``, ``finish``, ``set``, ``seen``, ``measured``, ``skip`` or ``repeat``.
    name : str
        Of the setting or the measurement.
    value : float or None [SI]
    happened : str
        ISO time.
    """

    step: str
    what: DoneKind
    name: str = ""
    value: float | None = None
    happened: str = ""


_LOOKS = {"inspect", "measure", "probe", "park"}
"""Steps that leave the wafer as it is: without them it is finished all the same."""


@dataclass
class _Story:
    done: dict[str, float] = field(default_factory=dict)
    measured: dict[str, float] = field(default_factory=dict)
    started: str = ""
    finished: str = ""


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


def as_run(flow: Flow, record: Iterable[Done]) -> Flow:
    """The flow as it was run on one wafer.

    Steps that were skipped are left out, repeated and reworked ones stand twice; what was set and what was measured
    stands in fields of its own beside what was planned. Steps of which the record says nothing yet are left out
    behind the last one that was begun, so that the result is the wafer as it is now.
    """
    visits: dict[str, list[_Story]] = {}
    skipped: set[str] = set()
    for entry in record:
        if entry.what == "skip":
            skipped.add(entry.step)
            continue
        stories = visits.setdefault(entry.step, [])
        if not stories or entry.what in {"repeat", "rework"}:
            stories.append(_Story())
        _tell(stories[-1], entry)
    last = max((place for place, step in enumerate(flow.steps) if step.number in visits), default=-1)
    steps: list[Step] = []
    for step in flow.steps[: last + 1]:
        if step.number in skipped:
            continue
        stories = visits.get(step.number, [])
        steps.extend(_lived(step, story) for story in stories)
        if not stories:
            steps.append(step)
    ahead = [step for step in flow.steps[last + 1 :] if step.kind not in _LOOKS]
    return replace(flow, steps=_brought_home(steps), finished=flow.finished and not ahead)


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
