"""Films out of plasma and by cycles: what the lab's runs say of index and stress, what holes and grounds change."""

from collections.abc import Callable
from importlib import resources

import pytest

from filmwright.emulate import State, Trace, film_results, looks_of, with_outlook
from filmwright.errors import BadInput
from filmwright.flow import lab_from_text
from filmwright.knowledge import book
from filmwright.process import Setting
from filmwright.units import convert, to_si

Walked = Callable[..., Trace]

NITRIDE = """flow: a nitride
wafer: {body: silicon, diameter: 100 mm}
steps:
  - deposit: silicon nitride
    method: plasma-enhanced chemical vapour deposition
    thickness: 140 nm
    gas ratio: RATIO
    power: 40 W
  - measure: bow
"""
ALUMINA = """flow: an insulator
wafer: {body: BODY, diameter: 100 mm}
steps:
  - deposit: aluminium oxide
    method: atomic layer deposition
    thickness: 40 nm
"""


def lab(*, index: float = 1.0) -> str:
    """The example's lab with runs over the gas ratio: index 2 at 1 falling as its −0.1, stress 100 MPa·ln(ratio) − 200 MPa."""
    from math import log

    text = resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")
    rows = "".join(
        f"  - {{tool: nitride reactor, material: silicon nitride, date: 2026-09-{10 + k:02d}, gas ratio: {ratio}, power: 40 W, "
        f"refractive index: {index * 2 * ratio**-0.1:.6f} ± 0.5 %, stress: {100 * log(ratio) - 200:.4f} MPa ± 10 MPa, evidence: N-{k}}}\n"
        for k, ratio in enumerate((0.5, 1, 2, 4))
    )
    return text + "\nruns:\n" + rows


def setting(state: State, name: str) -> Setting:
    return next(each for each in (*state.settings, *state.follows) if each.name == name)


@pytest.mark.analytic
def test_index_and_stress_come_from_the_runs_at_the_gas_ratio_of_the_plan(walked: Walked):
    state = walked(NITRIDE.replace("RATIO", "1.5"), lab=lab()).states[0]
    assert state.results["refractive index"].value == pytest.approx(2 * 1.5**-0.1, rel=1e-4)
    assert state.results["stress"].value == pytest.approx((100 * 0.405465 - 200) * 1e6, rel=1e-4)
    found = setting(state, "refractive index from the runs").derivation
    assert "(1.5 / 1.41)^(-0.1)" in found.with_numbers.replace("(1.5)", "1.5")
    assert any("N-0, N-1, N-2, N-3" in note for note in found.notes)
    # The rate was not measured in these runs: the calibration stays
    assert convert(state.rate.value, "nm/min") == pytest.approx(14.0)


@pytest.mark.analytic
def test_without_runs_the_usual_range_is_told_and_to_be_measured(walked: Walked):
    state = walked(NITRIDE.replace("RATIO", "1.5")).states[0]
    assert state.results == {}
    assert any("measure it" in note for note in setting(state, "stress").derivation.notes)
    assert any("brings hydrogen, 10 to 30 %" in line for line in state.look)


@pytest.mark.analytic
def test_the_bow_is_that_of_the_stress_of_the_runs(walked: Walked):
    # Stoney: 3·σ·d·D²/(4·M·h²), M = 130 GPa/0.72, D 100 mm, h 525 µm
    stress = (100 * 0.693147 - 200) * 1e6
    trace = with_outlook(walked(NITRIDE.replace("RATIO", "2"), lab=lab()), book())
    bow = setting(trace.states[1], "bow").value
    assert bow == pytest.approx(3 * stress * 140e-9 * 0.1**2 / (4 * 130e9 / 0.72 * 525e-6**2), rel=1e-3)


@pytest.mark.analytic
def test_a_ratio_outside_the_runs_is_said_to_be(walked: Walked):
    state = walked(NITRIDE.replace("RATIO", "9"), lab=lab()).states[0]
    assert any("gas ratio of 9 lies outside the tried range of 0.5 to 4" in each for each in state.warnings)


@pytest.mark.analytic
def test_another_index_is_another_colour_and_another_film(walked: Walked):
    usual = walked(NITRIDE.replace("RATIO", "1"), lab=lab())
    other = walked(NITRIDE.replace("RATIO", "1"), lab=lab(index=1.25))
    assert any("of another composition" in each for each in other.states[0].warnings)
    assert not any("of another composition" in each for each in usual.states[0].warnings)
    plan = other.states[0].wafer.plan
    own = {film: each.value for film, each in film_results(other.states, "refractive index").items()}
    assert list(own.values()) == pytest.approx([2.5], rel=1e-4)
    # The first dark fringe of normal incidence lies at 4·n·d: with 2.5 and 140 nm it leaves the visible, so the colour changes
    assert looks_of([plan])[0].seen[0].hex != looks_of([plan], own=own)[0].seen[0].hex
    assert looks_of([plan], own=own)[0].seen[0].name


