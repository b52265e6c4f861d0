"""From a trace to its pictures: the section and the plan of every step, and the story of all of them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from filmwright.numerics import Region
from filmwright.outputs.callouts import callouts_of
from filmwright.outputs.captions import reading_time, what_changed, why
from filmwright.outputs.columns import column_svg, layers_told
from filmwright.outputs.end_picture import end_trace_svg
from filmwright.outputs.geometry import same_shape
from filmwright.outputs.legend import Legend
from filmwright.outputs.micrograph import micrograph
from filmwright.outputs.plan_view import Mark, Patch, PlanPicture, plan_svg
from filmwright.outputs.section import SectionPicture, section_svg
from filmwright.outputs.story import Story, StoryColumn, StorySetting, StoryStep
from filmwright.outputs.words import band_text, duration_text, value_text

if TYPE_CHECKING:
    from filmwright.emulate import EndTrace, Look, State, Trace
    from filmwright.knowledge import Material
    from filmwright.review import Finding
    from filmwright.wafer import Column, Devices, Plan, Section

Box = tuple[float, float, float, float]

MANY = 60
"""So many windows of a plan are drawn one by one."""

UNCHANGED = "Unchanged along this cut"

_AROUND_NM = 120_000.0
"""The die is shown at least this far to each side of the middle of the cut, so that one sees where it lies; judgement."""


def legend_of(materials: Mapping[str, Material]) -> Legend:
    """Class and short sign of every material that is on file."""
    return Legend(
        kinds={name: material.kind for name, material in materials.items()},
        symbols={name: _typeset(material.symbol) for name, material in materials.items()},
    )


def _typeset(symbol: str) -> str:
    """A formula with its numbers lowered, e.g. ``Al2O3`` → ``Al₂O₃``."""
    return re.sub(r"(?<=[A-Za-z])\d", lambda digit: "₀₁₂₃₄₅₆₇₈₉"[int(digit[0])], symbol)


@dataclass(frozen=True, kw_only=True)
class StepPictures:
    """Section, plan and look of one step as SVG; without a cut a column of films, without optics no look."""

    number: str
    section: str
    plan: str
    look: str = ""


def step_pictures(
    trace: Trace, legend: Legend, looks: Sequence[Look] = (), keys: Mapping[Column, str] | None = None
) -> tuple[StepPictures, ...]:
    """Section and plan after each step; a step that changes no shape has a calm picture.

    Parameters
    ----------
    trace : Trace
    legend : Legend
    looks : sequence of Look
        Of the wafer as bought and after each step; none: no micrographs.
    keys : mapping from Column to str
        By what a page finds the places of the plan.
    """
    sections = _step_sections(trace, legend)
    plans = [trace.start.plan, *(state.wafer.plan for state in trace.states)]
    found: list[StepPictures] = []
    plan, seen = "", ""
    for k, state in enumerate(trace.states, start=1):
        if k == 1 or plans[k].parts is not plans[k - 1].parts:
            plan = _plan(trace, plans[k], legend, k, keys)
            seen = _seen(trace, looks[k], k) if len(looks) > k else ""
        found.append(StepPictures(number=state.step.number, section=sections[k - 1], plan=plan, look=seen))
    return tuple(found)


def _step_sections(trace: Trace, legend: Legend) -> list[str]:
    before = trace.start.section
    if before is None:
        return _step_columns(trace, legend)
    calm, changed = "", ""
    found = []
    for k, state in enumerate(trace.states, start=1):
        section = state.wafer.section
        if section is None:
            found.append("")
            continue
        base = _picture(trace, section, legend, f"s{k}-")
        if before is None or same_shape(before, section):
            calm = calm or section_svg(
                replace(base, title=f"{UNCHANGED}{changed}", callouts=callouts_of(section, None, legend))
            )
            found.append(calm)
        else:
            notes = callouts_of(section, before, legend)
            title = f"After {state.step.number} {state.step.title}"
            found.append(section_svg(replace(base, previous=before, callouts=notes, title=title)))
            calm, changed = "", f"; as it is since {state.step.number}"
        before = section
    return found


def _step_columns(trace: Trace, legend: Legend) -> list[str]:
    """Without a cut: the column that covers most of the die after each step."""
    found, last = [], None
    for k, state in enumerate(trace.states, start=1):
        areas = state.wafer.plan.areas()
        column = max(areas, key=lambda each: areas[each])
        if column != last:
            title = f"After {state.step.number}, on most of the die"
            found.append(column_svg(column, legend, prefix=f"s{k}-", title=title))
        else:
            found.append(found[-1])
        last = column
    return found


def final_section_svg(
    trace: Trace, legend: Legend, *, title: str = "The finished wafer", prefix: str = "f-"
) -> str:
    """The section after the last step, nothing emphasised; empty without a cut."""
    section = trace.final.section
    if section is None:
        return ""
    notes = callouts_of(section, None, legend)
    return section_svg(replace(_picture(trace, section, legend, prefix), title=title, callouts=notes))


def final_plan_svg(
    trace: Trace, legend: Legend, *, whole: bool = True, prefix: str = "fp-", window: Box | None = None
) -> str:
    """The die after the last step: a window of it [nm], all of it, or the surroundings of the cut."""
    window = window or (trace.final.plan.die.bounds if whole else _window(trace))
    return _plan_picture(trace, trace.final.plan, legend, window, prefix, 620.0 if whole else 340.0)


def plan_window_svg(trace: Trace, legend: Legend, window: Box) -> str:
    """Any window [nm] of the finished die, large, with buried conductors and whatever is too fine for the page."""
    base = _plan_base(trace, trace.final.plan, legend, window, "w-", 900.0)
    return plan_svg(replace(base, patches=plan_patches(trace.final.plan, legend, window), finest=0.1))


def view_window_svg(look: Look, window: Box) -> str:
    """Any window [nm] of a die as a microscope shows it, large."""
    return micrograph(look, window=window, size=(900.0, 900.0), prefix="ws-")


def _picture(trace: Trace, section: Section, legend: Legend, prefix: str) -> SectionPicture:
    return SectionPicture(
        section=section,
        kinds=legend.kinds,
        symbols=legend.symbols,
        cut=trace.cut,
        cut_length_nm=trace.cut_length_nm,
        prefix=prefix,
        invented=trace.flow.invented,
    )


def _window(trace: Trace) -> Box:
    """The surroundings of the cut, as square as the die allows [nm]; the whole die without a cut."""
    x0, y0, x1, y1 = trace.start.plan.die.bounds
    section = trace.start.section
    if section is None:
        return x0, y0, x1, y1
    points = section.cut.points
    low = (min(p[0] for p in points), min(p[1] for p in points))
    high = (max(p[0] for p in points), max(p[1] for p in points))
    half = max(0.625 * max(high[0] - low[0], high[1] - low[1]), _AROUND_NM)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    return (
        max(x0, middle[0] - half),
        max(y0, middle[1] - half),
        min(x1, middle[0] + half),
        min(y1, middle[1] + half),
    )


def _plan(trace: Trace, plan: Plan, legend: Legend, k: int, keys: Mapping[Column, str] | None = None) -> str:
    base = _plan_base(trace, plan, legend, _window(trace), f"p{k}-", 340.0)
    patches = plan_patches(plan, legend, _window(trace), keys=keys)
    return plan_svg(replace(base, patches=patches, finest=0.5 if keys is None else 0.02))


def _seen(trace: Trace, look: Look, k: int) -> str:
    section = trace.start.section
    cut = section.cut.points if section is not None else ()
    return micrograph(look, window=_window(trace), cut=cut, prefix=f"g{k}-")


def _plan_picture(trace: Trace, plan: Plan, legend: Legend, window: Box, prefix: str, size: float) -> str:
    return plan_svg(_plan_base(trace, plan, legend, window, prefix, size))


def _plan_base(
    trace: Trace, plan: Plan, legend: Legend, window: Box, prefix: str, size: float
) -> PlanPicture:
    section = trace.start.section
    return PlanPicture(
        patches=plan_patches(plan, legend, window, buried=size < 500),
        kinds=legend.kinds,
        symbols=legend.symbols,
        window=window,
        prefix=prefix,
        size=(size, size),
        cut=section.cut.points if section is not None else (),
        cut_name=trace.cut,
        marks=device_marks(trace.devices, window),
    )


def plan_patches(
    plan: Plan,
    legend: Legend,
    window: Box,
    *,
    buried: bool = True,
    keys: Mapping[Column, str] | None = None,
) -> tuple[Patch, ...]:
    """Uppermost material of each place of a window, and the outlines of conductors under other films.

    Where more windows of a divided plan than :data:`MANY` lie in it, each is drawn once for all its places, without what is buried.
    """
    if plan.divided and len(_in_sight(plan, window)) > MANY:
        return _many_patches(plan, window)
    near = plan.within(*window)
    tops = [
        Patch(
            shape=cell.region,
            material=cell.column.top.material,
            key=keys[cell.column] if keys else "",
            words=_stack_in_words(cell.column, legend) if keys else "",
        )
        for cell in near
    ]
    below: dict[tuple[str, str], list[Region]] = {}
    for cell in near if buried else ():
        layers = cell.column.layers
        for layer, cover in pairwise(layers[1:]):
            kinds = (legend.kinds.get(layer.material), legend.kinds.get(cover.material))
            if kinds[0] == "conductor" != kinds[1]:
                below.setdefault((layer.film, layer.material), []).append(cell.region)
    tops += [
        Patch(shape=_joined(parts), material=material, buried=True) for (_, material), parts in below.items()
    ]
    return tuple(tops)


def _stack_in_words(column: Column, legend: Legend) -> str:
    signs = [legend.symbols.get(layer.material, layer.material) for layer in reversed(column.layers)]
    return " on ".join(signs)


def _joined(parts: Sequence[Region]) -> Region:
    whole = parts[0]
    for part in parts[1:]:
        whole = whole.union(part)
    return whole


def _in_sight(plan: Plan, window: Box) -> list[tuple[int, int]]:
    """Part and place of every window of a plan that reaches into a window of the picture."""
    boxes, (x0, y0, x1, y1) = plan.places.boxes, window
    hit = (boxes[:, 0] < x1) & (boxes[:, 2] > x0) & (boxes[:, 1] < y1) & (boxes[:, 3] > y0)
    return list(
        dict.fromkeys(zip(plan.places.part[hit].tolist(), plan.places.place[hit].tolist(), strict=True))
    )


def _many_patches(plan: Plan, window: Box) -> tuple[Patch, ...]:
    """The field as a ground, and on it the cells of each part once, with the places where they lie."""
    whole = Region.box(*plan.die.bounds).clipped(*window)
    alone = len(plan.field) == 1
    patches = [
        Patch(shape=whole if alone else cell.region.clipped(*window), material=cell.column.top.material)
        for cell in plan.field
    ]
    ground = {plan.field[0].column} if alone else set()
    places: dict[int, list[tuple[float, float]]] = {}
    for number, place in _in_sight(plan, window):
        x, y = plan.parts[number].place.offsets[place].tolist()
        places.setdefault(number, []).append((x, y))
    for number, where in places.items():
        patches += [
            Patch(shape=cell.region, material=cell.column.top.material, places=tuple(where))
            for cell in plan.parts[number].core
            if cell.column not in ground
        ]
    return tuple(patches)


def device_marks(devices: Devices, window: Box, most: int = 8) -> tuple[Mark, ...]:
    """Names of the devices inside a window; none where there are too many to read."""
    x0, y0, x1, y1 = window
    inside = [d for d in devices.found if d.name and x0 < d.place[0] < x1 and y0 < d.place[1] < y1]
    if len(inside) > most:
        return ()
    lift = 0.12 * (y1 - y0)
    return tuple(Mark(x=d.place[0], y=min(d.place[1] + lift, y1 - 0.3 * lift), text=d.name) for d in inside)


def story_of(
    trace: Trace,
    findings: Sequence[Finding],
    legend: Legend,
    looks: Sequence[Look] = (),
    ends: Mapping[str, EndTrace] | None = None,
) -> Story:
    """The story of a walked flow with the findings on it; ``looks`` as in :func:`step_pictures`, ``ends`` by number of an etch."""
    keys = _keys(trace)
    pictures = step_pictures(trace, legend, looks, keys)
    plans = [trace.start.plan, *(state.wafer.plan for state in trace.states)]
    steps = tuple(
        _story_step(
            state,
            pair,
            tuple(f for f in findings if f.step == state.step.number),
            "" if now.parts is before.parts else what_changed(before, now, legend),
            _end(state, ends or {}, trace.flow.invented),
        )
        for state, pair, (before, now) in zip(trace.states, pictures, pairwise(plans), strict=True)
    )
    flow = trace.flow
    known = {state.step.number for state in trace.states}
    used = {layer.material for column in keys for layer in column.layers}
    return Story(
        title=flow.title,
        digest=flow.digest,
        because=flow.because,
        steps=steps,
        findings=tuple(f for f in findings if f.step not in known),
        invented=flow.invented,
        columns=_story_columns(trace, legend, keys, looks),
        kinds={material: legend.kinds.get(material, "insulator") for material in sorted(used)},
    )


def told_steps(trace: Trace, legend: Legend, pictures: Sequence[StepPictures] = ()) -> tuple[StoryStep, ...]:
    """The steps of a story alone, with the pictures that are given or with none, for pages that draw them elsewhere."""
    plans = [trace.start.plan, *(state.wafer.plan for state in trace.states)]
    drawn = pictures or [StepPictures(number=each.step.number, section="", plan="") for each in trace.states]
    return tuple(
        _story_step(state, pair, (), "" if now.parts is before.parts else what_changed(before, now, legend))
        for state, pair, (before, now) in zip(trace.states, drawn, pairwise(plans), strict=True)
    )


def _keys(trace: Trace) -> dict[Column, str]:
    """A short key for each different column near the cut, over all steps."""
    window = _window(trace)
    found: dict[Column, str] = {}
    for plan in (trace.start.plan, *(state.wafer.plan for state in trace.states)):
        for cell in plan.within(*window):
            found.setdefault(cell.column, f"c{len(found)}")
    return found


def _story_columns(
    trace: Trace, legend: Legend, keys: Mapping[Column, str], looks: Sequence[Look]
) -> tuple[StoryColumn, ...]:
    born: dict[str, str] = {}
    for state in trace.states:
        for action in state.actions:
            film = getattr(action, "film", "")
            if film:
                born.setdefault(film, state.step.number)
    colours = {seen.column: (seen.hex, seen.name) for look in looks for seen in look.seen}
    return tuple(
        StoryColumn(
            key=key,
            picture=column_svg(column, legend, prefix="col-", alone=False),
            layers=layers_told(column, legend, born),
            colour=colours.get(column, ("", ""))[0],
            colour_name=colours.get(column, ("", ""))[1],
        )
        for column, key in keys.items()
    )


def _end(state: State, ends: Mapping[str, EndTrace], invented: bool) -> str:
    found = ends.get(state.step.number)
    if found is None:
        return ""
    said = f"{state.step.title}: what is seen" + (" (invented example)" if invented else "")
    return end_trace_svg(found, title=said, prefix=f"e{state.step.number.replace('.', '-')}-")


def _story_step(
    state: State, pictures: StepPictures, findings: tuple[Finding, ...], changed: str, end: str = ""
) -> StoryStep:
    step = state.step
    caption = why(step)
    where = [step.tool, step.recipe or step.medium or step.method]
    return StoryStep(
        number=step.number,
        title=step.title,
        code=step.code,
        tool=", ".join(dict.fromkeys(w for w in where if w)),
        caption=caption,
        changed=changed,
        seconds=reading_time((step.title, caption, changed)),
        section=pictures.section,
        plan=pictures.plan,
        view=pictures.look,
        trace=end,
        settings=tuple(
            StorySetting(
                name=s.name,
                value=value_text(s),
                band=band_text(s),
                rests_on=s.evidence or str(s.source),
                because=s.because,
            )
            for s in state.settings
        ),
        look=state.look,
        warnings=(*state.warnings, *state.torn),
        cautions=state.safety.cautions,
        findings=findings,
        duration=duration_text(state.duration),
        line=step.line,
    )
