"""Named laws of films from several sources, of heat, charge and target, for the derivation of settings."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Source

COUNTING = Source(citation="counting of arrivals", kind="common practice")

COMPOUND_RATE = Law(
    name="film from a compound target by usage",
    equation="R = k·P / (π·a_t²) · c / c_usual",
    source=Source(citation="usual figures of deposition tools in shared clean rooms", kind="common practice"),
    valid="radio frequency; good to a factor of three: measure each source alone first",
)

RATE_AT_POWER = Law(
    name="rate of one source at its power",
    equation="R = r·P / P_0",
    source=Source(
        citation="rates go with the power, as magnetrons have them within a factor of three of it",
        kind="common practice",
    ),
    valid="same tool, gun, pressure and mode; a factor of three in power",
)

POWER_FOR_PART = Law(
    name="power of a source for a wanted composition",
    equation="P = P_1·(x / (z·r·ρ / M)) / (x_1 / (z_1·r_1·ρ_1 / M_1))",
    source=COUNTING,
    valid="rates in proportion to power; equal sticking, no re-sputtering, no source feels another",
)

STRONGEST_SOURCE = Law(
    name="source that goes to its most power",
    equation="P_1 = P_most",
    source=COUNTING,
    valid="the others then stay below theirs; less power for all keeps the composition",
)

FILM_OF_SOURCES = Law(
    name="rate of a film from several sources",
    equation="R = Σ (R_i·ρ_i) / ρ",
    source=Source(citation="conservation of mass", kind="common practice"),
    valid="no source feels another; metal targets in a reactive gas take up mass, so their film grows faster",
)

PART_OF_FILM = Law(
    name="part of a metal in a film from several sources",
    equation="x = Σ_own z_i·R_i·ρ_i/M_i / Σ_all z_i·R_i·ρ_i/M_i",
    source=COUNTING,
    valid="by number, oxygen and nitrogen left out; equal sticking, no re-sputtering, no source feels another; zinc on a hot wafer leaves",
)

PARTS_OVER_WAFER = Law(
    name="composition over the wafer",
    equation="Δx = x_max - x_min",
    source=Source(
        citation="geometry; L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952)", kind="from memory"
    ),
    valid="each source by its own place and tilt, free flight; middle and edge, and round the edge of a wafer at rest",
)

_RADIATION = Source(
    citation="J. Stefan (1879), L. Boltzmann (1884); conservation of energy", kind="from memory"
)

HEAT_EVAPORATED = Law(
    name="heat of an evaporation at the wafer",
    equation="q = α·ε·σ·T^4·π·a²·c + R·ρ/M·H",
    source=_RADIATION,
    valid="glow of the source itself and heat of condensation; crucible, filament and scattered electrons add to it",
)

HEAT_SPUTTERED = Law(
    name="heat of a magnetron at the wafer",
    equation="q = f·P·c",
    source=Source(
        citation="J. A. Thornton, J. L. Lamb, Thin Solid Films 119, 87 (1984), doi 10.1016/0040-6090(84)90160-3",
        kind="from memory",
    ),
    valid="balanced magnetron, nothing heated on purpose, no bias; a factor of two to three",
)

WAFER_HEATED = Law(
    name="wafer that touches nothing, heated in vacuum",
    equation="4·ε·σ·T_s³·t / C = [artanh(T / T_s) + arctan(T / T_s)] from T_0 to T, T_s^4 = T_0^4 + q / (2·ε·σ)",
    source=_RADIATION,
    valid="an upper estimate: a wafer that is clamped, greased or cooled stays near its holder; the resist is as warm as the wafer",
    implicit=True,
)

CHARGE_IN_POCKET = Law(
    name="charge of the pocket that the lot takes",
    equation="f = m / (g·ρ·V)",
    source=Source(citation="conservation of mass", kind="common practice"),
    valid="a full pocket at the start of the lot; beyond g the beam meets the bottom and the rate wanders",
)

TARGET_CLEANED = Law(
    name="time until the skin of the target is gone",
    equation="t = d_s·π·a_t²·s·V·(1 + γ)·e·ρ·N_A / (k·Y·P·M)",
    source=COUNTING,
    valid="skin from air on a metal target; water on the walls takes longer, so this is the least",
)

REACTIVE_STATE = Law(
    name="pressure of the reactive gas on one branch (Berg)",
    equation="q = α·F(p)·((1 - θ_t)·A_t + (1 - θ_c)·A_c) + p·S / (k·T)",
    source=Source(
        citation="S. Berg, T. Nyberg, Thin Solid Films 476, 215 (2005), doi 10.1016/j.tsf.2004.10.051",
        kind="from memory",
    ),
    valid="steady state, one gas, metal target; good to a factor of three",
    implicit=True,
)

REACTIVE_SLOWER = Law(
    name="rate of the poisoned state over that of the metal-like one (Berg)",
    equation="u = I_poisoned / I_metal, I = j/e·A_t·(Y_m·(1 - θ_t) + Y_c·θ_t)",
    source=REACTIVE_STATE.source,
    valid="metal atoms that leave the target; the film of each takes up its own oxygen",
)

OXYGEN_FLOW = Law(
    name="flow of the reactive gas from the gas ratio",
    equation="q = x·q_Ar",
    source=Source(citation="definition of the gas ratio", kind="common practice"),
    valid="flow of the reactive gas over that of argon",
)
