"""What an instrument should read: one function for each quantity that has a law."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from filmwright.emulate.film_results import film_results
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.look import DAYLIGHT, spectra_of
from filmwright.emulate.spots import CLOSED, Spot
from filmwright.knowledge import Belief, optical, optically_unknown
from filmwright.process import (
    CROSS,
    FILM_LEFT,
    FILMS_BEND,
    FOUR_POINTS_ON_FILM,
    INDEX,
    LINE,
    PLATES,
    REFLECTANCE,
    SHEET,
    STEP_HEIGHT,
    USUAL_VALUE,
    Derivation,
    Input,
    Law,
    Setting,
    appearance,
    edge_factor,
    eye,
    film_force,
    four_point_factor,
    line_resistance,
    sheet_resistance,
    strip_factor,
    thick_film_factor,
    van_der_pauw_reading,
)
from filmwright.sources import Value
from filmwright.units import VACUUM_PERMITTIVITY, show
from filmwright.wafer import Column

_NEAR_EDGE = 5
"""Spacings of the probes from an edge at which the error of not counting the edge is told."""


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What is expected of one reading.

    Attributes
    ----------
    numbers : tuple of Setting
        The first is the reading itself.
    words : tuple of str
    warnings : tuple of str
    told : str
        What to expect, where the first number with its band does not say it.
    place : str
        Where it is read, where that is not the place of the step.
    """

    numbers: tuple[Setting, ...] = ()
    words: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    told: str = ""
    place: str = ""


def _with_error(spot: Spot, inputs: dict[str, Input], near: float) -> dict[str, Input]:
    error = spot.error(near)
    return inputs | ({"error": error} if error is not None else {})


def _missing(what: str) -> Expected:
    return Expected(warnings=(f"nothing to compare with: {what}",))


def _above_body(column: Column, body: float) -> list[tuple[str, float]]:
    """Films over the level of the deeper body, lowest first."""
    rest = column.layers[0].thickness - body
    films = [(layer.material, layer.thickness) for layer in column.layers[1:]]
    return [(column.layers[0].material, rest), *films] if rest > 0 else films


def step_height(spot: Spot) -> Expected:
    """From the largest place with the film to the largest without it, as both lie then; the film alone where it has no edge."""
    high, film = spot.column, spot.step.material
    if high is None:
        return _missing(f"no {film} on the wafer at this step")
    areas = spot.plan.areas()
    bare = [column for column in areas if not column.thickness(film)]
    words: tuple[str, ...] = ()
    if bare:
        low = max(bare, key=lambda column: areas[column])
        body = min(column.layers[0].thickness for column in (high, low))
        common = {layer.film for layer in high.layers} & {layer.film for layer in low.layers}
        upper, lower = (_above_body(column, body) for column in (high, low))
        # Films of one growth with one thickness on both sides cancel, and so do their spreads.
        same = [
            (layer.material, layer.thickness)
            for layer in high.layers[1:]
            if layer.film in common and layer in low.layers
        ]
        upper, lower = _less(upper, same), _less(lower, same)
    else:
        upper, lower = [(film, high.thickness(film))], []
        words = (f"{film} covers the whole die: read it at the edge of a masked stripe or on a witness",)
    inputs = {
        "high": spot.depth("d_1", upper, f"films with {film}"),
        "low": spot.depth("d_0", lower, f"films beside {film}"),
    }
    rise = inputs["high"].value - inputs["low"].value
    derived = STEP_HEIGHT.derive(
        lambda high, low, error=0.0: high - low + error, _with_error(spot, inputs, abs(rise)), unit="nm"
    )
    return Expected(numbers=(follows("step height", derived),), words=words)


def _less(films: list[tuple[str, float]], same: list[tuple[str, float]]) -> list[tuple[str, float]]:
    left = list(films)
    for each in same:
        left.remove(each)
    return left


def film_thickness(spot: Spot) -> Expected:
    """The film at the place, less what later steps took."""
    film = spot.step.material
    if spot.column is None:
        return _missing(f"no {film} on the wafer at this step")
    depth = spot.column.thickness(film)
    inputs = {"film": spot.depth("d_1", [(film, depth)], f"{film} at the place")}
    derived = FILM_LEFT.derive(
        lambda film, error=0.0: film + error, _with_error(spot, inputs, depth), unit="nm"
    )
    return Expected(numbers=(follows("thickness", derived),))


