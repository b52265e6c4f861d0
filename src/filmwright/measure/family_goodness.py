"""How well a fit follows its family, and what the residuals point to."""

from __future__ import annotations

import numpy as np

from filmwright.device import thermal_voltage
from filmwright.measure.families import Family
from filmwright.measure.family_fits import FamilyFits
from filmwright.measure.family_weights import STRUCTURED
from filmwright.measure.fit_results import Goodness
from filmwright.measure.smoothing import Array

_FEWEST = 5
"""Points of a part of the curves from which it is looked at."""

_POINTS_TO = {
    "off": "the off level is not one constant: leakage or the floor of the instrument changes with the gate voltage",
    "below threshold": "the fall below threshold is not one exponential: states in the gap, or several thresholds over the width",
    "bend": "the bend at threshold has another shape than the model: tail states, or a threshold that varies over the width",
    "linear": "in the linear part mobility changes with charge, or the contacts are not ohmic: look at low drain voltages",
    "saturated": "saturation is not as the model has it: {bulk}self-heating, or a threshold that moves with V_D",
}


def goodness_of(fits: FamilyFits, row: int, family: Family) -> Goodness:
    """Goodness of one fit of many.

    Parameters
    ----------
    fits : FamilyFits
    row : int
    family : Family

    Returns
    -------
    Goodness
    """
    from scipy import special

    parameters = len(fits.ground.names)
    free = max(len(family.current) - parameters, 1)
    reduced = float(fits.reduced[row])
    upper, lower = (float(each[row]) for each in fits.misfit)
    structured = lower > 0.0 or float(fits.runs[row]) < -STRUCTURED
    return Goodness(
        points=len(family.current),
        parameters=parameters,
        reduced=reduced,
        chance=float(special.gammaincc(free / 2.0, min(reduced * free, 1e12) / 2.0)),
        misfit_upper=upper,
        misfit_lower=lower,
        runs=float(fits.runs[row]),
        widened=float(fits.widened[row]),
        suggests=_suggestions(fits, row, family, upper > 0.0) if structured else (),
    )


def _suggestions(fits: FamilyFits, row: int, family: Family, upper: bool) -> tuple[str, ...]:
    """The two parts of the curves that the model misses most; of the upper part one where that is missed at all."""
    rest = np.abs(fits.fitted.residual[row] * fits.std[row]) / np.maximum(np.abs(family.current), 1e-300)
    parts = _parts(fits, row, family)
    missed = {
        name: float(np.mean(np.minimum(rest[part], 1.0)))
        for name, part in parts.items()
        if part.sum() >= _FEWEST
    }
    above: list[str] = [name for name in ("linear", "saturated") if name in missed]
    below: list[str] = [name for name in ("off", "below threshold", "bend") if name in missed]
    chosen = [max(above, key=missed.__getitem__)] if above and upper else []
    chosen += [max(below, key=missed.__getitem__)] if below else []
    bulk = "" if "body_factor" in fits.ground.names else "bulk charge, "
    return tuple(
        f"{_POINTS_TO[name].format(bulk=bulk)} (missed by {100 * missed[name]:.2g} % on average)"
        for name in chosen
        if missed[name] > 0
    )


def _parts(
    fits: FamilyFits, row: int, family: Family
) -> dict[str, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    values = dict(zip(fits.ground.names, fits.fitted.x[row].tolist(), strict=True))
    over: Array = family.gate - values["threshold_voltage"]
    wide = 2.0 * values["ideality"] * thermal_voltage(fits.ground.temperature)
    off = family.current < 3.0 * values["off_current"] + 3.0 * family.floor
    return {
        "off": off,
        "below threshold": ~off & (over < -wide),
        "bend": ~off & (np.abs(over) <= 2.0 * wide),
        "linear": (over > 2.0 * wide) & (family.drain < over),
        "saturated": (over > 2.0 * wide) & (family.drain >= over),
    }
