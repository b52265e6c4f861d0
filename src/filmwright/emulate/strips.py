"""Strips, lift-offs, cleans, dips and rinses: how long they must be, and what they take beside what they are for."""

from __future__ import annotations

from filmwright.emulate.bath import rate_in_bath
from filmwright.emulate.context import Context, Planned, acted, asked_settings, by_plan, from_value
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.rates import dissolution, removal
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Belief, Book, Medium, usual_time
from filmwright.process import (
    LIFT_OFF_TIME,
    SKIN_AGAIN,
    SKIN_DIP,
    STRIP_TIME,
    Derivation,
    Input,
    Setting,
    regrown_after,
)
from filmwright.sources import Value
from filmwright.units import convert, show, to_si
from filmwright.wafer import Action, Column, Plan

_OXIDE = "silicon dioxide"

_IN_PLASMA = {"etch", "clean"}
_HEATED = {"dehydrate", "bake", "reversal bake", "post-exposure bake", "hard bake", "anneal"}

ULTRASOUND = (
    "ultrasound only where the films bear it: it tears bridged metal, but also lifts weak films and breaks thin wafers; "
    "gently, at the lowest power, and never to make up for a missing undercut"
)


def plan_strip(step: Step, ctx: Context, now: Plan) -> Planned:
    """A solvent or an ashing plasma takes the resist away; what lay on it floats off."""
    medium = ctx.facts.medium(step.medium)
    look = ["no resist and no residue at edges, in dark field"]
    needed = strip_time(step, ctx, medium, now)
    if medium.kind == "plasma":
        look.append("end of the ash: the pale glow of carbon monoxide fades; go on for as long again at most")
    own = needed if medium.kind == "plasma" else None
    told = (follows("time to take the resist off", needed),) if needed is not None and own is None else ()
    return _dissolve(step, ctx, now, tuple(look), own, told)


def plan_lift_off(step: Step, ctx: Context, now: Plan) -> Planned:
    """The resist dissolves; the film on it leaves with it."""
    return _dissolve(step, ctx, now, (step.hold, ULTRASOUND))


def plan_clean(step: Step, ctx: Context, now: Plan) -> Planned:
    """A bath that should take dirt only, or a dip that takes a native oxide."""
    medium = ctx.facts.medium(step.medium)
    bare = sorted(_bare_silicon(now) & set(ctx.facts.models["native oxide grows"]))
    if not bare or "hydrofluoric" not in medium.families:
        return _dissolve(step, ctx, now, ("no marks under grazing light",))
    look = (f"{', '.join(bare)} sheds the bath: dry at once where the oxide is gone",)
    return _dissolve(
        step, ctx, now, look, _skin_dip(step, ctx, medium, bare[0]), (_skin_again(ctx, bare[0]),)
    )


def plan_rinse(step: Step, ctx: Context, now: Plan) -> Planned:
    """Water, then dry."""
    return _dissolve(step, ctx, now, ("dry, no spots",))


def _dissolve(
    step: Step,
    ctx: Context,
    now: Plan,
    look: tuple[str, ...],
    needed: Derivation | None = None,
    told: tuple[Setting, ...] = (),
) -> Planned:
    """A medium that acts for the time of the plan, else for the one that a law gives, else for the usual one."""
    medium = ctx.facts.medium(step.medium)
    usual = usual_time(medium.kind)
    if "time" in step.asked:
        setting, planned = by_plan(step, "time", step.asked["time"]), step.asked["time"].value
        told = (*told, follows("time that it takes", needed)) if needed is not None else told
    elif needed is not None and needed.result:
        setting, planned = Setting.by_law("time", needed, needed.inputs[-2].source), needed.result
    else:
        setting, planned = from_value("time", usual), usual.value
    time = acted(step, "time", planned)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        tear = ctx.facts.models["lift-off"]["tear thickness"].value
        return (*dissolution(medium, there, tear), *removal(medium, step, ctx, there, corner, time))

    return Planned(
        settings=(setting, *asked_settings(step, "time")),
        time=planned,
        actions=actions,
        hazards=(medium.hazard,) if medium.hazard else (),
        medium=medium,
        look=tuple(each for each in look if each),
        follows=told,
    )


def strip_time(step: Step, ctx: Context, medium: Medium, now: Plan) -> Derivation | None:
    """How long the thickest resist takes in a stripper or an ash; None where nothing is on file.

    Resist that went through a plasma, or was baked hot, is slower by a factor on file; an ash eats its skin as fast as the rest.
    """
    resist = _thickest_resist(ctx, now)
    if resist is None:
        return None
    material, depth = resist
    rate = _strip_rate(step, ctx, medium, material)
    if rate is None or rate.value <= 0:
        return None
    strips = ctx.facts.models["strip"]
    hard = medium.kind != "plasma" and hardened_before(step, ctx)
    inputs = {
        "hard": Input.known("h", "resist hardened by a plasma or a hot bake", strips["hardened"])
        if hard
        else chosen("h", "resist as developed", 1.0, "", "no plasma and no hot bake since the coat"),
        "depth": chosen("d", f"{material}, thickest", depth, "nm", "the emulated wafer"),
        "rate": Input.known("R", f"rate of {material} in {medium.name}", rate),
        "margin": chosen("m", "margin", strips["margin"].value, "%", str(strips["margin"].source)),
    }
    return STRIP_TIME.derive(
        lambda hard, depth, rate, margin: hard * depth / rate * (1 + margin), inputs, unit="min"
    )


