"""``python -m bench.growth``: draws ``docs/pictures/growth.svg``, how the work grows with steps, vertices and devices."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import matplotlib

matplotlib.use("svg")
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from bench import plan, review_growth, section

PICTURE = Path(__file__).parent.parent / "docs" / "pictures" / "growth.svg"
INK, BLUE, RUST, GREEN = "#22262b", "#0f5568", "#a8431f", "#4c6b22"


def _line(
    axes: Axes, x: Sequence[float], seconds: Sequence[float], colour: str, marker: str, name: str
) -> None:
    axes.loglog(x, seconds, color=colour, marker=marker, lw=1.6, label=name)


def _square(axes: Axes, x: Sequence[float], seconds: Sequence[float]) -> None:
    """Proportional growth through the first point, to compare with."""
    axes.loglog(x, [seconds[0] * each / x[0] for each in x], color=INK, ls=":", lw=1, label="in proportion")


def drawn() -> Figure:
    """The three panels, measured now."""
    figure = Figure(figsize=(11, 3.7), layout="constrained")
    steps, corners, devices = figure.subplots(1, 3)

    by_steps = review_growth.times()
    x = list(by_steps)
    _line(steps, x, [walk for *_, walk in by_steps.values()], BLUE, "o", "walk, no masks")
    _line(steps, x, [rules for rules, *_ in by_steps.values()], RUST, "s", "all rules")
    _line(
        steps, x, [settings for _, settings, _ in by_steps.values()], GREEN, "^", "all settings, wafers known"
    )
    _square(steps, x, [walk for *_, walk in by_steps.values()])
    steps.set(title="A flow", xlabel="steps", ylabel="time (s)")
    steps.set_xticks(x, [str(each) for each in x])
    steps.minorticks_off()

    grown = section.times()
    x = [each.corners for each in grown]
    _line(corners, x, [each.ours / 5 for each in grown], BLUE, "o", "one action on a section")
    _line(corners, x, [each.peer / 5 for each in grown], RUST, "s", "one union of its polygons")
    _square(corners, x, [each.ours / 5 for each in grown])
    corners.set(title="A section of 100 µm", xlabel="corners")

    by_devices, (count, _, _) = plan.times()
    x = list(by_devices)
    _line(devices, x, list(by_devices.values()), BLUE, "o", f"plan of {count} steps, nets, devices")
    _square(devices, x, list(by_devices.values()))
    devices.set(title="A die of one cell", xlabel="transistors")
    for axes in (steps, corners, devices):
        axes.grid(alpha=0.25, which="major")
        axes.spines[["top", "right"]].set_visible(False)
        axes.legend(frameon=False, fontsize=8)
    return figure


def main() -> int:
    """Measure, draw and say where."""
    drawn().savefig(PICTURE, metadata={"Date": None})
    print(PICTURE)
    return 0


if __name__ == "__main__":
    sys.exit(main())
