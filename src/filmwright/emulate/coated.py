"""Spin coating: the speed by the curve of this resist and bottle, what to dispense, the bead at the edge."""

from __future__ import annotations

import datetime
import math
from dataclasses import replace

from filmwright.emulate.context import Context, Planned, from_value
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Bottle, Calibration, Resist
from filmwright.process import (
    Input,
    Setting,
    SpinCurve,
    fitted_spin_curve,
    resist_laws,
    spin_speed,
    spin_thickness,
)
from filmwright.sources import Source
from filmwright.units import convert, show, to_si
from filmwright.wafer import Action, Coat, Plan

_LOW, _HIGH = 0.45, 1.0
"""Exponents between which spin curves of resists lie: outside them a point was misread, or the resist did not dry."""


def plan_coat(step: Step, ctx: Context, now: Plan) -> Planned:
    """Spin the resist to its thickness."""
    resist = ctx.facts.resist(step.resist)
    reference = resist.values["thickness at reference speed"]
    wanted = step.asked["thickness"].value if "thickness" in step.asked else reference.value
    curve, aged = aged_curve(resist, ctx, step)
    speed = _speed_setting(wanted, curve, resist, ctx, step)
    thickness = step.measured.get("thickness", wanted)
    relative = curve.thickness_at(speed.value or curve.speed)[1] / wanted
    std = 0.0 if "thickness" in step.measured else thickness * relative
    levelling = resist.values["levelling length"].value

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        depth = thickness + corner.film * std
        return (
            Coat(
                material=resist.material,
                film=f"{resist.material} ({step.told})",
                thickness=depth,
                levelling=levelling,
            ),
        )

    spin_time = resist.values.get("spin time")
    two = _under_layer(resist, ctx, step)
    rest = ctx.facts.models["wet resist"]["rest"]
    return Planned(
        settings=(
            *two,
            _dispensed(ctx),
            from_value("acceleration", ctx.facts.models["spinning"]["acceleration"]),
            speed,
            *([from_value("spin time", spin_time)] if spin_time is not None else []),
            from_value("rest before the bake", rest),
        ),
        time=spin_time.value if spin_time is not None else 0.0,
        actions=actions,
        hazards=("photoresist",),
        thickness=thickness,
        thickness_std=std,
        look=("one colour over the wafer, no comets, no striations", *_on_pieces(step, ctx, wanted)),
        warnings=_beyond(wanted, curve, resist),
        follows=(
            *([aged] if aged is not None else []),
            _at_speed(curve, speed, resist, ctx, step),
            edge_bead(ctx, step, wanted),
        ),
    )


def _beyond(wanted: float, curve: SpinCurve, resist: Resist) -> tuple[str, ...]:
    """Notes on a speed outside the range that was tried, or a curve that no resist has."""
    ends = [
        resist.values[f"{which} speed"].value
        for which in ("slowest", "fastest")
        if f"{which} speed" in resist.values
    ]
    notes = spin_speed(
        wanted, curve.thickness, curve.speed, curve.exponent, *(ends if len(ends) == 2 else ())
    ).notes
    if not _LOW <= curve.exponent <= _HIGH:
        notes += (
            f"the points of the spin curve fall with the power {curve.exponent:.2g} of the speed: look for one misread",
        )
    return notes


def _points(resist: Resist, ctx: Context, step: Step) -> dict[float, Calibration]:
    """The newest point of the lab at each speed."""
    points: dict[float, Calibration] = {}
    for each in sorted(ctx.lab.calibrations, key=lambda c: c.date):
        mine = (
            each.of == "resist thickness"
            and each.material == resist.material
            and each.tool in ("", step.tool)
        )
        if mine and each.setting and each.date <= ctx.on and not each.set_aside:
            points[each.setting] = each
    return points


def bottle_of(resist: Resist, ctx: Context) -> Bottle | None:
    """The bottle in use on the day: the one that was opened last."""
    opened = [each for each in ctx.lab.bottles if each.resist == resist.name and each.opened <= ctx.on]
    return max(opened, key=lambda each: each.opened, default=None)


def days_between(first: str, second: str) -> int:
    """Days from one ISO date to another, 0 where the second is the earlier."""
    return max((datetime.date.fromisoformat(second) - datetime.date.fromisoformat(first)).days, 0)


def spin_curve(resist: Resist, ctx: Context, step: Step) -> SpinCurve:
    """The curve through the lab's own points of this resist, each widened by the age of the bottle since; else the book's point."""
    exponent = resist.values["spin exponent"]
    drift = ctx.facts.drifts["resist thickness"].value
    points, bottle = _points(resist, ctx, step), bottle_of(resist, ctx)
    scatter = ctx.facts.models["bottle of resist"]["lot scatter"].value
    if not points:
        known, speed = resist.values["thickness at reference speed"], resist.values["reference speed"].value
        return fitted_spin_curve(
            [speed], [known.value], [known.std / known.value], exponent.value, exponent.std
        )
    spreads = [
        math.hypot(
            c.std / c.value,
            drift * math.sqrt(days_between(c.date, ctx.on)),
            scatter if bottle is not None and c.date < bottle.opened else 0.0,
        )
        for c in points.values()
    ]
    return fitted_spin_curve(
        list(points), [c.value for c in points.values()], spreads, exponent.value, exponent.std
    )