def _strip_rate(step: Step, ctx: Context, medium: Medium, material: str) -> Belief | Value | None:
    belief = ctx.believe("etch rate", step, material=material, medium=medium.name)
    if belief is not None and belief.value > 0:
        return rate_in_bath(step, ctx, medium, material, belief)
    return ctx.facts.models["dissolution of resist"].get(medium.name)


def _thickest_resist(ctx: Context, now: Plan) -> tuple[str, float] | None:
    found = [
        (layer.material, layer.thickness)
        for column in now.columns
        for layer in column.layers[1:]
        if ctx.kinds.get(layer.material) == "organic"
    ]
    return max(found, key=lambda each: each[1], default=None)


def hardened_before(step: Step, ctx: Context) -> bool:
    """Whether the resist's skin is hard at a step: since its coat something hardened it, and no oxygen plasma took the skin off."""
    hard = False
    for each in ctx.flow.steps[: next(k for k, s in enumerate(ctx.flow.steps) if s is step)]:
        hard = each.kind != "coat" and not ashes(each, ctx.facts) and (hard or bool(hardens(each, ctx.facts)))
    return hard


def hardens(step: Step, facts: Book) -> str:
    """What of a step hardens resist, in words; empty where nothing does.

    Ions and the ultraviolet light of a plasma do, and heat that cross-links it; an oxygen plasma takes the skin off as it grows.
    The short ultraviolet of a plasma is the only one that counts: a lamp of the lines that resists take has none.
    """
    if step.kind in _IN_PLASMA and facts.medium(step.medium).kind == "plasma":
        medium = facts.medium(step.medium)
        return "" if ashes(step, facts) or "plasma" not in medium.families else "plasma"
    if step.kind == "deposit" and "plasma" in facts.method(step.method).families:
        return "plasma"
    asked = step.asked.get("temperature")
    heat = step.done.get("temperature", asked.value if asked is not None else 0.0)
    return "heat" if step.kind in _HEATED and heat > facts.models["strip"]["hardens from"].value else ""


def ashes(step: Step, facts: Book) -> bool:
    """Whether a step is an oxygen plasma, which takes resist with its skin."""
    if step.kind not in {*_IN_PLASMA, "strip"}:
        return False
    return facts.medium(step.medium).families == {"oxygen", "plasma"}


def _bare_silicon(now: Plan) -> set[str]:
    return {column.top.material for column in now.columns}


def _skin_dip(step: Step, ctx: Context, medium: Medium, material: str) -> Derivation | None:
    """The time of a dip that takes the native oxide; None where the rate of oxide is not on file."""
    belief = ctx.believe("etch rate", step, material=_OXIDE, medium=medium.name)
    if belief is None or belief.value <= 0:
        return None
    rate = rate_in_bath(step, ctx, medium, _OXIDE, belief)
    margin = ctx.facts.models["native oxide told"]["margin"]
    inputs = {
        "depth": Input.known(
            "d", f"native oxide of {material}", ctx.facts.models["native oxide"]["thickness"]
        ),
        "rate": Input.known("R", f"rate of {_OXIDE} in {medium.name}", rate),
        "margin": chosen("m", "margin", margin.value, "%", str(margin.source)),
    }
    return SKIN_DIP.derive(lambda depth, rate, margin: depth / rate * (1 + margin), inputs, unit="s")


def _skin_again(ctx: Context, material: str) -> Setting:
    """Until so much native oxide is back that a contact feels it."""
    models = ctx.facts.models
    inputs = {
        "grows": Input.known("t_g", "until 63 % of it is back", models["native oxide grows"][material]),
        "depth": chosen("x", "oxide that a contact feels", models["native oxide told"]["thickness"].value, "nm",
                        str(models["native oxide told"]["thickness"].source)),
        "final": chosen("x_end", "where it stops", models["native oxide"]["thickness"].value, "nm",
                        str(models["native oxide"]["thickness"].source)),
    }  # fmt: skip
    derived = SKIN_AGAIN.derive(
        lambda grows, depth, final: regrown_after(depth, final, grows), inputs, unit="h"
    )
    return follows(f"native oxide of {material} felt again after", derived)


def lift_off_time(before: Plan, resists: frozenset[str], rate: Value) -> Derivation | None:
    """How long a lift-off takes from the edges, at least: the mean half width of the resist over the rate sideways.

    Parameters
    ----------
    before : Plan
        The die with resist and film.
    resists : frozenset of str
        What dissolves.
    rate : Value [m/s]

    Notes
    -----
    Area over border is half the width of a strip, and less than the way to the middle of a wide field.
    """
    covered = [cell.region for cell in before.once.cells if _holds(cell.column, resists)]
    border = sum(each.perimeter for each in covered)
    if not border:
        return None
    half = to_si(sum(each.area for each in covered) / border, "nm")
    inputs = {
        "half": chosen("w", "half width of the resist, area over border", half, "um", "the emulated die"),
        "rate": Input.known("v", "resist dissolved sideways under a film", rate),
    }
    return LIFT_OFF_TIME.derive(lambda half, rate: half / rate, inputs, unit="min")


def lift_off_in_words(derived: Derivation) -> str:
    """The time of a lift-off for the sheet."""
    band = derived.band
    far = f" ({show(band[0], 'time')} to {show(band[1], 'time')})" if band is not None else ""
    width = convert(derived.inputs[0].value, "um")
    least = show(derived.result or 0.0, "time")
    return f"from the edges the solvent takes at least {least}{far} under {width:.3g} µm of resist, longer under wide fields"


def _holds(column: Column, resists: frozenset[str]) -> bool:
    return any(layer.material in resists for layer in column.layers)
