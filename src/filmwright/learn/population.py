"""Many devices told at once: yield, medians by wafer, kind and size, maps, sizes, splits, leakage, what goes with what."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from filmwright.learn.conditions import ConditionCheck, compare_conditions
from filmwright.learn.correlation import CorrelationMatrix, correlations
from filmwright.learn.leakage import Leakage, Leaking, leakage
from filmwright.learn.robust import Robust
from filmwright.learn.sizes import Sized, SizeEffect, size_effects
from filmwright.learn.splits import SplitStudy, SplitValue, compare_all, confounded
from filmwright.learn.wafer_map import MapPoint, WaferMap, wafer_map
from filmwright.learn.yields import DeviceOutcome, YieldSummary, yield_by_cause

GATE_LEAKAGE = "gate_leakage"
"""Name under which the gate current of a device is known here."""

LOGARITHMIC = frozenset({GATE_LEAKAGE, "on_off_ratio"})
"""Parameters that scatter by factors: their maps, sizes and splits are those of log₁₀."""

By = Literal["wafer", "kind", "size", "split"]
FEWEST_OF_A_SIZE = 3


@dataclass(frozen=True, kw_only=True)
class Group:
    """Medians of working devices that have something in common.

    Attributes
    ----------
    by : By
    name : str
    working, devices : int
    medians : mapping from parameter to Robust
    """

    by: By
    name: str
    working: int
    devices: int
    medians: Mapping[str, Robust]


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A device that a person excluded, and why."""

    wafer: str
    device: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Population:
    """All that many devices tell together.

    Attributes
    ----------
    summary : YieldSummary
        Without what was left out.
    with_left_out : YieldSummary
        With everything.
    left_out : tuple of LeftOut
    groups : tuple of Group
    maps : tuple of WaferMap
    sizes : mapping from parameter to tuple of SizeEffect
    splits : SplitStudy or None
        None where fewer than two splits are named.
    checks : tuple of ConditionCheck
        Every pair of splits (of wafers, where there are no splits) that was not measured in quite the same way.
    confounded : tuple of str
    leakage : Leakage or None
        None where no device has a gate current.
    correlation : CorrelationMatrix or None
    notes : tuple of str
    """

    summary: YieldSummary
    with_left_out: YieldSummary
    left_out: tuple[LeftOut, ...] = ()
    groups: tuple[Group, ...] = ()
    maps: tuple[WaferMap, ...] = ()
    sizes: Mapping[str, tuple[SizeEffect, ...]]
    splits: SplitStudy | None = None
    checks: tuple[ConditionCheck, ...] = ()
    confounded: tuple[str, ...] = ()
    leakage: Leakage | None = None
    correlation: CorrelationMatrix | None = None
    notes: tuple[str, ...] = ()


def population(
    outcomes: Sequence[DeviceOutcome], radius: float | None = None, parameters: Sequence[str] = ()
) -> Population:
    """Tell what many devices tell together; who was excluded is left out of all but the count.

    Parameters
    ----------
    outcomes : sequence of DeviceOutcome, at least one that is not excluded, each device once
    radius : float or None [m]
        Of the wafer (half the side of the die, for places in a die); None takes the outermost device.
    parameters : sequence of str
        Which are told; empty: all that any device has.
    """
    kept = [each for each in outcomes if not each.left_out]
    if not kept:
        raise ValueError("every device is excluded")
    if parameters:
        kept = [_only(each, parameters) for each in kept]
    working = [each for each in kept if not each.cause]
    names = sorted({name for each in working for name in each.parameters})
    levelled = {name: _levelled(kept, name) for name in names}
    notes = [_mixed_note(kept)] if any(flat is None for flat in levelled.values()) else []
    splits, checks = _splits(working, names, levelled)
    return Population(
        summary=yield_by_cause(kept),
        with_left_out=yield_by_cause([_only(each, parameters) if parameters else each for each in outcomes]),
        left_out=tuple(
            LeftOut(wafer=each.wafer, device=each.device, reason=each.left_out)
            for each in outcomes
            if each.left_out
        ),
        groups=_groups(kept),
        maps=_maps(kept, names, levelled, radius),
        sizes={name: found for name in names if (found := _sizes(working, name))},
        splits=splits,
        checks=checks,
        confounded=confounded(_by_split(working, {})) if splits is not None else (),
        leakage=_leakage(kept),
        correlation=_correlation(working, names, levelled),
        notes=tuple(note for note in notes if note),
    )