def refractive_index(spot: Spot) -> Expected:
    """The index on file at the wavelength of the instrument."""
    film = spot.step.material
    constants = optical(film)
    if constants is None:
        return _missing(f"{film}: {optically_unknown(film)}")
    wave = _wavelength(spot)
    index = complex(constants.index([wave.value])[0])
    error = spot.error(index.real)
    own = film_results(spot.trace.states[: spot.at], "refractive index")
    layers = spot.column.layers if spot.column is not None else ()
    of_runs = next((own[each.film] for each in layers if each.material == film and each.film in own), None)
    if of_runs is not None:
        given = Input.known("n_1", f"index of {film} by the lab's own runs", of_runs)
        derived = INDEX.derive(
            lambda index, error=0.0: index + error,
            _with_error(spot, {"index": given}, of_runs.value),
            unit="",
        )
        return Expected(numbers=(follows("refractive index", derived),))
    derived = Derivation(
        law=replace(
            USUAL_VALUE, name="optical constants on file", source=constants.source, valid=constants.condition
        ),
        inputs=(wave,),
        result=index.real,
        unit="",
        std=error.std if error is not None else 0.0,
        notes=tuple(each for each in (constants.beyond([wave.value]), f"data set {constants.name}") if each),
    )
    words = (f"absorbs: k = {-index.imag:.2g}",) if -index.imag > 1e-3 else ()
    return Expected(numbers=(follows("refractive index", derived),), words=words)


def _wavelength(spot: Spot) -> Input:
    asked = spot.step.asked.get("wavelength")
    if asked is not None:
        return chosen("λ", "wavelength", asked.value, "nm", "the plan")
    known = spot.facts.models[spot.kind.instrument]["wavelength"]
    return replace(Input.known("λ", "wavelength", known), std=0.0)


def _resistivity(spot: Spot, film: str) -> Value | None:
    return spot.facts.material(film).values.get("resistivity")


def sheet(spot: Spot) -> Expected:
    """Resistance of a square, and what four probes in the middle of the wafer read of it."""
    film = spot.step.material
    known = _resistivity(spot, film)
    if spot.column is None or known is None:
        return _missing(
            f"no {film} on the wafer" if known is not None else f"resistivity of {film} not on file"
        )
    depth = spot.depth("d", [(film, spot.column.thickness(film))], f"{film} at the place")
    inputs = {"resistivity": Input.known("ρ", f"resistivity of {film}", known), "depth": depth}
    square = SHEET.derive(lambda resistivity, depth: sheet_resistance(resistivity, depth), inputs, unit="ohm")
    spacing = spot.facts.models["four-point probe"]["spacing"]
    probed = inputs | {
        "spacing": replace(Input.known("s", "probe spacing", spacing), std=0.0),
        "diameter": chosen("D", "wafer", spot.trace.flow.body.diameter, "mm", "the plan"),
    }
    read = FOUR_POINTS_ON_FILM.derive(
        lambda resistivity, depth, spacing, diameter: (
            sheet_resistance(resistivity, depth)
            / (four_point_factor(spacing, diameter) * thick_film_factor(spacing, depth))
        ),
        probed,
        unit="ohm",
    )
    distance = _NEAR_EDGE * spacing.value
    more = edge_factor(spacing.value, 1e3 * distance, along=True) / edge_factor(
        spacing.value, distance, along=True
    )
    words: tuple[str, ...] = (
        f"{show(distance, 'length')} from an edge, along it, V/I reads {100 * (more - 1):.2g} % high",
        f"resistance of a square {square.shown}",
    )
    if spot.trace.flow.body.piece:
        words = (*words, _on_piece(spot, spacing.value, depth.value, square.result or 0.0))
    patterned = () if spot.share >= CLOSED else (
        f"{film} covers {100 * spot.share:.0f} % of the die: four probes need a closed film, so read a witness or a cross",
    )  # fmt: skip
    numbers = (follows("V/I of four probes", read), follows("sheet resistance", square))
    return Expected(numbers=numbers, words=words, warnings=patterned)


