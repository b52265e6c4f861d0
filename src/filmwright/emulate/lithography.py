"""A lithography: prepare, coat, bake, expose, develop. Only coat and develop change what lies on the wafer."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import replace

from filmwright.emulate.context import (
    Context,
    Planned,
    acted,
    asked_settings,
    by_plan,
    from_value,
    in_words,
    nothing,
)
from filmwright.emulate.exposed import developed, exposed
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.plate import plate_setting
from filmwright.emulate.rates import removal
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Calibration, Resist
from filmwright.process import (
    EDGE_BEAD,
    RECIPROCITY,
    SPIN_CURVE,
    Input,
    Setting,
    SpinCurve,
    exposure_time,
    fitted_spin_curve,
    spin_speed,
)
from filmwright.sources import Source
from filmwright.units import show
from filmwright.wafer import Action, Coat, Heat, Plan, Print


def plan_dehydrate(step: Step, ctx: Context, now: Plan) -> Planned:
    """Drive water off before priming."""
    return _baked(step, ctx, ctx.facts.resist(step.resist), "dehydration")


def plan_bake(step: Step, ctx: Context, now: Plan) -> Planned:
    """Drive the solvent out of the resist."""
    return _baked(step, ctx, ctx.facts.resist(step.resist), "softbake")


def plan_reversal_bake(step: Step, ctx: Context, now: Plan) -> Planned:
    """Cross-link what was exposed."""
    return _baked(step, ctx, ctx.facts.resist(step.resist), "reversal bake")


def _baked(step: Step, ctx: Context, resist: Resist, which: str) -> Planned:
    temperature, time = resist.values[f"{which} temperature"], resist.values[f"{which} time"]
    hot = acted(step, "temperature", temperature.value)
    long = acted(step, "time", time.value)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        return (Heat(temperature=hot, time=long, atmosphere="air"),)

    at_wafer = from_value("temperature", temperature)
    plate = plate_setting(step, ctx, at_wafer)
    return Planned(
        settings=(at_wafer, *plate, from_value("time", time)),
        time=time.value,
        actions=actions,
        hazards=("hot plate",),
        warnings=tuple(note for each in plate if each.derived is not None for note in each.derived.notes),
    )


def plan_prime(step: Step, ctx: Context, now: Plan) -> Planned:
    """Make the surface take resist."""
    source = Source(citation="hexamethyldisilazane vapour priming", kind="common practice")
    return Planned(
        settings=(in_words("primer", "vapour, until the oven's own cycle ends", source),),
        time=0.0,
        actions=nothing,
        hazards=("adhesion promoter",),
        look=("water beads on the surface",),
    )


def plan_coat(step: Step, ctx: Context, now: Plan) -> Planned:
    """Spin the resist to its thickness."""
    resist = ctx.facts.resist(step.resist)
    reference = resist.values["thickness at reference speed"]
    wanted = step.asked["thickness"].value if "thickness" in step.asked else reference.value
    known = _curve_point(resist, ctx, step)
    ends = [
        resist.values[f"{which} speed"].value
        for which in ("slowest", "fastest")
        if f"{which} speed" in resist.values
    ]
    curve = spin_curve(resist, ctx, step)
    warnings = spin_speed(
        wanted, curve.thickness, curve.speed, curve.exponent, *(ends if len(ends) == 2 else ())
    ).notes
    setting = _speed_setting(wanted, curve, known, resist)
    thickness = step.measured.get("thickness", wanted)
    relative = curve.thickness_at(setting.value or curve.speed)[1] / wanted
    std = 0.0 if "thickness" in step.measured else thickness * relative
    levelling = resist.values["levelling length"].value

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        depth = thickness + corner.film * std
        return (
            Coat(
                material=resist.material,
                film=f"{resist.material} ({step.number})",
                thickness=depth,
                levelling=levelling,
            ),
        )

    return Planned(
        settings=(
            setting,
            *(
                from_value("spin time", resist.values["spin time"])
                for _ in range("spin time" in resist.values)
            ),
        ),
        time=resist.values["spin time"].value if "spin time" in resist.values else 0.0,
        actions=actions,
        hazards=("photoresist",),
        thickness=thickness,
        thickness_std=std,
        look=("one colour over the wafer, no comets, no striations", *_on_pieces(step, ctx, wanted)),
        warnings=warnings,
        follows=(_bead(ctx, wanted, "on a piece" if step.witness else "on a wafer"),),
    )


def spin_curve(resist: Resist, ctx: Context, step: Step) -> SpinCurve:
    """The curve through the lab's own points of this resist, each widened by the age of the bottle since; else the book's point."""
    exponent = resist.values["spin exponent"]
    drift, today = ctx.facts.drifts["resist thickness"].value, datetime.date.fromisoformat(ctx.on)
    points: dict[float, Calibration] = {}
    for each in sorted(ctx.lab.calibrations, key=lambda c: c.date):
        mine = (
            each.of == "resist thickness"
            and each.material == resist.material
            and each.tool in ("", step.tool)
        )
        if mine and each.setting and each.date <= ctx.on:
            points[each.setting] = each
    if not points:
        known, speed = resist.values["thickness at reference speed"], resist.values["reference speed"].value
        return fitted_spin_curve(
            [speed], [known.value], [known.std / known.value], exponent.value, exponent.std
        )
    ages = {s: (today - datetime.date.fromisoformat(c.date)).days for s, c in points.items()}
    spreads = [math.hypot(c.std / c.value, drift * math.sqrt(ages[s])) for s, c in points.items()]
    return fitted_spin_curve(
        list(points), [c.value for c in points.values()], spreads, exponent.value, exponent.std
    )


def _speed_setting(
    wanted: float, curve: SpinCurve, known: tuple[float, float, float, Source, str], resist: Resist
) -> Setting:
    _, std = curve.thickness_at(curve.speed)
    usual = resist.values["spin exponent"]
    asked = chosen(
        "d", "thickness that is wanted", wanted, "um", "the plan, else the usual one of the resist"
    )
    speed, spread = curve.speed_for(wanted)
    notes = (
        f"extrapolated beyond the {show(curve.slowest, 'speed')} to {show(curve.fastest, 'speed')} that were measured",
    )
    measured = curve.fastest > curve.slowest
    derived = SPIN_CURVE.derive(
        lambda thickness, known, exponent, reference: reference * (known / thickness) ** (1 / exponent),
        {
            "thickness": asked,
            "known": Input(
                symbol="d_0",
                name="thickness there",
                value=curve.thickness,
                unit="um",
                source=known[3],
                std=std,
                evidence=known[4],
            ),
            "exponent": Input(
                symbol="n",
                name="exponent, fitted" if measured else "exponent",
                value=curve.exponent,
                unit="",
                source=known[3] if measured else usual.source,
                std=math.sqrt(curve.variances[1]),
            ),
            "reference": chosen(
                "ω_0", "middle of the points", curve.speed, "rpm", "weighted geometric mean of their speeds"
            ),
        },
        unit="rpm",
        notes=notes if measured and curve.beyond(speed) else (),
    )
    return replace(Setting.by_law("spin speed", derived, known[3], known[4]), spread=spread)


def _bead(ctx: Context, thickness: float, where: str) -> Setting:
    """How high the bead stands at the edge."""
    ratio = Input.known("b", f"bead over film, {where}", ctx.facts.models["edge bead"][where])
    film = chosen("d", "film", thickness, "um", "as wanted")
    return follows(
        "bead at the edge",
        EDGE_BEAD.derive(lambda ratio, film: ratio * film, {"ratio": ratio, "film": film}, unit="um"),
    )


def _on_pieces(step: Step, ctx: Context, thickness: float) -> tuple[str, ...]:
    if not step.witness:
        return ()
    ratio = ctx.facts.models["edge bead"]["on a piece"].value
    bead = show(ratio * thickness, "length")
    return (
        f"on {', '.join(step.witness)}, a piece: bead of about {bead} at the edges, take it off before contact",
    )


def _curve_point(resist: Resist, ctx: Context, step: Step) -> tuple[float, float, float, Source, str]:
    """Thickness, speed, spread, source and evidence of the point through which the spin curve is drawn."""
    reference, speed = resist.values["thickness at reference speed"], resist.values["reference speed"]
    belief = ctx.believe("resist thickness", step, material=resist.material)
    points = [
        c
        for c in ctx.lab.calibrations
        if c.of == "resist thickness" and c.material == resist.material and c.setting
    ]
    if belief is not None and points:
        newest = max(points, key=lambda point: point.date)
        return newest.value, newest.setting or speed.value, belief.std, belief.source, belief.evidence
    return reference.value, speed.value, reference.std, reference.source, str(reference.source)


def plan_expose(step: Step, ctx: Context, now: Plan) -> Planned:
    """Dose = today's lamp reading × time."""
    resist = ctx.facts.resist(step.resist)
    dose, dose_std, dose_setting = _dose(step, ctx, resist)
    also = exposed(step, ctx, resist, dose_setting, _resist_on(now, resist, step, ctx))
    lamp = ctx.believe("lamp intensity", step)
    if lamp is None:
        source = Source(citation="no lamp reading on file", kind="plan", where=f"line {step.line}")
        setting = in_words("time", f"read the lamp, then {show(dose, 'dose')} / intensity", source)
        return Planned(
            settings=(dose_setting, setting),
            time=0.0,
            actions=nothing,
            hazards=("ultraviolet exposure",),
            look=also.look,
            follows=also.numbers,
            warnings=("no lamp intensity on file: read the lamp today",),
        )
    derived = RECIPROCITY.derive(
        lambda dose, intensity: exposure_time(dose, intensity)[0],
        {
            "dose": Input(
                symbol="D",
                name="dose",
                value=dose,
                unit=dose_setting.unit,
                source=dose_setting.source,
                std=dose_std,
                evidence=dose_setting.evidence,
            ),
            "intensity": Input.known("I", "lamp at the wafer", lamp),
        },
        unit="s",
    )
    return Planned(
        settings=(
            dose_setting,
            Setting(
                name="lamp intensity",
                value=lamp.value,
                unit="mW/cm^2",
                spread=lamp.std,
                source=lamp.source,
                evidence=lamp.evidence,
                because="read it today and recompute the time",
            ),
            Setting.by_law("time", derived, lamp.source, lamp.evidence),
        ),
        time=derived.result or 0.0,
        actions=nothing,
        hazards=("ultraviolet exposure",),
        rate=lamp,
        look=also.look,
        follows=also.numbers,
    )


