"""Named laws for the derivation of settings: each with its equation, where it was read and where it stops."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_BY_DEFINITION: Kind = "common practice"

USUAL_VALUE = Law(
    name="usual value",
    equation="",
    source=Source(citation="what is on file for this resist, bath or tool", kind=_BY_DEFINITION),
    valid="a set point by custom: the range is what other people use, no uncertainty",
)

STEADY_RATE = Law(
    name="film at a steady rate",
    equation="t = d / R",
    source=Source(citation="definition of a rate", kind=_BY_DEFINITION),
    valid="tool, material and recipe of the rate; a rate that does not change while the film grows",
)

BELIEVED_RATE = Law(
    name="rate that is believed today",
    equation="",
    source=Source(
        citation="inverse-variance mean of the readings that agree, each aged by its drift",
        kind=_BY_DEFINITION,
    ),
    valid="until the tool is opened",
)

LINEAR_GROWTH = Law(
    name="linear growth by cycles",
    equation="N = d / g + N_0",
    source=Source(
        citation="S. M. George, Atomic layer deposition: an overview, Chem. Rev. 110, 111-131 (2010), doi 10.1021/cr900056b",
        kind="from memory",
    ),
    valid="saturated pulses within the temperature window; rounded up to whole cycles",
)

TOOLING = Law(
    name="tooling factor of a quartz monitor",
    equation="d_m = d / F",
    source=Source(citation="definition of the tooling factor", kind=_BY_DEFINITION),
    valid="monitor set to 100 %; one source, one place of the crystal; 40 to 200 % were met",
)
