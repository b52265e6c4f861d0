"""The derivation of an etch: its end point, the over-etch that clears the worst place, and what that takes beside and beneath."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from filmwright.emulate.bath import rate_in_bath
from filmwright.emulate.context import Context
from filmwright.emulate.follows import between, chosen, follows
from filmwright.emulate.trace import EtchFigures
from filmwright.flow import Step
from filmwright.knowledge import Belief, Medium
from filmwright.process import (
    ETCH_END,
    ETCH_END_LOADED,
    ETCH_TIME,
    LOSS_BENEATH,
    SELECTIVITY,
    UNDERCUT_FOOT,
    UNDERCUT_TOP,
    WORST_LOSS_BENEATH,
    WORST_PLACE,
    Derivation,
    Input,
    Setting,
    etch_time,
    loss_below_worst,
    undercut_foot,
    undercut_top,
)
from filmwright.sources import Source
from filmwright.units import show
from filmwright.wafer import Plan

CONFIDENCE = 0.95
"""With which the worst place is cleared, one-sided."""

_QUANTILE = 1.645
"""Of the normal distribution at that confidence."""

_UPPER = 2.0
"""Standard deviations of the upper rate, as at the corners of the spread."""


@dataclass(frozen=True, kw_only=True)
class EtchDerived:
    """The time of an etch with its derivation.

    Attributes
    ----------
    figures : EtchFigures
    end, over, whole : Derivation
        Expected end point; over-etch that the worst place needs; both together.
    watched : bool
        Whether somebody sees the end.
    """

    figures: EtchFigures
    end: Derivation
    over: Derivation
    whole: Derivation
    watched: bool


def derived_etch(step: Step, ctx: Context, figures: EtchFigures, rate: Belief, slowed: float) -> EtchDerived:
    """The derivation of the time of an etch.

    Parameters
    ----------
    step : Step
    ctx : Context
    figures : EtchFigures
        Depth, rate and unevenness; the times are filled in.
    rate : Belief
        In this bath or plasma.
    slowed : float
        L, real time over that on a small chip.
    """
    depth = Input(
        symbol="d",
        name=f"{step.material}, thickest uncovered",
        value=figures.depth,
        unit="nm",
        std=figures.depth * film_doubt(step, ctx),
        source=Source(
            citation="the emulated wafer; spread of the rate by which it was put down", kind="plan"
        ),
    )
    inputs = {"depth": depth, "rate": Input.known("R", f"rate of {step.material}", rate)}
    law = ETCH_END
    if figures.loading:
        law = ETCH_END_LOADED
        inputs["slowed"] = _loading(step, ctx, figures, slowed)
    end = law.derive(lambda depth, rate, slowed=1.0: slowed * depth / rate, inputs, unit="s")
    watched = step.end is not None and step.end.rule == "end point"
    over = _over(step, ctx, figures, end, watched=watched)
    asked = step.end.extra if watched and step.end is not None else over.result or 0.0
    added = (
        chosen("OE", "over-etch", asked, "%", f"the plan, line {step.line}")
        if watched
        else between("OE", "over-etch", replace(over, std=0.0))
    )
    whole = ETCH_TIME.derive(
        lambda end, over: end * (1 + over), {"end": between("t", "end point", end), "over": added}, unit="s"
    )
    found = replace(
        figures, end=end.result or 0.0, end_std=end.std, total=whole.result or 0.0, needed=over.result or 0.0
    )
    return EtchDerived(figures=found, end=end, over=over, whole=whole, watched=watched)


def _loading(step: Step, ctx: Context, figures: EtchFigures, slowed: float) -> Input:
    k = ctx.facts.models["loading"][ctx.facts.medium(step.medium).name]
    return Input(
        symbol="L",
        name=f"loading, {figures.open_share:.0%} of the die open",
        value=slowed,
        unit="",
        std=k.std * figures.open_share,
        source=k.source,
        evidence=f"k = {k.value:g} of {step.medium}",
    )


def _over(step: Step, ctx: Context, figures: EtchFigures, end: Derivation, *, watched: bool) -> Derivation:
    """What the worst place needs: with an end that is seen, only its reading is in doubt, else film and rate are."""
    plasma = ctx.facts.medium(step.medium).kind == "plasma"
    reading = ctx.facts.models["end point"]["read by instrument" if plasma else "read by eye"]
    relative = end.std / end.result if end.result else 0.0
    doubt = (
        chosen("s", "reading of the end point, relative", reading.value, "%", str(reading.source))
        if watched
        else chosen("s", "film over rate, relative", relative, "%", "spread of the end point")
    )
    inputs = {
        "film": chosen(
            "u_d", "unevenness of the film", figures.film_uneven, "%", "the tool that put it down"
        ),
        "etch": chosen("u_R", "unevenness of the etch", figures.rate_uneven, "%", "the tool that etches"),
        "sure": chosen("z", f"{CONFIDENCE:.0%}, one-sided", _QUANTILE, "", "normal distribution"),
        "doubt": doubt,
    }
    notes = (
        ()
        if figures.film_uneven and figures.rate_uneven
        else ("an unevenness that nobody wrote down counts as none",)
    )
    return WORST_PLACE.derive(
        lambda film, etch, sure, doubt: (
            etch_time(1.0, 1.0, doubt, film, etch, CONFIDENCE).over_etch + 0 * sure
        ),
        inputs,
        unit="%",
        notes=notes,
    )


def film_doubt(step: Step, ctx: Context) -> float:
    """Relative standard deviation of the film that is etched, by the rate with which it was put down; 0 where it was measured."""
    for each in reversed(ctx.flow.steps[: _place(step, ctx)]):
        if each.material != step.material or each.kind not in {"deposit", "measure"}:
            continue
        if "thickness" in each.measured or "step height" in each.measured:
            return 0.0
        if each.kind == "deposit":
            kind = ctx.facts.method(each.method).settings
            known = ctx.believe(
                "growth per cycle" if "cycles" in kind else "deposition rate", each, material=each.material
            )
            return known.std / known.value if known is not None and known.value else 0.1
    return 0.0


def _place(step: Step, ctx: Context) -> int | None:
    return next((k for k, each in enumerate(ctx.flow.steps) if each is step), None)


def what_it_takes(
    step: Step, ctx: Context, medium: Medium, now: Plan, found: EtchDerived, beneath: Mapping[str, Belief]
) -> tuple[Setting, ...]:
    """Over-etch that is needed, loss beneath, undercut, selectivity, and the bath that it uses up.

    Parameters
    ----------
    beneath : mapping from material to Belief
        What the etch reaches besides its own film, with rates in this bath or plasma.
    """
    figures = found.figures
    if not figures.depth or not figures.end:
        return ()
    under = {lower for lower, _ in _reach(step, ctx, now) if lower}
    over = figures.total / figures.end - 1
    numbers = [follows(f"over-etch that clears the worst place at {CONFIDENCE:.0%}", found.over)]
    if found.watched:
        numbers.append(follows("whole etch", found.whole))
    for material, rate in beneath.items():
        numbers.append(follows(f"selectivity over {material}", _selectivity(material, rate, figures)))
        if material in under:
            numbers += _loss(material, rate, found, over)
    numbers += _undercut(step, medium, figures, over)
    return tuple(numbers)


def _loss(material: str, rate: Belief, found: EtchDerived, over: float) -> list[Setting]:
    figures = found.figures
    end = between("t", "end point", replace(found.end, std=0.0))
    typical = LOSS_BENEATH.derive(
        lambda over, end, rate: over * end * rate,
        {
            "over": chosen("OE", "over-etch", over, "%", "the plan" if found.watched else "computed"),
            "end": end,
            "rate": Input.known("R_b", f"rate of {material}", rate),
        },
        unit="nm",
    )
    upper = rate.value + _UPPER * rate.std
    worst = WORST_LOSS_BENEATH.derive(
        lambda whole, end, film, etch, upper: loss_below_worst(end, 1.0, upper, whole, film, etch),
        {
            "whole": chosen("t_all", "whole etch", figures.total, "s", "end point and over-etch"),
            "end": end,
            "film": chosen(
                "u_d", "unevenness of the film", figures.film_uneven, "%", "the tool that put it down"
            ),
            "etch": chosen("u_R", "unevenness of the etch", figures.rate_uneven, "%", "the tool that etches"),
            "upper": chosen(
                "R_u", f"upper rate of {material}", upper, rate.unit, "two standard deviations up"
            ),
        },
        unit="nm",
    )
    return [
        follows(f"loss of {material} beneath", typical),
        follows(f"loss of {material} beneath, worst place", worst),
    ]


def _selectivity(material: str, rate: Belief, figures: EtchFigures) -> Derivation:
    return SELECTIVITY.derive(
        lambda rate, other: rate / other,
        {
            "rate": chosen("R", "rate of the film", figures.rate, rate.unit, "as for the end point"),
            "other": Input.known("R_o", f"rate of {material}", rate),
        },
        unit="",
    )


def _undercut(step: Step, medium: Medium, figures: EtchFigures, over: float) -> list[Setting]:
    rate = medium.rate(step.material)
    if not rate.sideways:
        return []
    inputs = {
        "aspect": chosen(
            "a", "rate sideways over rate down", rate.sideways, "", rate.condition or "the medium"
        ),
        "depth": chosen("d", step.material, figures.depth, "nm", "the emulated wafer"),
        "over": chosen("OE", "over-etch", max(over, 0.0), "%", "the plan"),
    }
    return [
        follows(
            "undercut at the top",
            UNDERCUT_TOP.derive(
                lambda aspect, depth, over: undercut_top(depth, over, aspect), inputs, unit="nm"
            ),
        ),
        follows(
            "undercut at the foot",
            UNDERCUT_FOOT.derive(
                lambda aspect, depth, over: undercut_foot(depth, over, aspect), inputs, unit="nm"
            ),
        ),
    ]


def reached(step: Step, ctx: Context, medium: Medium, now: Plan) -> dict[str, Belief]:
    """What an etch takes besides its own film, uncovered or right beneath, with the rates in this bath or plasma."""
    found = {}
    for material in sorted(
        {name for pair in _reach(step, ctx, now) for name in pair if name} - medium.dissolves
    ):
        belief = ctx.believe("etch rate", step, material=material, medium=medium.name)
        if belief is not None and belief.value > 0:
            found[material] = rate_in_bath(step, ctx, medium, material, belief)
    return found


def _reach(step: Step, ctx: Context, now: Plan) -> set[tuple[str, str]]:
    """Pairs of what lies right beneath the film where it is open, and of what else is uncovered; empty for none."""
    pairs = set()
    for column in now.columns:
        if column.top.material != step.material:
            pairs.add(("", column.top.material))
            continue
        below = next(
            (each.material for each in reversed(column.layers) if each.material != step.material), ""
        )
        pairs.add((below if ctx.kinds.get(below) != "organic" else "", ""))
    return pairs


def in_one_glance(found: EtchDerived) -> str:
    """The time and what the worst place needs, for the sheet."""
    need = found.figures.needed
    end = found.end.band
    band = (
        f" ({show(end[0], 'time')} to {show(end[1], 'time')})"
        if end is not None and found.figures.end
        else ""
    )
    return f"end point expected at {show(found.figures.end, 'time')}{band}; the worst place needs {need:.0%} more"