def _only(each: DeviceOutcome, names: Sequence[str]) -> DeviceOutcome:
    return replace(each, parameters={k: v for k, v in each.parameters.items() if k in names})


def scaled(name: str, value: float) -> float:
    """The value on the scale on which it scatters evenly: log₁₀ for currents and ratios; not a number below zero."""
    if name not in LOGARITHMIC:
        return value
    return math.log10(value) if value > 0 else math.nan


def _value(each: DeviceOutcome, name: str) -> float | None:
    if each.cause or name not in each.parameters:
        return None
    value = scaled(name, each.parameters[name])
    return value if math.isfinite(value) else None


def _groups(kept: Sequence[DeviceOutcome]) -> tuple[Group, ...]:
    keys: dict[By, Callable[[DeviceOutcome], str]] = {
        "split": lambda each: each.split,
        "wafer": lambda each: each.wafer,
        "kind": lambda each: each.kind,
        "size": _size_name,
    }
    found = []
    for by, key in keys.items():
        ordered = (
            sorted(kept, key=lambda each: (each.width or 0.0, each.length or 0.0)) if by == "size" else kept
        )
        names = [name for name in dict.fromkeys(key(each) for each in ordered) if name]
        if len(names) < 2:
            continue
        for name in names:
            own = [each for each in kept if key(each) == name]
            summary = yield_by_cause(own)
            working = sum(not each.cause for each in own)
            found.append(Group(by=by, name=name, working=working, devices=len(own), medians=summary.medians))
    return tuple(found)


def _size_name(each: DeviceOutcome) -> str:
    from filmwright.units import convert

    if each.drawn:
        return each.drawn
    if each.width is None or each.length is None:
        return ""
    return f"W {convert(each.width, 'um'):.4g} µm, L {convert(each.length, 'um'):.4g} µm"


def _levelled(kept: Sequence[DeviceOutcome], name: str) -> dict[tuple[str, str], float] | None:
    """Values less what the size of the device makes of them; None where some size has too few devices for that.

    Each size is brought to the median of all, so that a map does not show which device stands where.
    """
    values = {(each.wafer, each.device): v for each in kept if (v := _value(each, name)) is not None}
    sizes: dict[object, list[tuple[str, str]]] = {}
    for each in kept:
        if (each.wafer, each.device) in values:
            sizes.setdefault(each.size, []).append((each.wafer, each.device))
    if len(sizes) <= 1:
        return values
    if min(map(len, sizes.values())) < FEWEST_OF_A_SIZE:
        return None
    middle = float(np.median(list(values.values())))
    return {
        place: values[place] - float(np.median([values[each] for each in own])) + middle
        for own in sizes.values()
        for place in own
    }


def _mixed_note(kept: Sequence[DeviceOutcome]) -> str:
    sizes = len({each.size for each in kept})
    return (
        f"devices of {sizes} kinds and sizes stand together in maps, splits and correlations: for some there are fewer than "
        f"{FEWEST_OF_A_SIZE}, so what the size does is not taken off"
    )


def _maps(
    kept: Sequence[DeviceOutcome],
    names: Sequence[str],
    levelled: Mapping[str, Mapping[tuple[str, str], float] | None],
    radius: float | None,
) -> tuple[WaferMap, ...]:
    placed = [each for each in kept if each.x is not None and each.y is not None]
    if not placed:
        return ()
    far = radius or max(math.hypot(each.x or 0.0, each.y or 0.0) for each in placed) or 1.0
    found = []
    for name in names:
        for wafer in dict.fromkeys(each.wafer for each in placed):
            points = [
                MapPoint(
                    device=each.device,
                    x=each.x or 0.0,
                    y=each.y or 0.0,
                    value=_flat(levelled[name], each, name),
                    std=None if name in LOGARITHMIC else each.stds.get(name),
                    cause=each.cause or ("" if name in each.parameters else "refused"),
                )
                for each in placed
                if each.wafer == wafer
            ]
            found.append(wafer_map(name, wafer, points, far))
    return tuple(found)


def _flat(levelled: Mapping[tuple[str, str], float] | None, each: DeviceOutcome, name: str) -> float | None:
    return _value(each, name) if levelled is None else levelled.get((each.wafer, each.device))


