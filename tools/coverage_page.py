"""Counts how often 95 % intervals hold the truth and writes docs/intervals.md; takes minutes, so no test runs it whole."""

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "measure"))
from intervals import DEVICES, FLOORS, NAMES, POINTS, SHARES, Told, cases, digits, held, study

PAGE = Path(__file__).resolve().parent.parent / "docs" / "intervals.md"
DEVICES_OF_A_KIND = 60
HEAD = (
    f"""<!-- Made by tools/coverage_page.py; run it after a change of what is read off transfer curves. -->
# Do intervals hold what they say?

Invented devices of known truth, n- and p-type, at V_D of 0.1 V and 20 V, with {", ".join(map(str, POINTS))} points, noise of
{", ".join(f"{each:.1%}" for each in SHARES)} of the current and floors of {" and ".join(f"{each:.0e}" for each in FLOORS)} A,
{len(DEVICES)} kinds of device (a film, one with contacts, one whose mobility falls, one without traps). *Truth* is what the same
definition gives on the curve without noise on the same gate voltages; how far a definition lies from the model's own threshold is
another matter (a tangent lies V_D/2 and the knee above it, see [conventions](conventions.md)). 95 % are aimed at. Only valid values count.
*Digits* are −log₁₀ of the relative error: of values the median, of errors the scatter found beside the one that was stated (at most 3).

| parameter | held | """
    + " | ".join(f"at {each:.1%}" for each in SHARES)
    + """ | intervals | lowest kind | digits of values | of errors |
|---|---|---|---|---|---|---|---|---|
"""
)


def main() -> int:
    """Exit code 0."""
    told: dict[str, list[Told]] = defaultdict(list)
    for case in cases():
        for each in study(case, DEVICES_OF_A_KIND):
            told[each.name].append(each)
    rows = []
    for name in NAMES:
        if not told[name]:
            continue
        share, number = held(told[name])
        parts = []
        for level in SHARES:
            mine = [each for each in told[name] if each.share == level]
            parts.append(f"{held(mine)[0]:.1%}" if mine else "")
        lowest = min(held([each])[0] for each in told[name])
        values, errors = digits(told[name])
        words = name.replace("_", " ")
        rows.append(
            f"| {words} | {share:.1%} | {' | '.join(parts)} | {number} | {lowest:.0%} | {values:.1f} | {errors:.1f} |"
        )
    PAGE.write_text(HEAD + "\n".join(rows) + "\n", "utf-8")
    print(PAGE.read_text("utf-8"))
    return 0


if __name__ == "__main__":
    sys.exit(main())
