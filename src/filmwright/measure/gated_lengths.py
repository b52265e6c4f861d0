"""Transistors of different length: contact resistance, length offset and a mobility free of contacts, at equal overdrive."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from filmwright.measure.crossing_lines import Crossing, Family, FreeLines, crossing, free_lines
from filmwright.measure.curves import Sweep
from filmwright.measure.extraction import extract_many
from filmwright.measure.length_lines import Array, apparent, contact_parameter, outliers, quantile_of
from filmwright.measure.results import Geometry, Parameter
from filmwright.measure.smoothing import read_noise
from filmwright.numerics import profile_interval

Threshold = Literal["tangent", "constant current"]
_THRESHOLDS = {
    "tangent": "threshold_voltage_linear",
    "constant current": "threshold_voltage_constant_current",
}
OVERDRIVES = 5
"""Overdrives at which the lines are drawn."""
_LOWEST_SHARE = 0.4
"""Of the largest overdrive that all devices reach, at which the first line is drawn."""
_NEIGHBOURS = 7
"""Points of a curve through which a parabola gives the current at an overdrive."""
_NOT_CROSSING = 0.05
"""Chance below which the lines are said not to cross in one point."""


@dataclass(frozen=True, kw_only=True)
class LengthDevice:
    """One transistor of a set.

    Attributes
    ----------
    name : str
    sweep : Sweep
        A transfer curve at a small drain voltage.
    length, length_std, width : float [m]
    """

    name: str
    sweep: Sweep
    length: float
    width: float
    length_std: float = 0.0

    def __post_init__(self) -> None:
        for name in ("length", "width"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} must be finite and above zero, got {value:g}")
        if not self.length_std >= 0:
            raise ValueError("a standard error must be at least zero")


@dataclass(frozen=True, kw_only=True)
class GatedLengths:
    """What a set of transistors tells.

    Attributes
    ----------
    parameters : mapping from name to Parameter
    outliers : mapping from name of the device to evidence
        At the largest overdrive; named, not left out.
    refused : mapping from name of the device to why it has no resistance
    warnings : tuple of str
    names : tuple of str
    family : Family
        Lengths, R·W and its errors at every overdrive, for a picture.
    lines : FreeLines
        A line of its own at every overdrive.
    crossing : Crossing or None
    shares : array (n, 3)
        Of the contacts in the resistance at the largest overdrive, by device: value, lower and upper bound.
    """

    parameters: Mapping[str, Parameter]
    outliers: Mapping[str, str]
    refused: Mapping[str, str]
    warnings: tuple[str, ...]
    names: tuple[str, ...]
    family: Family
    lines: FreeLines
    crossing: Crossing | None
    shares: Array

    def band(self, at: int, lengths: Array) -> tuple[Array, Array, Array]:
        """Middle, lower and upper 95 % bound of the line at one overdrive, at lengths [m]."""
        lines, m = self.lines, self.family.overdrive.size
        c, q = lines.covariance, quantile_of(lines.freedom)
        middle = lines.intercept[at] + lines.slope[at] * lengths
        half = q * np.sqrt(c[at, at] + 2 * lengths * c[at, m + at] + lengths**2 * c[m + at, m + at])
        return middle, middle - half, middle + half


@dataclass(frozen=True, kw_only=True)
class _Turned:
    """A device at work, in n-type signs."""

    device: LengthDevice
    grid: Array
    current: Array
    drain: float
    threshold: float
    threshold_std: float
    floor: float
    share: float


def gated_lengths(
    devices: Sequence[LengthDevice],
    areal_capacitance: float | None = None,
    threshold: Threshold = "tangent",
    overdrives: Sequence[float] = (),
) -> GatedLengths:
    """Lines of R·W against length at equal overdrive, their common crossing point, and the sheet conductance.

    Equation: R·W = 2·R_c·W + r(V_ov)·(L + ΔL), V_ov = V_G − V_T; 1/r = µ·C·(V_ov − V_D/2 − ΔV)

    Parameters
    ----------
    devices : sequence of LengthDevice
        All n-type or all p-type, each at a small drain voltage.
    areal_capacitance : float [F/m²] or None
        For the mobility.
    threshold : "tangent" or "constant current"
        Which definition makes overdrives equal.
    overdrives : sequence of float [V]
        Else five, up to the largest that all devices reach.

    Returns
    -------
    GatedLengths

    Raises
    ------
    ValueError
        With fewer than three devices of two lengths that show a threshold and a current in the linear region.

    References
    ----------
    Y. Taur et al., IEEE Electron Device Lett. 13, 267 (1992), doi:10.1109/55.145049 (from memory); S. Luan, G. W.
    Neudeck, J. Appl. Phys. 72, 766 (1992), doi:10.1063/1.351809 (from memory); D. J. Venzon, S. H. Moolgavkar, Appl.
    Stat. 37, 87 (1988), doi:10.2307/2347496 (from memory).
    """
    turned, refused = _turned(devices, threshold)
    if len(turned) < 3 or len({each.device.length for each in turned}) < 2:
        said = "; ".join(f"{name}: {why}" for name, why in refused.items())
        raise ValueError(
            f"three devices of two lengths are needed at least, got {len(turned)}"
            + (f" ({said})" if said else "")
        )
    drain = float(np.median([each.drain for each in turned]))
    chosen = np.sort(np.asarray(overdrives, dtype=float)) if len(overdrives) else _overdrives(turned)
    turned, beyond = _reaching(turned, chosen)
    refused |= beyond
    if len(turned) < 3 or len({each.device.length for each in turned}) < 2:
        raise ValueError(f"only {len(turned)} devices reach an overdrive of {chosen[-1]:.3g} V")
    family = _family(turned, chosen)
    lines = free_lines(family)
    met = crossing(family, lines)
    names = tuple(each.device.name for each in turned)
    parameters = {**_contacts(family, lines, met), **_channel(family, lines, areal_capacitance, drain)}
    few = apparent(family.length)
    warnings = [few] if few else []
    if chosen[0] < 3 * drain:
        warnings.append(
            f"V_D {drain:.3g} V is not small beside the lowest overdrive, {chosen[0]:.3g} V: not quite linear"
        )
    if np.ptp([each.drain for each in turned]) > 0.05 * drain:
        warnings.append("the drain voltages of the devices differ: V_D/I_D is compared")
    last = family.normalised[:, -1]
    spread = np.hypot(
        family.noise[:, -1], lines.slope[-1] * family.length / family.overdrive[-1] * family.shift_std
    )
    return GatedLengths(
        parameters=parameters,
        outliers=outliers(names, family.length, last, family.length_std, spread),
        refused=refused,
        warnings=tuple(warnings),
        names=names,
        family=family,
        lines=lines,
        crossing=met,
        shares=_shares(family, lines),
    )


def _turned(devices: Sequence[LengthDevice], threshold: Threshold) -> tuple[list[_Turned], dict[str, str]]:
    sweeps = [each.sweep for each in devices]
    found = extract_many(sweeps, [Geometry(width=each.width, length=each.length) for each in devices])
    value, std, _ = found.values(_THRESHOLDS[threshold])
    kept, refused = [], {}
    for at, each in enumerate(devices):
        curve = found.curve(at)
        told = curve.parameters[_THRESHOLDS[threshold]]
        sign = 1.0 if curve.type == "n" else -1.0
        drain = each.sweep.drain_voltage
        if not np.isfinite(value[at]) or told.value is None or drain is None or not told.valid:
            refused[each.name] = told.why_not or "the drain voltage is not known"
            continue
        grid, current = each.sweep.gate_voltage, each.sweep.drain_current
        if sign < 0:
            grid, current = -grid[::-1], current[::-1]
        current = current * (1.0 if current[-1] > 0 else -1.0)
        noise = read_noise(grid, current[None])
        kept.append(
            _Turned(
                device=each,
                grid=grid,
                current=current,
                drain=abs(drain),
                threshold=sign * float(value[at]),
                threshold_std=float(std[at]) if np.isfinite(std[at]) else 0.0,
                floor=float(np.nan_to_num(noise.floor[0])),
                share=float(np.nan_to_num(noise.share[0])),
            )
        )
    return kept, refused


def _overdrives(turned: Sequence[_Turned]) -> Array:
    most = min(float(each.grid[-1]) - each.threshold for each in turned)
    return np.linspace(_LOWEST_SHARE, 1.0, OVERDRIVES) * most


def _reaching(turned: Sequence[_Turned], chosen: Array) -> tuple[list[_Turned], dict[str, str]]:
    kept, beyond = [], {}
    for each in turned:
        most = float(each.grid[-1]) - each.threshold
        if chosen[0] <= 0 or chosen[-1] > most * (1 + 1e-9):
            beyond[each.device.name] = f"its curve ends at an overdrive of {most:.3g} V"
        else:
            kept.append(each)
    return kept, beyond


def _family(turned: Sequence[_Turned], chosen: Array) -> Family:
    rows, errors = [], []
    for each in turned:
        current, std = _current_at(each, each.threshold + chosen)
        resistance = each.drain / current * each.device.width
        rows.append(resistance)
        errors.append(resistance * std / current)
    return Family(
        length=np.array([each.device.length for each in turned]),
        length_std=np.array([each.device.length_std for each in turned]),
        normalised=np.array(rows),
        noise=np.maximum(np.array(errors), 1e-9 * np.array(rows)),
        shift_std=np.array([each.threshold_std for each in turned]),
        overdrive=chosen,
    )


def _current_at(each: _Turned, volts: Array) -> tuple[Array, Array]:
    """Current at gate voltages by parabolas through neighbouring points, with its standard error."""
    found, errors = np.empty(volts.size), np.empty(volts.size)
    count = min(_NEIGHBOURS, len(each.grid))
    degree = min(2, count - 1)
    for at, volt in enumerate(volts):
        first = int(np.clip(np.searchsorted(each.grid, volt) - count // 2, 0, len(each.grid) - count))
        rows = slice(first, first + count)
        design = np.vander(each.grid[rows] - volt, degree + 1)
        weights = np.linalg.pinv(design)[-1]
        found[at] = weights @ each.current[rows]
        noise = np.hypot(each.floor, each.share * each.current[rows])
        errors[at] = math.sqrt(float(np.sum((weights * noise) ** 2)))
    return found, errors


def _contacts(family: Family, lines: FreeLines, met: Crossing | None) -> dict[str, Parameter]:
    m, last = family.overdrive.size, -1
    low, high = float(family.overdrive[0]), float(family.overdrive[-1])
    q = quantile_of(lines.freedom)
    half_std = math.sqrt(lines.covariance[m - 1, m - 1]) / 2
    half = float(lines.intercept[last]) / 2
    found = {
        "contact_resistance_as_drawn": contact_parameter(
            half,
            half_std,
            (half - q * half_std, half + q * half_std),
            lines.freedom,
            "ohm*cm",
            f"half of R·W at no length, one contact times W, at an overdrive of {high:.3g} V; lengths as stated, ΔL = 0",
        )
    }
    method = f"where the lines of overdrives {low:.3g} to {high:.3g} V cross, ΔL free; profile likelihood"
    refusal = ""
    if met is None:
        refusal = "not identifiable: the lines of these overdrives do not settle on a crossing point"
    elif met.chance < _NOT_CROSSING:
        refusal = (
            f"the lines do not cross in one point (chance {met.chance:.1g}): the contact resistance or the mobility changes "
            "with the gate voltage, so a length offset cannot be told from it"
        )
    if met is None or refusal:
        for name, unit in (("contact_resistance", "ohm*cm"), ("length_offset", "um")):
            found[name] = Parameter(
                value=None,
                std=None,
                unit=unit,
                method=method,
                window=(low, high),
                valid=False,
                why_not=refusal,
            )
        return found
    best = (met.resistance, met.offset)
    ends = profile_interval(lambda a, b: a / 2, met.places, best)
    found["contact_resistance"] = contact_parameter(
        met.resistance / 2,
        math.sqrt(met.covariance[0, 0]) / 2,
        ends,
        met.freedom,
        "ohm*cm",
        f"half of R·W {method}; one contact times W",
    )
    ends = profile_interval(lambda a, b: b, met.places, best)
    open_ended = not all(math.isfinite(end) for end in ends)
    zero = ends[0] <= 0 <= ends[1]
    why = (
        "not identifiable: its interval is open"
        if open_ended
        else "not distinguishable from zero"
        if zero
        else ""
    )
    found["length_offset"] = Parameter(
        value=met.offset,
        std=math.sqrt(met.covariance[1, 1]),
        unit="um",
        method=f"ΔL, electrical less stated length, {method}",
        window=(low, high),
        valid=not why,
        why_not=why,
        interval=ends,
    )
    return found


def _channel(
    family: Family, lines: FreeLines, areal_capacitance: float | None, drain: float
) -> dict[str, Parameter]:
    """Sheet conductance against overdrive: mobility free of contacts, and the threshold that it has."""
    m = family.overdrive.size
    window = (float(family.overdrive[0]), float(family.overdrive[-1]))
    spread = lines.covariance[m:, m:]
    positive = bool(np.all(lines.slope > 0))
    names = ("mobility_free_of_contacts", "threshold_shift_of_channel")
    methods = (
        "slope of the sheet conductance 1/r against V_ov, over C",
        "V_ov − V_D/2 at which the line of the sheet conductance meets zero: what the devices' own thresholds are off by",
    )
    sheet = Parameter(
        value=float(lines.slope[-1]),
        std=math.sqrt(spread[-1, -1]),
        unit="ohm",
        method=f"slope of R·W against length at an overdrive of {window[1]:.3g} V",
        window=(window[1], window[1]),
        valid=positive,
        why_not="" if positive else "the resistance does not rise with the length",
    )
    if not positive or m < 2:
        refused = {
            name: Parameter(
                value=None,
                std=None,
                unit=unit,
                method=how,
                window=window,
                valid=False,
                why_not=sheet.why_not or "one overdrive only",
            )
            for name, how, unit in zip(names, methods, ("cm^2/(V*s)", "V"), strict=True)
        }
        return {"channel_sheet_resistance": sheet, **refused}
    conductance = 1 / lines.slope
    covariance = spread * np.outer(conductance, conductance) ** 2
    over = family.overdrive - drain / 2
    # Plain least squares: errors that nearly all overdrives share would drag a weighted line off bent points.
    inverse = np.linalg.pinv(np.stack([np.ones(m), over], axis=1))
    of_line = inverse @ covariance @ inverse.T
    level, slope = inverse @ conductance
    shift = -level / slope
    gradient = np.array([-1 / slope, level / slope**2])
    falls = "" if slope > 0 else "the sheet conductance falls with overdrive"
    capacitance = math.nan if areal_capacitance is None else areal_capacitance
    last = conductance[-1] / over[-1]
    last_std = math.sqrt(covariance[-1, -1]) / over[-1]
    return {
        "channel_sheet_resistance": sheet,
        names[0]: _mobility(slope / capacitance, math.sqrt(of_line[1, 1]) / capacitance, methods[0], window, falls),
        "effective_mobility_free_of_contacts": _mobility(
            last / capacitance, last_std / capacitance, "1/(r·C·(V_ov − V_D/2)) at the largest overdrive", (window[1], window[1]), ""
        ),
        names[1]: Parameter(
            value=float(shift),
            std=float(math.sqrt(gradient @ of_line @ gradient)),
            unit="V",
            method=methods[1],
            window=window,
            valid=not falls,
            why_not=falls,
        ),
    }  # fmt: skip


def _mobility(value: float, std: float, method: str, window: tuple[float, float], falls: str) -> Parameter:
    """A mobility, or why there is none."""
    why = falls if math.isfinite(value) else "not known: areal capacitance"
    return Parameter(
        value=None if why else float(value),
        std=None if why else float(std),
        unit="cm^2/(V*s)",
        method=method,
        window=window,
        valid=not why,
        why_not=why,
    )


def _shares(family: Family, lines: FreeLines) -> Array:
    """Of the contacts in the whole, at the largest overdrive, with lengths as stated."""
    m = family.overdrive.size
    a, b = lines.intercept[-1], lines.slope[-1]
    c = lines.covariance[np.ix_([m - 1, 2 * m - 1], [m - 1, 2 * m - 1])]
    whole = a + b * family.length
    share = a / whole
    gradient = np.stack([b * family.length / whole**2, -a * family.length / whole**2], axis=1)
    half = quantile_of(lines.freedom) * np.sqrt(np.einsum("ni,ij,nj->n", gradient, c, gradient))
    return np.stack([share, np.clip(share - half, 0, 1), np.clip(share + half, 0, 1)], axis=1)
