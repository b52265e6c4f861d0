"""The classic traps of a transistor with few masks, each drawn and written in both variants, through the review as a person runs it.

One transistor: gate metal below, island above, source left and drain right, gate lead downward. Whether a trap snaps depends
on the drawing (how far the gate reaches against the island) or on one number of the plan (the over-etch).
"""

import re
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.masks import write_drawing
from filmwright.masks.chips.sketch import Sketch, finished
from filmwright.review import Finding

ON = "2026-10-26"
INSIDE, BEYOND = 15.0, 40.0
"""How far the gate reaches, against the half island of 30 µm [µm]."""
GATE, ISLAND, OPENING, CONTACT = (1, 0), (2, 0), (3, 0), (4, 0)

MOLYBDENUM = (
    "{tool: fluorine etcher, medium: trifluoromethane and oxygen plasma, material: molybdenum,"
    " etch rate: 70 nm/min ± 6 %, date: 2026-10-15, by: process owner, evidence: stylus after 60 s}"
)

START = """
flow: One transistor
because: a trap is shown
wafer:
  body: silicon
  diameter: 100 mm
  films: [{material: silicon dioxide, thickness: 1 um}]
masks:
  drawing: transistor.oas
  gate: {layer: 1/0, drawn: opaque}
  island: {layer: 2/0, drawn: opaque}
  opening: {layer: 3/0, drawn: clear}
  contact: {layer: 4/0, drawn: CONTACT}
steps:
  - deposit: chromium
    name: gate metal
    method: electron-beam evaporation
    thickness: 60 nm ± 5 %

  - pattern: gate
    resist: positive 1.3 um

  - etch: chromium
    name: gate etch
    in: ceric ammonium nitrate chromium etch
    until: end point + 25 %

  - strip: resist
    in: dimethyl sulfoxide stripper

  - deposit: aluminium oxide
    name: gate insulator
    method: atomic layer deposition
    thickness: 40 nm ± 4 %
    temperature: 200 degC

  - deposit: indium gallium zinc oxide
    name: channel film
    method: radio-frequency sputtering
    thickness: 60 nm ± 5 %
    pressure: 5 mTorr
    power: 80 W

  - pattern: island
    resist: positive 1.3 um
"""

TOGETHER = """
  - etch: indium gallium zinc oxide
    name: channel etch
    in: dilute oxalic acid
    until: end point + 30 %

  - etch: aluminium oxide
    name: insulator etch
    with: boron trichloride plasma
    until: end point + 20 %
    power: 100 W
    pressure: 10 mTorr

  - strip: resist
    in: dimethyl sulfoxide stripper
"""
"""Insulator and island in one pattern."""

ALONE = """
  - etch: indium gallium zinc oxide
    name: channel etch
    in: dilute oxalic acid
    until: end point + 30 %

  - strip: resist
    in: dimethyl sulfoxide stripper
"""
"""The island alone; the insulator stays all over."""

OPENED = """
  - pattern: opening
    resist: positive 1.3 um

  - etch: aluminium oxide
    name: gate pad opening
    with: boron trichloride plasma
    until: end point + 20 %
    power: 100 W
    pressure: 10 mTorr

  - strip: resist
    in: dimethyl sulfoxide stripper
"""

LIFTED = """
  - pattern: contact
    resist: lift-off two-layer

  - deposit: titanium
    name: contact adhesion
    method: electron-beam evaporation
    thickness: 10 nm ± 5 %

  - deposit: gold
    name: contact metal
    method: electron-beam evaporation
    thickness: 190 nm ± 5 %

  - lift off: resist
    in: dimethyl sulfoxide stripper
"""

ETCHED = """
  - deposit: molybdenum
    name: contact metal
    method: direct-current sputtering
    thickness: 200 nm ± 5 %
    pressure: 4 mTorr
    power: 200 W

  - pattern: contact
    resist: positive 1.3 um

  - etch: molybdenum
    name: contact etch
    with: trifluoromethane and oxygen plasma
    until: end point + OVER %
    power: 100 W
    pressure: 30 mTorr

  - strip: resist
    in: dimethyl sulfoxide stripper

  - anneal: air
    temperature: 250 degC
    time: 60 min
"""

END = """
expect:
  transistors: {gate: G, source: S, drain: D, count: 1}
  apart: [[G, S], [G, D], [S, D]]
"""


def transistor(gate_reach: float) -> Sketch:
    """One transistor with a channel of 10 µm on an island of 60 µm; the gate reaches so far to either side [µm].

    The contacts are as wide as the island over the gate and wider beyond it, so that all of the channel is gated.
    """
    top = Sketch("transistor")
    top.frame(500, 500)
    x, y = 250.0, 250.0
    top.box(GATE, x - gate_reach, y - 25, x + gate_reach, y + 25)
    top.box(GATE, x - 8, y - 170, x + 8, y - 20)
    top.square(GATE, x, y - 170, 100)
    top.square(OPENING, x, y - 170, 80)
    top.box(ISLAND, x - 30, y - 15, x + 30, y + 15)
    for side in (-1, 1):
        top.box(CONTACT, x + side * 5, y - 14.5, x + side * 17, y + 14.5)
        top.box(CONTACT, x + side * 16, y - 20, x + side * 180, y + 20)
        top.square(CONTACT, x + side * 180, y, 100)
    top.square(CONTACT, x, y - 170, 90)
    for end, (dx, dy) in {"S": (-180, 0), "D": (180, 0), "G": (0, -170)}.items():
        top.label(f"T1:{end}", x + dx, y + dy)
    return top


