"""One reflectance that several thicknesses give."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.knowledge import optical
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Thicknesses with the same reflectance at one wavelength, within the 95 % band of what the plan puts down."""
    for state in case.trace.states:
        if state.step.kind != "measure" or "reflectance" not in state.step.medium:
            continue
        made = next(
            (
                s
                for s in reversed(_before(case, state))
                if s.step.kind == "deposit" and s.step.material == state.step.material
            ),
            None,
        )
        constants = optical(state.step.material) if made is not None else None
        if made is None or constants is None or not made.thickness:
            continue
        light = case.limit("reading light")
        index = complex(constants.index(light))
        period = light / (2 * index.real)
        if -index.imag * period > light / (
            4 * math.pi
        ):  # absorbed within one order: nothing comes back from beneath
            continue
        band = 2 * (made.thickness_std or 0.0)
        alike = same_reading(made.thickness, period, made.thickness + band)
        near = [each for each in alike if abs(each - made.thickness) <= band]
        if len(near) > 1:
            yield finding(
                state,
                "warn",
                f"what {step_named(state)} tells of {state.step.material}",
                "one thickness within what may have been put down",
                ", ".join(show(each, "length") for each in alike)
                + f" read the same at {show(light, 'length')}",
                f"reflectance repeats every {show(period, 'length')} and is the same on both sides of an extremum",
                "measure a spectrum or at two wavelengths, or a step on a witness",
                f"period λ / 2n; {case.limit_source('reading light')}; index: {constants.source}",
            )


def _before(case: Case, state: State) -> tuple[State, ...]:
    return case.trace.states[: case.places[id(state)]]


def same_reading(thickness: float, period: float, most: float) -> list[float]:
    """Thicknesses [m] up to ``most`` with the reflectance of one: k·P ± t, with P = λ / 2n.

    Parameters
    ----------
    thickness, period, most : float [m]
    """
    rest = thickness % period
    found = {k * period + sign * rest for k in range(math.ceil(most / period) + 1) for sign in (1, -1)}
    return sorted(each for each in found if 0 < each <= most)


RULE = Rule(
    name="one reflectance, several thicknesses",
    loses="a calibration, by a whole order",
    quantity="k λ / 2n ± thickness within the 95 % band of the film",
    limits=("reading light",),
    source="interference in a film (O. S. Heavens, Optical Properties of Thin Solid Films, from memory)",
    answers=("reflectance",),
    check=check,
)