def _resist_on(now: Plan, resist: Resist, step: Step, ctx: Context) -> Input | None:
    """The resist that lies on the wafer, with the spread of its spin curve; None where there is none."""
    depths = [
        layer.thickness
        for column in now.columns
        for layer in column.layers
        if layer.material == resist.material
    ]
    if not depths:
        return None
    known = _curve_point(resist, ctx, step)
    # Over a step the resist is thinner, in a trench thicker: the field counts, where most of the columns agree.
    depth = sorted(depths)[len(depths) // 2]
    return Input(
        symbol="d",
        name="resist",
        value=depth,
        unit="um",
        source=known[3],
        std=depth * known[2] / known[0],
        evidence=known[4],
    )


def _dose(step: Step, ctx: Context, resist: Resist) -> tuple[float, float, Setting]:
    if "dose" in step.asked:
        quantity = step.asked["dose"]
        return quantity.value, quantity.spread or 0.0, by_plan(step, "dose", quantity)
    belief = ctx.believe("clearing dose", step, material=resist.material)
    if belief is not None:
        setting = Setting(
            name="dose",
            value=belief.value,
            unit=belief.unit,
            spread=belief.std,
            source=belief.source,
            evidence=belief.evidence,
        )
        return belief.value, belief.std, setting
    value = resist.values["dose"]
    return value.value, value.std, replace(from_value("dose", value), spread=value.std)


def plan_flood(step: Step, ctx: Context, now: Plan) -> Planned:
    """Expose everything without a mask, so that what was not exposed before dissolves."""
    resist = ctx.facts.resist(step.resist)
    return Planned(
        settings=(from_value("dose", resist.values["flood dose"]),),
        time=0.0,
        actions=nothing,
        hazards=("ultraviolet exposure",),
    )


def plan_develop(step: Step, ctx: Context, now: Plan) -> Planned:
    """What the exposure left remains; the developer then touches what it uncovered."""
    resist = ctx.facts.resist(step.resist)
    medium = ctx.facts.medium(step.medium)
    value = resist.values["develop time"]
    asked = step.asked.get("develop time")
    setting = by_plan(step, "time", asked) if asked else from_value("time", value)
    time = acted(step, "time", asked.value if asked else value.value)
    bias = ctx.believe("print bias", step, material=resist.material)
    edge = step.measured.get("print bias", bias.value if bias else resist.values["print bias"].value)
    keep = ctx.remaining.get((step.mask, resist.tone))
    undercut, lower, toe = (
        resist.values[name].value if name in resist.values else 0.0
        for name in ("lift-off undercut", "under-layer thickness", "toe length")
    )

    also = developed(
        resist,
        ctx,
        Input(
            symbol="t",
            name="time in the developer",
            value=setting.value or time,
            unit=setting.unit,
            source=setting.source,
        ),
        _dose_before(step, ctx, resist),
        _resist_on(now, resist, step, ctx),
    )

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        found: list[Action] = []
        if keep is not None:
            found.append(
                Print(
                    material=resist.material,
                    keep=keep,
                    # The upper edge prints; the foot of a lift-off profile lies behind it.
                    bias=edge - undercut,
                    side_wall_angle=resist.values["side wall angle"].value,
                    undercut=undercut,
                    under_layer=lower,
                    foot=toe,
                )
            )
        return (*found, *removal(medium, step, ctx, there, corner, time, spare=frozenset({resist.material})))

    return Planned(
        settings=(setting, in_words("developer", medium.name, setting.source)),
        time=time,
        actions=actions,
        hazards=(medium.hazard,) if medium.hazard else (),
        medium=medium,
        follows=also.numbers,
        look=(f"{step.mask} pattern sharp; clear places show the colour of the film beneath all over",),
    )


def _dose_before(step: Step, ctx: Context, resist: Resist) -> Setting | None:
    """The dose of the exposure that belongs to a development."""
    steps = [each for each in ctx.flow.steps if each.kind == "expose" and each.name == step.name]
    return _dose(steps[-1], ctx, resist)[2] if steps else None


def plan_inspect(step: Step, ctx: Context, now: Plan) -> Planned:
    """Look before the irreversible step."""
    return Planned(
        settings=asked_settings(step), time=0.0, actions=nothing, look=(step.hold,) if step.hold else ()
    )


LITHOGRAPHY: dict[str, Callable[[Step, Context, Plan], Planned]] = {
    "dehydrate": plan_dehydrate,
    "prime": plan_prime,
    "coat": plan_coat,
    "bake": plan_bake,
    "expose": plan_expose,
    "reversal bake": plan_reversal_bake,
    "flood expose": plan_flood,
    "develop": plan_develop,
    "inspect": plan_inspect,
}
