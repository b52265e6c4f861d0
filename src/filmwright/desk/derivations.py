"""The verb why: how every setting of a step came about."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.accepted import informed
from filmwright.desk.files import today
from filmwright.emulate import walk, with_outlook
from filmwright.errors import BadInput, Problem
from filmwright.flow import steps_asked
from filmwright.units import convert, plain

if TYPE_CHECKING:
    from filmwright.emulate import State
    from filmwright.process import Derivation, Input, Setting


@dataclass(frozen=True, kw_only=True)
class StepDerivations:
    """One elementary step with the derivation of its settings and of what follows from them.

    Attributes
    ----------
    number, code, title, tool : str
    line : int
    settings, follows : tuple of Setting
    alternatives : tuple of str
        Other readings of the rate that decided, each with the reason for not choosing it.
    reason : str
        Why that rate was chosen; empty where none decided.
    warnings : tuple of str
    """

    number: str
    code: str
    title: str
    tool: str
    line: int
    settings: tuple[Setting, ...]
    follows: tuple[Setting, ...] = ()
    reason: str = ""
    alternatives: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "number": self.number,
            "code": self.code,
            "line": self.line,
            "name": self.title,
            "tool": self.tool,
            "settings": [_setting(each) for each in self.settings],
            "follows": [_setting(each) for each in self.follows],
            "rate_chosen_because": self.reason,
            "rates_not_chosen": list(self.alternatives),
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, kw_only=True)
class WhyAnswer:
    """The steps that were asked for, each with its derivations."""

    flow: str
    steps: tuple[StepDerivations, ...]

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"flow": self.flow, "steps": [each.fields() for each in self.steps]}


def _setting(setting: Setting) -> dict[str, Any]:
    return {"name": setting.name, **derivation_fields(setting.derivation)}


def derivation_fields(derivation: Derivation) -> dict[str, Any]:
    """A derivation for programs, every number beside its unit."""
    d, unit = derivation, derivation.unit
    band = d.band
    return {
        "law": d.law.name,
        "equation": d.law.equation,
        "with_numbers": d.with_numbers,
        "source": str(d.law.source),
        "kind": d.law.source.kind,
        "valid": d.law.valid,
        "inputs": [_input(each, d.shares.get(each.symbol)) for each in d.inputs],
        "result": None if d.result is None else _finite(convert(d.result, unit)),
        "unit": unit,
        "spread": _finite(plain(d.std, unit)) if d.std else None,
        "band": [_finite(convert(end, unit)) for end in band] if band else None,
        "band_is": d.band_is if band else "",
        "text": d.text,
        "notes": list(d.notes),
    }


def _input(given: Input, share: float | None) -> dict[str, Any]:
    return {
        "symbol": given.symbol,
        "name": given.name,
        "value": _finite(convert(given.value, given.unit)),
        "unit": given.unit,
        "spread": _finite(plain(given.std, given.unit)) if given.std else None,
        "source": str(given.source),
        "kind": given.source.kind,
        "date": given.source.date,
        "evidence": given.evidence,
        "share_of_variance": None if share is None else _finite(share),
    }


def _finite(number: float) -> float | None:
    return float(f"{number:.9g}") if math.isfinite(number) else None


def why(
    plan: Path, step: str, lab: Path | None = None, record: str | Path | None = None, on: str = ""
) -> WhyAnswer:
    """How every setting of a step came about.

    Parameters
    ----------
    plan : Path
    step : str
        Number or code of an elementary step; number or name of a written one for all that it expands to.
    lab, record : Path or None
    on : str
        ISO date; empty for today.
    """
    work = informed(plan, lab, record)
    if not step:
        raise BadInput(
            Problem(
                what="the step",
                expected="a number or code",
                got="nothing",
                why="a derivation is of one step",
                remedy=f'see "filmwright settings {plan}" for their codes, then add --step',
            )
        )
    asked = steps_asked(work.flow, step)
    wanted = tuple(each.number for each in asked)
    # What spares an insulator is decided by its thinnest place, which only sections show.
    probed = any(each.kind == "probe" for each in asked)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), sections=probed)
    trace = with_outlook(trace, work.facts, only=wanted, drawing=work.drawing)
    return WhyAnswer(
        flow=str(plan), steps=tuple(_derived(state) for state in trace.states if state.step.number in wanted)
    )


def _derived(state: State) -> StepDerivations:
    return StepDerivations(
        number=state.step.number,
        code=state.step.code,
        title=state.step.title,
        tool=state.step.tool,
        line=state.step.line,
        settings=state.settings,
        follows=state.follows,
        reason=state.rate.reason if state.rate else "",
        alternatives=state.rate.alternatives if state.rate else (),
        warnings=state.warnings,
    )
