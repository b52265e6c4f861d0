"""What the lab's own runs at other settings say of a film: its rate, its refractive index, its stress."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import chosen
from filmwright.flow import Step
from filmwright.knowledge import Belief, ToolRun
from filmwright.process import (
    HEAT,
    RUN_RESPONSE,
    Derivation,
    Input,
    Response,
    Run,
    fit_response,
    response_at,
)
from filmwright.sources import Source
from filmwright.units import convert, write

_SIGNED = {"stress"}
"""Results of either sign: they are fitted themselves, the others by their logarithm."""

_HEAVY = 2.0
"""A run decides too much by itself whose leverage is more than so many times the mean (Hoaglin and Welsch 1978)."""

_ALONE = 0.05
"""A run whose leverage comes so near to 1 decides alone."""

_LISTED = 12


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """A result that was fitted, and what must be said beside it.

    Attributes
    ----------
    belief : Belief
    derived : Derivation
        The response with its numbers put in.
    notes : tuple of str
        One for each setting outside the runs.
    """

    belief: Belief
    derived: Derivation
    notes: tuple[str, ...] = ()


def fitted(step: Step, ctx: Context, of: str, known: Belief | None = None) -> Fitted | None:
    """A result at the settings of the plan, where the lab has runs enough of this film on this tool.

    None where a recipe is named, whose own calibration goes first; where a setting that was turned is not in the plan; or where the
    runs do not tell the settings apart.

    Parameters
    ----------
    step : Step
    ctx : Context
    of : str
        ``deposition rate``, ``growth per cycle``, ``refractive index`` or ``stress``.
    known : Belief or None
        What would be believed without the runs.
    """
    runs = [
        run
        for run in ctx.lab.runs
        if (run.tool, run.material) == (step.tool, step.material) and run.date <= ctx.on and of in run.results
    ]
    if step.recipe or not runs:
        return None
    asked = {name: quantity.value for name, quantity in step.asked.items()} | dict(step.done)
    try:
        response = fit_response(
            [Run(knobs=run.knobs, value=run.results[of].value, std=run.results[of].std) for run in runs],
            signed=of in _SIGNED,
        )
        if not response.exponents:
            return None
        found, std = response_at(response, asked)
    except ValueError:
        return None
    std *= response.widening * (1.0 if response.signed else found.value)
    derived = _derived(step, of, runs, response, found.value, std)
    derived = replace(derived, notes=(*derived.notes, *found.notes))
    return Fitted(
        belief=_belief(of, runs, response, found.value, std, known), derived=derived, notes=found.notes
    )


def _belief(
    of: str, runs: list[ToolRun], response: Response, value: float, std: float, known: Belief | None
) -> Belief:
    newest = max(runs, key=lambda run: run.date)
    what = "rate" if of == "deposition rate" else of
    told = ", ".join(_turned(name, power, response.signed) for name, power in response.exponents.items())
    spread = f"{convert(response.scatter, '%'):.2g} %"
    if response.signed:
        spread = write(response.scatter, newest.results[of].unit)
    other = (
        ()
        if known is None
        else (f"{write(known.value, known.unit)}, {known.evidence}: at settings that nobody wrote down",)
    )
    return Belief(
        value=value,
        std=std,
        unit=newest.results[of].unit,
        source=_source(runs),
        evidence=f"response fitted to {len(runs)} runs, the last of {newest.date}: {what} ~ {told}; scatter {spread}",
        reason=f"the response of the tool to {', '.join(response.exponents)} over {len(runs)} runs",
        alternatives=other,
    )


def _turned(name: str, power: float, signed: bool) -> str:
    if name == HEAT:
        return f"{power:.2g} Pa per kelvin" if signed else f"activation energy {write(power, 'eV')}"
    return f"{power:.2g} Pa·ln({name})" if signed else f"{name}^{power:.2g}"


def _source(runs: list[ToolRun]) -> Source:
    newest = max(runs, key=lambda run: run.date)
    return Source(
        citation=f"response fitted to {len(runs)} runs of the lab",
        kind="invented" if newest.kind == "invented" else "fitted",
        where=newest.tool,
        date=newest.date,
    )


_UNIT = {"temperature": "kelvin", "power": "W", "pressure": "Pa", "gas flow": "sccm", "gas ratio": ""}
_SIGN = {"temperature": "T", "power": "P", "pressure": "p", "gas flow": "Q", "gas ratio": "r"}


def _derived(
    step: Step, of: str, runs: list[ToolRun], response: Response, value: float, std: float
) -> Derivation:
    """The response about the middle of its runs, with the settings of the plan put in."""
    unit = runs[-1].results[of].unit
    source = _source(runs)
    middle = {name: _middle(runs, name, response.signed) for name in response.exponents}
    at_middle = response_at(response, middle)[0].value
    terms, inputs = [], [_of_runs("y_m", f"{of} in the middle of the runs", at_middle, unit, source)]
    for k, (name, power) in enumerate(response.exponents.items()):
        sign = _SIGN.get(name, f"x{k}")
        asked = step.asked.get(name)
        here = step.done.get(name, asked.value if asked is not None else middle[name])
        inputs += [
            chosen(sign, name, here, _UNIT.get(name, ""), f"the plan, line {step.line}"),
            _of_runs(f"{sign}_m", f"{name}, middle of the runs", middle[name], _UNIT.get(name, ""), source),
            _factor(name, f"a_{sign}", power, math.sqrt(response.covariance[k + 1, k + 1]), response, source),
        ]
        terms.append(_written(name, sign, response.signed))
    plus = " + " if response.signed else "·"
    law = replace(RUN_RESPONSE, equation=f"y = y_m{plus}{plus.join(terms)}", source=source)
    return Derivation(
        law=law,
        inputs=tuple(inputs),
        result=value,
        unit=unit,
        std=std,
        notes=(*_about(runs, response),),
    )


def _of_runs(symbol: str, name: str, value: float, unit: str, source: Source) -> Input:
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=source)


def _middle(runs: list[ToolRun], name: str, signed: bool) -> float:
    values = [run.knobs[name] for run in runs]
    if name == HEAT:
        return sum(values) / len(values) if signed else len(values) / sum(1 / each for each in values)
    return math.exp(sum(map(math.log, values)) / len(values))


def _written(name: str, sign: str, signed: bool) -> str:
    if name == HEAT:
        return (
            f"a_{sign}·({sign} - {sign}_m)" if signed else f"exp(-a_{sign} / k·(1 / {sign} - 1 / {sign}_m))"
        )
    return f"a_{sign}·ln({sign} / {sign}_m)" if signed else f"({sign} / {sign}_m)^a_{sign}"


def _factor(name: str, symbol: str, power: float, std: float, response: Response, source: Source) -> Input:
    unit = "eV" if name == HEAT and not response.signed else "MPa" if response.signed and name != HEAT else ""
    if name == HEAT and response.signed:
        unit = "MPa/kelvin"
    what = "activation energy" if name == HEAT else f"exponent of {name}"
    what = f"slope over {name}" if response.signed else what
    return Input(symbol=symbol, name=what, value=power, unit=unit, source=source, std=std)


def _about(runs: list[ToolRun], response: Response) -> tuple[str, ...]:
    """Which runs, how far they scatter, and whether one of them decides too much."""
    named = [run.evidence or run.date for run in runs]
    more = f" and {len(named) - _LISTED} more" if len(named) > _LISTED else ""
    said = [f"runs: {', '.join(named[:_LISTED])}{more}"]
    mean = len(response.covariance) / len(runs)
    heavy = [
        (share, named[k])
        for k, share in enumerate(response.leverages)
        if share > min(_HEAVY * mean, 1 - _ALONE)
    ]
    if not response.free:
        said.append("as many unknowns as runs: nothing tells how far they scatter; one run more does")
    elif heavy:
        share, which = max(heavy)
        said.append(
            f"run {which} decides {100 * share:.0f} % of the fit at its place by itself: run it again"
        )
    if response.widening > 1:
        said.append(
            f"the band is that of one new run, by Student's distribution with {response.free} degrees of freedom"
        )
    return tuple(said)
