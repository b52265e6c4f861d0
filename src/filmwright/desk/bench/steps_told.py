"""From a walked wafer to the steps at its bench: what to dial in, what it follows from, what to see before and after."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from filmwright.desk.answers import StepSettings, setting_text
from filmwright.desk.bench.holds import irreversible
from filmwright.desk.bench.pictures import Pictures
from filmwright.desk.bench.planned import Moved, PlannedLot, PlannedStep, Standing, StepWait
from filmwright.desk.bench.wafer_told import WafersTold, values_of
from filmwright.desk.bench.walks import Told
from filmwright.desk.planning import steps_of
from filmwright.emulate import (
    Look,
    State,
    Trace,
    colours_in_words,
    mark_contrasts,
    trace_of,
    with_colours,
    with_outlook,
)
from filmwright.flow import Step
from filmwright.process import Setting

_MOVED = 2e-3
"""Relative change of a setting that is told; smaller ones cannot be dialled in."""


class StepsTold:
    """Tells the steps of wafers and remembers those that did not change. For one thread."""

    def __init__(self, pictures: Pictures, wafers: WafersTold) -> None:
        self.pictures = pictures
        self.wafers = wafers
        self._known: dict[tuple[int, bool], tuple[State, PlannedStep]] = {}

    def told(self, found: Told, wafer: str, position: int) -> PlannedLot:
        """All steps of a wafer, from the wafer as it is.

        Parameters
        ----------
        found : Told
            Walked to the end.
        wafer : str
        position : int
            Of the last entry that is minded.
        """
        walked, life = found.walked, found.life
        states = walked.states
        looks = self.wafers.seen(walked, states)
        new = [k for k, state in enumerate(states) if (id(state), k < life.done) not in self._known]
        fresh = self._fresh(found, looks, new) if new else {}
        steps = []
        for k, state in enumerate(states):
            key = (id(state), k < life.done)
            step = fresh[k] if k in fresh else self._known[key][1]
            self._known[key] = (state, step)
            steps.append(replace(step, standing=_standing(k, life.done, life.untold)))
        if len(self._known) > 1200:
            self._known = dict(list(self._known.items())[-600:])
        return PlannedLot(
            lot=found.lot.name,
            wafer=wafer,
            position=position,
            title=found.work.flow.title,
            steps=tuple(steps),
            done=life.done,
            problems=life.problems,
            invented=found.lot.invented,
        )

    def _fresh(self, found: Told, looks: Sequence[Look], new: Sequence[int]) -> dict[int, PlannedStep]:
        walked, facts = found.walked, found.work.facts
        trace = trace_of(walked, found.planned.cut, found.planned.edges)
        numbers = {trace.states[k].step.number for k in new}
        trace = with_colours(trace, looks, mark_contrasts(trace, facts))
        trace = with_outlook(trace, facts, numbers, drawing=found.work.drawing)
        settings = steps_of(trace)
        planned = {state.step.number: state for state in found.planned.states}
        return {k: self._step(found, trace, looks, k, settings[k], planned) for k in new}

    def _step(
        self,
        found: Told,
        trace: Trace,
        looks: Sequence[Look],
        k: int,
        settings: StepSettings,
        planned: Mapping[str, State],
    ) -> PlannedStep:
        state, walked = trace.states[k], found.walked
        step = state.step
        before, after = self.pictures.small(walked.before(k).section, walked.states[k].wafer.section)
        look, was = looks[k + 1], colours_in_words(looks[k])
        words = colours_in_words(look)
        field = max(look.seen, key=lambda seen: seen.area)
        return PlannedStep(
            settings=settings,
            kind=step.kind,
            visit=step.visit,
            because=step.because,
            before=before,
            after=after,
            colour=field.hex,
            colours=words if words != was else "",
            look=tuple(each for each in state.look if each != words),
            hold=step.hold,
            irreversible=irreversible(step),
            duration=state.duration,
            waits=_waits(trace, k),
            moved=_moved(state, planned.get(step.number), walked.states[: min(k, found.life.done)]),
        )


def _standing(k: int, done: int, untold: frozenset[int]) -> Standing:
    if k >= done:
        return "ahead"
    return "taken as done" if k in untold else "done"


def _waits(trace: Trace, k: int) -> tuple[StepWait, ...]:
    """Longest times that begin at the end of a step."""
    step = trace.states[k].step
    found = []
    for wait in trace.lab.waits:
        if wait.after not in _called(step):
            continue
        later = next((s.step for s in trace.states[k + 1 :] if wait.before in _called(s.step)), None)
        if later is not None:
            found.append(StepWait(before=later.code, title=later.title, longest=wait.longest, why=wait.why))
    return tuple(found)


def _called(step: Step) -> set[str]:
    return {step.kind, step.name, step.title}


def _moved(state: State, planned: State | None, done: Sequence[State]) -> tuple[Moved, ...]:
    """Settings that are not those of the plan any more."""
    if planned is None:
        return ()
    before = {each.name: each for each in planned.settings}
    found = []
    for setting in state.settings:
        was = before.get(setting.name)
        if was is None or not _differs(was, setting):
            continue
        own = state.step.asked.get(setting.name) != planned.step.asked.get(setting.name)
        why = ("the variant of this wafer",) if own else _readings(state.step, done)
        found.append(
            Moved(name=setting.name, planned=setting_text(was), now=setting_text(setting), because=why)
        )
    return tuple(found)


def _differs(was: Setting, now: Setting) -> bool:
    if was.value is None or now.value is None:
        return was.text != now.text
    return abs(now.value - was.value) > _MOVED * abs(was.value)


def _readings(step: Step, done: Sequence[State]) -> tuple[str, ...]:
    """What was written down of the film, the level or the resist that a step acts on."""
    found = []
    for state in done:
        other = state.step
        alike = {other.material, other.mask, other.resist} & {step.material, step.mask, step.resist} - {""}
        if alike and not other.lot and (values := values_of(state)):
            found.append(f"{other.code} {other.title}: {', '.join(values)}")
    return tuple(found)
