"""Films from several targets at once: composition, powers and rate by hand, and what goes before what."""

from collections.abc import Callable
from pathlib import Path

import pytest

from filmwright.emulate import Trace
from filmwright.process import Setting
from filmwright.units import convert

Walked = Callable[..., Trace]

LAB = """lab: a bench with three guns
tools:
  three guns:
    does: [radio-frequency sputtering, direct-current sputtering]
    geometry:
      throw: 120 mm
      stage: STAGE
      target diameter: 50 mm
      eroded ring: 60 %
      guns:
        left: {holds: indium oxide, offset: 80 mm, tilt: 30 deg, around: 0 deg, most power: 120 W}
        right: {holds: gallium oxide, offset: 80 mm, tilt: 30 deg, around: 120 deg, most power: 120 W}
        far: {holds: zinc oxide, offset: 80 mm, tilt: 30 deg, around: 240 deg, most power: 120 W}
calibrations:
  - {tool: three guns, material: indium oxide, power: 60 W, deposition rate: 2.4 nm/min ± 4 %, date: 2026-10-12, evidence: alone}
  - {tool: three guns, material: gallium oxide, power: 100 W, deposition rate: 1.5 nm/min ± 5 %, date: 2026-10-12, evidence: alone}
  - {tool: three guns, material: zinc oxide, power: 80 W, deposition rate: 3.6 nm/min ± 4 %, date: 2026-10-13, evidence: alone}
"""
PLAN = """flow: a film of several sources
wafer: {body: silicon, diameter: 100 mm}
steps:
  - deposit: MATERIAL
    method: radio-frequency sputtering
    tool: three guns
    thickness: 40 nm
    pressure: 5 mTorr
"""
OXIDES = """    sources:
      - {target: indium oxide, power: 60 W}
      - {target: gallium oxide, power: 100 W}
      - {target: zinc oxide, power: 80 W}
"""
WANTED = """    composition: {In: 2, Ga: 1, Zn: 1}
    sources:
      - {target: indium oxide}
      - {target: gallium oxide}
      - {target: zinc oxide}
"""
IGZO = PLAN.replace("MATERIAL", "indium gallium zinc oxide")
BENCH = LAB.replace("STAGE", "turning")


def numbers(trace: Trace) -> dict[str, Setting]:
    state = trace.states[0]
    return {each.name: each for each in (*state.follows, *state.settings)}


@pytest.mark.analytic
def test_composition_and_rate_of_three_oxides_by_hand(walked: Walked):
    found = numbers(walked(IGZO + OXIDES, lab=BENCH))
    # formula units in nm·g/cm³ per g/mol: In2O3 2.4 × 7.18/277.63, Ga2O3 1.5 × 5.9/187.44, ZnO 3.6 × 5.6/81.38; two metals in the first
    # two; the densities are those of the book and within 2 % of these
    metal = {"In": 2 * 2.4 * 7.18 / 277.63, "Ga": 2 * 1.5 * 5.9 / 187.44, "Zn": 3.6 * 5.6 / 81.38}
    for element, part in metal.items():
        assert found[f"part of {element}"].value == pytest.approx(part / sum(metal.values()), rel=0.02)
    assert sum(found[f"part of {element}"].value for element in metal) == pytest.approx(1.0)
    whole = (2.4 * 7.18 + 1.5 * 5.9 + 3.6 * 5.6) / 6.1
    assert convert(found["rate of all sources"].value, "nm/min") == pytest.approx(whole, rel=0.02)
    assert found["time"].value == pytest.approx(40 / whole * 60, rel=0.02)
    assert found["time"].spread > 0


@pytest.mark.analytic
def test_powers_for_a_composition_give_it(walked: Walked):
    trace = walked(IGZO + WANTED, lab=BENCH)
    found = numbers(trace)
    for element, part in {"In": 0.5, "Ga": 0.25, "Zn": 0.25}.items():
        assert found[f"part of {element}"].value == pytest.approx(part, rel=1e-4)
    powers = {name: found[f"power, {name} oxide"].value for name in ("indium", "gallium", "zinc")}
    # the strongest goes to what its gun bears; twice the indium of 1:1 at 60 W × 0.04 nm/min/W by hand
    assert max(powers.values()) == pytest.approx(120.0)
    by_hand = {"indium": 0.5 / (2 * 0.04 * 7.18 / 277.63), "gallium": 0.25 / (2 * 0.015 * 5.9 / 187.44)}
    assert powers["indium"] / powers["gallium"] == pytest.approx(
        by_hand["indium"] / by_hand["gallium"], rel=0.02
    )
    assert not any("not on file" in warning for warning in trace.states[0].warnings)


