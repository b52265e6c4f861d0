"""Why a parameter is refused, in words."""

from __future__ import annotations

WHYS = {
    "dead": "dead: the drain current ({on:.2g} A) never stands clear of the floor ({floor:.2g} A)",
    "no control": "the gate does not control the current: largest over smallest is {ratio:.3g}",
    "leaky": "leaky gate: {leak:.2g} A flow through the gate at {on:.2g} A through the drain",
    "noisy": "the slope is not told from the noise",
    "edge": "the curve falls towards the on side: no tangent with a rising slope",
    "no drain voltage": "the drain voltage is not known, so neither is the region",
    "not linear": "VD {drain:.3g} V is not below the overdrive {over:.3g} V at the tangent: not linear",
    "not saturated": "VD {drain:.3g} V is below the overdrive {over_root:.3g} V there: not saturated",
    "geometry": "not known: {missing}",
    "size": "not known: W or L",
    "not crossed": "the curve does not cross {criterion:.3g} A",
    "floor": "{criterion:.3g} A does not stand clear of the floor",
    "ionic": "the gate is ionic ({ionic}): its charge is not areal capacitance times voltage",
    "unphysical": "the apparent mobility is beyond any channel: W, L, capacitance or gate are not as stated",
    "floor-limited": "the floor of the instrument ({floor:.2g} A) hides the off current: a bound only",
    "few decades": "only {room:.2g} decades lie between floor and threshold: the swing is at most this",
    "coarse": "the gate step is too coarse for the swing ({span:.2g} decades in three points): at most this",
    "no decade": "no three points stand clear of the floor below the threshold",
    "below limit": "below kT/q·ln10: an error of units or a leakage",
    "never off": "the current falls too little to leave an off level (largest over smallest {ratio:.3g})",
    "no gate current": "no gate current was measured",
    "coarse onset": "the gate step is too coarse to tell from where charge is induced",
    "little overdrive": "the overdrive there ({held_over:.3g} V) is less than twice VD {drain:.3g} V: no linear region",
    "no contact resistance": "no contact resistance was given (from a set of lengths)",
    "contacts dominate": "{contact_percent:.0f} % of the resistance is that of the contacts: too little is left for the channel",
    "zero outside": "zero gate voltage is not in the sweep, or is its end",
    "place outside": "that gate voltage is not in the sweep",
    "gate noise": "the gate current does not stand clear of its noise",
    "gate flat": "the gate current does not change with the gate voltage, beyond its scatter",
    "no jump": "no jump of the gate current",
    "one direction": "the gate was swept in one direction only",
}
"""Every reason for which a parameter is refused; filled with the numbers of the curve."""
