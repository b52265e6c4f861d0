"""Named laws of lithography, heat, measurement and probing for the derivation of numbers."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_DEFINITION: Kind = "common practice"

RECIPROCITY = Law(
    name="dose from lamp and time (reciprocity)",
    equation="t = D / I",
    source=Source(citation="definition of a dose", kind=_DEFINITION),
    valid="lamp read at the wafer over the lines of the dose; reciprocity of novolak resists holds at the intensities of aligners",
)

SHADOW_WIDTH = Law(
    name="smallest line of contact and proximity printing",
    equation="W = 3/2·√(λ·(g + d/2))",
    source=Source(citation="M. J. Madou, Fundamentals of Microfabrication", kind="from memory"),
    valid="single lines; g of soft contact is what edge bead, bow and dust leave",
)

EDGE_SHIFT = Law(
    name="edge against dose behind a straight edge (Fresnel)",
    equation="Δx = ε·√(λ·(g + d/2) / 8)",
    source=Source(citation="M. Born, E. Wolf, Principles of Optics, 8.7", kind="from memory"),
    valid="one line of the lamp, parallel light, edges far apart against √(λ·g)",
)

BLEACHING = Law(
    name="bleaching (Dill), first integral",
    equation="dM/dz = M·(A·(1 - M) - B·ln M), M = exp(-C·D) at the top",
    source=Source(
        citation="F. H. Dill et al., IEEE Trans. Electron Devices ED-22, 445-452 (1975)", kind="from memory"
    ),
    valid="no light back from beneath; A, B, C of a resist of the 1970s unless the lab has measured its own",
)

MEAN_SWING = Law(
    name="light that the resist takes up over its thickness (multilayer optics)",
    equation="S = 2·(A_max - A_min) / (A_max + A_min), A(d + p) = A(d)",
    source=Source(
        citation="T. A. Brunner, Proc. SPIE 1466, 297 (1991), doi 10.1117/12.46378", kind="from memory"
    ),
    valid="flat films, parallel light, unexposed resist; bleaching and a poor surface lessen it",
)

ALIGNMENT_TREE = Law(
    name="overlay along the alignment tree",
    equation="σ = √(n)·σ_1",
    source=Source(citation="sum of independent variances", kind=_DEFINITION),
    valid="alignments of one spread that know nothing of each other; run-out and turning come on top",
)

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

SPIN_CURVE = Law(
    name="spin curve",
    equation="ω = ω_0·(d_0 / d)^(1/n)",
    source=Source(citation="D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978)", kind="from memory"),
    valid="between the slowest and the fastest speed that was measured; whole wafers, lid and exhaust as then",
)

HOT_PLATE = Law(
    name="hot plate against wafer",
    equation="T_p = T - Δ",
    source=Source(citation="definition of the offset: wafer less reading of the plate", kind=_DEFINITION),
    valid="near the temperature at which the offset was measured; wafer flat on the plate",
)

EDGE_BEAD = Law(
    name="bead at the edge",
    equation="h = b·d",
    source=Source(citation="definition of the ratio", kind=_DEFINITION),
    valid="not removed at the edge; pieces have it at every edge, higher at corners",
)

CLEARING = Law(
    name="time to clear (Mack rate on the bleached profile)",
    equation="t = ∫ dz / R(M(z))",
    source=Source(citation="C. A. Mack, J. Electrochem. Soc. 134, 148 (1987)", kind="from memory"),
    valid="straight down, no light from beneath, no surface inhibition; aims a first run and replaces no test exposure",
)

DARK_LOSS = Law(
    name="resist lost where no light came",
    equation="ΔT = R_min·t",
    source=Source(citation="definition of a rate", kind=_DEFINITION),
    valid="developer as named, at room temperature",
)
