"""Named laws of resist for the derivation of numbers: bottle, bake, lamp, latent image, gap, run-out, priming."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_DEFINITION: Kind = "common practice"
_MACK = "C. A. Mack, Fundamental Principles of Optical Lithography (2007)"

BOTTLE_AGE = Law(
    name="resist that thickens in its bottle",
    equation="d_0 = d_m·(1 + a·t)",
    source=Source(
        citation="solvent leaves a bottle that is opened and closed; linear in time", kind=_DEFINITION
    ),
    valid="a bottle that is closed at once; the first year; a reading of this bottle says better",
)

THICKNESS_AT_SPEED = Law(
    name="spin curve",
    equation="d = d_0·(ω_0 / ω)^n",
    source=Source(citation="D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978)", kind="from memory"),
    valid="between the slowest and the fastest speed that was measured; whole wafers, lid and exhaust as then",
)

DISPENSED = Law(
    name="resist to dispense",
    equation="V = v·D",
    source=Source(citation="rule of thumb of the bench", kind=_DEFINITION),
    valid="onto the wafer at rest; what is too little leaves bare rims, what is too much is flung off",
)

PLATE_CONSTANT = Law(
    name="time constant of a wafer on a hot plate (lumped)",
    equation="τ = c·h·g / κ",
    source=Source(citation="heat balance of one lump over a film of air", kind=_DEFINITION),
    valid="one gap beneath the whole wafer; bodies that conduct far better than the air beneath",
)

WARM_UP = Law(
    name="time to temperature (lumped)",
    equation="t = τ·ln((T - T_r) / δ)",
    source=Source(citation="solution of the lumped heat balance", kind=_DEFINITION),
    valid="wafer put on a plate that keeps its temperature",
)

BAKE_LOSS = Law(
    name="photoactive compound that the bake leaves (Arrhenius)",
    equation="M_0 = exp(-t·exp(K - E / (k·T)))",
    source=Source(citation=f"F. H. Dill, J. M. Shaw (1977), as in {_MACK}, ch. 5", kind="from memory"),
    valid="80 °C to 130 °C; a resist of the 1970s; the solvent that a cooler bake leaves is not counted: it makes the resist faster, "
    "softer and thicker",
)

BAKED_DOSE = Law(
    name="dose that makes up for the bake",
    equation="D' = -ln(1 - (1 - exp(-C·D)) / M_0) / C",
    source=Source(citation="acid made is M_0·(1 - exp(-C·D)), F. H. Dill et al. (1975)", kind="from memory"),
    valid="same acid, same developer; for a bake at the usual temperature D holds already",
)

DOSE_OVER_LINES = Law(
    name="dose over the lines of the lamp",
    equation="t = D·(s_g·n_g·C_g + s_h·n_h·C_h + s_i·n_i·C_i) / ((s_g·n_g + s_h·n_h + s_i·n_i)·(I_g·C_g + I_h·C_h + I_i·C_i))",
    source=Source(
        citation="each line exposes by its own C, F. H. Dill et al., IEEE Trans. Electron Devices ED-22, 445-452 (1975)",
        kind="from memory",
    ),
    valid="s is the spectrum for which D holds, n is 1 for a line that D counts; what each line loses on its way down is left to the "
    "bleaching",
)

LINE_INTENSITY = Law(
    name="one line of the lamp by another",
    equation="I = I_r·s / s_r",
    source=Source(citation="shares of a mercury spectrum", kind=_DEFINITION),
    valid="filters and mirrors as usual in an aligner; a reading at the line itself says better",
)

STANDING_BLEACH = Law(
    name="bleaching (Dill) under the light of all lines, with what comes back from beneath",
    equation="dM/dD = -M·Σ s·C·I(z, M), I = n·|E/E_0|²",
    source=Source(
        citation="F. H. Dill et al., IEEE Trans. Electron Devices ED-22, 445-452 (1975); C. A. Mack, Appl. Opt. 25, 1958 (1986)",
        kind="from memory",
    ),
    valid="flat films, parallel light; A, B, C of a resist of the 1970s unless the lab has measured its own",
)

CLEARING_OVER = Law(
    name="time to clear (Mack rate on the latent image)",
    equation="t = ∫ dz / R(M(z))",
    source=Source(citation="C. A. Mack, J. Electrochem. Soc. 134, 148 (1987)", kind="from memory"),
    valid="straight down through the nodes of the standing wave, no surface inhibition; aims a first run and replaces no test exposure",
)

STACK_DOSE = Law(
    name="dose that a stack needs beside the mean of the windows",
    equation="D_s = D·F / F_s",
    source=Source(
        citation="T. A. Brunner, Proc. SPIE 1466, 297 (1991), doi 10.1117/12.46378, with exact multilayer optics",
        kind="from memory",
    ),
    valid="unexposed resist at its thickness there; bleaching and a poor surface lessen the difference",
)

STANDING_WAVE = Law(
    name="standing wave at the bottom of the resist",
    equation="c = ((1 + r) / (1 - r))²",
    source=Source(citation="M. Born, E. Wolf, Principles of Optics, 7.4", kind="from memory"),
    valid="one line; several lines wash it out away from the bottom",
)

GAP_LEFT = Law(
    name="gap that bead, bow and dust leave",
    equation="g = h - d + s·B + g_0",
    source=Source(citation="heights on top of each other", kind=_DEFINITION),
    valid="at the worst place of a plate that rests on the bead; the lab's own limit goes before",
)

RUN_OUT = Law(
    name="run-out at the rim",
    equation="ΔR = (α_p - α_w)·ΔT·R",
    source=Source(citation="linear expansion", kind=_DEFINITION),
    valid="plate and wafer alike warmer than at the earlier level; a plate that alone is warmer: α_p·ΔT·R",
)

TURN = Law(
    name="turn that two marks leave, at the rim",
    equation="σ_R = √2·σ_1·R / L",
    source=Source(citation="sum of independent variances", kind=_DEFINITION),
    valid="two marks on a line through the middle; counted in σ_1 where that is of the whole wafer",
)

ADHESION = Law(
    name="work of adhesion of water (Young and Dupré)",
    equation="W = γ·(1 + cos(θ))",
    source=Source(
        citation="T. Young (1805), A. Dupré (1869), in P. G. de Gennes, Rev. Mod. Phys. 57, 827 (1985)",
        kind="from memory",
    ),
    valid="a drop at rest on a clean, even surface; the less water holds, the less it creeps under resist",
)

DEVELOPER_TAKES = Law(
    name="what the developer takes of a film",
    equation="Δ = R·t",
    source=Source(citation="definition of a rate", kind=_DEFINITION),
    valid="film uncovered for the whole time: at most, as resist lies on it at first",
)

UNDERCUT = Law(
    name="undercut of the lower layer",
    equation="u = R·exp(E/k·(1/T - 1/T_0))·(t - t_c)",
    source=Source(citation="definition of a rate; its bake by Arrhenius", kind=_DEFINITION),
    valid="from when the upper layer has cleared; the lower layer dissolves sideways as it does down",
)

PRINTED_LINE = Law(
    name="line of resist beside the drawn one",
    equation="Δw = 2·b",
    source=Source(citation="definition of the print bias", kind=_DEFINITION),
    valid="lines and spaces far wider than the finest; near that lines thin, and spaces close",
)

DEVELOPER_WARMTH = Law(
    name="development rate by the warmth of the bath",
    equation="ΔR/R = p·ΔT",
    source=Source(citation="usual processing of generic resists in shared clean rooms", kind=_DEFINITION),
    valid="its sign is that of the resist and its developer: on a dummy",
)

ALIGNMENT_TREE = Law(
    name="overlay along the alignment tree",
    equation="σ = √(n)·σ_1",
    source=Source(citation="sum of independent variances", kind=_DEFINITION),
    valid="alignments of one spread that know nothing of each other; run-out and turning come on top",
)

DARK_LOSS = Law(
    name="resist lost where no light came",
    equation="ΔT = R_min·t",
    source=Source(citation="definition of a rate", kind=_DEFINITION),
    valid="developer as named, at room temperature",
)

EDGE_BEAD = Law(
    name="bead at the edge",
    equation="h = b·d",
    source=Source(citation="definition of the ratio", kind=_DEFINITION),
    valid="not removed at the edge; pieces have it at every edge, higher at corners",
)

EDGE_SHIFT = Law(
    name="edge against dose behind a straight edge (Fresnel)",
    equation="Δx = ε·√(λ·(g + d/2) / 8)",
    source=Source(citation="M. Born, E. Wolf, Principles of Optics, 8.7", kind="from memory"),
    valid="one line of the lamp, parallel light, edges far apart against √(λ·g)",
)

MEAN_SWING = Law(
    name="light that the resist takes up over its thickness (multilayer optics)",
    equation="S = 2·(A_max - A_min) / (A_max + A_min), A(d + p) = A(d)",
    source=Source(
        citation="T. A. Brunner, Proc. SPIE 1466, 297 (1991), doi 10.1117/12.46378", kind="from memory"
    ),
    valid="flat films, parallel light, unexposed resist; bleaching and a poor surface lessen it",
)

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

SPIN_CURVE = Law(
    name="spin curve",
    equation="ω = ω_0·(d_0 / d)^(1/n)",
    source=Source(citation="D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978)", kind="from memory"),
    valid="between the slowest and the fastest speed that was measured; whole wafers, lid and exhaust as then",
)