def _sizes(working: Sequence[DeviceOutcome], name: str) -> tuple[SizeEffect, ...]:
    """Of the commonest kind of device; kinds are not thrown together."""
    known = [
        each
        for each in working
        if each.width is not None and each.length is not None and _value(each, name) is not None
    ]
    if not known:
        return ()
    kinds = [each.kind for each in known]
    commonest = max(dict.fromkeys(kinds), key=kinds.count)
    return size_effects(
        [
            Sized(
                wafer=each.wafer,
                device=each.device,
                width=each.width or 0.0,
                length=each.length or 0.0,
                value=_value(each, name) or 0.0,
            )
            for each in known
            if each.kind == commonest
        ]
    )


def _by_split(
    working: Sequence[DeviceOutcome], values: Mapping[tuple[str, str], float]
) -> dict[str, list[SplitValue]]:
    """Split values of the devices that have one; with no values at all, of every device (to see what is confounded)."""
    found: dict[str, list[SplitValue]] = {}
    for each in working:
        if each.split and (not values or (each.wafer, each.device) in values):
            found.setdefault(each.split, []).append(
                SplitValue(
                    wafer=each.wafer,
                    value=values.get((each.wafer, each.device), 0.0),
                    day=each.day,
                    tool=each.tool,
                    position=each.position,
                )
            )
    return found


def _splits(
    working: Sequence[DeviceOutcome],
    names: Sequence[str],
    levelled: Mapping[str, Mapping[tuple[str, str], float] | None],
) -> tuple[SplitStudy | None, tuple[ConditionCheck, ...]]:
    """Splits compared for each parameter, those pairs left out that were measured differently."""
    splits = [name for name in dict.fromkeys(each.split for each in working) if name]
    sets: dict[str, list[DeviceOutcome]] = {}
    for each in working:
        sets.setdefault(each.split if len(splits) > 1 else each.wafer, []).append(each)
    sets.pop("", None)
    order = list(sets)
    checks = [
        compare_conditions(_conditions(sets[a]), _conditions(sets[b]), (a, b))
        for k, a in enumerate(order)
        for b in order[k + 1 :]
    ]
    told = tuple(check for check in checks if check.refused or check.said)
    if len(splits) < 2:
        return None, told
    values: dict[str, dict[str, list[SplitValue]]] = {}
    for name in names:
        flat = levelled[name]
        if flat is None:
            flat = {(each.wafer, each.device): v for each in working if (v := _value(each, name)) is not None}
        values[name] = _by_split(working, flat) if flat else {}
    refused = {(check.first, check.second): check for check in checks if not check.comparable}
    return _compared(values, refused), told


def _compared(
    values: Mapping[str, Mapping[str, Sequence[SplitValue]]],
    refused: Mapping[tuple[str, str], ConditionCheck],
) -> SplitStudy:
    """The study; a pair that was measured differently keeps its place without a result, and says why."""
    return compare_all(
        values,
        forbidden={pair: {name: _why(check, name) for name in values} for pair, check in refused.items()},
    )


def _why(check: ConditionCheck, name: str) -> str:
    """Why a parameter of two sets is not compared; a definition of another parameter does not matter to it."""
    own = tuple(
        each
        for each in check.refused
        if not each.what.startswith("definition") or each.what == f"definition of {name}"
    )
    return replace(check, refused=own).why_not


def _conditions(devices: Sequence[DeviceOutcome]) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = {}
    for each in devices:
        for what, value in each.conditions.items():
            if value:
                found.setdefault(what, {})[value] = None
    return {what: tuple(values) for what, values in found.items()}


def _leakage(kept: Sequence[DeviceOutcome]) -> Leakage | None:
    """All devices with a gate current, those that do not work too: a leaky one is what is asked about."""
    leaking = [
        Leaking(
            wafer=each.wafer,
            device=each.device,
            current=each.parameters[GATE_LEAKAGE],
            area=each.area,
            edge=each.edge,
        )
        for each in kept
        if GATE_LEAKAGE in each.parameters and each.area and each.edge
    ]
    return leakage(leaking) if leaking else None


def _correlation(
    working: Sequence[DeviceOutcome],
    names: Sequence[str],
    levelled: Mapping[str, Mapping[tuple[str, str], float] | None],
) -> CorrelationMatrix | None:
    if len(names) < 2 or len(working) < 2:
        return None
    columns = {
        name: [math.nan if (v := _flat(levelled[name], each, name)) is None else v for each in working]
        for name in names
    }
    return correlations(columns, [each.wafer for each in working])
