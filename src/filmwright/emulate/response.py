"""A rate at the settings of a step, from the lab's own runs at others."""

from __future__ import annotations

from dataclasses import dataclass

from filmwright.emulate.context import Context
from filmwright.flow import Step
from filmwright.knowledge import Belief, ToolRun
from filmwright.process import HEAT, Response, Run, fit_response, response_at
from filmwright.sources import Source
from filmwright.units import convert, write


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """A rate that was fitted, and what must be said beside it.

    Attributes
    ----------
    rate : Belief
    notes : tuple of str
        One for each setting outside the runs.
    """

    rate: Belief
    notes: tuple[str, ...] = ()


def fitted_rate(step: Step, ctx: Context, known: Belief | None) -> Fitted | None:
    """The rate at the settings of the plan, where the lab has runs enough of this film on this tool.

    None where a recipe is named, whose own calibration goes first; where a setting that was turned is not in the plan; or where the
    runs do not tell the settings apart.
    """
    runs = [
        run
        for run in ctx.lab.runs
        if (run.tool, run.material) == (step.tool, step.material) and run.date <= ctx.on
    ]
    if step.recipe or not runs:
        return None
    asked = {name: quantity.value for name, quantity in step.asked.items()}
    try:
        response = fit_response(
            [Run(knobs=run.knobs, rate=run.rate, relative_std=run.std / run.rate) for run in runs]
        )
        if not response.exponents:
            return None
        rate, relative = response_at(response, asked)
    except ValueError:
        return None
    return Fitted(rate=_belief(runs, response, rate.value, relative, known), notes=rate.notes)


def _belief(
    runs: list[ToolRun], response: Response, rate: float, relative: float, known: Belief | None
) -> Belief:
    newest = max(runs, key=lambda run: run.date)
    told = ", ".join(
        f"activation energy {write(power, 'eV')}" if name == HEAT else f"{name}^{power:.2g}"
        for name, power in response.exponents.items()
    )
    other = (
        ()
        if known is None
        else (f"{write(known.value, known.unit)}, {known.evidence}: at settings that nobody wrote down",)
    )
    return Belief(
        value=rate,
        std=rate * relative,
        unit=newest.unit,
        source=Source(
            citation=f"response fitted to {len(runs)} runs of the lab",
            kind="invented" if newest.kind == "invented" else "fitted",
            where=newest.tool,
            date=newest.date,
        ),
        evidence=f"response fitted to {len(runs)} runs, the last of {newest.date}: rate ~ {told}; "
        f"scatter {convert(response.scatter, '%'):.2g} %",
        reason=f"the response of the tool to {', '.join(response.exponents)} over {len(runs)} runs",
        alternatives=other,
    )