def aged_curve(resist: Resist, ctx: Context, step: Step) -> tuple[SpinCurve, Setting | None]:
    """The curve as the bottle gives it today, and how it aged; without a bottle on file, the curve as it was read."""
    curve, bottle = spin_curve(resist, ctx, step), bottle_of(resist, ctx)
    if bottle is None:
        return curve, None
    read = [c.date for c in _points(resist, ctx, step).values() if c.date >= bottle.opened]
    since = max(read, default=bottle.opened)
    age = to_si(days_between(since, ctx.on), "day")
    rate = ctx.facts.models["bottle of resist"]["thickening"]
    because = "since this bottle was last read" if read else "since this bottle was opened"
    mean = curve.thickness_at(curve.speed)
    source = Source(citation=f"{'points of the lab' if read else 'another bottle, or the book'}", kind="lab")
    derived = resist_laws.BOTTLE_AGE.derive(
        lambda then, rate, age: then * (1 + rate * convert(age, "day")),
        {
            "then": Input(
                symbol="d_m", name="thickness as read", value=mean[0], unit="um", source=source, std=mean[1]
            ),
            "rate": Input.known("a", "thickening a day", rate),
            "age": chosen(
                "t", because, age, "day", f"bottle {bottle.label or 'in use'}, lab file line {bottle.line}"
            ),
        },
        unit="um",
        notes=(f"at {show(curve.speed, 'speed')}, opened on {bottle.opened}",)
        + (() if read else ("no thickness was read from this bottle yet: coat a dummy",)),
    )
    grown = (derived.result or mean[0]) / mean[0]
    std = (derived.std / (derived.result or 1.0)) ** 2
    changed = replace(
        curve,
        thickness=curve.thickness * grown,
        variances=(max(std, curve.variances[0]), *curve.variances[1:]),
    )
    return changed, follows("thickness by the age of the bottle", derived)


def _known_point(curve: SpinCurve, resist: Resist, ctx: Context, step: Step) -> tuple[Input, Source, str]:
    """The middle of the curve as an input, with what it rests on."""
    points = _points(resist, ctx, step)
    if points:
        newest = max(points.values(), key=lambda point: point.date)
        several = "" if len(points) == 1 else f" and {len(points) - 1} more speeds"
        source = Source(
            citation=newest.by or "the lab file", kind=newest.kind, where=newest.tool, date=newest.date
        )
        evidence = f"{newest.evidence or 'calibration'} of {newest.date}{several}"
    else:
        value = resist.values["thickness at reference speed"]
        source, evidence = value.source, str(value.source)
    _, std = curve.thickness_at(curve.speed)
    given = Input(
        symbol="d_0",
        name="thickness there",
        value=curve.thickness,
        unit="um",
        source=source,
        std=std,
        evidence=evidence,
    )
    return given, source, evidence


def _slope(curve: SpinCurve, resist: Resist, source: Source) -> Input:
    usual, measured = resist.values["spin exponent"], curve.fastest > curve.slowest
    return Input(
        symbol="n",
        name="exponent, fitted with the usual one" if measured else "exponent, of one point: as usual",
        value=curve.exponent,
        unit="",
        source=source if measured else usual.source,
        std=math.sqrt(curve.variances[1]),
    )


def _fit_notes(curve: SpinCurve, speed: float, resist: Resist, ctx: Context, step: Step) -> tuple[str, ...]:
    """Each point with what the curve says there, and whether the speed lies beyond them."""
    points = _points(resist, ctx, step)
    notes = [
        f"point {show(at, 'speed')}: {show(c.value, 'length')} of {c.date}, curve {show(curve.thickness_at(at)[0], 'length')}"
        for at, c in sorted(points.items())
    ]
    if len(points) == 1:
        notes.append(
            "one point: the exponent is the usual one with its spread; read a second speed to know it"
        )
    if curve.fastest > curve.slowest and curve.beyond(speed):
        ends = f"{show(curve.slowest, 'speed')} to {show(curve.fastest, 'speed')}"
        notes.append(f"extrapolated beyond the {ends} that were measured")
    return tuple(notes)


def _speed_setting(wanted: float, curve: SpinCurve, resist: Resist, ctx: Context, step: Step) -> Setting:
    known, source, evidence = _known_point(curve, resist, ctx, step)
    speed, spread = curve.speed_for(wanted)
    derived = resist_laws.SPIN_CURVE.derive(
        lambda thickness, known, exponent, reference: reference * (known / thickness) ** (1 / exponent),
        {
            "thickness": chosen(
                "d", "thickness that is wanted", wanted, "um", "the plan, else the usual one of the resist"
            ),
            "known": known,
            "exponent": _slope(curve, resist, source),
            "reference": chosen(
                "ω_0", "middle of the points", curve.speed, "rpm", "weighted geometric mean of their speeds"
            ),
        },
        unit="rpm",
        notes=_fit_notes(curve, speed, resist, ctx, step),
    )
    return replace(Setting.by_law("spin speed", derived, source, evidence), spread=spread)


