"""What follows from an exposure: resolution at the gap, dose latitude, bleaching, overlay; and from a development."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from filmwright.emulate.bow import bow_of
from filmwright.emulate.coated import coat_of, edge_bead
from filmwright.emulate.context import Context
from filmwright.emulate.follows import Followed, between, chosen, follows
from filmwright.flow import Flow, Step
from filmwright.knowledge import Lab, Medium, Resist, limits
from filmwright.process import (
    Input,
    Setting,
    dark_loss,
    edge_shift,
    overlay,
    resist_laws,
    run_out,
    shadow_print_width,
    standing_gap,
    turn_at_rim,
)
from filmwright.sources import Source
from filmwright.units import show
from filmwright.wafer import Plan

_BAND = 0.1
"""Change of the dose [1] for which the shift of the edges is told: that of a lamp read once a day and a film that swings."""


def of_limit(lab: Lab, symbol: str, name: str, limit: str) -> Input:
    """A limit as an input: the lab's own goes before the shipped one."""
    shipped = limits()[limit]
    if limit in lab.limits:
        source = Source(citation=f"limits of {lab.file or lab.name}", kind="lab")
        return Input(symbol=symbol, name=name, value=lab.limits[limit], unit=shipped.unit, source=source)
    return Input(symbol=symbol, name=name, value=shipped.value, unit=shipped.unit, source=shipped.source)


def exposed(step: Step, ctx: Context, now: Plan, thickness: Input | None) -> Followed:
    """What is worth knowing before the shutter opens.

    Parameters
    ----------
    step : Step
        An exposure.
    ctx : Context
    now : Plan
    thickness : Input or None
        Of the resist; None when none lies on the wafer.
    """
    numbers: list[Setting] = []
    if thickness is not None:
        gap = gap_left(step, ctx, now, thickness)
        numbers += [gap, *_image(ctx, ctx.facts.resist(step.resist), gap, thickness)]
    trees = overlays(step, ctx)
    numbers += [each for _, each in trees]
    if trees:
        numbers += _on_top(ctx)
    look = [f"overlay to {level}: {show(each.value or 0.0, 'length')} (1 σ)" for level, each in trees]
    if thickness is not None:
        look.append(
            f"finest line about {show(numbers[1].value or 0.0, 'length')} at a gap of {show(numbers[0].value or 0.0, 'length')}"
        )
    if not trees:
        look.append(
            "first level: nothing to align to; its flat along the plate's edge, its marks for all that follow"
        )
    return Followed(numbers=tuple(numbers), look=tuple(look))


def gap_left(step: Step, ctx: Context, now: Plan, thickness: Input) -> Setting:
    """Gap between plate and resist: as the plan says, as the lab's limit says, else what bead, bow and dust leave."""
    facts = ctx.facts.models["contact printing"]
    if "contact gap" in ctx.lab.limits and "gap" not in step.asked:
        known = of_limit(ctx.lab, "g", "gap of soft contact", "contact gap")
        return Setting(
            name="gap",
            value=known.value,
            unit=known.unit,
            source=known.source,
            evidence="limits of the lab file",
        )
    bead = between("h", "bead at the edge", edge_bead(ctx, coat_of(step, ctx), thickness.value).derivation)
    bow = replace(bow_of(ctx, now) or chosen("B", "bow, not known", 0.0, "um", "not on file"), symbol="B")
    asked = step.asked.get("gap")
    inputs = {
        "bead": bead,
        "film": replace(thickness, std=0.0),
        "bow": bow,
        "left": Input.known("s", "part of the bow that the chuck leaves", facts["bow left"]),
        "dust": Input.known("g_0", "waviness and dust", facts["dust"])
        if asked is None
        else chosen("g_0", "gap of the plan", asked.value, "um", "the plan"),
    }
    return follows("gap", resist_laws.GAP_LEFT.derive(standing_gap, inputs, unit="um"))


def _image(ctx: Context, resist: Resist, gap: Setting, thickness: Input) -> list[Setting]:
    longest = max(resist.lines, key=lambda line: ctx.facts.models["mercury lamp"][line].value)
    line = Input.known(
        "λ", f"longest line that the dose counts: {longest}", ctx.facts.models["mercury lamp"][longest]
    )
    left = between("g", "gap", gap.derivation)
    width = resist_laws.SHADOW_WIDTH.derive(
        lambda wavelength, gap, resist: shadow_print_width(wavelength, gap, resist),
        {"wavelength": line, "gap": left, "resist": thickness},
        unit="um",
    )
    change = chosen("ε", "relative change of the dose", _BAND, "%", "for each 10 % of the dose")
    shift = resist_laws.EDGE_SHIFT.derive(
        lambda dose_change, wavelength, gap, resist: edge_shift(dose_change, wavelength, gap, resist),
        {"dose_change": change, "wavelength": line, "gap": left, "resist": thickness},
        unit="um",
        notes=("each edge; the width of a line changes by twice that",),
    )
    return [follows("finest line", width), follows("shift of an edge for 10 % of dose", shift)]


