"""Words for numbers and times, as sheets and pages print them."""

from __future__ import annotations

import math

from filmwright.process import Setting
from filmwright.units import plain, to_si, write

_MINUTE, _HOUR = to_si(1, "min"), to_si(1, "h")


def duration_text(seconds: float) -> str:
    """A duration in words, e.g. ``1 h 20 min``; seconds below ten minutes."""
    if seconds < 10 * _MINUTE:
        minutes, rest = divmod(round(seconds), round(_MINUTE))
        words = [f"{minutes} min"] if minutes else []
        return " ".join([*words, f"{rest} s"] if rest or not words else words)
    hours, minutes = divmod(math.ceil(seconds / _MINUTE - 1e-9), round(_HOUR / _MINUTE))
    return " ".join(part for part in (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "") if part)


def value_text(setting: Setting) -> str:
    """What to dial in: the number with its unit, or the choice in words."""
    return setting.text if setting.value is None else write(setting.value, setting.unit)


def band_text(setting: Setting) -> str:
    """The 95 % band of a setting as ``± 3 nm``; empty when none is known."""
    if setting.value is None or not setting.spread:
        return ""
    half = plain(2 * setting.spread, setting.unit)
    return f"± {write(to_si(half, setting.unit), setting.unit)}"


def listed(words: tuple[str, ...] | list[str]) -> str:
    """Words as a list in a sentence: ``a, b and c``."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))
