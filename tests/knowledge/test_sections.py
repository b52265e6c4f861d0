"""A data file is cut at its headers; what nobody asks for is not read, and what is wrong is told at its line."""

import pytest

from filmwright.knowledge.sections import Later, Sections

FILE = """# a comment
[tin]
symbol = 'Sn'
[tin.values]
density = '7.3 g/cm³'

["tin oxide"]
symbol = 'SnO2'
lists = [
  'one',
]
["tin oxide".values]
density = '6.7 g/cm³'
'band gap' = '3.6 eV'
"""


@pytest.mark.analytic
def test_entries_are_read_and_parts_are_kept_for_later():
    sections = Sections(FILE, "metals.toml")
    assert sections.entries == {
        "tin": {"symbol": "Sn"},
        "tin oxide": {"symbol": "SnO2", "lists": ["one"]},
    }
    assert sections.part("tin oxide", "values") == {"density": "6.7 g/cm³", "band gap": "3.6 eV"}
    assert sections.part("tin", "vapour") == {}
    assert sections.parts() == {"values"}


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("name", "key", "line"),
    [("tin", "", 2), ("tin", "density", 5), ("tin oxide", "band gap", 14), ("tin oxide", "colour", 7), ("lead", "", None)],
)  # fmt: skip
def test_lines_are_those_of_the_file(name, key, line):
    assert Sections(FILE, "metals.toml").line(name, key) == line


@pytest.mark.property
def test_a_slip_is_told_with_file_and_line():
    with pytest.raises(ValueError, match=r"metals\.toml: .*line 8"):
        Sections(FILE.replace("symbol = 'SnO2'", "symbol = SnO2"), "metals.toml")
    later = Sections(FILE.replace("'3.6 eV'", "3.6 eV"), "metals.toml")
    with pytest.raises(ValueError, match=r"metals\.toml: .*line 14"):
        later.part("tin oxide", "values")
    with pytest.raises(ValueError, match="two parts"):
        Sections(FILE + "[tin.values]\n", "metals.toml")


@pytest.mark.property
def test_a_part_without_its_entry_is_an_orphan():
    assert Sections(FILE + "[lead.values]\n", "metals.toml").orphans() == ["lead"]


@pytest.mark.property
def test_a_mapping_is_made_at_the_first_look_and_only_once():
    looks = []

    def make() -> dict[str, int]:
        looks.append(1)
        return {"a": 1}

    later = Later(make)
    assert not looks
    assert (later["a"], len(later), list(later), "b" in later) == (1, 1, ["a"], False)
    assert looks == [1]
    assert later == {"a": 1}
    with pytest.raises(TypeError):
        later["b"] = 2
