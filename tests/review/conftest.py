"""The drawings of the examples, the largest cut down to one column of its transistors, so that a plan is walked in no time."""

from dataclasses import replace

import pytest

from filmwright.masks import Drawing, chip, drawing_of
from filmwright.numerics import Region

COLUMN = (920_000.0, 1_860_000.0, 1_440_000.0, 4_980_000.0)
"""Around six transistors of the humidity switch, of one width and six lengths [nm]."""


def cut_down(drawing: Drawing, box: tuple[float, float, float, float]) -> Drawing:
    """What lies within a box, which becomes the die."""
    x0, y0, x1, y1 = box
    window = Region.box(*box)
    layers = {layer: region.intersection(window) for layer, region in drawing.layers.items()}
    labels = tuple(each for each in drawing.labels if x0 < each.x_nm < x1 and y0 < each.y_nm < y1)
    return Drawing(name=drawing.name, layers={**layers, (0, 0): window}, labels=labels)


@pytest.fixture(scope="session")
def drawings() -> dict[str, Drawing]:
    """Example → its drawing; the humidity switch also whole, the thermometer also with something odd."""
    names = ("humidity-switch", "delay-line", "platinum-thermometer")
    found = {name: drawing_of(chip(name)) for name in names}
    crossing = (
        "layer 2/0: 1 shape crosses itself, the first at (900, 2200) µm; every enclosed part counts as drawn"
    )
    return found | {
        names[0]: cut_down(found[names[0]], COLUMN),
        "whole switch": found[names[0]],
        "odd thermometer": replace(
            found[names[2]], notes=(crossing, "layer 9/0: on no plate, so nobody minds")
        ),
    }