@pytest.mark.analytic
def test_a_run_that_tells_nothing_is_refused():
    text = lab().replace("refractive index: 2.000000 ± 0.5 %, stress: -200.0000 MPa ± 10 MPa, ", "")
    with pytest.raises(BadInput, match="at least one of deposition rate"):
        lab_from_text(text, "lab.yaml")


@pytest.mark.analytic
def test_the_purge_goes_by_the_chamber_of_the_tool(walked: Walked):
    # V·p/(Q·p_n)·ln f: 15 L, 100 Pa, 1000 sccm, 1e4: 8.18 s; 30 L twice that
    usual = setting(
        walked(NITRIDE.replace("RATIO", "1")).states[0], "purge before the chamber is opened, at least"
    )
    assert usual.value == pytest.approx(15e-3 * 100 / (1e-3 / 60 * 101325) * 9.21034, rel=1e-4)
    large = lab().replace("  nitride reactor:\n", "  nitride reactor:\n    chamber volume: 30 L\n")
    twice = setting(walked(NITRIDE.replace("RATIO", "1"), lab=large).states[0], usual.name)
    assert twice.value == pytest.approx(2 * usual.value, rel=1e-6)


def layered(walked: Walked, body: str = "silicon", more: str = "", text: str = "") -> State:
    plan = ALUMINA.replace("BODY", body) + "".join(f"    {each}\n" for each in more.split(";") if each)
    return walked(plan, lab=text).states[0]


@pytest.mark.analytic
def test_cycles_last_two_pulses_and_two_purges(walked: Walked):
    state = layered(walked)
    cycles = setting(state, "cycles").value
    assert setting(state, "time of all cycles").value == pytest.approx(
        cycles * (0.06 + 0.06 + 2 * 6), rel=1e-9
    )


@pytest.mark.literature
def test_on_a_noble_metal_growth_sets_in_late(walked: Walked):
    # R. L. Puurunen (2005), from memory: no growth at first where there is no hydroxyl; the delay on file, 20 cycles
    plan = ALUMINA.replace("BODY", "silicon").replace(
        "steps:\n",
        "steps:\n  - deposit: platinum\n    method: electron-beam evaporation\n    thickness: 50 nm\n",
    )
    on_metal = setting(walked(plan).states[1], "cycles")
    on_silicon = setting(layered(walked), "cycles")
    assert on_metal.value - on_silicon.value == 20
    assert "on platinum" in " ".join(each.name for each in on_metal.derivation.inputs)


@pytest.mark.literature
def test_a_deep_hole_needs_the_exposure_of_gordon(walked: Walked):
    # R. G. Gordon and others (2003), from memory: 1 + 19/4·a + 3/2·a² times that of a flat wafer: 3988 at 50:1
    state = layered(walked, more="aspect ratio: 50")
    flat = setting(state, "exposure that saturates a flat wafer").value
    deep = setting(state, "exposure that coats a hole of 50:1 to its bottom").value
    assert deep / flat == pytest.approx(1 + 19 / 4 * 50 + 1.5 * 2500)
    assert any("bottom of the hole: make it" in each for each in state.warnings)
    assert not any("bottom of the hole" in each for each in layered(walked, more="aspect ratio: 2").warnings)


@pytest.mark.literature
def test_outside_the_window_it_says_why(walked: Walked):
    # Window of alumina from trimethylaluminium and water: about 150 to 300 °C (George 2010 and others, from memory)
    assert any("hydroxyl" in each for each in layered(walked, more="temperature: 90 degC").warnings)
    assert layered(walked, more="temperature: 200 degC").warnings == ()


@pytest.mark.analytic
def test_growth_per_cycle_over_temperature_comes_from_runs(walked: Walked):
    text = (
        resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8") + "\nruns:\n"
    )
    for day, (celsius, growth) in enumerate(((150, 0.110), (200, 0.102), (250, 0.095), (300, 0.090))):
        text += f"  - {{tool: layer reactor, material: aluminium oxide, date: 2026-09-1{day}, temperature: {celsius} degC, growth per cycle: {growth} nm ± 1 %}}\n"
    state = layered(walked, more="temperature: 225 degC", text=text)
    assert 0.095 < convert(state.rate.value, "nm") < 0.102
    assert "4 runs" in state.rate.evidence


@pytest.mark.analytic
def test_a_purge_of_a_pumped_chamber(walked: Walked):
    # 1 L at 1.5 L/s, thinned by 1e4: ln(1e4)/1.5 = 6.14 s, which is the usual purge of 6 s
    assert setting(layered(walked), "purge that the chamber takes").value == pytest.approx(
        9.21034 / 1.5, rel=1e-5
    )
    assert to_si(6, "s") < 9.21034 / 1.5
