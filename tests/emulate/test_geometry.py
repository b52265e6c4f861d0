"""The lab's own geometry: what it decides, what goes before it, and what is said where it is absent."""

import math
from collections.abc import Callable

import pytest

from filmwright.emulate import EDGE, MIDDLE, Trace
from filmwright.process import Setting
from filmwright.units import convert

Walked = Callable[..., Trace]

PLAN = """flow: one film
wafer: {body: silicon, diameter: 100 mm}
steps:
  - deposit: gold
    method: METHOD
    thickness: 100 nm
"""
LAB = """lab: a bench of our own
tools:
  evaporator:
    does: [electron-beam evaporation, thermal evaporation]
    geometry:
GEOMETRY
calibrations:
  - {tool: evaporator, material: gold, deposition rate: 0.2 nm/s ± 4 %, date: 2026-10-20, evidence: stylus}
"""


def lab(*lines: str) -> str:
    return LAB.replace("GEOMETRY", "\n".join(f"      {line}" for line in lines))


def followed(trace: Trace) -> dict[str, Setting]:
    return {each.name: each for each in trace.states[0].follows}


def plan(method: str = "electron-beam evaporation") -> str:
    return PLAN.replace("METHOD", method)


@pytest.mark.analytic
def test_a_near_source_on_the_axis_by_hand(walked: Walked):
    found = followed(walked(plan(), lab=lab("throw: 200 mm", "stage: at rest")))
    # (1 + (l/h)²)^-2 over its mean 1/(1 + (R/h)²), h = 200 mm, R = 50 mm
    mean = 1 / (1 + 0.0625)
    assert convert(found["film in the middle"].value, "nm") == pytest.approx(100 / mean, rel=1e-4)
    assert convert(found["film half-way out"].value, "nm") == pytest.approx(
        100 * (1 + 0.125**2) ** -2 / mean, rel=1e-4
    )
    assert convert(found["film at the edge"].value, "nm") == pytest.approx(100 * 1.0625**-2 / mean, rel=1e-4)
    uneven = (1 - 1.0625**-2) / (2 * mean)
    assert found["unevenness from the geometry"].value == pytest.approx(uneven, rel=1e-4)


@pytest.mark.analytic
def test_a_pocket_beside_the_axis_and_a_charge_for_it(walked: Walked):
    text = lab(
        "throw: 400 mm",
        "stage: turning",
        "pockets:",
        "  one: {holds: gold, offset: 80 mm}",
        "  two: {holds: titanium}",
    )
    found = followed(walked(plan(), lab=text))
    # a die 20 mm beside the axis turns over a source 80 mm beside it: c = h²·s/(π·(s² − (2·l·a)²)^1.5)
    s = 0.4**2 + 0.02**2 + 0.08**2
    share = 0.4**2 * s / (math.pi * (s**2 - (2 * 0.02 * 0.08) ** 2) ** 1.5)
    assert found["charge evaporated"].value == pytest.approx(19300 * 100e-9 / share, rel=1e-3)
    assert any("one" in note for note in found["unevenness from the geometry"].derivation.notes)


@pytest.mark.analytic
def test_a_planetary_is_more_even_than_a_wafer_above_the_source(walked: Walked):
    above = followed(walked(plan(), lab=lab("throw: 400 mm", "stage: at rest")))
    planet = walked(
        plan(), lab=lab("throw: 400 mm", "stage: planetary", "wafer offset: 200 mm", "tilt: 45 deg")
    )
    named = "unevenness from the geometry"
    assert followed(planet)[named].value < above[named].value
    grown = planet.states[0].actions[0]
    assert not grown.line_of_sight  # type: ignore[union-attr]
    assert grown.side_wall > 0  # type: ignore[union-attr]


@pytest.mark.analytic
def test_geometry_feeds_the_edge_and_the_middle_until_somebody_measures(walked: Walked):
    from filmwright.emulate.context import Context
    from filmwright.emulate.geometry import film_factor
    from filmwright.knowledge import book

    own = walked(plan(), lab=lab("throw: 200 mm", "stage: at rest"))
    measured = walked(
        plan(),
        lab=lab("throw: 200 mm", "stage: at rest").replace(
            "    geometry:", "    non-uniformity: 2 %\n    geometry:"
        ),
    )
    found = []
    for trace in (own, measured):
        ctx = Context(flow=trace.flow, lab=trace.lab, facts=book(), on="2026-10-26")
        step = trace.flow.steps[0]
        found.append(
            [film_factor(step, ctx, book().method(step.method), corner.place) for corner in (MIDDLE, EDGE)]
        )
    assert found[0] == pytest.approx([1.0625, 1.0625**-1], rel=1e-4)
    assert found[1] == pytest.approx([0.98, 1.02])
    # and the spread of the film over the wafer
    assert own.states[0].thickness_std > measured.states[0].thickness_std  # type: ignore[operator]


@pytest.mark.property
@pytest.mark.parametrize(
    "method",
    ["electron-beam evaporation", "electron-beam evaporation on a planetary", "direct-current sputtering"],
)
def test_what_the_lab_does_not_say_is_called_so(walked: Walked, method: str):
    found = followed(walked(plan(method), lab="lab: a bench without geometry\n"))
    notes = found["unevenness from the geometry"].derivation.notes
    assert any("not of this lab" in note for note in notes)
    told = followed(walked(plan(), lab=lab("throw: 400 mm", "stage: at rest", "source offset: 0 mm")))
    assert not any("not of this lab" in note for note in told["film at the edge"].derivation.notes)
