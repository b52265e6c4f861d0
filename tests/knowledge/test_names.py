"""A name is found as people type it; one that is not known says what it might have been."""

import pytest

from filmwright.knowledge import UnknownName, book
from filmwright.knowledge.names import Index


@pytest.mark.property
@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Titanium", "titanium"),
        ("  zinc   oxide ", "zinc oxide"),
        ("Al2O3", "aluminium oxide"),
        ("Al₂O₃", "aluminium oxide"),
        ("aluminum", "aluminium"),
        ("IGZO", "indium gallium zinc oxide"),
        ("igzo", "indium gallium zinc oxide"),
    ],
)
def test_materials(typed, name):
    assert book().material(typed).name == name


@pytest.mark.property
@pytest.mark.parametrize("typed", ["positive 1.3 µm", "positive 1.3 um", "Positive 1.3 μm"])
def test_micro_has_an_ascii_twin(typed):
    assert book().resist(typed).name == "positive 1.3 µm"


@pytest.mark.property
@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("5:1 BHF", "buffered hydrofluoric acid 5:1"),
        ("phosphoric–acetic–nitric aluminium etch", "phosphoric, acetic and nitric aluminium etch"),
        ("dilute oxalic acid", "oxalic acid"),
        ("TMAH developer", "alkaline developer"),
        ("sf6+o2", "sulfur hexafluoride and oxygen plasma"),
    ],
)
def test_media(typed, name):
    assert book().medium(typed).name == name


@pytest.mark.property
def test_an_unknown_name_offers_the_nearest():
    with pytest.raises(UnknownName) as trouble:
        book().material("titanum")
    assert trouble.value.hint == 'did you mean "titanium"?'
    assert trouble.value.kind == "material"
    assert str(trouble.value) == 'no material is known as "titanum"; did you mean "titanium"?'
    assert isinstance(trouble.value, KeyError)


@pytest.mark.property
def test_a_hopeless_name_lists_what_there_is():
    with pytest.raises(UnknownName) as trouble:
        book().method("qqqqqq")
    assert trouble.value.hint.startswith("use one of: ")
    assert "atomic layer deposition" in trouble.value.hint


@pytest.mark.property
def test_a_name_for_two_things_is_refused():
    with pytest.raises(ValueError, match=r'(?i)"tin" names both one and two'):
        Index("material", {"one": 1, "two": 2}, {"one": ["tin"], "two": ["Tin"]})
