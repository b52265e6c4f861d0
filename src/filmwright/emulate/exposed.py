"""What follows from an exposure: resolution at the gap, dose latitude, bleaching, overlay; and from a development."""

from __future__ import annotations

from collections.abc import Mapping

from filmwright.emulate.context import Context
from filmwright.emulate.follows import Followed, chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Lab, Resist, limits
from filmwright.process import (
    ALIGNMENT_TREE,
    BLEACHING,
    CLEARING,
    DARK_LOSS,
    EDGE_SHIFT,
    SHADOW_WIDTH,
    Derivation,
    Input,
    Setting,
    dark_loss,
    dill_bleaching,
    edge_shift,
    mack_rate,
    overlay,
    shadow_print_width,
    time_to_clear,
)
from filmwright.sources import Source
from filmwright.units import show

_LAYERS = 24
"""Layers of resist in which bleaching is followed: enough for one part in a thousand."""

_BAND = 0.1
"""Change of the dose [1] for which the shift of the edges is told: that of a lamp read once a day and a film that swings."""


def of_limit(lab: Lab, symbol: str, name: str, limit: str) -> Input:
    """A limit as an input: the lab's own goes before the shipped one."""
    shipped = limits()[limit]
    if limit in lab.limits:
        source = Source(citation=f"limits of {lab.file or lab.name}", kind="lab")
        return Input(symbol=symbol, name=name, value=lab.limits[limit], unit=shipped.unit, source=source)
    return Input(symbol=symbol, name=name, value=shipped.value, unit=shipped.unit, source=shipped.source)


def exposed(step: Step, ctx: Context, resist: Resist, dose: Setting, thickness: Input | None) -> Followed:
    """What is worth knowing before the shutter opens.

    Parameters
    ----------
    step : Step
        An exposure.
    ctx : Context
    resist : Resist
    dose : Setting
    thickness : Input or None
        Of the resist; None when none lies on the wafer.
    """
    numbers: list[Setting] = []
    if thickness is not None:
        numbers += _image(ctx, thickness)
        bleached = bleaching(resist, dose, thickness)
        numbers += [bleached] if bleached is not None else []
    trees = overlays(step, ctx)
    numbers += [each for _, each in trees]
    look = [f"overlay to {level}: {show(each.value or 0.0, 'length')} (1 σ)" for level, each in trees]
    if thickness is not None:
        look.append(f"finest line about {show(numbers[0].value or 0.0, 'length')} at the usual gap")
    return Followed(numbers=tuple(numbers), look=tuple(look))


def _image(ctx: Context, thickness: Input) -> list[Setting]:
    line = Input.known(
        "λ", "longest line of the lamp that the resist takes", ctx.facts.models["mercury lamp"]["g line"]
    )
    gap = of_limit(ctx.lab, "g", "gap of soft contact", "contact gap")
    width = SHADOW_WIDTH.derive(
        lambda wavelength, gap, resist: shadow_print_width(wavelength, gap, resist),
        {"wavelength": line, "gap": gap, "resist": thickness},
        unit="um",
    )
    change = chosen("ε", "relative change of the dose", _BAND, "%", "for each 10 % of the dose")
    shift = EDGE_SHIFT.derive(
        lambda dose_change, wavelength, gap, resist: edge_shift(dose_change, wavelength, gap, resist),
        {"dose_change": change, "wavelength": line, "gap": gap, "resist": thickness},
        unit="um",
        notes=("each edge; the width of a line changes by twice that",),
    )
    return [follows("finest line", width), follows("shift of an edge for 10 % of dose", shift)]


def _dill(resist: Resist, line: str = "405 nm") -> Mapping[str, Input] | None:
    keys = {"bleachable": "A", "fixed": "B", "sensitivity": "C"}
    if not all(f"Dill {letter} at {line}" in resist.values for letter in keys.values()):
        return None
    meant = {"A": "absorption that bleaches", "B": "absorption that stays", "C": "sensitivity"}
    return {
        name: Input.known(letter, meant[letter], resist.values[f"Dill {letter} at {line}"])
        for name, letter in keys.items()
    }


