"""Capacitance–voltage curves: capacitance of the dielectric, doping, flat band, threshold and hysteresis, with errors."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from filmwright import device, units
from filmwright.measure.curves import Array, CapacitanceCurve
from filmwright.measure.results import Parameter
from filmwright.numerics import root_between

FEWEST_POINTS = 12
"""Points that a curve needs for a slope and its noise."""
_END = 0.1
"""Share of the sweep at each end over which its level is read."""
_RISING = 0.02
"""Relative rise over the accumulation window from which its capacitance is a lower bound."""
_FLAT = 1.15
"""Largest over smallest capacitance below which nothing but a capacitor is seen."""
_DEEP, _SHALLOW = 0.3, 0.7
"""Shares of the way from the smallest to the largest capacitance between which depletion is read."""
_RANGE_OF_THIRD = math.sqrt(20.0)
"""Third differences of white noise spread by √(1 + 9 + 9 + 1) times the noise."""
_MAD = 1.4826


@dataclass(frozen=True, kw_only=True)
class CapacitorSample:
    """What is known about a capacitor beside its curve; None where it is not known.

    Attributes
    ----------
    area : float [m²] or None
    permittivity : float or None
        Relative, of the semiconductor.
    intrinsic_density : float [1/m³] or None
        Of a semiconductor that can invert.
    film_thickness : float [m] or None
        Of a semiconductor that is a film.
    temperature : float [K]
    """

    area: float | None = None
    permittivity: float | None = None
    intrinsic_density: float | None = None
    film_thickness: float | None = None
    temperature: float = units.ROOM_TEMPERATURE

    def __post_init__(self) -> None:
        for name in ("area", "permittivity", "intrinsic_density", "film_thickness", "temperature"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} must be finite and above zero, got {value:g}")


@dataclass(frozen=True, kw_only=True)
class CapacitanceResult:
    """All that one curve tells.

    Attributes
    ----------
    file : str
    accumulates : "positive", "negative" or ""
        Side of the bias on which the capacitance is largest.
    parameters : mapping from name to Parameter
        Of the first direction.
    voltage, capacitance : array (n,) [V], [F]
        Of the first direction, voltage rising, series resistance taken off where it could be.
    backward_voltage, backward_capacitance : array (k,) or None
    profile_depth, profile_density : array (p,) [m], [1/m³]
        Density against depth, from the slope of 1/C²; empty where area or permittivity is not known.
    said, warnings : tuple of str
    """

    file: str
    accumulates: str
    parameters: Mapping[str, Parameter]
    voltage: Array
    capacitance: Array
    backward_voltage: Array | None
    backward_capacitance: Array | None
    profile_depth: Array
    profile_density: Array
    said: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Turned:
    """One direction with accumulation to the right."""

    volts: Array
    farads: Array
    noise: float
    sign: float
    top: float
    top_std: float
    rise: float
    bottom: float

    @property
    def span(self) -> float:
        return float(np.ptp(self.volts))


def read_capacitance(
    curve: CapacitanceCurve, sample: CapacitorSample, frequency: float | None = None
) -> CapacitanceResult:
    """Everything that a capacitance–voltage curve tells, each with its error or the reason why not.

    Equation: those of ``filmwright.device``: C_i from accumulation, N = 2/(q·ε·|d(1/C²)/dV|), 1/C_FB = 1/C_i + L_D/ε

    Parameters
    ----------
    curve : CapacitanceCurve
    sample : CapacitorSample
    frequency : float [1/s] or None
        Where the table does not state it.

    Returns
    -------
    CapacitanceResult

    Raises
    ------
    ValueError
        With fewer than twelve points.

    References
    ----------
    E. H. Nicollian, J. R. Brews, MOS Physics and Technology, Wiley 1982 (from memory); S. M. Sze, K. K. Ng, Physics of
    Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    frequency = curve.frequency or frequency
    said = [f"measured at {units.show(frequency, 'frequency')}" if frequency else "frequency not known"]
    farads, warnings = curve.capacitance, []
    if curve.conductance is not None and frequency:
        farads, note = _corrected(curve, frequency)
        said.append(note)
    else:
        warnings.append(
            "no conductance or no frequency: a resistance in series is not taken off; if there is one, C is read too low"
        )
    first, second = _directions(curve.voltage, farads)
    if first[0].size < FEWEST_POINTS:
        raise ValueError(f"a capacitance curve needs {FEWEST_POINTS} different voltages, got {first[0].size}")
    turned = _turn(*first)
    if turned.top <= 0 or turned.bottom <= 0:
        raise ValueError(
            f"the capacitance must be above zero, got {turned.bottom:.3g} to {turned.top:.3g} F: the open correction is off"
        )
    parameters = _levels(turned, sample)
    depth, density = np.empty(0), np.empty(0)
    if turned.top < _FLAT * max(turned.bottom, 0.0):
        warnings.append(
            "the capacitance hardly changes with the voltage: a plain capacitor, or never depleted"
        )
    doping = _doping(turned, sample)
    parameters["carrier_density"] = doping
    parameters |= _flat_band(turned, sample, doping)
    parameters |= _film(turned, sample)
    parameters["hysteresis"] = _hysteresis(turned, second)
    if sample.area is not None and sample.permittivity is not None:
        depth, density = _profile(turned, sample)
    order = slice(None) if turned.sign > 0 else slice(None, None, -1)
    return CapacitanceResult(
        file=curve.file,
        accumulates="positive" if turned.sign > 0 else "negative",
        parameters=parameters,
        voltage=(turned.sign * turned.volts)[order],
        capacitance=turned.farads[order],
        backward_voltage=None if second is None else second[0],
        backward_capacitance=None if second is None else second[1],
        profile_depth=depth,
        profile_density=density,
        said=tuple(said),
        warnings=tuple(warnings),
    )


