"""How far the lower of two resists dissolves back behind the upper one while the upper clears."""

from __future__ import annotations

from collections.abc import Sequence

from filmwright.emulate.follows import between, chosen, follows
from filmwright.emulate.trace import State
from filmwright.knowledge import Book, Resist
from filmwright.process import Input, Setting, resist_laws, undercut_of_layer

LOWER = "lift-off under-layer 0.4 µm"
"""The lower layer of a pair, as a resist of its own."""


def undercut_of(
    state: State, clearing: Sequence[Setting], resist: Resist, facts: Book
) -> tuple[Setting, ...]:
    """Undercut by the rate of the lower layer at its bake; nothing for one layer, or where no time to clear is known."""
    time = next((each for each in state.settings if each.name == "time"), None)
    if "under-layer thickness" not in resist.values or not clearing or time is None:
        return ()
    lower = facts.resist(LOWER)
    usual, baked = lower.values["softbake temperature"], resist.values["underlayer bake temperature"]
    energy = facts.models["lift-off under-layer"]["bake energy"]
    derived = resist_laws.UNDERCUT.derive(
        undercut_of_layer,
        {
            "rate": Input.known("R", "rate of the lower layer", lower.values["clear development rate"]),
            "energy": Input.known("E", "by which a hotter bake slows it", energy),
            "bake": chosen("T", "bake of the lower layer", baked.value, "°C", str(baked.source)),
            "usual": chosen("T_0", "bake for which the rate holds", usual.value, "°C", str(usual.source)),
            "time": chosen("t", "time in the developer", time.value or 0.0, "s", "the setting"),
            "clear": between("t_c", "time to clear the upper layer", clearing[0].derivation),
        },
        unit="um",
        notes=("none where the developer has not cleared the upper layer in time: look at a dummy",),
    )
    return (follows("undercut of the lower layer", derived),)
