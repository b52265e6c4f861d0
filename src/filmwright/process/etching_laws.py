"""Named laws of etches, baths and strips for the derivation of numbers."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_DEFINITION: Kind = "common practice"
_ARRHENIUS = Source(citation="S. Arrhenius, Z. Phys. Chem. 4, 226 (1889)", kind="from memory")
_FRONT = Source(
    citation="the front of an isotropic etch is a circle about the resist's foot", kind=_DEFINITION
)

ETCH_END = Law(
    name="end point of an etch",
    equation="t = d / R",
    source=Source(citation="definition of a rate", kind=_DEFINITION),
    valid="mean place of the wafer; a rate that does not change with depth, and no film that must first be broken through",
)

ETCH_END_LOADED = Law(
    name="end point of an etch that its own open area slows down",
    equation="t = L·d / R",
    source=Source(
        citation="C. J. Mogab, J. Electrochem. Soc. 124, 1262 (1977), doi 10.1149/1.2133542",
        kind="from memory",
    ),
    valid="L = 1 + k·A until it clears; mean place; a rate that does not change with depth; one wafer in the chamber",
)

WORST_PLACE = Law(
    name="over-etch that clears the worst place",
    equation="OE = (1 + u_d) / (1 - u_R)·exp(z·s) - 1",
    source=Source(
        citation="thickness over rate where the film is thickest and the etch slowest; the rest is log-normal",
        kind=_DEFINITION,
    ),
    valid="thickest and slowest place in one, an upper bound; non-uniformity as (max - min)/(2 × mean); fences need more",
)

ETCH_TIME = Law(
    name="time of the whole etch",
    equation="t_all = t·(1 + OE)",
    source=Source(citation="definition of an over-etch", kind=_DEFINITION),
    valid="as the end point and the over-etch",
)

RATE_IN_BATH = Law(
    name="rate in the bath as it is (Arrhenius)",
    equation="R = R_0·exp(E/k·(1/T_0 - 1/T))",
    source=_ARRHENIUS,
    valid="while the reaction at the surface sets the rate; where the bath must bring the reactant, less",
)

RATE_IN_OLD_BATH = Law(
    name="rate in the bath as it is (Arrhenius; fading by first order)",
    equation="R = R_0·exp(E/k·(1/T_0 - 1/T))·exp(-a/τ)·(1 - x)",
    source=_ARRHENIUS,
    valid="surface reaction of first order in one reagent that nobody adds to; kept at its temperature since it was made",
)

RATE_IN_USED_BATH = Law(
    name="rate in the bath as it is (Arrhenius; reagent used up, first order)",
    equation="R = R_0·exp(E/k·(1/T_0 - 1/T))·(1 - x)",
    source=_ARRHENIUS,
    valid="surface reaction of first order in one reagent that nobody adds to; it does not fade by itself as far as is on file",
)

BATH_USED = Law(
    name="reagent that an etch takes from the bath (stoichiometry)",
    equation="x = ν·n·d·A·ρ / (M·c·V)",
    source=Source(citation="balanced equation of the dissolution", kind=_DEFINITION),
    valid="all of the reagent goes into the film: what decomposes or evaporates comes on top",
)

LOSS_BENEATH = Law(
    name="loss beneath, typical",
    equation="x = OE·t·R_b",
    source=Source(citation="time times rate", kind=_DEFINITION),
    valid="mean place; the film above is gone at the end point",
)

WORST_LOSS_BENEATH = Law(
    name="loss beneath at the thinnest and fastest place",
    equation="x = (t_all - t·(1 - u_d) / (1 + u_R))·R_u·(1 + u_R)",
    source=Source(citation="time times rate; both films go fast at the same place", kind=_DEFINITION),
    valid="an upper bound: thin film, fast etch and the upper rate meet in one place",
)

UNDERCUT_TOP = Law(
    name="undercut at the top of the film",
    equation="x = a·d·(1 + OE)",
    source=_FRONT,
    valid="resist that holds to its foot; a lifting edge takes more",
)

UNDERCUT_FOOT = Law(
    name="undercut at the foot of the film",
    equation="x = a·d·√((1 + OE)² - 1)",
    source=_FRONT,
    valid="resist that holds to its foot; the foot usually sets the electrical length",
)

SELECTIVITY = Law(
    name="selectivity",
    equation="S = R / R_o",
    source=Source(citation="definition", kind=_DEFINITION),
    valid="both rates of one recipe on one tool; the band is wide where one of them is remembered",
)

STRIP_TIME = Law(
    name="time to take the resist off",
    equation="t = h·d / R·(1 + m)",
    source=Source(citation="thickness over rate, with a margin", kind=_DEFINITION),
    valid="fresh bath or clean chamber; residue is looked for, not computed",
)

LIFT_OFF_TIME = Law(
    name="lift-off by dissolution from the edges",
    equation="t = w / v",
    source=Source(citation="the solvent comes in from the nearest opening", kind=_DEFINITION),
    valid="closed film on the resist, solvent at rest; agitation, cracks and swelling make it faster, re-deposited resist slower",
)

SKIN_DIP = Law(
    name="dip of a native oxide",
    equation="t = d / R·(1 + m)",
    source=Source(citation="thickness over rate, with a margin", kind=_DEFINITION),
    valid="oxide that grew in air; on silicon the end shows: the bath beads off",
)

SKIN_AGAIN = Law(
    name="time until a native oxide is back",
    equation="t = -t_g·ln(1 - x / x_end)",
    source=Source(citation="growth that saturates, as native oxides do", kind=_DEFINITION),
    valid="clean air at room temperature; moisture makes it faster, a nitrogen box slower",
)
