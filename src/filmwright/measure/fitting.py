"""The front door of fits: families in, parameters with intervals out; what cannot be told is said so."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from filmwright import device
from filmwright.measure.classes import LEAK_SHOWN
from filmwright.measure.context import LEAKY
from filmwright.measure.families import Family
from filmwright.measure.family_fits import MOVED, FamilyFits, Ground, fit_alike
from filmwright.measure.family_goodness import goodness_of
from filmwright.measure.fit_results import FitResult, FittedPoints, Interval
from filmwright.measure.results import Geometry, Parameter
from filmwright.measure.smoothing import Array
from filmwright.numerics import ProfileEnds, fit_many, profile_ends

Z95 = 1.959964
"""Half width of a 95 % interval in standard deviations."""

RISE95 = Z95**2

_REFUSED = {
    "ionic gate": "the gate is ionic ({why}): its charge is not areal capacitance times voltage",
    "dead": "dead: {why}",
    "no gate control (shorted or open gate)": "the gate does not control the current: {why}",
    "never on": "never on: {why}",
}
_FLOORS = {"contact_ohms": 0.0, "off_current": 0.0, "modulation": 0.0, "ideality": 1.0, "body_factor": 1.0}
"""Where a parameter ends by its nature."""

_EFFECTIVE = 0.1
"""Share of the current by which the model misses the upper part of the curves, from which its parameters are effective."""

_FEWEST_SATURATED = 4
"""Points in saturation from which a modulation of the channel length is looked for."""

_CLOSE = 0.95
"""Size of a correlation from which it is worth a word."""


def fit_families(
    families: Sequence[Family],
    geometry: Geometry | None = None,
    robust: bool = False,
    bulk: bool = False,
    alone: bool = True,
) -> tuple[FitResult, ...]:
    """The all-region channel current fitted to every family, those of one shape together.

    Equation: that of ``device.drain_current``, least squares in standard deviations of the points

    Parameters
    ----------
    families : sequence of Family
    geometry : Geometry or None
        What is not known is refused with the reason: without W, L and areal capacitance a gain factor takes the place
        of the mobility.
    robust : bool
        Points more than three standard deviations off pull with a constant force only.
    bulk : bool
        The channel lies on a grounded bulk: its body factor is fitted too (it is wherever a bulk voltage is known).
    alone : bool
        Whether doubtful parameters are looked at by their profile; False for thousands of families at once, whose
        intervals then are those of a parabola.

    Returns
    -------
    tuple of FitResult, in the order of the families

    References
    ----------
    C. C. Enz, F. Krummenacher, E. A. Vittoz, Analog Integr. Circuits Signal Process. 8, 83 (1995),
    doi:10.1007/BF01239381 (from memory); D. M. Bates, D. G. Watts, Nonlinear Regression Analysis and Its Applications,
    Wiley 1988 (from memory).
    """
    known = geometry or Geometry()
    results: dict[int, FitResult] = {}
    groups: dict[tuple[int, tuple[str, ...]], list[int]] = {}
    for at, family in enumerate(families):
        why = refusal(family)
        names = moved_in(family, bulk)
        if not why and len(family.current) < 2 * len(names):
            why = f"{len(family.current)} points cannot tell {len(names)} parameters"
        if why:
            results[at] = _refused(family, why)
        else:
            groups.setdefault((len(family.current), names), []).append(at)
    for (_, names), members in groups.items():
        own = [families[at] for at in members]
        fits = fit_alike(own, names, known.temperature, 3.0 if robust else np.inf)
        rivals = _rivals(fits)
        for row, (at, family) in enumerate(zip(members, own, strict=True)):
            results[at] = _Told(fits, row, family, known, alone, rivals).result()
    return tuple(results[at] for at in range(len(families)))


def refusal(family: Family) -> str:
    """Why a family is not fitted; empty when it may be."""
    classes = [result.classes for result in family.results]
    for name, words in _REFUSED.items():
        having = [each[name] for each in classes if name in each]
        if having and (name == "ionic gate" or len(having) == len(classes)):
            return words.format(why=having[0])
    if family.leak >= LEAKY:
        return f"leaky gate: {100 * family.leak:.2g} % of the drain current flow through the gate at least"
    if not np.any(family.current > 0):
        return "no current flows into the drain"
    return ""


def moved_in(family: Family, bulk: bool = False) -> tuple[str, ...]:
    """What is fitted to a family: channel-length modulation where it reaches into saturation at several drain voltages."""
    names: tuple[str, ...] = MOVED
    found = [
        family.sign * result.parameters["threshold_voltage"].value
        for result in family.results
        if result.parameters["threshold_voltage"].value is not None
    ]
    over = family.gate - (float(np.median(found)) if found else float(np.median(family.gate)))
    saturated = (over > 0) & (family.drain > over) & (family.drain > 1.1 * family.drain.min())
    if np.sum(saturated) >= _FEWEST_SATURATED:
        names = (*names, "modulation")
    if bulk or family.bulk_voltage is not None:
        names = (*names, "body_factor")
    return names


def _refused(family: Family, why: str) -> FitResult:
    return FitResult(
        file=family.file,
        device=family.device,
        direction=family.direction,
        type="n" if family.sign > 0 else "p",
        bulk_voltage=family.bulk_voltage,
        curves=family.labels,
        parameters={},
        intervals={},
        correlation={},
        refused=why,
    )


@dataclass(frozen=True)
class _Rivals:
    """The same families fitted with an attenuation of the mobility in place of the contact resistance."""

    rise: Array
    attenuation: Array
    gain: Array


def _rivals(fits: FamilyFits) -> _Rivals | None:
    names = fits.ground.names
    if "contact_ohms" not in names:
        return None
    swapped = tuple("attenuation" if name == "contact_ohms" else name for name in names)
    ground = Ground(
        gate=fits.ground.gate,
        drain=fits.ground.drain,
        current=fits.ground.current,
        temperature=fits.ground.temperature,
        names=swapped,
    )
    place, gain = names.index("contact_ohms"), names.index("gain")
    start = fits.fitted.x.copy()
    start[:, place] = np.maximum(2.0 * start[:, gain] * start[:, place], 1e-4)
    found = fit_many(ground.problem(fits.std), start, *ground.bounds(), tail=fits.fitted.tail, tolerance=1e-8)
    return _Rivals(found.cost - fits.fitted.cost, found.x[:, place], found.x[:, gain])


class _Told:
    """One family of many that were fitted, put into words."""

    def __init__(
        self, fits: FamilyFits, row: int, family: Family, known: Geometry, alone: bool, rivals: _Rivals | None
    ) -> None:
        self.fits, self.row, self.family, self.known, self.rivals = fits, row, family, known, rivals
        self.names = fits.ground.names
        self.x = dict(zip(self.names, fits.fitted.x[row].tolist(), strict=True))
        self.std = dict(zip(self.names, fits.deviations[row].tolist(), strict=True))
        self.ends = self._profile() if alone and any(self._doubtful(name) for name in self.names) else None

    def _doubtful(self, name: str) -> bool:
        std = self.std[name]
        floor = _FLOORS.get(name)
        near = floor is not None and self.x[name] - floor < 3.0 * std
        return not math.isfinite(std) or near or (name == "gain" and std > 0.3 * self.x[name])

    def _profile(self) -> ProfileEnds:
        low, high = (each[self.row] for each in self.fits.ground.bounds())
        rise = RISE95 * float(self.fits.widened[self.row]) ** 2
        return profile_ends(
            self.fits.ground.problem(self.fits.std), self.fits.fitted, self.row, low, high, rise
        )

    def interval(self, name: str) -> Interval:
        """In the units of the fit."""
        if self.ends is not None:
            at = self.names.index(name)
            low, high = float(self.ends.low[at]), float(self.ends.high[at])
            open_low, open_high = bool(self.ends.open_low[at]), bool(self.ends.open_high[at])
            # Where a parameter ends by its nature the interval does; a bound of the search is none.
            low = _FLOORS.get(name, -math.inf) if open_low else low
            return Interval(
                low=low, high=math.inf if open_high else high, open_low=open_low, open_high=open_high
            )
        value, std = self.x[name], self.std[name]
        if not math.isfinite(std):
            return Interval(low=-math.inf, high=math.inf, open_low=True, open_high=True)
        low = max(value - Z95 * std, _FLOORS.get(name, -math.inf))
        return Interval(low=low, high=value + Z95 * std, open_low=low <= _FLOORS.get(name, -math.inf))

    def result(self) -> FitResult:
        parameters: dict[str, Parameter] = {}
        intervals: dict[str, Interval] = {}
        for name, shown, unit, factor, method in self._shown():
            interval = _scaled(self.interval(name), factor)
            parameters[shown] = self._parameter(name, unit, factor, method)
            intervals[shown] = interval
        missing = self.known.missing()
        if missing:
            parameters["mobility"] = Parameter(
                value=None,
                std=None,
                unit="cm^2/(V*s)",
                method="gain factor·L/(W·C)",
                window=None,
                valid=False,
                why_not=f"not known: {missing}",
            )
        goodness = goodness_of(self.fits, self.row, self.family)
        return FitResult(
            file=self.family.file,
            device=self.family.device,
            direction=self.family.direction,
            type="n" if self.family.sign > 0 else "p",
            bulk_voltage=self.family.bulk_voltage,
            curves=self.family.labels,
            parameters=parameters,
            intervals=intervals,
            correlation=self._correlation(),
            goodness=goodness,
            points=self._points(),
            cautions=self._cautions(),
        )

    def _shown(self) -> list[tuple[str, str, str, float, str]]:
        """Name in the fit, name shown, unit, factor from the fit to it, and definition."""
        known, sign = self.known, self.family.sign
        limit = device.subthreshold_limit(known.temperature)
        rows = [
            (
                "threshold_voltage",
                "threshold_voltage",
                "V",
                sign,
                "V_T: where charge begins to rise linearly",
            ),
            ("gain", "gain_factor", "A/V^2", 1.0, "β = (W/L)·µ·C at low field, contacts taken off"),
        ]
        if not known.missing():
            area = (known.length or 1.0) / ((known.width or 1.0) * (known.areal_capacitance or 1.0))
            rows.append(("gain", "mobility", "cm^2/(V*s)", area, "β·L/(W·C), contacts taken off"))
        rows.append(("ideality", "ideality", "", 1.0, "n: swing over the thermal limit"))
        rows.append(
            (
                "ideality",
                "subthreshold_swing",
                "V/decade",
                limit,
                "n·(kT/q)·ln 10 over the whole subthreshold part",
            )
        )
        wide = known.width is not None
        unit, factor = ("ohm*cm", known.width or 1.0) if wide else ("ohm", 1.0)
        of = "R·W of one contact" if wide else "R of one contact"
        rows.append(
            ("contact_ohms", "contact_resistance", unit, factor, f"{of}, the same at source and drain")
        )
        rows.append(
            ("off_current", "off_current", "A", 1.0, "beside the channel, the same at all gate voltages")
        )
        rows.append(("modulation", "channel_length_modulation", "1/V", 1.0, "λ: current grows by 1 + λ·V_D"))
        rows.append(
            ("body_factor", "body_factor", "", 1.0, "m: the channel pinches off at V_D = (V_G − V_T)/m")
        )
        return [row for row in rows if row[0] in self.names]

    def _parameter(self, name: str, unit: str, factor: float, method: str) -> Parameter:
        interval, std = self.interval(name), self.std[name]
        value: float | None = self.x[name]
        why, bound = self._why_not(name, interval)
        if bound:
            value = interval.high if bound == "at most" else interval.low
        elif interval.open_low and interval.open_high:
            value = None
        sign = self.family.sign
        ends = sorted((sign * float(self.family.gate.min()), sign * float(self.family.gate.max())))
        told = math.isfinite(std) and not bound and value is not None
        if bound and factor < 0:
            bound = "at least" if bound == "at most" else "at most"
        return Parameter(
            value=None if value is None or not math.isfinite(value) else value * factor,
            std=std * abs(factor) if told else None,
            unit=unit,
            method=f"fit of all curves: {method}",
            window=(ends[0], ends[1]),
            valid=not why,
            why_not=why,
            bound=bound,  # type: ignore[arg-type]
        )

    def _why_not(self, name: str, interval: Interval) -> tuple[str, str]:
        """Why a parameter is not told, and whether it is a bound."""
        floor = _FLOORS.get(name)
        if interval.open_low and interval.open_high:
            partners = self._partners(name)
            with_them = f"; only together with {partners}" if partners else ""
            return f"not identifiable: these curves do not limit it{with_them}", ""
        if interval.open_low and floor is not None:
            least = "the thermal limit" if name == "ideality" else f"{floor:g}"
            return f"not distinguishable from {least}: this is the upper end of the 95 % interval", "at most"
        if interval.open_low:
            return "these curves give no lower limit", "at most"
        if interval.open_high:
            return "these curves give no upper limit within what is physical", "at least"
        if name == "contact_ohms" and self._rivalled():
            assert self.rivals is not None
            theta = float(self.rivals.attenuation[self.row])
            return (
                f"not identifiable in this device alone: a mobility that falls with overdrive (θ = {theta:.3g} 1/V) "
                "fits as well; a set of channel lengths tells them apart",
                "",
            )
        return "", ""

    def _rivalled(self) -> bool:
        if self.rivals is None:
            return False
        return float(self.rivals.rise[self.row]) <= RISE95 * float(self.fits.widened[self.row]) ** 2

    def _partners(self, name: str) -> str:
        matrix = self.fits.errors.directions[self.row]
        own = np.abs(matrix[self.names.index(name)])
        weakest = int(np.argmax(own * (np.arange(len(own)) < 2)))
        others = [
            other.replace("_", " ")
            for other, part in zip(self.names, np.abs(matrix[:, weakest]), strict=True)
            if part > 0.3 and other != name
        ]
        return ", ".join(others)

    def _correlation(self) -> dict[tuple[str, str], float]:
        matrix = self.fits.errors.correlation[self.row]
        flip = {"threshold_voltage": self.family.sign}
        return {
            (one, other): float(matrix[i, j]) * flip.get(one, 1.0) * flip.get(other, 1.0)
            for i, one in enumerate(self.names)
            for j, other in enumerate(self.names)
            if i < j
        }

    def _points(self) -> FittedPoints:
        fits, row, sign = self.fits, self.row, self.family.sign
        std = fits.std[row]
        slopes = fits.fitted.slopes[row] * std
        covariance = np.where(np.isfinite(fits.errors.covariance[row]), fits.errors.covariance[row], 0.0)
        band = np.sqrt(np.maximum(np.einsum("pn,pq,qn->n", slopes, covariance, slopes), 0.0))
        return FittedPoints(
            gate_voltage=sign * self.family.gate,
            drain_voltage=sign * self.family.drain,
            measured=sign * self.family.current,
            fitted=sign * (self.family.current + fits.fitted.residual[row] * std),
            std=std,
            band=band * float(fits.widened[row]),
            residual=fits.fitted.residual[row],
            curve=self.family.curve.astype(float),
            labels=self.family.labels,
        )

    def _cautions(self) -> tuple[str, ...]:
        said = []
        if not self.fits.fitted.converged[self.row]:
            said.append("the fit did not end at a minimum: its values are where it stopped")
        missed = float(self.fits.misfit[0][self.row])
        if missed > _EFFECTIVE:
            said.append(
                f"the model misses the upper part of the curves by {100 * missed:.2g} %: the parameters describe them, "
                "but are no material's"
            )
        if not self.family.noise_known:
            said.append(
                "too few points in a curve to show its noise: 2 % of the current were taken, errors follow from the residuals"
            )
        if self.family.leak >= LEAK_SHOWN:
            said.append(f"{100 * self.family.leak:.2g} % of the drain current flow through the gate")
        if self.family.left_out:
            said.append(
                f"{self.family.left_out} points do not belong to this channel (limit of the instrument, other carriers)"
            )
        for (one, other), value in self._correlation().items():
            if abs(value) >= _CLOSE and math.isfinite(self.std[one]) and math.isfinite(self.std[other]):
                words = f"{one.replace('_', ' ')} and {other.replace('_', ' ')}"
                said.append(f"{words} are told together only (correlation {value:.3f})")
        if self._rivalled() and self.rivals is not None and "gain" in self.x:
            shift = float(self.rivals.gain[self.row]) / self.x["gain"] - 1.0
            said.append(
                f"with a falling mobility in place of the contacts the gain factor would be {100 * shift:+.2g} %"
            )
        return tuple(said)


def _scaled(interval: Interval, factor: float) -> Interval:
    low, high = interval.low * factor, interval.high * factor
    if factor < 0:
        return Interval(low=high, high=low, open_low=interval.open_high, open_high=interval.open_low)
    return Interval(low=low, high=high, open_low=interval.open_low, open_high=interval.open_high)