def _corrected(curve: CapacitanceCurve, frequency: float) -> tuple[Array, str]:
    """Capacitance with the series resistance taken off, read where the capacitance is largest."""
    lossy = np.asarray(curve.conductance)
    best = np.argsort(curve.capacitance)[-max(3, curve.points // 10) :]
    farads, siemens = float(np.median(curve.capacitance[best])), float(np.median(lossy[best]))
    if farads <= 0 or siemens < 0 or np.any(curve.capacitance <= 0):
        return (
            curve.capacitance,
            "the conductance in accumulation is negative: no series resistance taken off",
        )
    resistance = device.series_resistance(farads, siemens, frequency)
    found, _ = device.without_series_resistance(curve.capacitance, lossy, resistance, frequency)
    change = float(np.median(found[best]) / farads - 1)
    return (
        found,
        f"{units.show(resistance, 'resistance')} in series taken off: C in accumulation {100 * change:+.2g} %",
    )


def _directions(volts: Array, farads: Array) -> tuple[tuple[Array, Array], tuple[Array, Array] | None]:
    """The two ways of a sweep, each with its voltage rising; the second None where there is one way only."""
    steps = np.sign(np.diff(volts))
    way = steps[steps != 0][0] if np.any(steps != 0) else 1.0
    back = np.flatnonzero(steps == -way)
    turn = int(back[0]) if back.size else len(volts) - 1
    parts = [(volts[: turn + 1], farads[: turn + 1]), (volts[turn:], farads[turn:])]
    merged = [_merged(*part) for part in parts]
    return merged[0], merged[1] if merged[1][0].size >= FEWEST_POINTS else None


def _merged(volts: Array, farads: Array) -> tuple[Array, Array]:
    unique, where, counts = np.unique(volts, return_inverse=True, return_counts=True)
    return unique, np.bincount(where, weights=farads, minlength=len(unique)) / counts


def _turn(volts: Array, farads: Array, sign: float | None = None) -> _Turned:
    count = max(3, round(_END * len(volts)))
    if sign is None:
        sign = 1.0 if np.median(farads[-count:]) >= np.median(farads[:count]) else -1.0
    if sign < 0:
        volts, farads = -volts[::-1], farads[::-1]
    third = np.diff(farads, 3)
    noise = _MAD * float(np.median(np.abs(third))) / _RANGE_OF_THIRD
    slope, level = np.polyfit(volts[-count:] - float(np.mean(volts[-count:])), farads[-count:], 1)
    return _Turned(
        volts=volts,
        farads=farads,
        noise=noise,
        sign=sign,
        top=float(level),
        top_std=noise / math.sqrt(count),
        rise=float(slope * np.ptp(volts[-count:])),
        bottom=float(np.median(np.sort(farads)[:count])),
    )


def _refused(unit: str, method: str, why: str) -> Parameter:
    return Parameter(value=None, std=None, unit=unit, method=method, window=None, valid=False, why_not=why)


def _ends(turned: _Turned, low: float, high: float) -> tuple[float, float]:
    first, second = sorted((turned.sign * low, turned.sign * high))
    return first, second


def _levels(turned: _Turned, sample: CapacitorSample) -> dict[str, Parameter]:
    count = max(3, round(_END * len(turned.volts)))
    window = _ends(turned, float(turned.volts[-count]), float(turned.volts[-1]))
    rising = turned.rise > _RISING * turned.top
    why = (
        f"still rising by {100 * turned.rise / turned.top:.2g} % over the window: at least this"
        if rising
        else ""
    )
    # What it still rises by in the window is what the mean is short of, at least.
    std = math.hypot(turned.top_std, max(turned.rise, 0.0) / 2)
    whole = Parameter(
        value=turned.top,
        std=None if rising else std,
        unit="pF",
        method="mean over the tenth of the sweep that is deepest in accumulation; its error holds half of the rise there",
        window=window,
        valid=not rising,
        why_not=why,
        bound="at least" if rising else "",
    )
    found = {"accumulation_capacitance": whole}
    method = "accumulation capacitance over the area"
    if sample.area is None:
        found["areal_capacitance"] = _refused("nF/cm^2", method, "not known: area")
    else:
        found["areal_capacitance"] = replace(
            whole,
            value=turned.top / sample.area,
            std=None if rising else std / sample.area,
            unit="nF/cm^2",
            method=method,
        )
    found["smallest_capacitance"] = Parameter(
        value=turned.bottom,
        std=turned.noise / math.sqrt(count),
        unit="pF",
        method="median of the smallest tenth of the readings",
        window=None,
        valid=True,
    )
    return found


def _depletion(turned: _Turned) -> tuple[Array, Array]:
    """Voltages and capacitances between the shares of the way from smallest to largest."""
    low = turned.bottom + _DEEP * (turned.top - turned.bottom)
    high = turned.bottom + _SHALLOW * (turned.top - turned.bottom)
    above = np.flatnonzero(turned.farads >= high)
    first = int(above[0]) if above.size else len(turned.farads)
    below = np.flatnonzero(turned.farads[:first] <= low)
    start = int(below[-1]) + 1 if below.size else 0
    return turned.volts[start:first], turned.farads[start:first]


def _doping(turned: _Turned, sample: CapacitorSample) -> Parameter:
    unit = "1/cm^3"
    method = "2/(q·ε·|d(1/C²)/dV|), a straight line between 30 and 70 % of the way from smallest to largest capacitance"
    missing = [
        name
        for name, value in (("area", sample.area), ("permittivity of the semiconductor", sample.permittivity))
        if value is None
    ]
    if missing or sample.area is None or sample.permittivity is None:
        return _refused(unit, method, f"not known: {', '.join(missing)}")
    volts, farads = _depletion(turned)
    if volts.size < 5 or turned.top < _FLAT * turned.bottom:
        return _refused(unit, method, "no depletion is seen: five points on the slope are needed")
    inverse = (sample.area / farads) ** 2
    slope, level = np.polyfit(volts, inverse, 1)
    left = inverse - slope * volts - level
    # Neighbouring residuals of a bent curve are alike: count the stretches of one sign, not the points.
    stretches = 1 + int(np.count_nonzero(np.diff(np.sign(left)) != 0))
    spread = float(np.std(left)) * math.sqrt(volts.size / min(stretches, volts.size))
    slope_std = spread / (float(np.std(volts)) * math.sqrt(volts.size))
    if slope >= -2 * slope_std:
        return _refused(unit, method, "1/C² does not fall towards accumulation beyond its error")
    value = float(device.density_of_slope(slope, sample.permittivity))
    return Parameter(
        value=value,
        std=value * slope_std / abs(slope),
        unit=unit,
        method=method,
        window=_ends(turned, float(volts[0]), float(volts[-1])),
        valid=True,
    )


def _profile(turned: _Turned, sample: CapacitorSample) -> tuple[Array, Array]:
    """Density against depth by parabolas through fifteen neighbours of 1/C²."""
    area, permittivity = sample.area or 1.0, sample.permittivity or 1.0
    inside = turned.farads < 0.98 * turned.top
    volts, farads = turned.volts[inside], turned.farads[inside]
    half = 7
    depth, density = [], []
    for at in range(half, len(volts) - half):
        rows = slice(at - half, at + half + 1)
        slope = float(np.polyfit(volts[rows] - volts[at], (area / farads[rows]) ** 2, 2)[1])
        if slope < 0:
            density.append(float(device.density_of_slope(slope, permittivity)))
            depth.append(float(device.depleted_width(farads[at] / area, turned.top / area, permittivity)))
    return np.array(depth), np.array(density)


def _crossing(turned: _Turned, level: float) -> tuple[float, float]:
    """Voltage at which the capacitance rises through a level, and the slope there, by a line through neighbours."""
    above = np.flatnonzero(turned.farads >= level)
    first = int(above[0]) if above.size else -1
    if first <= 0:
        return math.nan, math.nan
    count = len(turned.volts)
    # As many points as half the rise above the level covers, at least five.
    reach = max(2, min(10, count // 40))
    rows = slice(max(first - reach, 0), min(first + reach, count))
    slope, there = np.polyfit(turned.volts[rows], turned.farads[rows], 1)
    return float((level - there) / slope), float(slope)


def _flat_band(turned: _Turned, sample: CapacitorSample, doping: Parameter) -> dict[str, Parameter]:
    method = "voltage of the flat-band capacitance, C_i in series with ε/L_D, L_D from the density found"
    names = {"flat_band_voltage": "V", "threshold_of_inversion": "V"}
    if doping.value is None or sample.area is None or sample.permittivity is None:
        return {name: _refused(unit, method, doping.why_not) for name, unit in names.items()}
    areal = turned.top / sample.area
    permittivity, temperature = sample.permittivity, sample.temperature

    def level_of(dielectric: float, density: float) -> float:
        return sample_area * float(
            device.flat_band_capacitance(dielectric, density, permittivity, temperature)
        )

    sample_area = sample.area
    level = level_of(areal, doping.value)
    volts, slope = _crossing(turned, level)
    if not math.isfinite(volts) or slope <= 0:
        return {
            name: _refused(unit, method, "the curve does not cross its flat-band capacitance")
            for name, unit in names.items()
        }
    spread = doping.std or 0.0
    by_density = level_of(areal, doping.value + spread) - level
    by_dielectric = level_of(areal * (1 + turned.top_std / turned.top), doping.value) - level
    std = math.sqrt(turned.noise**2 / 5 + by_density**2 + by_dielectric**2) / slope
    flat = Parameter(
        value=turned.sign * volts,
        std=std,
        unit="V",
        method=method,
        window=None,
        valid=True,
    )
    found = {"flat_band_voltage": flat}
    method = "V_FB and the band bending 2·(kT/q)·ln(N/n_i) with its depletion charge over C_i"
    if sample.intrinsic_density is None:
        found["threshold_of_inversion"] = _refused(
            "V", method, "not known: intrinsic density (a film of an oxide does not invert)"
        )
        return found
    if doping.value <= sample.intrinsic_density:
        found["threshold_of_inversion"] = _refused(
            "V", method, "the density found is below the intrinsic one"
        )
        return found
    bending = device.band_bending_at_inversion(doping.value, sample.intrinsic_density, temperature)
    width = device.widest_depletion(doping.value, sample.intrinsic_density, permittivity, temperature)
    charge = units.ELEMENTARY_CHARGE * doping.value * width
    further = bending + charge / areal
    off = (charge / areal) / 2 * (spread / doping.value)
    found["threshold_of_inversion"] = Parameter(
        value=turned.sign * (volts - further),
        std=math.hypot(std, off),
        unit="V",
        method=method,
        window=None,
        valid=True,
    )
    found["density_of_smallest_capacitance"] = _density_of_bottom(turned, sample)
    return found


def _density_of_bottom(turned: _Turned, sample: CapacitorSample) -> Parameter:
    """Density whose widest depletion is that of the smallest capacitance."""
    method = (
        "density at which depletion stops where the smallest capacitance says (high frequency, inversion)"
    )
    area, permittivity, intrinsic = (
        sample.area or 1.0,
        sample.permittivity or 1.0,
        sample.intrinsic_density or 1.0,
    )
    width = float(device.depleted_width(turned.bottom / area, turned.top / area, permittivity))
    if width <= 0:
        return _refused("1/cm^3", method, "the capacitance does not fall")

    def miss(log: float) -> float:
        return device.widest_depletion(math.exp(log), intrinsic, permittivity, sample.temperature) - width

    low, high = math.log(intrinsic) + 1.0, math.log(intrinsic) + 45.0
    if miss(low) * miss(high) > 0:
        return _refused("1/cm^3", method, "no density in range stops depletion there")
    value = math.exp(root_between(miss, low, high))
    share = 2 * math.hypot(turned.top_std, turned.noise / 3) / (turned.top - turned.bottom)
    return Parameter(value=value, std=share * value, unit="1/cm^3", method=method, window=None, valid=True)


def _film(turned: _Turned, sample: CapacitorSample) -> dict[str, Parameter]:
    """What applies to a film that can be depleted through."""
    method = "V at the accumulation end less ∫(C − C_min)dV/(C_i − C_min): where the gathered charge begins"
    count = max(3, round(_END * len(turned.volts)))
    swing = turned.top - turned.bottom
    if turned.top < _FLAT * turned.bottom:
        return {"threshold_of_charge": _refused("V", method, "the capacitance hardly changes")}
    charge = float(np.trapezoid(turned.farads - turned.bottom, turned.volts))
    begin = float(turned.volts[-1]) - charge / swing
    step = turned.span / (len(turned.volts) - 1)
    std = (
        math.hypot(
            turned.noise * math.sqrt(turned.span * step),
            charge * math.hypot(turned.top_std, turned.noise / math.sqrt(count)) / swing,
        )
        / swing
    )
    std = math.hypot(std, charge / swing**2 * max(turned.rise, 0.0) / 2)
    found = {
        "threshold_of_charge": Parameter(
            value=turned.sign * begin,
            std=std,
            unit="V",
            method=method,
            window=_ends(turned, float(turned.volts[0]), float(turned.volts[-1])),
            valid=True,
        )
    }
    if sample.film_thickness is None or sample.area is None or sample.permittivity is None:
        return found
    method = "voltage at which the film is depleted through: its thickness in series with C_i"
    areal = turned.top / sample.area
    through = sample.area / (
        1 / areal + sample.film_thickness / (units.VACUUM_PERMITTIVITY * sample.permittivity)
    )
    volts, slope = _crossing(turned, through)
    if not math.isfinite(volts):
        found["depleted_through"] = _refused("V", method, "the film is not depleted through in this sweep")
    else:
        found["depleted_through"] = Parameter(
            value=turned.sign * volts,
            std=math.hypot(turned.noise, turned.top_std) / slope if slope > 0 else None,
            unit="V",
            method=method,
            window=None,
            valid=True,
        )
    return found


def _hysteresis(turned: _Turned, second: tuple[Array, Array] | None) -> Parameter:
    method = (
        "voltage on the way back less that on the way out, halfway between smallest and largest capacitance"
    )
    if second is None:
        return _refused("V", method, "swept one way only")
    level = (turned.top + turned.bottom) / 2
    other = _turn(*second, sign=turned.sign)
    (out, slope), (back, again) = _crossing(turned, level), _crossing(other, level)
    if not (math.isfinite(out) and math.isfinite(back)):
        return _refused("V", method, "the two ways do not both pass the middle")
    std = math.hypot(turned.noise / slope, other.noise / again) / math.sqrt(5)
    return Parameter(
        value=turned.sign * (back - out),
        std=std,
        unit="V",
        method=method,
        window=_ends(turned, out, back),
        valid=True,
    )
