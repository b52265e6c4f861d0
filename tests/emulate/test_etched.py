"""What follows from the etches of a real plan."""

import pytest

from filmwright.desk.files import load
from filmwright.desk.planning import new
from filmwright.emulate import walk, with_outlook
from filmwright.knowledge import emission_line


@pytest.fixture(scope="module")
def etches(tmp_path_factory):
    folder = tmp_path_factory.mktemp("etched")
    new(folder)
    work = load(folder / "plan.yaml")
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-26", sections=False)
    return {
        each.step.material: each
        for each in with_outlook(trace, work.facts).states
        if each.step.kind == "etch"
    }


@pytest.mark.analytic
def test_resist_left_by_hand(etches):
    # 1300 nm less the 95 nm/min of the example's lab over the whole etch
    state = etches["aluminium oxide"]
    found = next(each for each in state.follows if each.name == "resist left")
    time = next(each.value for each in found.derivation.inputs if each.symbol == "t")
    assert found.value == pytest.approx(1300e-9 - 95e-9 / 60 * time, rel=1e-6)


@pytest.mark.literature
def test_a_warmer_bath(etches):
    # 0.26 eV from 20 °C to 30 °C is a factor of 1.4043 (check value, recomputed arithmetic); a bath of the example 5 K warmer
    found = next(each for each in etches["titanium"].follows if "5 K warmer" in each.name)
    energy = next(each.value for each in found.derivation.inputs if each.symbol == "E") / 1.602176634e-19
    per_ten_kelvin = 1.4043 ** (energy / 0.26)
    assert found.value == pytest.approx(per_ten_kelvin**0.5, rel=0.05)


@pytest.mark.whole
def test_the_end_is_told_by_light(etches):
    said = "\n".join(etches["aluminium oxide"].look)
    assert "light of aluminium chloride at 261 nm falls" in said
    assert "when clear" in "\n".join(etches["titanium"].look)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("family", "material", "species", "end"),
    [
        # P. J. Marcoux, P. D. Foo, Solid State Technol. 24 (4), 115 (1981) (from memory)
        ("fluorine", "silicon nitride", "nitrogen", "falls"),
        ("fluorine", "molybdenum", "fluorine", "rises"),
        ("chlorine", "aluminium", "aluminium chloride", "falls"),
    ],
)
def test_lines_to_watch(family, material, species, end):
    line = emission_line([family, "plasma"], material)
    assert line is not None
    assert (line.species, line.end) == (species, end)
    assert emission_line(["oxygen"], material) is None
