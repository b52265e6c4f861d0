"""From measured thicknesses to a rate and to the setting for the next target."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from filmwright.learn.belief import Z95, RateBelief, aged, kalman_step
from filmwright.learn.evidence import Judgement, Proposal, ProposedQuantity, ThicknessEvidence
from filmwright.learn.robust import weighted_mean
from filmwright.units import show, write

_UNITS = {"deposition rate": "nm/min", "etch rate": "nm/min", "growth per cycle": "ang"}


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A rate after all runs of one tool, recipe and material.

    Attributes
    ----------
    prior : RateBelief
        The old belief, aged to the first run.
    posterior : RateBelief
        After the last run.
    next_std : float [SI]
        Of the rate in a single next run.
    largest_surprise : float
        Largest |measured − expected| in standard deviations of that difference.
    """

    prior: RateBelief
    posterior: RateBelief
    next_std: float
    largest_surprise: float


def estimate_rate(
    runs: Sequence[Sequence[ThicknessEvidence]], judgement: Judgement, days_to_next: float = 0.0
) -> Estimate:
    """One Kalman step per run; the wafers of a run count as one reading of the tool.

    Parameters
    ----------
    runs : sequence of runs in order of date, each a sequence of ThicknessEvidence
    judgement : Judgement
    days_to_next : float [days]
        Idle time from the last run to the next one.
    """
    first = runs[0][0]
    drift = first.drift_per_sqrt_day
    if drift is None:
        drift = judgement.drift_per_sqrt_day * first.belief_value
    belief = RateBelief(mean=first.belief_value, std=first.belief_std)
    prior = aged(belief, first.belief_age_days, drift)
    idle, day, surprise = first.belief_age_days, first.date, 0.0
    for run in runs:
        rate, std = weighted_mean([each.rate for each in run], [each.rate_std for each in run])
        noise = math.hypot(std, judgement.run_to_run * rate)
        idle += _days(day, run[0].date)
        expected = math.hypot(aged(belief, idle, drift).std, noise)
        surprise = max(surprise, abs(rate - belief.mean) / expected)
        belief = kalman_step(belief, rate, noise, idle, drift)
        idle, day = 0.0, run[0].date or day
    return Estimate(
        prior=prior,
        posterior=RateBelief(mean=belief.mean, std=belief.std, date=day),
        next_std=math.hypot(aged(belief, days_to_next, drift).std, judgement.run_to_run * belief.mean),
        largest_surprise=surprise,
    )


def setting_for(target: float, rate: float, rate_std: float) -> tuple[float, float, float]:
    """Setting for a target at a rate, target / rate, with the settings at the two ends of the rate's 95 %
    interval.

    Parameters
    ----------
    target : float [m]
    rate, rate_std : float [m/s or m per cycle]

    Returns
    -------
    setting, low, high : float [s or cycles]
        ``high`` is infinite when the interval of the rate reaches 0.
    """
    slow, fast = rate - Z95 * rate_std, rate + Z95 * rate_std
    return target / rate, target / fast, target / slow if slow > 0 else math.inf


def propose_rates(
    evidence: Iterable[ThicknessEvidence], judgement: Judgement, days_to_next: float = 0.0
) -> tuple[Proposal, ...]:
    """Two proposals per tool, recipe, material and medium: the rate, and the setting for the target."""
    groups: dict[tuple[str, ...], list[ThicknessEvidence]] = {}
    for each in evidence:
        groups.setdefault((each.of, each.tool, each.recipe, each.material, each.medium), []).append(each)
    found: list[Proposal] = []
    for group in groups.values():
        usable = [each for each in group if not each.cleared]
        if usable:
            found.extend(_propose(usable, _unusable(group), judgement, days_to_next))
        else:
            found.append(_only_a_bound(group))
    return tuple(found)


def _propose(
    group: list[ThicknessEvidence], warnings: list[str], judgement: Judgement, days_to_next: float
) -> tuple[Proposal, Proposal]:
    runs = _runs(group)
    known = estimate_rate(runs, judgement, days_to_next)
    last = runs[-1][-1]
    old, new = known.prior, known.posterior
    worthwhile = abs(new.mean - old.mean) > Z95 * new.std
    warnings += _rate_warnings(known, last, judgement)
    rate = Proposal(
        what=f"{last.of} of {_subject(last)}",
        tool=last.tool,
        material=last.material,
        medium=last.medium,
        recipe=last.recipe,
        quantity=last.of,
        old=old.mean,
        old_std=old.std,
        new=new.mean,
        new_std=new.std,
        unit=_UNITS[last.of],
        low=new.low,
        high=new.high,
        change_worthwhile=worthwhile,
        why=_why(old, new, last.of, worthwhile),
        warnings=tuple(warnings),
        evidence=tuple(_sentence(each) for run in runs for each in run),
        date=new.date,
        invented=any(each.invented for each in group),
    )
    return rate, _setting(rate, known, last)