def _on_piece(spot: Spot, spacing: float, depth: float, square: float) -> str:
    """What a square piece may read at least: it holds the round sheet, and a long strip of its width holds it."""
    factor = strip_factor(spacing, spot.trace.flow.body.diameter) * thick_film_factor(spacing, depth)
    return f"V/I is that of a round piece; a square one reads down to {show(square / factor, 'resistance')}, a narrower one more"


def cross(spot: Spot) -> Expected:
    """V/I of an even cross of the conductor on top of it."""
    found = _conductors(spot)
    if spot.device is None or not found:
        return _missing("no cross with a conductor of known resistivity is found on the finished die")
    inputs = _inputs_of(spot, found[-1:])
    derived = CROSS.derive(
        lambda resistivity_1, depth_1: van_der_pauw_reading(sheet_resistance(resistivity_1, depth_1)),
        inputs,
        unit="ohm",
        notes=(f"film: {found[-1][0]}",),
    )
    return Expected(numbers=(follows("V/I of the cross", _plain(derived)),))


def _plain(derived: Derivation) -> Derivation:
    """One film: its symbols without a number."""
    inputs = tuple(replace(each, symbol=each.symbol.removesuffix("_1")) for each in derived.inputs)
    return replace(
        derived,
        inputs=inputs,
        shares={symbol.removesuffix("_1"): share for symbol, share in derived.shares.items()},
    )


def _conductors(spot: Spot) -> list[tuple[str, float, Value]]:
    """Conductors that touch each other, down from the highest one at the place; lowest first. A cross of a semiconductor has
    that film alone."""
    column = spot.column
    if column is None:
        return []
    if spot.device is not None and spot.device.semiconductor:
        films = [name for name, _ in spot.device.semiconductor]
    else:
        films = [m.name for m in spot.facts.materials.values() if m.kind == "conductor"]
    found: list[tuple[str, float, Value]] = []
    for layer in reversed(column.layers):
        known = _resistivity(spot, layer.material) if layer.material in films else None
        if known is not None:
            found.append((layer.material, layer.thickness, known))
        elif found:
            break
    return found[::-1]


def _inputs_of(spot: Spot, films: list[tuple[str, float, Value]]) -> dict[str, Input]:
    inputs = {}
    for k, (name, depth, known) in enumerate(films, start=1):
        inputs[f"resistivity_{k}"] = Input.known(f"ρ_{k}", f"resistivity of {name}", known)
        inputs[f"depth_{k}"] = spot.depth(f"d_{k}", [(name, depth)], f"{name} at the place")
    return inputs


def line(spot: Spot) -> Expected:
    """Resistance of the line of a track: its squares times that of a square of all its films side by side."""
    found = _conductors(spot)
    device = spot.device
    if device is None or device.squares is None or not found:
        return _missing("no line of one width that joins two wide ends is found on the finished die")
    count = len(found)
    inputs = _inputs_of(spot, found) | {
        "squares": chosen(
            "n", f"squares of {device.name or 'the line'}", device.squares, "", "the emulated wafer"
        )
    }

    def of(squares: float, **films: float) -> float:
        through = math.fsum(
            1 / sheet_resistance(films[f"resistivity_{k}"], films[f"depth_{k}"]) for k in range(1, count + 1)
        )
        return line_resistance(1 / through, squares)

    law = (
        LINE
        if count == 1
        else replace(
            LINE, equation="R = n / (" + " + ".join(f"d_{k}/ρ_{k}" for k in range(1, count + 1)) + ")"
        )
    )
    derived = law.derive(of, inputs, unit="ohm")
    return Expected(numbers=(follows("line resistance", _plain(derived) if count == 1 else derived),))