def _on_top(ctx: Context) -> list[Setting]:
    """What the warmth of plate and wafer, and the turn of an alignment, bring at the rim."""
    plate, body = ctx.facts.models["mask plate"], ctx.facts.material(ctx.flow.body.material).values
    size = ctx.flow.body.diameter
    radius = chosen("R", "rim", size / 2, "mm", "the plan")
    one = of_limit(ctx.lab, "σ_1", "one alignment", "overlay")
    turn = resist_laws.TURN.derive(
        turn_at_rim,
        {
            "error": one,
            "distance": chosen(
                "L",
                "between the marks",
                plate["mark distance"].value * size,
                "mm",
                str(plate["mark distance"].source),
            ),
            "radius": radius,
        },
        unit="um",
    )
    found = [follows("turn at the rim", turn)]
    if "expansion" in body:
        apart = plate["temperature apart"]
        grown = resist_laws.RUN_OUT.derive(
            run_out,
            {
                "plate": Input.known("α_p", "expansion of the plate", plate["expansion"]),
                "wafer": Input.known("α_w", "expansion of the wafer", body["expansion"]),
                "apart": replace(Input.known("ΔT", "both warmer than at the level before", apart), std=0.0),
                "radius": radius,
            },
            unit="um",
            notes=("of either sign; the room's temperature and the warm-up of the lamp house set it",),
        )
        found.append(follows("run-out at the rim", grown))
    return found


def overlays(step: Step, ctx: Context) -> list[tuple[str, Setting]]:
    """Overlay of the level that is exposed to each level printed before it, through the alignment tree."""
    parents = alignment_parents(ctx.flow, step)
    one = of_limit(ctx.lab, "σ_1", "one alignment", "overlay")
    found = []
    for level in parents:
        if level == step.mask:
            continue
        count = alignments_between(parents, level, step.mask)
        number = chosen(
            "n", "alignments between the two levels", float(count), "", "counted along the alignment tree"
        )
        derived = resist_laws.ALIGNMENT_TREE.derive(
            lambda error, count: overlay([error] * round(count)), {"error": one, "count": number}, unit="um"
        )
        found.append((level, follows(f"overlay to {level}", derived)))
    return found


def alignment_parents(flow: Flow, last: Step | None = None) -> dict[str, str]:
    """Level → the level that it is aligned to (empty for the first), of all exposures up to one."""
    parents: dict[str, str] = {}
    for each in flow.steps:
        if each.kind == "expose" and each.mask not in parents:
            parents[each.mask] = each.aligned_to or next(iter(parents), "")
        if each is last:
            break
    return parents


def alignments_between(parents: Mapping[str, str], first: str, second: str) -> int:
    """Alignments on the way between two levels, each of which names the level that it is aligned to (empty for the first)."""

    def way(level: str) -> list[str]:
        names = [level]
        while parents.get(names[-1]) and parents[names[-1]] not in names:
            names.append(parents[names[-1]])
        return names

    one, other = way(first), way(second)
    meeting = next((name for name in one if name in other), None)
    if meeting is None:
        return len(one) + len(other)
    return one.index(meeting) + other.index(meeting)


def developed(resist: Resist, ctx: Context, step: Step, medium: Medium, now: Plan, time: Input) -> Followed:
    """What a development does besides clearing: to unexposed resist, to the films that it reaches, to a lower layer.

    Parameters
    ----------
    resist : Resist
    ctx : Context
    step : Step
    medium : Medium
        The developer.
    now : Plan
        Before the development.
    time : Input
        In the developer.
    """
    numbers: list[Setting] = []
    dark = resist.values.get("dark development rate")
    if dark is not None:
        rate = Input.known("R_min", "rate of resist that stays", dark)
        lost = resist_laws.DARK_LOSS.derive(
            lambda rate, time: dark_loss(rate, time), {"rate": rate, "time": time}, unit="nm"
        )
        numbers.append(follows("dark loss", lost))
    numbers += [*_taken(resist, ctx, step, medium, now, time), *_print_bias(resist, ctx, step)]
    if "aqueous" in medium.families or "alkaline" in medium.families:
        numbers += _warmer(ctx)
    look = f"not the usual developer of {resist.name}: its rates on file are those in {resist.developer}"
    return Followed(numbers=tuple(numbers), look=() if medium.name == resist.developer else (look,))


def _taken(resist: Resist, ctx: Context, step: Step, medium: Medium, now: Plan, time: Input) -> list[Setting]:
    """Most that the developer takes of each film right under the resist."""
    under = {
        column.layers[-2].material
        for column in now.columns
        if len(column.layers) > 2 and column.top.material == resist.material
    }
    found = []
    for film in sorted(under):
        known = ctx.believe("etch rate", step, material=film, medium=medium.name)
        if known is None or not known.value:
            continue
        rate = Input.known("R", f"{film} in {medium.name}", known)
        derived = resist_laws.DEVELOPER_TAKES.derive(
            lambda rate, time: rate * time, {"rate": rate, "time": time}, unit="nm"
        )
        found.append(follows(f"developer takes of {film}", derived))
    return found


def _print_bias(resist: Resist, ctx: Context, step: Step) -> list[Setting]:
    """What a line becomes, by the bias of each edge."""
    known = ctx.believe("print bias", step, material=resist.material)
    bias = Input.known("b", "bias of each edge", known if known is not None else resist.values["print bias"])
    line = resist_laws.PRINTED_LINE.derive(
        lambda bias: 2 * bias,
        {"bias": bias},
        unit="um",
        notes=("a space between lines loses what a line gains",),
    )
    return [follows("line less drawn", line)]


def _warmer(ctx: Context) -> list[Setting]:
    facts = ctx.facts.models["developer"]
    each = Input.known("p", "change of the rate for each kelvin", facts["per degree"])
    apart = chosen("ΔT", "bath off its temperature", 1.0, "kelvin", "for each kelvin")
    derived = resist_laws.DEVELOPER_WARMTH.derive(
        lambda per, apart: per * apart, {"per": each, "apart": apart}, unit="%"
    )
    return [follows("rate for each kelvin of the developer", derived)]
