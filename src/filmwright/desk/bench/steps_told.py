"""From a walked wafer to the steps at its bench: what to dial in, what it follows from, what to see before and after."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from filmwright.desk.answers import StepSettings, setting_text
from filmwright.desk.bench.holds import irreversible
from filmwright.desk.bench.pictures import Pictures
from filmwright.desk.bench.planned import Moved, PlannedLot, PlannedStep, Standing, StepWait
from filmwright.desk.bench.wafer_told import WafersTold, values_of
from filmwright.desk.bench.walks import AHEAD, BEHIND, Told
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
from filmwright.knowledge import Lab
from filmwright.process import Setting

_MOVED = 2e-3
"""Relative change of a setting that is told; smaller ones cannot be dialled in."""


_OF_DEVICES = frozenset({"measure", "probe"})
"""Kinds of step that say what to expect of devices."""

_OF_THE_REST = _OF_DEVICES | {"anneal"}
"""Kinds of step that are told to their end only when the whole flow is walked: by its devices, and by all heat to come."""

_TOLD = 1200
"""Steps that are remembered."""

_Key = tuple[int, int]


class StepsTold:
    """Tells the steps of wafers and remembers those that did not change. For one thread."""

    def __init__(self, pictures: Pictures, wafers: WafersTold) -> None:
        self.pictures = pictures
        self.wafers = wafers
        self._known: dict[_Key, tuple[State, Lab, PlannedStep]] = {}

    def told(self, found: Told, wafer: str, stamp: tuple[int, ...], whole: bool = True) -> PlannedLot:
        """All steps of a wafer, from the wafer as it is.

        Parameters
        ----------
        found : Told
            Walked to the end, else at least through the steps at hand.
        wafer : str
        stamp : tuple of int
            As of :meth:`Bench.stamp`.
        whole : bool
            Else the steps at hand are told to their end, with pictures, and all that was told before; the others by their
            settings, cautions and colours alone.
        """
        walked, life = found.walked, found.life
        states = walked.states
        keys = _keys(states, (walked.on, id(walked.lab)))
        new = [k for k, key in enumerate(keys) if key not in self._known]
        at_hand = range(life.done - BEHIND, life.done + AHEAD + 1)
        deep = [
            k
            for k in new
            if (whole or k in at_hand) and (found.whole or states[k].step.kind not in _OF_THE_REST)
        ]
        fresh = self._fresh(found, new, deep) if new else {}
        steps, drawn = [], found.whole and len(deep) == len(new)
        for k, (key, state) in enumerate(zip(keys, states, strict=True)):
            step = fresh[k] if k in fresh else self._known[key][-1]
            if k not in fresh or k in deep:
                self._known[key] = (state, walked.lab, step)
            pictures = self.pictures.small(
                walked.before(k).section, state.wafer.section, whole or k in at_hand
            )
            drawn = drawn and pictures is not None
            before, after = pictures or ("", "")
            standing = _standing(k, life.done, life.untold)
            steps.append(replace(step, standing=standing, before=before, after=after))
        if len(self._known) > _TOLD:
            self._known = dict(list(self._known.items())[-_TOLD // 2 :])
        return PlannedLot(
            lot=found.lot.name,
            wafer=wafer,
            position=stamp[0],
            title=found.work.flow.title,
            stamp=stamp,
            drawn=drawn,
            steps=tuple(steps),
            done=life.done,
            problems=life.problems,
            invented=found.lot.invented,
        )

    def _fresh(self, found: Told, new: Sequence[int], deep: Sequence[int]) -> dict[int, PlannedStep]:
        """Steps told anew, some of them with what only the whole flow tells."""
        walked, facts = found.walked, found.work.facts
        looks = self.wafers.seen(walked, walked.states)
        kinds = {walked.states[k].step.kind for k in deep}
        # To read devices off takes as long as to walk; only measuring and probing asks for them.
        planned = found.planned
        trace = trace_of(
            walked,
            planned.cut if planned is not None else "",
            planned.edges if planned is not None else None,
            read=None if kinds & _OF_DEVICES else planned,
            unread=planned is None,
        )
        trace = with_colours(trace, looks, mark_contrasts(trace, facts))
        if deep:
            numbers = {trace.states[k].step.number for k in deep}
            trace = with_outlook(trace, facts, numbers, drawing=found.work.drawing)
        settings = steps_of(trace)
        as_planned = {state.step.number: state for state in found.plan.states}
        return {k: self._step(found, trace, looks, k, settings[k], as_planned) for k in new}

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
        look, was = looks[k + 1], colours_in_words(looks[k])
        words = colours_in_words(look)
        field = max(look.seen, key=lambda seen: seen.area)
        return PlannedStep(
            settings=settings,
            kind=step.kind,
            visit=step.visit,
            because=step.because,
            colour=field.hex,
            colours=words if words != was else "",
            look=tuple(each for each in state.look if each != words),
            hold=step.hold,
            irreversible=irreversible(step),
            duration=state.duration,
            waits=_waits(trace, found.life.flow.steps, k),
            moved=_moved(state, planned.get(step.number), walked.states[: min(k, found.life.done)]),
        )


def _keys(states: Sequence[State], by: tuple[str, int]) -> list[_Key]:
    """By what a step is told: its state, whatever its times, all that was set and read before it, and ``by`` which lab and day.

    The cautions of a state are made with it and go with it when only its times are new, so they stand for it.
    """
    found, past = [], hash(by)
    for state in states:
        found.append((id(state.safety), past))
        step = state.step
        if step.done or step.measured:
            past = hash((past, step.number, tuple(step.done.items()), tuple(step.measured.items())))
    return found


def _standing(k: int, done: int, untold: frozenset[int]) -> Standing:
    if k >= done:
        return "ahead"
    return "taken as done" if k in untold else "done"


def _waits(trace: Trace, steps: Sequence[Step], k: int) -> tuple[StepWait, ...]:
    """Longest times that begin at the end of a step."""
    step = trace.states[k].step
    found = []
    for wait in trace.lab.waits:
        if wait.after not in _called(step):
            continue
        later = next((each for each in steps[k + 1 :] if wait.before in _called(each)), None)
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
