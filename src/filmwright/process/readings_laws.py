"""Named laws of what instruments read and of how devices are probed, for the derivation of numbers."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_DEFINITION: Kind = "common practice"
_STONEY = Source(
    citation="G. G. Stoney, Proc. R. Soc. A 82, 172 (1909), doi 10.1098/rspa.1909.0021, biaxial form",
    kind="from memory",
)
_SMITS = Source(citation="F. M. Smits, Bell Syst. Tech. J. 37, 711-718 (1958)", kind="from memory")

STEP_HEIGHT = Law(
    name="height of an edge between two stacks of films",
    equation="h = d_1 - d_0 + e",
    source=Source(citation="sum of the films on either side of the edge", kind=_DEFINITION),
    valid="flat ground on both sides, scan levelled on the lower one; e stands for the error of the instrument",
)

FILM_LEFT = Law(
    name="film that lies there, as the instrument reads it",
    equation="d = d_1 + e",
    source=Source(citation="the film as grown, less what later steps took", kind=_DEFINITION),
    valid="flat ground; e stands for the error of the instrument",
)

INDEX = Law(
    name="index of a film as the lab's own runs have it",
    equation="n = n_1 + e",
    source=Source(citation="runs of the tool at these settings", kind=_DEFINITION),
    valid="the wavelength of the runs; e stands for the error of the instrument",
)

SHEET = Law(
    name="resistance of a square",
    equation="R = ρ / d",
    source=Source(citation="definition of the sheet resistance", kind=_DEFINITION),
    valid="one film that carries all the current; thin films resist more than the solid, see the bounds of ρ",
)

FOUR_POINTS_ON_FILM = Law(
    name="four probes in the middle of a round sheet",
    equation="r = ρ / (d·F·F_d), F = π / (ln 2 + ln((D² + 3·s²) / (D² - 3·s²))), F_d = 1 where d is below s/10",
    source=_SMITS,
    valid="film closed over the whole wafer and insulated beneath; nearest edge farther than five spacings from the probes",
)

PROBES_NEAR_EDGE = Law(
    name="four probes near a straight edge (mirror sources)",
    equation="F_e = 2·π / (2·ln 2 + ln((4 + w²) / (1 + w²))), w = 2·l / s",
    source=_SMITS,
    valid="thin sheet, line of probes along the edge; within 1 % of a boundless sheet from eight spacings on",
)

CROSS = Law(
    name="even cross with four equal arms (van der Pauw)",
    equation="r = ρ / d·ln 2 / π",
    source=Source(citation="L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958)", kind="from memory"),
    valid="arms at least as long as wide, else it reads low by 0.59·exp(-6.23·a/w); film insulated beneath",
)

LINE = Law(
    name="resistance of a drawn line",
    equation="R = ρ / d·n",
    source=Source(
        citation="squares along the middle of the line times resistance of a square", kind=_DEFINITION
    ),
    valid="one film carries the current; pads, contacts and the inner corners of bends left out",
)

FILMS_BEND = Law(
    name="bow by the films (Stoney)",
    equation="B = 3·S·D² / (4·M·h²)",
    source=_STONEY,
    valid="films thin against the wafer, even stress, free wafer; typical stresses, not measured ones; "
    "a patterned film pulls less than its share of the area",
)

REFLECTANCE = Law(
    name="light that comes back from a stack of films (characteristic matrix)",
    equation="R = |r(d_1, …)|²",
    source=Source(
        citation="M. Born, E. Wolf, Principles of Optics, 1.6; optical constants as listed",
        kind="from memory",
    ),
    valid="flat films, light straight down, spot within one kind of place",
)

LINE_WIDTH = Law(
    name="line as made against line as drawn",
    equation="w = w_0 + 2·b + e",
    source=Source(citation="both edges move by the bias", kind=_DEFINITION),
    valid="straight edges, far from ends and corners; b from the emulated wafer, e the error of the instrument",
)

PLATES = Law(
    name="films in series between two plates",
    equation="C = ε_0 / Σ d/ε",
    source=Source(citation="definition of a permittivity", kind=_DEFINITION),
    valid="low frequency, no leakage; edges of the plates left out",
)

READINGS_NEEDED = Law(
    name="readings for a mean (Student)",
    equation="n : t(n - 1)·σ / √n ≤ e",
    source=Source(
        citation="Student, Biometrika 6, 1 (1908), doi 10.1093/biomet/6.1.1; e = part of the tolerance",
        kind="from memory",
    ),
    valid="readings that know nothing of each other",
    implicit=True,
)

DEVICES_FOR_YIELD = Law(
    name="devices that show a yield with none failing (Clopper and Pearson)",
    equation="n : Y^n ≤ 1 - C",
    source=Source(
        citation="C. J. Clopper, E. S. Pearson, Biometrika 26, 404 (1934), doi 10.1093/biomet/26.4.404",
        kind="from memory",
    ),
    valid="devices picked before they are probed, failing independently of each other",
    implicit=True,
)

CHARGING = Law(
    name="current that charges cable and gate while a point settles",
    equation="I = C·V_s / t",
    source=Source(citation="definition of a capacitance", kind=_DEFINITION),
    valid="smaller currents cannot be told from it: wait longer, or read them on the way back too",
)

WEAKEST = Law(
    name="weakest of many insulators (Weibull)",
    equation="V_n = V·n^(-1/β)",
    source=Source(citation="W. Weibull, J. Appl. Mech. 18, 293 (1951)", kind="from memory"),
    valid="like devices, one kind of weak spot; β of research-grade films, measure your own on the sacrificial ones",
)

SWEEP_STEP = Law(
    name="points of a sweep",
    equation="V_s = S / k",
    source=Source(
        citation="so many points in a decade of current that a swing can be fitted", kind=_DEFINITION
    ),
    valid="the steepest part of a transfer curve",
)

DRAIN_CURRENT = Law(
    name="drain current of a channel with its contacts (Enz, Krummenacher and Vittoz)",
    equation="I = f(V_G - I·R, V_D - 2·I·R), f = β/2·(V_e(V_G - V_T)² - V_e(V_G - V_T - V_D)²), β = W/L·µ·C, R = r/W",
    source=Source(
        citation="C. C. Enz, F. Krummenacher, E. A. Vittoz, Analog Integr. Circuits Signal Process. 8, 83 (1995), doi 10.1007/BF01239381",
        kind="from memory",
    ),
    valid="sizes as made, values of the materials as on file: the range of a meter, not a promise",
    implicit=True,
)
