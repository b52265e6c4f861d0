"""The lamp of an aligner: what is believed of its light today, line by line, and the time for a dose."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import between, follows
from filmwright.flow import Step
from filmwright.knowledge import LAMP_LINES, Belief, Calibration, Resist, believe
from filmwright.process import (
    Derivation,
    Input,
    Setting,
    exposure_time,
    resist_laws,
)
from filmwright.sources import Source

AT = {"g line": "436 nm", "h line": "405 nm", "i line": "365 nm"}
"""Under which wavelength the constants of a resist stand on file."""


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """What is known of the light at the wafer.

    Attributes
    ----------
    whole : Belief or None
        Over the lines that a dose counts; None where only single lines were read.
    lines : mapping from line to Belief
        Where a probe read one line alone.
    """

    whole: Belief | None
    lines: dict[str, Belief]

    @property
    def read(self) -> Belief | None:
        """The reading that decides: of all lines together, else the first of a single one."""
        return self.whole or next(iter(self.lines.values()), None)


def lamp_of(step: Step, ctx: Context) -> Lamp:
    """What is believed of the lamp of a step's tool today."""

    def believed(line: str) -> Belief | None:
        chosen = tuple(c for c in ctx.lab.calibrations if c.of == "lamp intensity" and _line(c, ctx) == line)
        if not chosen:
            return None
        # All of them read one line, whatever wavelength each was written down with.
        at = chosen[-1].setting
        lab = replace(ctx.lab, calibrations=tuple(replace(c, setting=at) for c in chosen))
        return believe(
            lab, ctx.facts, of="lamp intensity", tool=step.tool, recipe=step.recipe, setting=at, on=ctx.on
        )

    found = {line: each for line in LAMP_LINES if (each := believed(line)) is not None}
    return Lamp(whole=believed(""), lines=found)


def _line(reading: Calibration, ctx: Context) -> str:
    """Line of the lamp at which a probe reads; empty where it takes all of them."""
    if reading.setting is None:
        return ""
    lamp = ctx.facts.models["mercury lamp"]
    return min(LAMP_LINES, key=lambda line: abs(lamp[line].value - (reading.setting or 0.0)))


def line_shares(ctx: Context) -> dict[str, Input]:
    """Part of each line in the light of a mercury lamp."""
    spectrum = ctx.facts.models["lamp spectrum"]
    return {line: Input.known(f"s_{line[0]}", f"part of the {line}", spectrum[line]) for line in LAMP_LINES}


def at_line(resist: Resist, letter: str, line: str) -> Input | None:
    """A constant of Dill at a line of the lamp; None where it is not on file."""
    value = resist.values.get(f"Dill {letter} at {AT[line]}")
    meant = {"A": "absorption that bleaches", "B": "absorption that stays", "C": "sensitivity"}
    return None if value is None else Input.known(f"{letter}_{line[0]}", f"{meant[letter]}, {line}", value)


def intensities(lamp: Lamp, ctx: Context) -> tuple[dict[str, Input], list[Setting]]:
    """Intensity at each line: as read, else by the usual spectrum from what was read; and how the latter came about."""
    shares = line_shares(ctx)
    found: dict[str, Input] = {}
    told = []
    for line in LAMP_LINES:
        if line in lamp.lines:
            found[line] = Input.known(f"I_{line[0]}", f"lamp at the {line}", lamp.lines[line])
            continue
        if lamp.whole is not None:
            reference, share = (
                lamp.whole,
                Input(symbol="s_r", name="all lines", value=1.0, unit="", source=shares[line].source),
            )
        else:
            near = min(lamp.lines, key=lambda each: abs(LAMP_LINES.index(each) - LAMP_LINES.index(line)))
            reference, share = lamp.lines[near], replace(shares[near], symbol="s_r")
        derived = resist_laws.LINE_INTENSITY.derive(
            lambda reference, share, read: reference * share / read,
            {
                "reference": Input.known("I_r", "as read", reference),
                "share": replace(shares[line], symbol="s"),
                "read": share,
            },
            unit="mW/cm^2",
        )
        found[line] = between(f"I_{line[0]}", f"lamp at the {line}, not read", derived)
        told.append(follows(f"lamp at the {line}", derived))
    return found, told


def time_for(
    resist: Resist, dose: Input, lamp: Lamp, ctx: Context
) -> tuple[Derivation, list[Setting], tuple[str, ...]]:
    """Time for a dose: over all lines by one reading, or line by line.

    Returns
    -------
    time : Derivation
    told : list of Setting
        Lines of the lamp that were not read.
    notes : tuple of str
    """
    # A reading without a wavelength is of the lines that the dose counts; one at the only line of a dose says better.
    if lamp.whole is not None and (len(resist.lines) > 1 or not set(resist.lines) & set(lamp.lines)):
        return (
            resist_laws.RECIPROCITY.derive(
                lambda dose, intensity: exposure_time(dose, intensity)[0],
                {"dose": dose, "intensity": Input.known("I", "lamp at the wafer", lamp.whole)},
                unit="s",
                notes=(
                    "the probe is taken to read the lines that the dose counts: if it reads one alone, write its wavelength",
                ),
            ),
            [],
            (),
        )
    shares = line_shares(ctx)
    light, told = intensities(lamp, ctx)
    inputs: dict[str, Input] = {"dose": dose}
    source = Source(citation=f"lines that the dose of {resist.name} counts", kind="common practice")
    for line in LAMP_LINES:
        letter = line[0]
        counted = 1.0 if line in resist.lines else 0.0
        sensitive = at_line(resist, "C", line) or Input(
            symbol=f"C_{letter}", name=f"takes the {line}", value=counted, unit="", source=source
        )
        inputs |= {
            f"s_{letter}": shares[line],
            f"c_{letter}": sensitive,
            f"n_{letter}": Input(
                symbol=f"n_{letter}",
                name=f"the dose counts the {line}",
                value=counted,
                unit="",
                source=source,
            ),
            f"i_{letter}": light[line],
        }

    def takes(dose: float, **each: float) -> float:
        letters = [line[0] for line in LAMP_LINES]
        wanted = math.fsum(each[f"s_{k}"] * each[f"n_{k}"] * each[f"c_{k}"] for k in letters)
        counted = math.fsum(each[f"s_{k}"] * each[f"n_{k}"] for k in letters)
        given = math.fsum(each[f"i_{k}"] * each[f"c_{k}"] for k in letters)
        return dose * wanted / (counted * given)

    return resist_laws.DOSE_OVER_LINES.derive(takes, inputs, unit="s"), told, ()


def doses(time: float, light: dict[str, Input]) -> dict[str, float]:
    """Dose at each line [J/m²] after a time."""
    return {line: each.value * time for line, each in light.items()}
