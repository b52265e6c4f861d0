"""Why the devices of a lot differ from their plan: several numbers shared out between causes through the physical model."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from filmwright.desk.comparison_fit import (
    CHARGE,
    FIELD_EFFECT,
    FITTED,
    MOBILITY,
    NAMES,
    ON,
    SWING,
    THRESHOLD,
    TRAPS,
    CurveFit,
    FilmModel,
    Read,
    fitted,
    followed,
)
from filmwright.desk.explain import Probed, good, linear
from filmwright.emulate import Prediction
from filmwright.learn import Explanation, Factor, SharedOut, over_wafers, share_out_many
from filmwright.measure import Geometry
from filmwright.units import ELEMENTARY_CHARGE, to_si

UNITS = {
    ON: "A",
    THRESHOLD: "V",
    FIELD_EFFECT: "cm^2/(V*s)",
    SWING: "V/decade",
}
"""In which they are told."""

_CONTACTS = ("contact resistance", "specific contact resistance")
_SIZES = ("width", "length", "overlap of the source", "overlap of the drain")
_FILM = "thickness of the channel"
_STEP = to_si(1, "nm")
"""Standard deviation of a thickness as it was run; judgement for a stylus or a monitor."""

_EDGE = to_si(0.1, "um")
"""… of a width or length; judgement for a line width under a microscope."""

_WHOLE = 0.9
"""Part of itself by which a size that nothing tells may be off: it stays on this side of zero."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One device, or the median of a wafer, with everything shared out.

    Attributes
    ----------
    name : str
        E.g. ``T07 (W1)`` or ``W1, median of 24``.
    wafer : str
    found : mapping from number to SharedOut
    replaced : tuple of (what, planned, as run) [SI]
        Numbers of the plan that what was run or measured has taken the place of.
    fitted : mapping from parameter to (on file, fitted, standard deviation) [SI]
        The last is infinite where the curve does not tell it.
    missed : str
        By how much the fitted curve misses the measured one; its three numbers are then no causes. Empty where it is reproduced.
    """

    name: str
    wafer: str
    found: Mapping[str, SharedOut]
    replaced: tuple[tuple[str, float, float], ...] = ()
    fitted: Mapping[str, tuple[float, float, float]]
    missed: str = ""


def measured_of(probed: Probed) -> dict[str, tuple[float, float]]:
    """The compared numbers of one measured device, with their standard deviations; NaN where refused."""
    place = linear(probed)
    if place is None:
        return {}
    sweep, parameters = probed.sweeps[place], probed.results[place].parameters
    tail = sweep.drain_current[-6:]
    noise = float(np.std(np.diff(tail, 2))) / math.sqrt(6.0) if len(tail) > 3 else 0.0
    found = {ON: (float(sweep.drain_current[-1]), noise)}
    for name, key in NAMES.items():
        parameter = parameters[key]
        told = parameter.valid and parameter.value is not None
        found[name] = (parameter.value or 0.0, parameter.std or 0.0) if told else (math.nan, 0.0)
    return found


def explained(probed: Probed) -> Case | None:
    """One device shared out; None where it is not predicted by the states of its film."""
    return _case(probed, measured_of(probed), f"{probed.device} ({probed.wafer})")


def of_wafers(probed: Sequence[Probed], chosen: Probed, own_case: Case | None = None) -> tuple[Case, ...]:
    """Of each wafer the device whose threshold is the median of those that are drawn as the chosen one, shared out.

    Where that is the chosen one itself, ``own_case`` is taken.
    """
    cases = []
    alike = [(each, measured_of(each)) for each in probed if good(each) and _drawn_alike(each, chosen)]
    told = [(each, read) for each, read in alike if math.isfinite(read[THRESHOLD][0])]
    for wafer in sorted({each.wafer for each, _ in told}):
        own = sorted(
            (
                (read[THRESHOLD][0], each.device, at)
                for at, (each, read) in enumerate(told)
                if each.wafer == wafer
            )
        )
        middle, read = told[own[len(own) // 2][2]]
        name = f"{middle.device} ({wafer}), in the middle of {len(own)}"
        if own_case is not None and middle is chosen:
            cases.append(replace(own_case, name=name))
            continue
        case = _case(middle, read, name)
        if case is not None:
            cases.append(case)
    return tuple(cases)


def of_lot(cases: Sequence[Case]) -> dict[str, Explanation]:
    """What all wafers say together whose curves are reproduced; each counts as one."""
    cases = [case for case in cases if not case.missed]
    return {
        name: over_wafers(each)
        for name in UNITS
        if (each := [case.found[name].explanation for case in cases if name in case.found])
    }


def _drawn_alike(one: Probed, other: Probed) -> bool:
    if one.planned is None or other.planned is None or one.as_run is None:
        return False
    sizes = [(each.planned.design.width, each.planned.design.length) for each in (one, other) if each.planned]
    return bool(np.allclose(sizes[0], sizes[1], rtol=1e-3))


def _case(probed: Probed, measured: Read, name: str) -> Case | None:
    place = linear(probed)
    planned, run = probed.planned, probed.as_run
    if (
        place is None
        or planned is None
        or run is None
        or planned.transistor is None
        or run.transistor is None
    ):
        return None
    if not all(math.isfinite(measured.get(each, (math.nan, 0.0))[0]) for each in (THRESHOLD, ON)):
        return None
    sweep = probed.sweeps[place]
    design = run.design
    geometry = Geometry(width=design.width, length=design.length, areal_capacitance=design.areal_capacitance)
    model = FilmModel(run, sweep, geometry)
    found_fit = fitted(model, run, measured)
    factors = _factors(planned, run, found_fit)
    named = {each for factor in factors for each in factor.planned}
    fixed = {each: value for each, value in run.numbers.items() if each not in named}
    stds = {each: std for factor in factors if factor.known == "as run" for each, std in factor.std.items()}
    follows = {} if found_fit.missed else followed(model, found_fit, stds)
    found = share_out_many(model.read, factors, measured, fixed, follows)
    return Case(
        name=name,
        wafer=probed.wafer,
        found=found,
        replaced=tuple(
            (each, planned.numbers[each], value)
            for each, value in run.numbers.items()
            if each in planned.numbers and not math.isclose(planned.numbers[each], value, rel_tol=1e-6)
        ),
        fitted={
            each: (
                run.numbers[each],
                found_fit.numbers[each],
                math.hypot(found_fit.std[each], *(moved.get(each, 0.0) for moved in follows.values())),
            )
            for each in FITTED
        },
        missed=found_fit.missed,
    )


def _factors(planned: Prediction, run: Prediction, fit: CurveFit) -> tuple[Factor, ...]:
    def spread(name: str) -> float:
        value = run.rests_on.get(name)
        return value.std if value is not None else 0.0

    def factor(
        name: str, keys: Sequence[str], std: Mapping[str, float], actual: Mapping[str, float]
    ) -> Factor:
        own = [key for key in keys if key in run.numbers and key in planned.numbers]
        return Factor(
            name=name,
            planned={key: planned.numbers[key] for key in own},
            actual={key: actual[key] for key in own},
            std={key: std[key] for key in own if std.get(key, 0.0) > 0},
            known="as run" if actual is run.numbers else "measured",
        )

    insulator = [key for key in run.numbers if key.startswith("thickness of ") and key != _FILM]
    permittivities = [f"permittivity of {material}" for material in dict.fromkeys(run.dielectrics)]
    contacts = [key for key in _CONTACTS if key in run.numbers]
    volt = run.design.areal_capacitance / ELEMENTARY_CHARGE
    rows: tuple[tuple[str, Sequence[str], Mapping[str, float], Mapping[str, float]], ...] = (
        (
            "insulator",
            [*insulator, *permittivities],
            {**dict.fromkeys(insulator, _STEP), **{key: spread(key) for key in permittivities}},
            run.numbers,
        ),
        ("channel thickness", [_FILM], {_FILM: _STEP}, run.numbers),
        ("channel length and width", _SIZES, {"width": _EDGE, "length": _EDGE}, run.numbers),
        # What is on file of a contact may be off by more than its own size: the move stays on this side of zero.
        (
            "contacts",
            contacts,
            {key: min(spread(key), _WHOLE * run.numbers[key]) for key in contacts},
            run.numbers,
        ),
        ("threshold charge", [CHARGE], {CHARGE: min(fit.std[CHARGE], volt)}, fit.numbers),
        ("traps", [TRAPS], {TRAPS: min(fit.std[TRAPS], _WHOLE * fit.numbers[TRAPS])}, fit.numbers),
        (
            "mobility",
            [MOBILITY],
            {MOBILITY: min(fit.std[MOBILITY], _WHOLE * fit.numbers[MOBILITY])},
            fit.numbers,
        ),
    )
    if fit.missed:
        # What does not reproduce the curve is no cause of it: all of it stays in the rest.
        rows = rows[: -len(FITTED)]
    return tuple(factor(name, keys, std, actual) for name, keys, std, actual in rows if keys)
