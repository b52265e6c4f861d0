"""Named laws of lithography, heat, measurement and probing for the derivation of numbers."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_DEFINITION: Kind = "common practice"

THERMAL_LEDGER = Law(
    name="thermal ledger (Arrhenius)",
    equation="t_L = Σ t·exp(-E/k·(1/T - 1/T_L))",
    source=Source(citation="S. Arrhenius, Z. Phys. Chem. 4, 226 (1889)", kind="from memory"),
    valid="one activated process stands for all that heat does to a film; ramps count where the tool's rates are on file",
)

SPARING_VOLTAGE = Law(
    name="voltage that spares the insulator",
    equation="V = s·Σ E_b·d",
    source=Source(citation="definition of the breakdown field", kind=_DEFINITION),
    valid="seconds at room temperature; pinholes and particles break down sooner",
)

RESIST_BUDGET = Law(
    name="resist budget",
    equation="left = d - R·t",
    source=Source(citation="definition of a rate", kind=_DEFINITION),
    valid="even rate; a hot resist goes faster and edges go first",
)

BATH_WARMER = Law(
    name="bath temperature (Arrhenius)",
    equation="f = exp(E/k·(1/T - 1/(T + Δ)))",
    source=Source(citation="S. Arrhenius, Z. Phys. Chem. 4, 226 (1889)", kind="from memory"),
    valid="reaction at the surface sets the rate; where the bath must bring the reactant, less",
)

FRINGES = Law(
    name="fringes of a thinning film",
    equation="t = λ / (2·n·R)",
    source=Source(citation="M. Born, E. Wolf, Principles of Optics, 7.6", kind="from memory"),
    valid="transparent film that thins evenly, seen straight down",
)

HOT_PLATE = Law(
    name="hot plate against wafer",
    equation="T_p = T - Δ",
    source=Source(citation="definition of the offset: wafer less reading of the plate", kind=_DEFINITION),
    valid="near the temperature at which the offset was measured; wafer flat on the plate",
)
