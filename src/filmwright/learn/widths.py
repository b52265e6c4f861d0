"""From measured line widths to the print bias of a level."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from filmwright.learn.belief import Z95, RateBelief, kalman_step
from filmwright.learn.evidence import Proposal, WidthEvidence
from filmwright.learn.robust import weighted_mean
from filmwright.units import show


def propose_biases(evidence: Iterable[WidthEvidence]) -> tuple[Proposal, ...]:
    """One proposal per level, aligner, resist and recipe; lines of a wafer first make one value for the
    wafer."""
    groups: dict[tuple[str, ...], list[WidthEvidence]] = {}
    for each in evidence:
        groups.setdefault((each.level, each.tool, each.material, each.recipe), []).append(each)
    return tuple(_propose(group) for group in groups.values())


def _propose(group: list[WidthEvidence]) -> Proposal:
    last = group[-1]
    wafers: dict[str, list[WidthEvidence]] = {}
    for each in group:
        wafers.setdefault(each.wafer, []).append(each)
    per_wafer = [
        weighted_mean([x.bias for x in lines], [x.bias_std for x in lines]) for lines in wafers.values()
    ]
    measured, std = weighted_mean([mean for mean, _ in per_wafer], [std for _, std in per_wafer])
    new = kalman_step(RateBelief(mean=last.bias_now, std=last.bias_now_std), measured, std, 0.0, 0.0)
    noise = Z95 * new.std
    worthwhile = abs(new.mean - last.bias_now) > noise
    return Proposal(
        what=f"print bias of {last.level}" + (f" on {last.tool}" if last.tool else ""),
        tool=last.tool,
        material=last.material,
        recipe=last.recipe,
        quantity="print bias",
        old=last.bias_now,
        old_std=last.bias_now_std,
        new=new.mean,
        new_std=new.std,
        unit="um",
        low=new.low,
        high=new.high,
        change_worthwhile=worthwhile,
        why=_why(last.bias_now, new, noise, worthwhile),
        warnings=_warnings(group, len(wafers), new),
        evidence=tuple(_sentence(each) for each in group),
        invented=any(each.invented for each in group),
    )


def _why(old: float, new: RateBelief, noise: float, worthwhile: bool) -> str:
    apart = show(abs(new.mean - old), "length")
    noise_words = f"{show(noise, 'length')} (95 %)"
    if not worthwhile:
        return f"no change: the difference of {apart} per edge is within the noise of {noise_words}"
    way = "further out" if new.mean > old else "further in"
    draw = "in" if new.mean > old else "out"
    return (
        f"each edge of the resist stands {apart} {way} than believed, the noise is {noise_words}: "
        f"draw each edge {apart} further {draw}, or accept the bias so that predicted widths follow"
    )


def _warnings(group: list[WidthEvidence], wafers: int, new: RateBelief) -> tuple[str, ...]:
    last, warnings = group[-1], []
    if wafers == 1:
        warnings.append("one wafer only: what differs from wafer to wafer is not in the band")
    low, high = last.tried_low, last.tried_high
    if (low is not None and new.mean < low) or (high is not None and new.mean > high):
        warnings.append(
            "outside the range of biases seen so far: look at the resist before the mask is changed"
        )
    if last.tolerance is not None and 2 * Z95 * new.std > last.tolerance:
        warnings.append(
            f"run a dummy first: the width is known to ± {show(2 * Z95 * new.std, 'length')} (95 %), "
            f"and ± {show(last.tolerance, 'length')} is accepted"
        )
    if _grows_with_width(group):
        warnings.append(
            "the error changes with the drawn width: one bias does not describe it, look at dose and gap"
        )
    return tuple(warnings)


def _grows_with_width(group: list[WidthEvidence]) -> bool:
    """Whether a straight line through bias over drawn width has a slope outside its 95 % interval."""
    drawn = np.array([each.drawn for each in group])
    if len(set(drawn.tolist())) < 3 or len(group) < 4:
        return False
    from scipy.special import stdtrit

    bias = np.array([each.bias for each in group])
    weight = 1 / np.array([each.bias_std for each in group])
    design = np.stack([np.ones_like(drawn), drawn / drawn.mean()], axis=1) * weight[:, None]
    solved, _, _, _ = np.linalg.lstsq(design, bias * weight, rcond=None)
    rest = bias * weight - design @ solved
    inflate = max(1.0, float(rest @ rest) / (len(group) - 2))
    variance = np.linalg.inv(design.T @ design)[1, 1] * inflate
    return bool(abs(solved[1]) > stdtrit(len(group) - 2, 0.975) * math.sqrt(variance))


def _sentence(each: WidthEvidence) -> str:
    text = (
        f"{show(each.measured, 'length')} ± {show(each.measured_std, 'length')} measured where "
        f"{show(each.drawn, 'length')} is drawn"
    )
    return f"{text} (wafer {each.wafer})" if each.wafer else text
