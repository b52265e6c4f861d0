"""Words for numbers and times, as sheets and pages print them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from filmwright.units import plain, show, to_si, write

if TYPE_CHECKING:
    from filmwright.process import Setting

_MINUTE, _HOUR = to_si(1, "min"), to_si(1, "h")


def duration_text(seconds: float) -> str:
    """A duration in words, e.g. ``1 h 20 min``; seconds are told below ten minutes."""
    if seconds < _MINUTE:
        return show(seconds, "time")
    if seconds < 10 * _MINUTE:
        minutes, rest = divmod(round(seconds), round(_MINUTE))
        words = [f"{minutes} min"] if minutes else []
        return " ".join([*words, f"{rest} s"] if rest or not words else words)
    hours, minutes = divmod(math.ceil(seconds / _MINUTE - 1e-9), round(_HOUR / _MINUTE))
    return " ".join(
        part for part in (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "") if part
    )


def value_text(setting: Setting) -> str:
    """What to dial in: the number with its unit, or the choice in words."""
    return setting.text if setting.value is None else write(setting.value, setting.unit)


def band_text(setting: Setting) -> str:
    """The 95 % band of a setting as ``± 3 nm``; empty when none is known."""
    if setting.value is None or not setting.spread:
        return ""
    return f"± {difference_text(2 * setting.spread, setting.unit)}"


def spread_text(spread: float, unit: str) -> str:
    """A spread in SI, to the second digit, written in ``unit``; the offset of a scale does not count."""
    return write(to_si(float(f"{plain(spread, unit):.2g}"), unit), unit)


def difference_text(delta: float, unit: str) -> str:
    """A difference or spread in SI written in ``unit``; the offset of a scale does not count."""
    return write(to_si(plain(delta, unit), unit), unit)