def reflectance(spot: Spot) -> Expected:
    """Of the stack at the place, straight down, with the spread that its films bring."""
    column = spot.column
    if column is None:
        return _missing("the film is not on the wafer at this step")
    wave = _wavelength(spot)
    films = [(k, layer) for k, layer in enumerate(column.layers) if k]
    inputs = {
        f"d{k}": spot.depth(f"d_{k}", [(layer.material, layer.thickness)], layer.material)
        for k, layer in films
    }

    def of(error: float = 0.0, **depths: float) -> float:
        layers = [
            replace(layer, thickness=depths[f"d{k}"]) if k else layer for k, layer in enumerate(column.layers)
        ]
        seen = spectra_of([Column(tuple(layers))], np.array([wave.value]))[0]
        return (math.nan if seen is None else float(seen[0])) + error

    first = of(**{name: each.value for name, each in inputs.items()})
    if math.isnan(first):
        return _missing("the optics of a film there are not on file")
    derived = REFLECTANCE.derive(of, _with_error(spot, inputs, first), unit="%")
    derived = replace(derived, inputs=(wave, *derived.inputs))
    return Expected(numbers=(follows(f"reflectance at {wave.shown}", derived),))


def colour(spot: Spot) -> Expected:
    """The name of the colour at the place, and those within the spread of the film on top."""
    column = spot.column
    if column is None:
        return _missing("the film is not on the wafer at this step")
    viewer = eye(DAYLIGHT)
    spread = spot.film_spread(column.top.material)
    # Twice the spread either way encloses 95 % of the runs.
    stacks = [column] + [
        Column(
            (
                *column.layers[:-1],
                replace(column.top, thickness=column.top.thickness * (1 + way * 2 * spread)),
            )
        )
        for way in (-1, 1)
        if spread and len(column.layers) > 1
    ]
    seen = spectra_of(stacks, viewer.wavelength)
    if any(each is None for each in seen):
        return _missing("the optics of a film there are not on file")
    names = appearance(np.array(seen), viewer).names
    others = [name for name in dict.fromkeys(names[1:]) if name != names[0]]
    also = f"; {' or '.join(others)} at the ends of its 95 % band" if others else ""
    return Expected(words=(f"colour {names[0]}{also} ({DAYLIGHT}, straight down)",))


def bow_of_films(spot: Spot) -> Expected:
    """Bow by the typical stresses of all films, or of the one that is named."""
    body = spot.facts.material(spot.trace.flow.body.material).values
    if "modulus" not in body or "Poisson ratio" not in body:
        return _missing(f"modulus of {spot.trace.flow.body.material} not on file")
    only = spot.step.material
    force, variance, unknown = _force(spot, only)
    modulus = body["modulus"].value / (1 - body["Poisson ratio"].value)
    what = f"stress × thickness of {only}" if only else "Σ stress × thickness of the films"
    inputs = {
        "force": replace(
            chosen("S", what, force, "N/m", "typical stresses of the films"), std=math.sqrt(variance)
        ),
        "diameter": chosen(
            "D", "wafer, the whole of it scanned", spot.trace.flow.body.diameter, "mm", "the plan"
        ),
        "modulus": chosen("M", "biaxial modulus of the wafer", modulus, "GPa", str(body["modulus"].source)),
        "wafer": chosen("h", "wafer", spot.trace.flow.body.thickness, "um", "the plan"),
    }
    near = abs(force) * 3 * inputs["diameter"].value ** 2 / (4 * modulus * inputs["wafer"].value ** 2)
    derived = FILMS_BEND.derive(
        lambda force, diameter, modulus, wafer, error=0.0: (
            3 * force * diameter**2 / (4 * modulus * wafer**2) + error
        ),
        _with_error(spot, inputs, near),
        unit="um",
        notes=("above zero the films pull: the rim stands up, films upward",),
    )
    warnings = (f"stress not on file, left out: {', '.join(unknown)}",) if unknown else ()
    words = ("scan the bare wafer first: what counts is the change",)
    name = f"change of bow by {only}" if only else "bow"
    return Expected(numbers=(follows(name, replace(derived, signed=True)),), words=words, warnings=warnings)


