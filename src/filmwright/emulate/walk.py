"""Walk a flow: ask ``process`` how much, tell ``wafer`` to do it, keep every state with what explains it.

A plan and a history are walked alike; what was set and measured in a history goes before what was planned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from filmwright.emulate.context import Context, Planned, Planner, day_of
from filmwright.emulate.corners import with_corners
from filmwright.emulate.cuts import Found, chosen_cut
from filmwright.emulate.deposit import plan_deposit
from filmwright.emulate.edges import Edges, emulated_edges
from filmwright.emulate.etch import plan_etch
from filmwright.emulate.lithography import LITHOGRAPHY
from filmwright.emulate.misaligned import with_misalignment
from filmwright.emulate.other import plan_anneal, plan_measure, plan_park, plan_probe
from filmwright.emulate.safety import gases_of, hazards_of_gases, safety_of
from filmwright.emulate.sections import along
from filmwright.emulate.strips import plan_clean, plan_lift_off, plan_rinse, plan_strip
from filmwright.emulate.trace import NOMINAL, Safety, State, Trace
from filmwright.emulate.wafer_places import with_places
from filmwright.flow import Flow, Step
from filmwright.knowledge import Book, Lab
from filmwright.masks import Drawing, resist_left
from filmwright.numerics import Polyline, Region, Repeats, repeats
from filmwright.units import convert, to_si
from filmwright.wafer import (
    MARGIN_NM,
    Action,
    Kind,
    Loss,
    Plan,
    Wafer,
    has_fence,
    read_devices,
    read_nets,
    without_fences,
)

PLANNERS: Mapping[str, Planner] = {
    **LITHOGRAPHY,
    "deposit": plan_deposit,
    "etch": plan_etch,
    "strip": plan_strip,
    "lift off": plan_lift_off,
    "clean": plan_clean,
    "rinse": plan_rinse,
    "anneal": plan_anneal,
    "measure": plan_measure,
    "probe": plan_probe,
    "park": plan_park,
}

Progress = Callable[[int, int, str], None]


def walk(  # noqa: PLR0913 - a flow, where it is walked, when, and how it is watched
    flow: Flow,
    lab: Lab,
    facts: Book,
    drawing: Drawing | None,
    *,
    on: str,
    cut: str | None = None,
    sections: bool = True,
    progress: Progress | None = None,
) -> Trace:
    """The trace of a flow.

    Parameters
    ----------
    flow : Flow
        A plan, or a history made by ``flow.as_run``.
    lab : Lab
    facts : Book
    drawing : Drawing or None
        The mask drawing; None for a flow without masks.
    on : str
        ISO date for which rates are believed.
    cut : str or None
        Name of the cut of the sections, or a device as ``T07`` or ``T07 across``; None takes the first of the plan, else one
        through a device that is found.
    sections : bool
        Whether cross-sections are emulated: along the cut, and across the edges where something can go wrong.
    progress : callable (done, total, what) or None
    """
    ctx = Context(flow=flow, lab=lab, facts=facts, on=on, remaining=_remaining(flow, facts, drawing))
    start = _bought(flow, drawing)
    nominal, planned = _walk_nominal(start, ctx, progress)
    read = _read_off(start, nominal, ctx, drawing, cut, sections)
    states, corners = with_corners(read.start, read.states, planned)
    off = (
        with_misalignment(read.start, read.states, planned, read.devices, ctx.kinds, lab) if sections else ()
    )
    return replace(
        read,
        states=with_places(read.start, states, planned),
        corners={**read.corners, **corners},
        misaligned=off,
        fenced=_only_fenced(read, ctx.kinds, drawing),
    )


def read_off(walked: Walked, cut: str | None = None) -> Trace:
    """What was walked to its end without sections, as a trace: cut, with its edges, nets and devices; no spread is followed.

    Parameters
    ----------
    walked : Walked
    cut : str or None
        As for :func:`walk`.
    """
    ctx = Context(flow=walked.flow, lab=walked.lab, facts=walked.facts, on=walked.on)
    return _read_off(walked.start, walked.states, ctx, walked.drawing, cut, True)


def _read_off(
    start: Wafer,
    states: Sequence[State],
    ctx: Context,
    drawing: Drawing | None,
    cut: str | None,
    sections: bool,
) -> Trace:
    """A flow that was walked in plan: its edges, what they say of nets and devices, and its sections along a cut."""
    final = states[-1].wafer if states else start
    edges = _edges(start, states, ctx) if sections else Edges()
    plan, labels = edges.corrected(final.plan), drawing.labels if drawing else ()
    nets = read_nets(plan, ctx.kinds, labels, edges.between)
    devices = read_devices(plan, ctx.kinds, nets)
    found = Found(drawing=drawing, plan=final.plan, devices=devices) if drawing else None
    name, line = chosen_cut(ctx.flow, found, cut) if sections else ("", None)
    if line is not None:
        start, states = along(line, start, states)
        final = states[-1].wafer if states else start
    return Trace(
        flow=ctx.flow,
        lab=ctx.lab,
        start=start,
        states=tuple(states),
        corners={NOMINAL.name: final},
        nets=nets,
        edges=edges,
        devices=devices,
        cut=name,
        cut_length_nm=line.length if line else 0.0,
        marks=drawing.marks if drawing else (),
        drawing_notes=drawing.notes if drawing else (),
        on=ctx.on,
    )


@dataclass(frozen=True, kw_only=True)
class Walked:
    """A flow as far as it was walked, nominal, so that a changed one costs only what comes after the change.

    Attributes
    ----------
    flow : Flow
        All of it.
    lab : Lab
    facts : Book
    drawing : Drawing or None
    on : str
        ISO date for which rates are believed.
    line : Polyline or None [nm]
        Along which the section is emulated.
    start : Wafer
        As bought.
    states : tuple of State
        Of its first steps.
    remaining : mapping from (mask, resist tone) to Region
        Where resist stays after development.
    older : Walked or None
        A longer walk that this one went on from; what a step of it did to the same wafer is not worked anew either.
    """

    flow: Flow
    lab: Lab
    facts: Book
    drawing: Drawing | None
    on: str
    line: Polyline | None
    start: Wafer
    states: tuple[State, ...]
    remaining: Mapping[tuple[str, str], Region] = field(default_factory=dict)
    older: Walked | None = None

    def before(self, place: int) -> Wafer:
        """The wafer before a step."""
        return self.states[place - 1].wafer if place else self.start

    def made_of(self, wafer: Wafer, place: int) -> State | None:
        """What the step at a place made of a wafer; None where it never met this one."""
        if place < len(self.states):
            return self.states[place] if self.before(place) is wafer else None
        return self.older.made_of(wafer, place) if self.older is not None else None


def walk_on(  # noqa: PLR0913 - a flow, where and when it is walked, what is known of it, and how far
    flow: Flow,
    lab: Lab,
    facts: Book,
    drawing: Drawing | None,
    *,
    on: str,
    line: Polyline | None = None,
    kept: Iterable[Walked] = (),
    steps: int | None = None,
    beyond: bool = False,
) -> Walked:
    """Walk the first steps of a flow, from where an earlier walk met the same ones.

    A planner knows the flow up to its own step and no further, so states before the first step that differs are those kept, and
    what follows is what a walk from the start would find. When a step was begun and finished says nothing of the wafer but the day
    for which rates are believed: a state whose times alone are new keeps everything else, the same objects. Behind the first step
    that differs the planners are asked again; where they say the same of the same wafer, the wafer is not worked anew either.

    Parameters
    ----------
    flow, lab, facts, drawing, on
        As for :func:`walk`.
    line : Polyline or None [nm]
        Of the section; None emulates none.
    kept : iterable of Walked
        Earlier walks, of this or of other wafers.
    steps : int or None
        How many to walk; None: all.
    beyond : bool
        Whether what is known of later steps already comes with them.
    """
    stop = len(flow.steps) if steps is None else steps
    base, shared = None, -1
    for each in kept:
        count = _shared(each, flow, drawing) if each.facts is facts and each.line == line else -1
        if count > 0 and (each.on != on or not (each.lab is lab or each.lab == lab)):
            count = 0
        if count > shared:
            base, shared = each, count
    if base is None:
        start = _bought(flow, drawing)
        start = start if line is None else along(line, start, ())[0]
        base = Walked(
            flow=flow, lab=lab, facts=facts, drawing=drawing, on=on, line=line, start=start, states=()
        )
    count = max(shared if beyond else min(shared, stop), 0)
    done = tuple(_of_step(state, step) for state, step in zip(base.states[:count], flow.steps, strict=False))
    # Planners find a step among those of the flow by what it is, not by what it says.
    flow = replace(flow, steps=(*(state.step for state in done), *flow.steps[count:]))
    remaining = _remaining(flow, facts, drawing, base.remaining)
    ctx = Context(flow=flow, lab=lab, facts=facts, on=on, remaining=remaining)
    start = base.start
    states, _ = _walk_nominal(done[-1].wafer if done else start, ctx, None, range(count, stop), base)
    longest = max((base, base.older or base), key=lambda each: len(each.states))
    return Walked(
        flow=flow,
        lab=lab,
        facts=facts,
        drawing=drawing,
        on=on,
        line=line,
        start=start,
        states=(*done, *states),
        remaining=remaining,
        older=replace(longest, older=None) if len(longest.states) > max(count, stop) else None,
    )


def nominal_of(trace: Trace, facts: Book, drawing: Drawing | None) -> Walked:
    """What :func:`walk` found of a flow, as :func:`walk_on` would have found it: to go on from.

    Parameters
    ----------
    trace : Trace
    facts, drawing
        With which it was walked.
    """
    section = trace.start.section
    return Walked(
        flow=trace.flow,
        lab=trace.lab,
        facts=facts,
        drawing=drawing,
        on=trace.on,
        line=section.cut if section is not None else None,
        start=trace.start,
        states=tuple(
            replace(state, losses={NOMINAL.name: state.losses[NOMINAL.name]}, on_wafer={})
            for state in trace.states
        ),
    )


def trace_of(
    walked: Walked,
    cut: str = "",
    edges: Edges | None = None,
    *,
    read: Trace | None = None,
    unread: bool = False,
) -> Trace:
    """What was walked as a trace, with its nets and devices; corners of the spread are left out.

    Parameters
    ----------
    walked : Walked
    cut : str
        Name of its line.
    edges : Edges or None
        Of a walk that emulated them.
    read : Trace or None
        Whose nets and devices are taken; None reads them off.
    unread : bool
        Whether those of the wafer as bought will do.
    """
    start, states = walked.start, walked.states
    plan = states[-1].wafer.plan if states and not unread else start.plan
    ctx = Context(flow=walked.flow, lab=walked.lab, facts=walked.facts, on=walked.on)
    drawing = walked.drawing
    nets = read_nets(plan, ctx.kinds, drawing.labels if drawing else ()) if read is None else read.nets
    return Trace(
        flow=replace(walked.flow, steps=walked.flow.steps[: len(states)]),
        lab=walked.lab,
        start=start,
        states=states,
        corners={NOMINAL.name: states[-1].wafer if states else start},
        nets=nets,
        devices=read_devices(plan, ctx.kinds, nets) if read is None else read.devices,
        edges=edges or Edges(),
        cut=cut,
        cut_length_nm=walked.line.length if walked.line else 0.0,
        marks=drawing.marks if drawing else (),
        drawing_notes=drawing.notes if drawing else (),
        on=walked.on,
    )


def _shared(kept: Walked, flow: Flow, drawing: Drawing | None) -> int:
    """How many first steps of a flow were walked already; below zero where the wafer began otherwise."""
    if kept.drawing is not drawing or _begun(kept.flow) != _begun(flow):
        return -1
    walked = zip((state.step for state in kept.states), flow.steps, strict=False)
    return next(
        (k for k, (one, other) in enumerate(walked) if not _same(one, other, kept.on)),
        min(len(kept.states), len(flow.steps)),
    )


def _same(one: Step, other: Step, on: str) -> bool:
    """Whether two steps differ in their times at most, and rates are believed for the same day."""
    if one == other:
        return True
    alike = day_of(one, on) == day_of(other, on)
    return alike and replace(one, started=other.started, finished=other.finished) == other


def _of_step(state: State, step: Step) -> State:
    """A state as that of a step that differs in its times at most."""
    return state if state.step == step else replace(state, step=step)


def _begun(flow: Flow) -> tuple[object, ...]:
    """What the wafer as bought follows from: its body, the levels that are printed and the chips that go along."""
    printed = sorted({step.mask for step in flow.steps if step.kind == "develop"})
    return (
        flow.body,
        [flow.masks[mask] for mask in printed],
        {chip for step in flow.steps for chip in step.witness},
    )


def _edges(start: Wafer, states: Sequence[State], ctx: Context) -> Edges:
    """The edges of the finished die where something can go wrong."""
    plan = states[-1].wafer.plan if states else start.plan
    actions = [action for state in states for action in state.actions]
    return emulated_edges(plan, start.plan.columns[0], actions, ctx.kinds)


def _only_fenced(
    read: Trace, kinds: Mapping[str, Kind], drawing: Drawing | None
) -> tuple[tuple[str, str], ...]:
    """The shorted terminals that would be apart if no fence stood."""
    if not read.nets.shorted:
        return ()
    plan = read.edges.corrected(read.final.plan)
    if not any(has_fence(column) for column in plan.columns):
        return ()
    labels = drawing.labels if drawing else ()
    clean = read_nets(without_fences(plan, lambda column, layer: True), kinds, labels)
    return tuple(pair for pair in read.nets.shorted if not clean.joined(*pair))


def _walk_nominal(
    start: Wafer,
    ctx: Context,
    progress: Progress | None,
    places: range | None = None,
    known: Walked | None = None,
) -> tuple[list[State], list[Planned]]:
    """The states of all steps, or of some; with what an earlier walk knows of them."""
    wafer, states, plans = start, [], []
    steps = ctx.flow.steps
    for place in range(len(steps)) if places is None else places:
        step = steps[place]
        if progress is not None:
            progress(place, len(steps), step.title)
        here = ctx.at(step)
        planned = PLANNERS[step.kind](step, here, wafer.plan)
        state = _step(step, here, planned, wafer, known.made_of(wafer, place) if known is not None else None)
        wafer = state.wafer
        states.append(state)
        plans.append(planned)
    return states, plans


def _remaining(
    flow: Flow,
    facts: Book,
    drawing: Drawing | None,
    known: Mapping[tuple[str, str], Region] = MappingProxyType({}),
) -> dict[tuple[str, str], Region]:
    """Where resist stays, for each mask level and each tone that the flow prints it in; what is known of it goes first."""
    if drawing is None:
        return {}
    wanted = {(step.mask, facts.resist(step.resist).tone) for step in flow.steps if step.kind == "develop"}
    found: dict[tuple[str, str], Region] = {}
    for mask, tone in sorted(wanted):
        if (mask, tone) in known:
            found[mask, tone] = known[mask, tone]
            continue
        level = flow.masks[mask]
        shapes = drawing.region((level.layer, level.datatype))
        found[mask, tone] = resist_left(shapes, drawing.die, level.drawn, tone)
    return found


def _bought(flow: Flow, drawing: Drawing | None) -> Wafer:
    """The wafer as bought; a flow without a drawing has one square millimetre of it."""
    side = convert(to_si(1, "mm"), "nm")
    die = drawing.die if drawing else Region.box(0.0, 0.0, side, side)
    films = [(film.material, film.thickness) for film in flow.body.films]
    plan = Plan.start(die, (flow.body.material, flow.body.thickness), films, _repeats(flow, drawing))
    chips = sorted({chip for step in flow.steps for chip in step.witness})
    return Wafer.start(plan, chips=chips)


def _repeats(flow: Flow, drawing: Drawing | None) -> Repeats | None:
    """What repeats itself among the shapes of the masks that the flow prints."""
    levels = [flow.masks[mask] for mask in sorted({s.mask for s in flow.steps if s.kind == "develop"})]
    if drawing is None or not levels:
        return None
    numbers = sorted({(level.layer, level.datatype) for level in levels})
    return repeats([drawing.region(number) for number in numbers], drawing.die, MARGIN_NM)


def _step(step: Step, ctx: Context, planned: Planned, before: Wafer, known: State | None = None) -> State:
    """The state after a step; ``known`` is what an earlier walk made of the same wafer at this place."""
    actions = planned.actions(NOMINAL, before.plan)
    if known is not None and known.actions == actions and _meets(known.step) == _meets(step):
        return _again(known, step, ctx, planned, before)
    wafer = before
    losses: list[Loss] = []
    torn: list[str] = []
    for action in actions:
        wafer, effect = wafer.apply(action, step.witness)
        losses.extend(effect.losses)
        torn.extend(effect.torn)
    # A developer meets what it has just uncovered; every other bath meets what lay open before it.
    touched = wafer if step.kind == "develop" else before
    area = touched.plan.exposed() if planned.medium is not None else {}
    state = _state(step, ctx, planned, actions, wafer)
    return replace(
        state,
        exposed=area,
        unknown=_unknown(planned, area, step, ctx),
        losses={NOMINAL.name: tuple(losses)},
        torn=tuple(dict.fromkeys(torn)),
        warnings=(*state.warnings, *wafer.plan.notes[len(before.plan.notes) :]),
    )


def _meets(step: Step) -> tuple[object, ...]:
    """What of a step decides over what its medium meets, beside its actions."""
    return step.kind, step.medium, step.tool, step.recipe, step.witness


def _again(known: State, step: Step, ctx: Context, planned: Planned, before: Wafer) -> State:
    """A step that does to the same wafer what it did in an earlier walk: its shapes are not worked anew."""
    state = replace(
        _state(step, ctx, planned, known.actions, known.wafer),
        exposed=known.exposed,
        unknown=_unknown(planned, known.exposed, step, ctx),
        losses=known.losses,
        torn=known.torn,
    )
    state = replace(state, warnings=(*state.warnings, *known.wafer.plan.notes[len(before.plan.notes) :]))
    return _of_step(known, step) if replace(state, step=known.step) == known else state


def _state(step: Step, ctx: Context, planned: Planned, actions: tuple[Action, ...], wafer: Wafer) -> State:
    return State(
        step=step,
        settings=planned.settings,
        duration=planned.time + ctx.overhead(step),
        safety=_safety(step, planned, ctx),
        actions=actions,
        wafer=wafer,
        thickness=planned.thickness,
        thickness_std=planned.thickness_std,
        rate=planned.rate,
        look=planned.look,
        warnings=planned.warnings,
        follows=planned.follows,
        results=planned.results,
        etch=planned.etch,
    )


def _safety(step: Step, planned: Planned, ctx: Context) -> Safety:
    """What the sheet says: of the step's own hazards and, in an oven, of the gas that is let in."""
    gases = gases_of(step, ctx.facts)
    of_gas = hazards_of_gases(gases, ctx.facts) if step.kind == "anneal" else ()
    return safety_of((*planned.hazards, *of_gas), ctx.facts, gases, planned.waste)


def _unknown(planned: Planned, area: Mapping[str, float], step: Step, ctx: Context) -> tuple[str, ...]:
    """Exposed materials of which neither the book nor the lab says what the medium does to them."""
    medium = planned.medium
    if medium is None:
        return ()
    return tuple(
        sorted(
            material
            for material in area
            if medium.rate(material).verdict == "unknown"
            and material not in medium.dissolves
            and ctx.believe("etch rate", step, material=material, medium=medium.name) is None
        )
    )