def bleaching(resist: Resist, dose: Setting, thickness: Input) -> Setting | None:
    """Photoactive compound left at the bottom of the resist; None where its constants are not on file."""
    dill = _dill(resist)
    if dill is None or dose.value is None:
        return None
    derived = BLEACHING.derive(
        lambda dose, depth, bleachable, fixed, sensitivity: float(
            dill_bleaching(dose, depth, bleachable, fixed, sensitivity, _LAYERS)[-1]
        ),
        {**dill, "dose": _dose_input(dose), "depth": thickness},
        unit="%",
        notes=("the whole dose counted at 405 nm, the middle one of the lines",),
    )
    return follows("compound left at the bottom", derived)


def _dose_input(dose: Setting) -> Input:
    return Input(
        symbol="D",
        name="dose",
        value=dose.value or 0.0,
        unit=dose.unit,
        source=dose.source,
        std=dose.spread or 0.0,
        evidence=dose.evidence,
    )


def overlays(step: Step, ctx: Context) -> list[tuple[str, Setting]]:
    """Overlay of the level that is exposed to each level printed before it, through the alignment tree."""
    parents: dict[str, str] = {}
    for each in ctx.flow.steps:
        if each.kind == "expose" and each.mask not in parents:
            parents[each.mask] = each.aligned_to or next(iter(parents), "")
        if each is step:
            break
    one = of_limit(ctx.lab, "σ_1", "one alignment", "overlay")
    found = []
    for level in parents:
        if level == step.mask:
            continue
        count = alignments_between(parents, level, step.mask)
        number = chosen(
            "n", "alignments between the two levels", float(count), "", "counted along the alignment tree"
        )
        derived = ALIGNMENT_TREE.derive(
            lambda error, count: overlay([error] * round(count)), {"error": one, "count": number}, unit="um"
        )
        found.append((level, follows(f"overlay to {level}", derived)))
    return found


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


def developed(
    resist: Resist, ctx: Context, time: Input, dose: Setting | None, thickness: Input | None
) -> Followed:
    """Time to clear after the dose, and the loss where no light came, of a positive resist whose constants are on file.

    Parameters
    ----------
    resist : Resist
    ctx : Context
    time : Input
        In the developer.
    dose : Setting or None
    thickness : Input or None
    """
    if "dark development rate" not in resist.values:
        return Followed()
    dark = Input.known("R_min", "rate of unexposed resist", resist.values["dark development rate"])
    lost = DARK_LOSS.derive(lambda rate, time: dark_loss(rate, time), {"rate": dark, "time": time}, unit="nm")
    numbers = [follows("dark loss", lost)]
    dill = _dill(resist)
    if dill is not None and dose is not None and dose.value is not None and thickness is not None:
        numbers.append(follows("time to clear", _clearing(resist, ctx, dill, dose, thickness, dark)))
    return Followed(numbers=tuple(numbers))


def _clearing(
    resist: Resist, ctx: Context, dill: Mapping[str, Input], dose: Setting, thickness: Input, dark: Input
) -> Derivation:
    facts = ctx.facts.models["development"]

    def clears(  # noqa: PLR0913 - the numbers of two laws, one after the other
        dose: float,
        depth: float,
        bleachable: float,
        fixed: float,
        sensitivity: float,
        most: float,
        least: float,
        exponent: float,
        threshold: float,
    ) -> float:
        left = dill_bleaching(dose, depth, bleachable, fixed, sensitivity, _LAYERS)
        return time_to_clear(depth, left, lambda m: mack_rate(m, most, least, exponent, threshold))

    return CLEARING.derive(
        clears,
        {
            **dill,
            "dose": _dose_input(dose),
            "depth": thickness,
            "most": Input.known(
                "R_max", "rate of fully exposed resist", resist.values["clear development rate"]
            ),
            "least": dark,
            "exponent": Input.known("n", "selectivity", facts["selectivity"]),
            "threshold": Input.known("M_th", "threshold", facts["threshold"]),
        },
        unit="s",
        notes=("the whole dose counted at 405 nm, the middle one of the lines",),
    )