@pytest.mark.analytic
def test_one_power_of_the_plan_leads(walked: Walked):
    found = numbers(
        walked(IGZO + WANTED.replace("{target: zinc oxide}", "{target: zinc oxide, power: 20 W}"), lab=BENCH)
    )
    assert found["power, zinc oxide"].value == pytest.approx(20.0)
    assert found["part of Zn"].value == pytest.approx(0.25, rel=1e-4)


@pytest.mark.literature
def test_a_one_to_one_to_one_film_by_mass_of_its_formula(walked: Walked):
    # K. Nomura et al., Nature 432, 488 (2004), from memory: InGaZnO4. Half of In2O3 and Ga2O3 and one ZnO weigh as much as one InGaZnO4
    # (CRC molar masses 277.63, 187.44, 81.38; 313.9 g/mol), so 40 nm at 6.1 g/cm³ hold 17.7 nm, 14.5 nm and 13.3 nm of them
    powers = OXIDES.replace("60 W", f"{60 * 138.82 / 7.18 / 2.4:.4f} W")
    powers = powers.replace("100 W", f"{100 * 93.72 / 5.9 / 1.5:.4f} W").replace(
        "80 W", f"{80 * 81.38 / 5.6 / 3.6:.4f} W"
    )
    found = numbers(walked(IGZO + powers, lab=BENCH))
    for element in ("In", "Ga", "Zn"):
        assert found[f"part of {element}"].value == pytest.approx(1 / 3, rel=0.02)
    assert pytest.approx(313.9, rel=1e-3) == 0.5 * 277.63 + 0.5 * 187.44 + 81.38


@pytest.mark.analytic
def test_a_wafer_at_rest_has_a_gradient_and_a_turning_one_has_not(walked: Walked):
    still, turned = (
        numbers(walked(IGZO + OXIDES, lab=LAB.replace("STAGE", stage)))["composition over the wafer"].value
        for stage in ("at rest", "turning")
    )
    assert still > 0.05
    assert turned == 0.0


@pytest.mark.property
def test_metals_without_a_reading_go_by_their_law_and_are_called_a_guess(walked: Walked):
    metals = """    sources:
      - {target: nickel, power: 200 W, mode: direct current}
      - {target: chromium, power: 60 W, mode: direct current}
"""
    trace = walked(PLAN.replace("MATERIAL", "nickel chromium") + metals, lab=BENCH)
    found = numbers(trace)
    assert 0.6 < found["part of Ni"].value < 0.95
    assert found["rate from nickel"].derivation.law.name.startswith("film from a magnetron")
    assert sum("composition is a guess" in warning for warning in trace.states[0].warnings) == 2
    assert "atoms of nickel slowed down by the gas" in found
    slower = numbers(
        walked(
            PLAN.replace("MATERIAL", "nickel chromium") + metals.replace("direct current", "radio frequency"),
            lab=BENCH,
        )
    )
    assert slower["rate of all sources"].value == pytest.approx(
        found["rate of all sources"].value / 2, rel=1e-3
    )


@pytest.mark.property
def test_a_reading_goes_before_usage_and_runs_before_a_reading(walked: Walked):
    runs = "runs:\n" + "".join(
        f"  - {{tool: three guns, material: zinc oxide, date: 2026-10-1{k}, power: {power} W, deposition rate: {rate} nm/min ± 3 %}}\n"
        for k, (power, rate) in enumerate(((40, 1.6), (80, 3.2), (120, 4.8)))
    )
    read, run = (
        numbers(walked(IGZO + OXIDES, lab=text))["rate from zinc oxide"] for text in (BENCH, BENCH + runs)
    )
    assert convert(read.value, "nm/min") == pytest.approx(3.6)
    assert convert(run.value, "nm/min") == pytest.approx(3.2, rel=1e-3)
    bare = BENCH.partition("calibrations:")[0]
    usage = numbers(walked(IGZO + OXIDES, lab=bare))["rate from zinc oxide"]
    assert "usage" in usage.derivation.law.name
    low, high = usage.derivation.band
    assert high > 5 * low


@pytest.mark.property
def test_the_documented_example_is_walked(walked: Walked):
    text = (Path(__file__).parents[2] / "docs" / "several-sources.md").read_text("utf-8")
    plan, lab = (part.split("```")[0] for part in text.split("```yaml\n")[1:3])
    found = numbers(walked(plan, lab=lab))
    for element in ("In", "Ga", "Zn"):
        said = convert(found[f"part of {element}"].value, "%")
        assert said == pytest.approx(33.3, abs=0.1)
    for name in ("indium", "gallium", "zinc"):
        assert f"| {name} oxide | {convert(found[f'power, {name} oxide'].value, 'W'):.1f} W |" in text
