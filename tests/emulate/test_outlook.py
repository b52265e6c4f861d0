"""Heat ledger, probe plan and expected readings of real plans."""

import math

import pytest

from filmwright.desk.files import load
from filmwright.desk.planning import new
from filmwright.emulate import walk, with_outlook


@pytest.fixture(scope="module")
def states(tmp_path_factory):
    folder = tmp_path_factory.mktemp("outlook")
    new(folder)
    plan = folder / "plan.yaml"
    text = plan.read_text("utf-8").replace(
        "  - measure: line width\n",
        "  - measure: sheet resistance\n    of: gold\n  - measure: bow\n  - measure: line width\n",
    )
    plan.write_text(text, "utf-8")
    work = load(plan)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-26", sections=False)
    return with_outlook(trace, work.facts).states


def numbers(states, title):
    state = next(each for each in states if each.step.title.startswith(title))
    return state, {each.name: each for each in state.follows}


@pytest.mark.literature
def test_the_heat_that_gold_has_seen(states):
    # One heat in air after the gold: 60 min at 250 °C against its limit of 300 °C with 1 eV (S. Arrhenius 1889), by hand:
    # exp(−1 eV/k·(1/523.15 K − 1/573.15 K)) = exp(−11604.5·1.66753e-4) = 0.1444
    state, found = numbers(states, "Anneal")
    assert found["heat seen by gold"].value == pytest.approx(3600 * math.exp(-11604.5 * 1.66753e-4), rel=1e-3)
    assert found["heat seen by titanium"].value > found["heat seen by gold"].value
    assert any("heat seen so far" in line for line in state.look)


@pytest.mark.literature
def test_the_probe_plan_stays_below_the_breakdown_of_the_thinnest_film(states):
    # Half of 6 MV/cm (M. D. Groner et al., Chem. Mater. 16, 639 (2004), from memory) over the insulator that is left
    state, found = numbers(states, "Probe")
    derived = found["voltage that spares the insulator"].derivation
    depth = next(each.value for each in derived.inputs if each.symbol == "d")
    assert 35e-9 < depth <= 40e-9
    assert derived.result == pytest.approx(0.5 * 6e8 * depth, rel=1e-6)
    (sweeps,) = state.tables
    row = dict(
        zip(sweeps.columns, next(row for row in sweeps.rows if row[1].startswith("transfer")), strict=True)
    )
    assert row["gate"] == "-6 V to 6 V"
    # One that may be lost comes before any curve, and low drain voltage before high
    kinds = [row[1].split(":")[0].split(",")[0] for row in sweeps.rows]
    assert kinds.index("gate current") < kinds.index("transfer") < kinds.index("output")
    drains = [row[3] for row in sweeps.rows if row[1].startswith("transfer")]
    assert drains == ["100 mV", "5 V"]


@pytest.mark.literature
def test_readings_to_expect(states):
    # V/I = R_sheet/4.53 for probes far from the edge (F. M. Smits 1958)
    _, found = numbers(states, "Measure sheet resistance")
    reading = found["V/I of four probes"]
    resistivity = next(each.value for each in reading.derivation.inputs if each.symbol == "ρ")
    film = next(each.value for each in reading.derivation.inputs if each.symbol == "d")
    assert reading.value == pytest.approx(resistivity / film / 4.532, rel=2e-3)
    _, found = numbers(states, "Measure bow")
    # Stoney for silicon: 100 N/m (1 GPa × 100 nm) on 525 µm bends 100 mm by 15.1 µm (published arithmetic)
    inputs = {each.symbol: each.value for each in found["bow"].derivation.inputs}
    scale = (inputs["S"] / 100.0) * (180.5e9 / inputs["M"])
    assert found["bow"].value == pytest.approx(15.075e-6 * scale, rel=1e-3)
    state, _ = numbers(states, "Measure step height")
    assert "54 nm to 66 nm" in state.look[0]