def _at_speed(curve: SpinCurve, setting: Setting, resist: Resist, ctx: Context, step: Step) -> Setting:
    """What the curve gives at the speed of the setting, with its band."""
    known, source, _ = _known_point(curve, resist, ctx, step)
    speed = setting.value or curve.speed
    derived = resist_laws.THICKNESS_AT_SPEED.derive(
        lambda known, exponent, reference, speed: spin_thickness(speed, known, reference, exponent),
        {
            "known": known,
            "exponent": _slope(curve, resist, source),
            "reference": chosen("ω_0", "middle of the points", curve.speed, "rpm", "as above"),
            "speed": chosen("ω", "speed", speed, "rpm", "the setting"),
        },
        unit="um",
    )
    return follows("resist at this speed", derived)


def _dispensed(ctx: Context) -> Setting:
    derived = resist_laws.DISPENSED.derive(
        lambda per, size: per * size,
        {
            "per": Input.known("v", "for each length of diameter", ctx.facts.models["spinning"]["dispensed"]),
            "size": chosen("D", "wafer", ctx.flow.body.diameter, "mm", "the plan"),
        },
        unit="mL",
    )
    return Setting.by_law("resist to dispense", derived, ctx.facts.models["spinning"]["dispensed"].source)


def _under_layer(resist: Resist, ctx: Context, step: Step) -> tuple[Setting, ...]:
    """Coat and bake of the lower layer, before the upper one is spun; nothing for a resist of one layer."""
    if "under-layer thickness" not in resist.values:
        return ()
    lower = ctx.facts.resist("lift-off under-layer 0.4 µm")
    wanted = resist.values["under-layer thickness"]
    curve, _ = aged_curve(lower, ctx, step)
    speed = replace(_speed_setting(wanted.value, curve, lower, ctx, step), name="spin speed, lower layer")
    return (
        speed,
        from_value(
            "bake of the lower layer", resist.values["underlayer bake temperature"], "sets the undercut"
        ),
        from_value("bake time of the lower layer", resist.values["underlayer bake time"]),
    )


def piece(ctx: Context, step: Step) -> bool:
    """Whether what is coated has corners."""
    return ctx.flow.body.piece or bool(step.witness)


def edge_bead(ctx: Context, step: Step, thickness: float) -> Setting:
    """How high the bead stands at the edge; as high as the film where it is taken off."""
    where = "on a piece" if piece(ctx, step) else "on a wafer"
    film = chosen("d", "film", thickness, "um", "as wanted")
    if step.bead_removed:
        source = Source(citation="the plan takes the bead off", kind="plan", where=f"line {step.line}")
        ratio = Input(symbol="b", name="bead over film, taken off", value=1.0, unit="", source=source)
    else:
        ratio = Input.known("b", f"bead over film, {where}", ctx.facts.models["edge bead"][where])
    reach = ctx.facts.models["edge bead"]["reach"]
    notes = () if step.bead_removed else (f"reaches in by about {show(reach.value, 'length')}",)
    return follows(
        "bead at the edge",
        resist_laws.EDGE_BEAD.derive(
            lambda ratio, film: ratio * film, {"ratio": ratio, "film": film}, unit="um", notes=notes
        ),
    )


def coat_of(step: Step, ctx: Context) -> Step:
    """The last coat before a step of the same lithography, so that rework has its own; the step itself where there is none."""
    steps = ctx.flow.steps
    here = next((place for place, each in enumerate(steps) if each is step), len(steps) - 1)
    coats = [each for each in steps[: here + 1] if each.kind == "coat" and each.name == step.name]
    return coats[-1] if coats else step


def resist_on(now: Plan, resist: Resist, step: Step, ctx: Context) -> Input | None:
    """The resist that lies on the wafer, with the spread of its spin curve; None where there is none."""
    depths = [
        layer.thickness
        for column in now.columns
        for layer in column.layers
        if layer.material == resist.material
    ]
    if not depths:
        return None
    coat = coat_of(step, ctx)
    curve, _ = aged_curve(resist, ctx, coat)
    # Over a step the resist is thinner, in a trench thicker: the field counts, where most of the columns agree.
    depth = sorted(depths)[len(depths) // 2]
    known, source, evidence = _known_point(curve, resist, ctx, coat)
    return Input(
        symbol="d",
        name="resist",
        value=depth,
        unit="um",
        source=source,
        std=depth * known.std / known.value,
        evidence=evidence,
    )


def _on_pieces(step: Step, ctx: Context, thickness: float) -> tuple[str, ...]:
    if step.bead_removed or not piece(ctx, step):
        return ()
    ratio = ctx.facts.models["edge bead"]["on a piece"].value
    bead = show(ratio * thickness, "length")
    who = f"on {', '.join(step.witness)}, a piece" if step.witness else "on a piece"
    return (f"{who}: bead of about {bead} at the edges, take it off before contact",)