Told = dict[str, list[Finding]]
"""Findings by every rule that their cause breaks."""


def reviewed(folder: Path, *parts: str, gate_reach: float = INSIDE) -> Told:
    """What the review says of a plan put together from parts."""
    desk.new(folder / "example", on=ON)
    lab = (folder / "example" / "lab.yaml").read_text("utf-8")
    lab = lab.replace("sulfur hexafluoride and oxygen plasma]", "trifluoromethane and oxygen plasma]")
    lab = lab.replace("calibrations:\n", f"calibrations:\n  - {MOLYBDENUM}\n")
    (folder / "lab.yaml").write_text(lab, "utf-8")
    write_drawing(finished("transistor", transistor(gate_reach)), folder / "transistor.oas")
    drawn = "opaque" if any("etch: molybdenum" in part for part in parts) else "clear"
    # A level that no step prints would be a mistake of its own.
    start = START if OPENED in parts else START.replace("  opening: {layer: 3/0, drawn: clear}\n", "")
    (folder / "plan.yaml").write_text("\n".join([start, *parts, END]).replace("CONTACT", drawn), "utf-8")
    told: Told = {}
    for each in desk.review(folder / "plan.yaml", on=ON).findings:
        for rule in (each.rule, *each.also):
            told.setdefault(rule, []).append(each)
    return told


def said(finding: Finding) -> str:
    """What a finding found, with what follows from the same cause."""
    return " ".join((finding.got, *finding.follows))


def stops(told: Told) -> set[str]:
    """The rules that stop the plan."""
    return {rule for rule, found in told.items() if any(each.severity == "stop" for each in found)}


def etched(over: int) -> str:
    """Contact metal put down everywhere and etched steeply with an over-etch [%]."""
    return ETCHED.replace("OVER", str(over))


@pytest.mark.whole
def test_a_fence_along_the_island_joins_source_drain_and_gate_lead(tmp_path: Path):
    told = reviewed(tmp_path, TOGETHER, etched(10))
    assert stops(told) == {"fence along walls", "terminals joined or apart", "expected devices"}
    (fence,) = told["fence along walls"]
    assert fence.line == 1 + next(k for k, line in enumerate(text(tmp_path)) if "- etch: molybdenum" in line)
    assert "T1:D, T1:G, T1:S" in said(fence)
    assert "indium gallium zinc oxide at (" in said(fence)
    assert "over-etch at least" in fence.remedy


@pytest.mark.whole
def test_with_the_over_etch_that_the_finding_names_there_is_no_fence(tmp_path: Path):
    (fence,) = reviewed(tmp_path / "short", TOGETHER, etched(10))["fence along walls"]
    needed = int(re.search(r"at least (\d+) ?%", fence.remedy)[1])
    told = reviewed(tmp_path / "long", TOGETHER, etched(needed))
    assert "fence along walls" not in told
    assert stops(told) == set()


@pytest.mark.whole
def test_contact_metal_that_leaves_the_island_over_the_gate_is_a_short(tmp_path: Path):
    told = reviewed(tmp_path, TOGETHER, LIFTED, gate_reach=BEYOND)
    assert stops(told) == {"terminals joined or apart", "expected devices"}
    (short,) = told["terminals joined or apart"]
    assert "G and S joined in T1" in said(short)


@pytest.mark.whole
@pytest.mark.parametrize("reach", [INSIDE, BEYOND])
def test_the_same_metal_is_no_short_inside_the_island_or_over_an_insulator_that_stays(
    tmp_path: Path, reach: float
):
    parts = (TOGETHER, LIFTED) if reach == INSIDE else (ALONE, OPENED, LIFTED)
    assert stops(reviewed(tmp_path, *parts, gate_reach=reach)) == set()


@pytest.mark.whole
def test_what_clears_the_gate_by_half_a_micrometre_is_a_short_when_the_levels_lie_off(tmp_path: Path):
    """The contacts end 0.5 µm inside the island; two standard deviations between two aligned levels are 1.4 µm."""
    (corner,) = reviewed(tmp_path / "tight", TOGETHER, LIFTED)["fails when misaligned"]
    assert corner.severity == "warn"
    assert corner.got.startswith("contact to the right and up, island to the left and down: T1")
    assert "fails when misaligned" not in reviewed(
        tmp_path / "covered", ALONE, OPENED, LIFTED, gate_reach=BEYOND
    )


@pytest.mark.whole
def test_a_gate_pad_left_under_the_insulator_cannot_be_probed(tmp_path: Path):
    told = reviewed(tmp_path / "left", ALONE, LIFTED)
    assert stops(told) == {"pad unreachable", "expected devices"}
    (pad,) = told["pad unreachable"]
    assert "aluminium oxide: T1:G" in said(pad)
    assert stops(reviewed(tmp_path / "opened", ALONE, OPENED, LIFTED)) == set()


def text(folder: Path) -> list[str]:
    """The lines of the plan that was reviewed."""
    return (folder / "plan.yaml").read_text("utf-8").splitlines()