def _force(spot: Spot, only: str) -> tuple[float, float, list[str]]:
    """Σ stress × thickness over the die [N/m], its variance, and films without a stress on file."""
    areas = spot.plan.areas()
    whole = sum(areas.values())
    own = film_results(spot.trace.states[: spot.at], "stress")
    by_film: dict[tuple[str, str], float] = {}
    for column, area in areas.items():
        for layer in column.layers[1:]:
            if not only or layer.material == only:
                film = (layer.film, layer.material)
                by_film[film] = by_film.get(film, 0.0) + layer.thickness * area / whole
    force, variance, unknown = 0.0, 0.0, []
    for (label, name), depth in by_film.items():
        # What the lab's own runs say of a film goes before what is usual.
        usual = spot.facts.material(name).values.get("stress")
        stress: Value | Belief | None = own.get(label) or usual
        if stress is None:
            unknown.append(name)
            continue
        force += film_force(stress.value, depth)
        variance += (stress.std * depth) ** 2 + (stress.value * spot.film_spread(name) * depth) ** 2
    return force, variance, unknown


def areal_capacitance(spot: Spot) -> Expected:
    """Films in series between the plates of a capacitor."""
    device = spot.device
    films = device.dielectric if device is not None else ()
    known = [spot.facts.material(name).values.get("permittivity") for name, _ in films]
    if not films or any(each is None for each in known):
        return _missing("no capacitor with insulators of known permittivity is found on the finished die")
    inputs: dict[str, Input] = {}
    for k, ((name, depth), value) in enumerate(zip(films, known, strict=True), start=1):
        if value is not None:
            inputs[f"e{k}"] = Input.known(f"ε_{k}", f"permittivity of {name}", value)
        inputs[f"d{k}"] = spot.depth(f"d_{k}", [(name, depth)], name)

    def of(error: float = 0.0, **each: float) -> float:
        return (
            VACUUM_PERMITTIVITY / math.fsum(each[f"d{k}"] / each[f"e{k}"] for k in range(1, len(films) + 1))
            + error
        )

    near = of(**{name: each.value for name, each in inputs.items()})
    series = " + ".join(f"d_{k}/ε_{k}" for k in range(1, len(films) + 1))
    law = replace(PLATES, equation=f"C = {VACUUM_PERMITTIVITY:.4g} F/m / ({series}) + e")
    derived = law.derive(of, _with_error(spot, inputs, near), unit="nF/cm^2")
    return Expected(numbers=(follows("areal capacitance", derived),))


def contact_angle(spot: Spot) -> Expected:
    """Of a primed or a cleaned surface; elsewhere nothing is on file."""
    known = spot.facts.models["drop camera"]
    before = [state.step.kind for state in spot.trace.states[: spot.at]]
    last = next((kind for kind in reversed(before) if kind not in {"inspect", "measure", "park"}), "")
    on = {"prime": "primed surface", "clean": "clean oxide", "rinse": "clean oxide"}.get(last)
    if on is None:
        return _missing("no contact angle on file for this surface")
    value = known[on]
    derived = Derivation(
        law=Law(name="usual contact angle of water", equation="", source=value.source, valid=value.condition),
        result=value.value,
        unit="degree",
        low=value.low,
        high=value.high,
    )
    return Expected(numbers=(follows("contact angle", derived),))


def overlay_left(spot: Spot) -> Expected:
    """Overlay to the earlier levels, from the exposure of the level."""
    level = spot.step.material
    exposures = [
        s
        for s in spot.trace.states[: spot.at]
        if s.step.kind == "expose" and (not level or s.step.mask == level)
    ]
    numbers = tuple(each for s in exposures[-1:] for each in s.follows if each.name.startswith("overlay to"))
    if not numbers:
        return _missing("the level was not aligned to an earlier one")
    most = max(each.value or 0.0 for each in numbers)
    return Expected(numbers=numbers, told=f"0 ± {show(2 * most, 'length')} (95 %)")


EXPECTED: Mapping[str, Callable[[Spot], Expected]] = {
    "step height": step_height,
    "thickness": film_thickness,
    "refractive index": refractive_index,
    "sheet resistance": sheet,
    "van der Pauw resistance": cross,
    "line resistance": line,
    "reflectance": reflectance,
    "colour": colour,
    "bow": bow_of_films,
    "stress": bow_of_films,
    "areal capacitance": areal_capacitance,
    "contact angle": contact_angle,
    "overlay": overlay_left,
}
