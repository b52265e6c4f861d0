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
