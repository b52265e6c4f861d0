"""The shipped facts are complete, and what is wrong with a folder of facts is told all at once, each at its line."""

import shutil
from pathlib import Path

import pytest

from filmwright.knowledge import Absence, book, problems, read_book, shipped
from filmwright.units import write

BOOK = book()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped facts to break."""
    return Path(shutil.copytree(Path(shipped.__file__).parent / "data", tmp_path / "facts"))


@pytest.mark.property
def test_nothing_is_wrong_with_the_shipped_facts():
    assert [str(problem) for problem in problems(BOOK)] == []


@pytest.mark.property
@pytest.mark.parametrize(
    ("file", "old", "new", "told", "at"),
    [
        ("materials/metals.toml", "'0.628 ± 3 % | | deposition-monitor'", "'0.628 | | deposition-monitor'", "bounds", "[titanium]"),
        ("materials/metals.toml", "density = '4.5 g/cm³", "density = '45 g/cm³", "slipped digit", "density"),
        ("materials/metals.toml", "density = '4.5 g/cm³", "density = '4.5 g/cm²", "a density with a unit", "density"),
        ("materials/metals.toml", "'work function' = '4.33 eV", "'work funktion' = '4.33 eV", "must be a property on file", "'work funktion'"),
        ("materials/metals.toml", "expansion = '8.6e-6 1/K ± 5 % | bulk | elements-table'\n", "", "a hole that nobody mentions", "[titanium]"),
        ("materials/metals.toml", "expansion = '8.6e-6 1/K ± 5 % | bulk | elements-table'", "expansion = 'not known'", "must say why", "[titanium]"),
        ("materials/metals.toml", "11.925, -24991, -1.3376, 0", "11.925, -24991, -1.3376", "four numbers", "[titanium]"),
        ("materials/metals.toml", "298 K to 1941 K", "1941 K to 298 K", "must be a range", "[titanium]"),
        ("materials/metals.toml", "Q 0.54;", "0.54;", "a name and a number", "[titanium]"),
        ("materials/metals.toml", "[titanium.vapour]", "[titanium.vapor]", "vapor", ""),
        ("sources.toml", "kind = 'published'\nwhere = 'Table 8.19 p. 548'", "kind = 'invented'\nwhere = 'Table 8.19 p. 548'", "looked up", ""),
        ("media/etches.toml", "titanium = '30 nm/min, 8 to 90", "titanium = '30 nm/min², 8 to 90", "nm/min²", "titanium"),
        ("media/etches.toml", "titanium = '30 nm/min, 8 to 90 | 40 °C, fresh | etch-remembered | 0.5 eV", "titanium = '30 nm/min, 8 to 90 | 40 °C, fresh | etch-remembered | 5 eV", "slipped digit", "titanium"),
        ("media/etches.toml", "contains = ['oxalic acid', 'water']\n", "", "made of", '["oxalic acid"]'),
        ("media/etches.toml", "contains = ['oxalic acid', 'water']", "contains = ['oxalik acid', 'water']", "a substance on file", ""),
        ("resists.toml", "developer = 'alkaline developer'", "developer = 'alkaline'", "a medium on file", ""),
        ("substances.toml", "'7782-50-5'", "'7782-50-6'", "check digit", "[chlorine]"),
        ("substances.toml", "'H270', 'H280', 'H331'", "'H270', '280', 'H331'", "H-numbers", "[chlorine]"),
        ("hazards.toml", "substances = ['iodine',", "substances = ['jodine',", "a substance on file", ""),
        ("methods.toml", "hazard = 'thermal evaporator'", "hazard = 'thermal evaporater'", "a hazard on file", ""),
        ("substances.toml", "alarm = '0.5 ppm | usual first level | niosh-idlh'\n", "", "an alarm for a gas", "[chlorine]"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_line(folder: Path, file: str, old: str, new: str, told: str, at: str):
    path = folder / file
    text = path.read_text("utf-8")
    assert old in text, "the shipped facts changed: change this test with them"
    path.write_text(text.replace(old, new, 1), "utf-8")
    found = problems(read_book(folder))
    assert any(told in str(problem) for problem in found), [str(problem) for problem in found]
    if at:
        problem = next(each for each in found if told in str(each))
        line = path.read_text("utf-8").splitlines()[(problem.line or 0) - 1]
        assert line.startswith(at), (problem.line, line)
        assert problem.file == file


@pytest.mark.property
def test_all_problems_come_at_once(folder: Path):
    path = folder / "materials" / "metals.toml"
    text = path.read_text("utf-8")
    text = text.replace("density = '4.5 g/cm³", "density = '45 g/cm³").replace("density = '19.3 g/cm³ ± 2 %", "density = '193 g/cm³ ± 2 %")  # fmt: skip
    path.write_text(text, "utf-8")
    assert {problem.what for problem in problems(read_book(folder))} == {
        'the density of "titanium"',
        'the density of "gold"',
    }


@pytest.mark.property
def test_the_two_kinds_of_nothing_are_different_answers():
    chromium, nitride = BOOK.material("chromium"), BOOK.material("silicon nitride")
    assert BOOK.known(chromium, "electron affinity") == Absence(
        says="does not apply", why=BOOK.properties["electron affinity"].elsewhere
    )
    assert BOOK.known(nitride, "acoustic impedance ratio").says == "not known"
    assert BOOK.known(chromium, "density") is chromium.values["density"]
    resist = BOOK.resist("positive 1.3 µm")
    assert BOOK.known(resist, "permittivity").why == 'asked of the material "positive novolak resist"'
    assert BOOK.known(resist, "flood dose") == Absence(says="not known", why="nothing is on file")
    assert BOOK.known(chromium, "refractive index") == Absence(says="not known", why="nothing is on file")


@pytest.mark.property
@pytest.mark.parametrize("name", sorted(BOOK.properties))
def test_every_material_and_resist_answers_every_question(name: str):
    asked = BOOK.properties[name]
    for thing in (*BOOK.materials.values(), *BOOK.resists.values()):
        answer = BOOK.known(thing, name)
        kind = getattr(thing, "kind", "resist")
        if kind in asked.asked_of and isinstance(answer, Absence):
            table = {"vapour pressure": "vapour", "sputtering coefficients": "sputtering"}.get(
                name, "missing"
            )
            assert name in thing.missing or getattr(thing, table), f"{thing.name} is silent on {name}"
            assert name not in thing.missing or len(answer.why) > 5, thing.name


_OF_FEW = {
    *("vapour pressure", "sputtering coefficients", "trap depth", "trap conductivity", "tunnelling mass"),
    *("tail states", "tail energy", "deep states", "depth of deep states", "width of deep states"),
    *("interface trap density", "interface charge", "back surface charge"),
    *("mobility exponent", "mobility activation energy", "specific contact resistance"),
}
"""Asked of all materials of a kind, measured for few: a model says what it lacks when one of them is asked for."""


@pytest.mark.property
def test_there_is_enough_on_file():
    values = sum(len(material.values) for material in BOOK.materials.values())
    holes = [
        (material.name, name)
        for material in BOOK.materials.values()
        for name, nothing in material.missing.items()
        if nothing.says == "not known" and name not in _OF_FEW
    ]
    assert len(BOOK.materials) >= 45
    assert values > 650
    assert len(holes) < 0.06 * values, "too much is not known for a book that is relied on"
    assert sum(medium.kind != "plasma" for medium in BOOK.media.values()) >= 35
    assert sum("plasma" in medium.families for medium in BOOK.media.values()) >= 12
    assert len(BOOK.resists) >= 8
    assert sum(bool(material.vapour) for material in BOOK.materials.values()) >= 15
    assert sum(bool(material.sputtering) for material in BOOK.materials.values()) >= 15


@pytest.mark.property
@pytest.mark.parametrize(
    "material",
    ["SiO2", "SiNx", "Si3N4", "Al2O3", "Si", "Ti", "Au", "Pt", "Cr", "Mo", "Al", "ZnO", "IGZO", "resist+"],
)
def test_what_thin_film_transistors_are_made_of_is_known_in_every_bath_and_plasma(material):
    name = BOOK.material(material).name
    unknown = [
        m.name for m in BOOK.media.values() if m.rate(name).verdict == "unknown" and name not in m.dissolves
    ]
    assert unknown == []


@pytest.mark.property
def test_a_gas_hazard_names_the_level_of_its_alarm():
    for key, gas in (("silane", "silane"), ("ammonia gas", "ammonia"), ("chlorine plasma", "chlorine"), ("bromine plasma", "hydrogen bromide")):  # fmt: skip
        alarm = BOOK.substance(gas).alarm
        assert f"{write(alarm.value, 'ppm')}" in BOOK.hazard(key).interlock
