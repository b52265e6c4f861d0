"""The light in a resist over every stack that the windows of a level see: dose of each, compound left, time to clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.lamp import AT, at_line
from filmwright.emulate.trace import State, Trace
from filmwright.emulate.undercut import LOWER
from filmwright.knowledge import LAMP_LINES, Book, Resist, optical
from filmwright.process import (
    Derivation,
    Input,
    Setting,
    coupled_over,
    extinction_of_absorption,
    latent,
    mack_rates,
    resist_laws,
    returned_from,
)
from filmwright.sources import Source
from filmwright.units import show, write
from filmwright.wafer import Column, Print

Real = NDArray[np.float64]
Films = tuple[tuple[str, float], ...]

_SHARE = 0.01
"""Stacks under less of the windows are edges."""

_MOST = 8
"""At most so many stacks of one level are followed: those under most of the windows."""

_WAYS = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
"""Thicknesses of the resist that are looked at, in half widths of its 95 % band."""


@dataclass(frozen=True, kw_only=True)
class Window:
    """One stack that an exposure must reach.

    Attributes
    ----------
    beneath : tuple of (material, thickness [m])
        From the top, the body last.
    depth : float [m]
        Of the resist over it.
    share : float
        Of the exposed area.
    """

    beneath: Films
    depth: float
    share: float

    @property
    def named(self) -> str:
        """The uppermost films in words."""
        films = [f"{name} {write(depth, 'nm')}" for name, depth in self.beneath[:-1]]
        return " on ".join([*films[:2], *([self.beneath[-1][0]] if len(films) < 2 else [])])


@dataclass(frozen=True, kw_only=True)
class Lit:
    """Optics of one exposure.

    Attributes
    ----------
    windows : tuple of Window, the largest first
    factor : array (windows, ways)
        Light that a resist takes up over what it would on a matched body, weighted over the lines, at thicknesses over its band.
    beneath : complex array (windows, lines)
        Amplitude that comes back from beneath.
    """

    state: State
    windows: tuple[Window, ...]
    factor: Real
    beneath: NDArray[np.complex128]

    @property
    def dose_band(self) -> tuple[float, float]:
        """Least and most dose that a window needs over the mean of all, with the band of the resist's thickness."""
        mean = self.mean
        return float(mean / self.factor.max()), float(mean / self.factor.min())

    @property
    def stack_band(self) -> tuple[float, float]:
        """The same at the nominal thickness: from stack to stack alone."""
        middle = self.factor[:, _WAYS.size // 2]
        return float(self.mean / middle.max()), float(self.mean / middle.min())

    @property
    def least_lit(self) -> Window:
        """The window whose resist takes up least."""
        return self.windows[int(np.argmin(self.factor[:, _WAYS.size // 2]))]

    @property
    def most_lit(self) -> Window:
        """The window whose resist takes up most."""
        return self.windows[int(np.argmax(self.factor[:, _WAYS.size // 2]))]

    @property
    def mean(self) -> float:
        """Mean light that is taken up, weighted by area."""
        shares = np.array([each.share for each in self.windows])
        return float(shares @ self.factor[:, _WAYS.size // 2] / shares.sum())


def windows_of(trace: Trace, place: int, resist: Resist) -> tuple[Window, ...]:
    """The stacks under what an exposure lights, by what its development clears (or leaves, of a negative resist)."""
    before = trace.states[place - 1].wafer.plan if place else trace.start.plan
    step = trace.states[place].step
    coated = {
        _under(column, resist): column.top.thickness
        for column, _ in sorted(before.areas().items(), key=lambda each: each[1])
        if column.top.material == resist.material
    }
    areas: dict[tuple[str, ...], float] = {}
    develop = next(
        (s for s in trace.states[place:] if s.step.kind == "develop" and s.step.name == step.name), None
    )
    printed = develop is not None and any(isinstance(action, Print) for action in develop.actions)
    after = develop.wafer.plan if develop is not None and printed else before
    for column, area in after.areas().items():
        resisted = column.top.material == resist.material
        if not printed or resisted == (resist.tone == "negative"):
            key = _under(column, resist)
            areas[key] = areas.get(key, 0.0) + area
    films = {
        _under(column, resist): column for column in before.columns if column.top.material == resist.material
    }
    total = sum(area for key, area in areas.items() if key in films) or 1.0
    found = [
        Window(
            beneath=tuple((each.material, each.thickness) for each in reversed(films[key].layers[:-1])),
            depth=coated[key],
            share=area / total,
        )
        for key, area in areas.items()
        if key in films and area >= _SHARE * total
    ]
    return tuple(sorted(found, key=lambda each: -each.share)[:_MOST])


def _under(column: Column, resist: Resist) -> tuple[str, ...]:
    return tuple(each.film for each in column.layers if each.material != resist.material)


def lit(trace: Trace, facts: Book, only: Sequence[str] = ()) -> dict[str, Lit]:
    """Optics of every exposure whose films are known, by the number of its step; each stack is computed once.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : sequence of str
        Numbers of steps; empty for all exposures.
    """
    asked: dict[str, list[tuple[State, tuple[Window, ...], float]]] = {}
    for place, state in enumerate(trace.states):
        if state.step.kind != "expose" or (only and state.step.number not in only):
            continue
        resist = facts.resist(state.step.resist)
        windows = windows_of(trace, place, resist)
        coat = next((s for s in reversed(trace.states[:place]) if s.step.kind == "coat"), None)
        relative = (
            0.0 if coat is None or not coat.thickness else 2 * (coat.thickness_std or 0.0) / coat.thickness
        )
        if windows:
            asked.setdefault(resist.name, []).append((state, windows, relative))
    found: dict[str, Lit] = {}
    for name, each in asked.items():
        found |= _lit(each, facts.resist(name), facts)
    return found


def _lit(
    asked: Sequence[tuple[State, tuple[Window, ...], float]], resist: Resist, facts: Book
) -> dict[str, Lit]:
    """Optics of all exposures of one resist whose films are known, in one call."""
    waves = line_waves(facts)
    seen = resist_index(resist, waves)
    if seen is None or "index while exposed" not in resist.values:
        return {}
    if "under-layer thickness" in resist.values:
        lower = resist.values["under-layer thickness"].value
        asked = [
            (state, tuple(_upper(window, lower) for window in windows), part)
            for state, windows, part in asked
        ]
    names = {name for _, windows, _ in asked for window in windows for name, _ in window.beneath}
    constants = {name: optical(name) for name in names if name != LOWER}
    index = {name: each.index(waves) for name, each in constants.items() if each is not None}
    if LOWER in names:
        index[LOWER] = _clear_index(facts, waves)
    known = [each for each in asked if all(name in index for window in each[1] for name, _ in window.beneath)]
    depths = [window.depth * (1 + part * _WAYS) for _, windows, part in known for window in windows]
    films = [window.beneath for _, windows, _ in known for window in windows]
    if not films:
        return {}
    taken = coupled_over(depths, films, waves, seen, index)
    n = resist.values["index while exposed"].value
    alpha = -4 * np.pi * seen.imag / waves
    matched = (1 - ((n - 1) / (n + 1)) ** 2) * -np.expm1(-alpha * np.array(depths)[..., None])
    factors = (taken / matched) @ _weights(resist, facts)
    found, place = {}, 0
    for state, windows, _ in known:
        rows = slice(place, place + len(windows))
        place += len(windows)
        beneath = np.array([returned_from(waves, seen, window.beneath, index) for window in windows])
        found[state.step.number] = Lit(state=state, windows=windows, factor=factors[rows], beneath=beneath)
    return found


def _upper(window: Window, lower: float) -> Window:
    """A window of a pair of resists: the upper one is exposed, the lower one lies beneath it."""
    return replace(window, beneath=((LOWER, lower), *window.beneath), depth=max(window.depth - lower, lower))


def _clear_index(facts: Book, waves: Real) -> NDArray[np.complex128]:
    """n − i·k of the lower layer of a pair at the lines of the lamp."""
    values = facts.resist(LOWER).values
    fixed = [values[f"Dill B at {nm}"].value for nm in AT.values()]
    k = [extinction_of_absorption(alpha, float(wave)) for alpha, wave in zip(fixed, waves, strict=True)]
    return np.asarray(values["index while exposed"].value - 1j * np.array(k))


def line_waves(facts: Book) -> Real:
    """Wavelengths [m] of the lines g, h and i."""
    return np.array([facts.models["mercury lamp"][line].value for line in LAMP_LINES])


def resist_index(resist: Resist, waves: Real) -> NDArray[np.complex128] | None:
    """n − i·k of an unexposed resist at the lines of the lamp; None where its absorption is not on file."""
    n, found = resist.values["index while exposed"].value, []
    for line, wave in zip(LAMP_LINES, waves, strict=True):
        a, b = at_line(resist, "A", line), at_line(resist, "B", line)
        if a is None or b is None:
            return None
        found.append(n - 1j * extinction_of_absorption(a.value + b.value, float(wave)))
    return np.array(found)


def _weights(resist: Resist, facts: Book) -> Real:
    """Part that each line has in the exposure: its share of the light times the sensitivity there; of counted lines alone where
    that is not on file."""
    shares = np.array([facts.models["lamp spectrum"][line].value for line in LAMP_LINES])
    known = [at_line(resist, "C", line) for line in LAMP_LINES]
    counted = np.array([1.0 if line in resist.lines else 0.0 for line in LAMP_LINES])
    taken = np.array([counted[k] if each is None else each.value for k, each in enumerate(known)])
    weight: Real = shares * taken / (shares @ taken)
    return weight


def told_of(one: Lit, resist: Resist, facts: Book) -> list[Setting]:
    """What the optics say of an exposure: the dose of each stack, the standing wave, the compound left at the worst one."""
    state = one.state
    dose = next((each for each in state.settings if each.name == "dose"), None)
    if dose is None or dose.value is None:
        return []
    least = int(np.argmin(one.factor.min(axis=1)))
    mean = chosen(
        "F", "light taken up, mean of the windows", one.mean, "%", "multilayer optics, by area and line"
    )
    numbers = []
    for name, factor in (("least", one.factor.max()), ("most", one.factor.min())):
        where = one.windows[int(np.argwhere(one.factor == factor)[0][0])]
        derived = resist_laws.STACK_DOSE.derive(
            lambda dose, mean, here: dose * mean / here,
            {
                "dose": _exact(_dose(dose)),
                "mean": mean,
                "here": chosen(
                    "F_s",
                    f"light taken up over {where.named}",
                    float(factor),
                    "%",
                    "multilayer optics, over the band of the resist",
                ),
            },
            unit="mJ/cm^2",
            notes=_stack_notes(one) if name == "most" else (),
        )
        numbers.append(follows(f"{name} dose of a window", derived))
    size = np.abs(one.beneath[least])
    line = int(np.argmax(size))
    wave = resist_laws.STANDING_WAVE.derive(
        lambda returned: float(latent.standing_contrast(returned)),
        {
            "returned": chosen(
                "r",
                f"amplitude from beneath at the {LAMP_LINES[line]}, {one.windows[least].named}",
                float(size[line]),
                "%",
                "multilayer optics",
            )
        },
        unit="",
        notes=("most over least light at the bottom: residue stays at the least, ridges on the walls",),
    )
    numbers.append(follows("standing wave", wave))
    return numbers


def _stack_notes(one: Lit) -> tuple[str, ...]:
    middle = one.factor[:, _WAYS.size // 2]
    return tuple(
        f"{100 * each.share:.0f} % of the windows, resist {show(each.depth, 'length')} over {each.named}: "
        f"{one.mean / factor:.2f} times the mean"
        for each, factor in zip(one.windows, middle, strict=True)
    )


def _dose(dose: Setting) -> Input:
    return Input(
        symbol="D",
        name="dose",
        value=dose.value or 0.0,
        unit=dose.unit,
        source=dose.source,
        std=dose.spread or 0.0,
        evidence=dose.evidence,
    )


def _exact(given: Input) -> Input:
    return replace(given, std=0.0)


def _dill_inputs(resist: Resist, facts: Book) -> dict[str, Input] | None:
    found: dict[str, Input] = {}
    for line in LAMP_LINES:
        for letter in "ABC":
            known = at_line(resist, letter, line)
            if known is None:
                return None
            found[f"{letter}_{line[0]}"] = known
    for line in LAMP_LINES:
        known = Input.known(f"s_{line[0]}", f"part of the {line}", facts.models["lamp spectrum"][line])
        found[f"s_{line[0]}"] = known
    return found


class LatentImage:
    """Compound left over the depth at one window, by the numbers that it rests on; what was computed is kept."""

    def __init__(self, window: Window, beneath: NDArray[np.complex128], resist: Resist, facts: Book) -> None:
        self.window, self.beneath, self.resist = window, beneath, resist
        self.waves = line_waves(facts)
        self.index = resist.values["index while exposed"].value
        self.layers = latent.layers_for(window.depth, float(self.waves.min()), self.index)

    def left(self, dose: Real, depth: Real, **each: Real) -> Real:
        """M (rows, layers) for rows of dose, depth and the constants of Dill; rows that are alike are computed once."""
        names = sorted(each)
        rows = np.column_stack([dose, depth, *(each[name] for name in names)])
        unique, back = np.unique(rows, axis=0, return_inverse=True)
        of = dict(zip(names, unique[:, 2:].T, strict=True))

        def at(letter: str) -> Real:
            return np.column_stack([of[f"{letter}_{line[0]}"] for line in LAMP_LINES])

        shares = at("s") / at("s").sum(axis=1, keepdims=True)
        image = latent.Bleached(
            wavelength=self.waves,
            dose=shares * unique[:, :1],
            depth=unique[:, 1],
            bleachable=at("A"),
            fixed=at("B"),
            sensitivity=at("C"),
            index=self.index,
            beneath=self.beneath[None, :],
        )
        found: Real = latent.compound_after_exposure(image, self.layers, 3)[back.reshape(-1)]
        return found


def bleached_at(one: Lit, resist: Resist, facts: Book, deep: bool = True) -> Setting | None:
    """Compound left on the mean of the lowest tenth of the resist, over the window that takes up least."""
    dill, dose = _dill_inputs(resist, facts), next((s for s in one.state.settings if s.name == "dose"), None)
    if dill is None or dose is None or dose.value is None:
        return None
    worst, image = _worst(one, resist, facts)
    low = max(1, image.layers // 10)
    derived = resist_laws.STANDING_BLEACH.derive_at_once(
        lambda dose, depth, **each: image.left(dose, depth, **each)[:, -low:].mean(axis=1),
        _spread({"dose": _dose(dose), "depth": _depth(worst), **dill}, deep),
        unit="%",
        notes=(f"lowest tenth of the resist over {worst.named}, the window that takes up least",),
    )
    return follows("compound left at the bottom", derived)


def _worst(one: Lit, resist: Resist, facts: Book) -> tuple[Window, LatentImage]:
    place = int(np.argmin(one.factor.min(axis=1)))
    window = one.windows[place]
    return window, LatentImage(window, one.beneath[place], resist, facts)


def _spread(inputs: dict[str, Input], deep: bool) -> dict[str, Input]:
    """Inputs with their spreads, or without them where only the value is asked for: that is a tenth of the work."""
    return inputs if deep else {name: _exact(each) for name, each in inputs.items()}


def _depth(window: Window) -> Input:
    source = Source(citation="the emulated wafer", kind="fitted")
    return Input(symbol="d", name="resist over the window", value=window.depth, unit="um", source=source)


def clearing_of(one: Lit, resist: Resist, facts: Book, deep: bool = True) -> tuple[Setting, ...]:
    """Time to clear at the window that takes up least, and at the thickest resist; nothing where constants are not on file."""
    dill, dose = _dill_inputs(resist, facts), next((s for s in one.state.settings if s.name == "dose"), None)
    needed = ("clear development rate", "dark development rate")
    if (
        resist.tone != "positive"
        or dill is None
        or dose is None
        or dose.value is None
        or any(each not in resist.values for each in needed)
    ):
        return ()
    law = facts.models["development"]
    rates = {
        "most": Input.known("R_max", "rate of fully exposed resist", resist.values[needed[0]]),
        "least": Input.known("R_min", "rate of unexposed resist", resist.values[needed[1]]),
        "exponent": Input.known("n", "selectivity", law["selectivity"]),
        "threshold": Input.known("M_th", "threshold", law["threshold"]),
    }
    worst, image = _worst(one, resist, facts)

    def clears(
        dose: Real, depth: Real, most: Real, least: Real, exponent: Real, threshold: Real, **each: Real
    ) -> Real:
        left = image.left(dose, depth, **each)
        speed = mack_rates(left, most[:, None], least[:, None], exponent[:, None], threshold[:, None])
        found: Real = depth * (1 / speed).mean(axis=1)
        return found

    def at(window: Window) -> Derivation:
        return resist_laws.CLEARING_OVER.derive_at_once(
            clears,
            _spread({"dose": _dose(dose), "depth": _depth(window), **rates, **dill}, deep),
            unit="s",
            notes=(f"resist {show(window.depth, 'length')} over {window.named}",),
        )

    found = [follows("time to clear", at(worst))]
    thickest = max(one.windows, key=lambda each: each.depth)
    if thickest is not worst:
        place = one.windows.index(thickest)
        image = LatentImage(thickest, one.beneath[place], resist, facts)
        found.append(follows("time to clear, thickest resist", at(thickest)))
    return tuple(found)