def _setting(rate: Proposal, known: Estimate, last: ThicknessEvidence) -> Proposal:
    quantity: ProposedQuantity = "cycles" if last.of == "growth per cycle" else "time"
    old, _, _ = setting_for(last.target, known.prior.mean, known.prior.std)
    new, low, high = setting_for(last.target, known.posterior.mean, known.next_std)
    if quantity == "cycles":
        old, new, low = float(round(old)), float(round(new)), float(math.floor(low))
        high = float(math.ceil(high)) if math.isfinite(high) else high
    wanted = show(last.target, "length")
    over_etch = ", over-etch comes on top" if last.of == "etch rate" else ""
    return Proposal(
        what=f"{quantity} for {wanted} of {_subject(last)}",
        tool=last.tool,
        material=last.material,
        medium=last.medium,
        recipe=last.recipe,
        quantity=quantity,
        old=old,
        old_std=old * known.prior.std / known.prior.mean,
        new=new,
        new_std=new * known.next_std / known.posterior.mean,
        unit="" if quantity == "cycles" else "s",
        low=low,
        high=high,
        change_worthwhile=rate.change_worthwhile,
        why=f"{wanted} at {_written(known.posterior.mean, last.of)}{over_etch}; {rate.why}",
        warnings=_setting_warnings(new, known, last),
        evidence=rate.evidence,
        date=rate.date,
        invented=rate.invented,
    )


def _rate_warnings(known: Estimate, last: ThicknessEvidence, judgement: Judgement) -> list[str]:
    warnings = []
    if known.largest_surprise > judgement.surprise:
        warnings.append(
            f"a reading lies {known.largest_surprise:.1f} standard deviations from what was expected: "
            "check the reading and the tool before accepting"
        )
    if last.drift_per_sqrt_day is None and last.belief_age_days > 0:
        warnings.append(
            f"drift taken as {100 * judgement.drift_per_sqrt_day:.3g} % per √day by judgement, "
            "for want of a history of this tool"
        )
    return warnings


def _setting_warnings(new: float, known: Estimate, last: ThicknessEvidence) -> tuple[str, ...]:
    warnings = []
    half = Z95 * known.next_std / known.posterior.mean * last.target
    if last.tolerance is not None and half > last.tolerance:
        warnings.append(
            f"run a dummy first: the next film lies within ± {show(half, 'length')} of the target at 95 %, "
            f"and ± {show(last.tolerance, 'length')} is accepted"
        )
    low, high = last.tried_low, last.tried_high
    if (low is not None and new < low) or (high is not None and new > high):
        warnings.append(
            f"outside the tried range ({_setting_words(low, last)} to {_setting_words(high, last)}): "
            "a rate may not hold there, measure again after the first run"
        )
    return tuple(warnings)


def _unusable(group: list[ThicknessEvidence]) -> list[str]:
    cleared = sum(each.cleared for each in group)
    if not cleared:
        return []
    return [
        f"{cleared} reading(s) left out: the film was gone before the time was up, "
        "so the rate is only known to be at least that"
    ]


def _only_a_bound(group: list[ThicknessEvidence]) -> Proposal:
    last = group[-1]
    least = max(each.rate for each in group)
    return Proposal(
        what=f"{last.of} of {_subject(last)}",
        tool=last.tool,
        material=last.material,
        medium=last.medium,
        recipe=last.recipe,
        quantity=last.of,
        old=last.belief_value,
        old_std=last.belief_std,
        new=last.belief_value,
        new_std=last.belief_std,
        unit=_UNITS[last.of],
        low=max(least, last.belief_value - Z95 * last.belief_std),
        high=last.belief_value + Z95 * last.belief_std,
        change_worthwhile=False,
        why=f"cannot tell: the film was gone before the time was up, so the rate is at least "
        f"{_written(least, last.of)}; log the end point, or stop a witness early",
        evidence=tuple(_sentence(each) for each in group),
        invented=any(each.invented for each in group),
    )


def _runs(group: list[ThicknessEvidence]) -> list[list[ThicknessEvidence]]:
    runs: dict[tuple[str, str, float], list[ThicknessEvidence]] = {}
    for each in group:
        runs.setdefault((each.date, each.run, each.setting_value), []).append(each)
    return [runs[key] for key in sorted(runs, key=lambda key: key[0])]


def _days(earlier: str, later: str) -> float:
    if not earlier or not later:
        return 0.0
    return float((date.fromisoformat(later[:10]) - date.fromisoformat(earlier[:10])).days)


def _subject(each: ThicknessEvidence) -> str:
    words = [each.material, f"in {each.medium}" if each.medium else "", f"on {each.tool}"]
    words.append(f"({each.recipe})" if each.recipe else "")
    return " ".join(word for word in words if word)


def _written(rate: float, of: str) -> str:
    return write(rate, "ang") + " per cycle" if of == "growth per cycle" else show(rate, "rate")


def _setting_words(value: float | None, each: ThicknessEvidence) -> str:
    if value is None:
        return "…"
    return f"{value:.0f} cycles" if each.of == "growth per cycle" else show(value, "time")


def _why(old: RateBelief, new: RateBelief, of: str, worthwhile: bool) -> str:
    noise = _written(Z95 * new.std, of)
    apart = _written(abs(new.mean - old.mean), of)
    if not worthwhile:
        return f"no change: the difference of {apart} is within the noise of {noise} (95 %)"
    way = "above" if new.mean > old.mean else "below"
    return (
        f"with these runs the estimate goes to {_written(new.mean, of)}, {apart} {way} the {_written(old.mean, of)} believed; "
        f"the noise is {noise} (95 %)"
    )


def _sentence(each: ThicknessEvidence) -> str:
    place = ", ".join(word for word in (each.wafer and f"wafer {each.wafer}", each.run, each.date) if word)
    verb = "removed" if each.of == "etch rate" else "grown"
    text = (
        f"{show(each.measured, 'length')} ± {show(each.measured_std, 'length')} {verb} in "
        f"{_setting_words(each.setting_value, each)}"
    )
    return f"{text} ({place})" if place else text
