"""The bow that the films give a wafer, as it goes to an exposure."""

from __future__ import annotations

import math

from filmwright.emulate.context import Context
from filmwright.process import Input, bow, film_force
from filmwright.sources import Source
from filmwright.wafer import Plan


def bow_of(ctx: Context, now: Plan) -> Input | None:
    """Size of the bow by the typical stresses of the films, B = 3·|S|·D²/(4·M·h²); None where the body is not on file.

    Parameters
    ----------
    ctx : Context
    now : Plan
    """
    body, size = ctx.facts.material(ctx.flow.body.material).values, ctx.flow.body
    if "modulus" not in body or "Poisson ratio" not in body:
        return None
    areas = now.areas()
    whole = sum(areas.values())
    depths: dict[str, float] = {}
    for column, area in areas.items():
        for layer in column.layers[1:]:
            depths[layer.material] = depths.get(layer.material, 0.0) + layer.thickness * area / whole
    known = [(ctx.facts.material(name).values.get("stress"), depth) for name, depth in depths.items()]
    forces = [(stress, depth) for stress, depth in known if stress is not None]
    force = abs(math.fsum(film_force(stress.value, depth) for stress, depth in forces))
    if not force:
        return None
    modulus = body["modulus"].value / (1 - body["Poisson ratio"].value)
    height = abs(bow(size.diameter, modulus * size.thickness**2 / (6 * force)))
    spread = math.sqrt(math.fsum((stress.std * depth) ** 2 for stress, depth in forces)) / force
    source = Source(citation="Stoney's law with typical stresses of the films", kind="from memory")
    return Input(
        symbol="B", name="bow of the wafer", value=height, unit="um", source=source, std=height * spread
    )
