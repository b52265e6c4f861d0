"""What was really done → a flow: a history takes the same way as a plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow.types import Flow, Step


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
    what: Literal["start", "finish", "set", "seen", "measured", "skip", "repeat", "extra", "rework", "note", "hold"]
    name: str = ""
    value: float | None = None
    happened: str = ""


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
        Problem(what="the step", expected="a number like 3.2 or a code like 03C of the plan", got=f'"{word}"',
                why="the record ties each entry to one step", remedy=nearest(word, known), file=flow.file)
    )  # fmt: skip


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
    return replace(flow, steps=tuple(steps))


def _tell(story: _Story, entry: Done) -> None:
    if entry.what == "start":
        story.started = story.started or entry.happened
    elif entry.what == "finish":
        story.finished = entry.happened
    elif entry.what == "set" and entry.value is not None:
        story.done[entry.name] = entry.value
    elif entry.what in {"measured", "seen"} and entry.value is not None:
        story.measured[entry.name] = entry.value


def _lived(step: Step, story: _Story) -> Step:
    done: Mapping[str, float] = dict(story.done)
    return replace(step, done=done, measured=dict(story.measured), started=story.started, finished=story.finished)
