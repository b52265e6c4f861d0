"""What a medium does to everything on the wafer: one place where believed rates become etch rates."""

from __future__ import annotations

from filmwright.emulate.bath import rate_in_bath
from filmwright.emulate.context import Context
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Medium
from filmwright.wafer import Action, Clear, EtchRate, Plan, Remove


def etch_rates(
    medium: Medium, step: Step, ctx: Context, materials: frozenset[str], corner: Corner
) -> dict[str, EtchRate]:
    """Rate of each material that the medium is known to attack, at a corner of the spread.

    The lab's own rate for the tool, recipe and material goes before the book's; materials of which nothing is known
    are absent, which means that they are not etched here and that the review says so.
    """
    rates = {}
    faster = ctx.at_place(step, None, corner.place, -1)
    for material in materials:
        fact = medium.rate(material)
        belief = ctx.believe("etch rate", step, material=material, medium=medium.name)
        if belief is None or (fact.verdict == "does not attack" and belief.value == 0):
            continue
        belief = rate_in_bath(step, ctx, medium, material, belief)
        down = max(belief.value + corner.rate * belief.std, 0.0) * faster
        if down > 0:
            rates[material] = EtchRate(down=down, sideways=down * fact.sideways)
    return rates


def removal(
    medium: Medium,
    step: Step,
    ctx: Context,
    now: Plan,
    corner: Corner,
    time: float,
    spare: frozenset[str] = frozenset(),
) -> tuple[Action, ...]:
    """The actions of a medium that acts for a time; ``spare`` are materials that are handled otherwise."""
    rates = etch_rates(medium, step, ctx, materials_on(now) - spare - medium.dissolves, corner)
    return (Remove(rates=rates, time=time),) if rates and time > 0 else ()


def scaled(rate: EtchRate, factor: float) -> EtchRate:
    """A rate that is faster or slower by a factor in both directions."""
    return EtchRate(down=rate.down * factor, sideways=rate.sideways * factor)


def dissolution(medium: Medium, now: Plan, tear: float) -> tuple[Action, ...]:
    """What a solvent takes away whole; films thinner than ``tear`` [m] that hang over it tear."""
    found = medium.dissolves & materials_on(now)
    return (Clear(materials=frozenset(found), tear=tear),) if found else ()


def materials_on(plan: Plan) -> frozenset[str]:
    """Every material that lies somewhere on the wafer, its body included."""
    return frozenset(layer.material for column in plan.columns for layer in column.layers)
