"""Classes, limits and alarms of chemicals and gases against what was published."""

import pytest

from filmwright.knowledge import Absence, book
from filmwright.units import convert

BOOK = book()


@pytest.mark.literature
@pytest.mark.parametrize(
    ("substance", "what", "unit", "limit"),
    [
        # NIOSH Pocket Guide and OSHA Z tables, published
        ("ammonia", "NIOSH, 8 h average", "ppm", 25), ("ammonia", "NIOSH, short term", "ppm", 35),
        ("ammonia", "OSHA, 8 h average", "ppm", 50), ("ammonia", "NIOSH, immediately dangerous", "ppm", 300),
        ("hydrofluoric acid", "OSHA, 8 h average", "ppm", 3), ("hydrofluoric acid", "NIOSH, ceiling of 15 min", "ppm", 6),
        ("hydrofluoric acid", "NIOSH, immediately dangerous", "ppm", 30),
        # NIOSH documentation of immediately dangerous concentrations (1994), published
        ("chlorine", "NIOSH, ceiling of 15 min", "ppm", 0.5), ("chlorine", "OSHA, ceiling", "ppm", 1),
        ("chlorine", "NIOSH, immediately dangerous", "ppm", 10),
        ("nitric acid", "NIOSH, short term", "ppm", 4), ("nitric acid", "NIOSH, immediately dangerous", "ppm", 25),
        ("sulfuric acid", "NIOSH, immediately dangerous", "mg/m^3", 15), ("hydrogen peroxide", "NIOSH, immediately dangerous", "ppm", 75),
        ("isopropanol", "OSHA and NIOSH, 8 h average", "ppm", 400), ("isopropanol", "NIOSH, immediately dangerous", "ppm", 2000),
        # ACGIH, published; OSHA 29 CFR 1910.1026 and NIOSH (2013), published
        ("silane", "ACGIH, 8 h average", "ppm", 5),
        ("hexavalent chromium", "OSHA, 8 h average", "µg/m^3", 5), ("hexavalent chromium", "OSHA, action level", "µg/m^3", 2.5),
        ("hexavalent chromium", "NIOSH, 8 h average", "µg/m^3", 0.2),
        # NIOSH profiles of 2025, as announced, published
        ("hydrochloric acid", "NIOSH, immediately dangerous (2025)", "ppm", 45),
        ("hydrogen bromide", "NIOSH, immediately dangerous (2025)", "ppm", 35),
        # NIOSH Pocket Guide, from memory
        ("sulfur hexafluoride", "OSHA and NIOSH, 8 h average", "ppm", 1000),
    ],
)  # fmt: skip
def test_limits_of_exposure_stand_as_they_were_set(substance, what, unit, limit):
    found = {each.what: each for each in BOOK.substance(substance).limits}
    assert convert(found[what].value, unit) == pytest.approx(limit)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("substance", "phrases"),
    [
        # Regulation (EC) 1272/2008, Annex VI: hydrofluoric acid published, the others from memory
        ("hydrofluoric acid", {"H300", "H310", "H330", "H314"}),
        ("silane", {"H220", "H280"}),
        ("ammonia", {"H221", "H331", "H314", "H400"}),
        ("chlorine", {"H270", "H331", "H335"}),
        ("tetramethylammonium hydroxide", {"H300", "H310", "H314"}),
        ("N-methyl pyrrolidone", {"H360D"}),
        ("acetone", {"H225", "H319", "H336"}),
        ("trimethylaluminium", {"H250", "H260"}),
    ],
)
def test_statements_by_number(substance, phrases):
    assert phrases <= set(BOOK.substance(substance).phrases)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("phrase", "word"),
    # the numbers and the classes are two ways of saying one thing: globally harmonised system, annex 3, published
    [("H225", "Flam. Liq. 2"), ("H226", "Flam. Liq. 3"), ("H220", "Flam. Gas 1"), ("H221", "Flam. Gas 2"), ("H250", "Pyr. Liq. 1"),
     ("H270", "Ox. Gas 1"), ("H280", "Press. Gas"), ("H300", "Acute Tox. 2 (swallowed)"), ("H310", "Acute Tox. 1 (skin)"),
     ("H330", ("Acute Tox. 1 (inhaled)", "Acute Tox. 2 (inhaled)")), ("H331", "Acute Tox. 3 (inhaled)"), ("H302", "Acute Tox. 4 (swallowed)"),
     ("H314", "Skin Corr. 1"), ("H290", "Met. Corr. 1"), ("H335", "STOT SE 3"), ("H336", "STOT SE 3"), ("H319", "Eye Irrit. 2"),
     ("H315", "Skin Irrit. 2"), ("H317", "Skin Sens. 1"), ("H400", "Aquatic Acute 1"), ("H410", "Aquatic Chronic 1")],
)  # fmt: skip
def test_classes_and_numbers_say_the_same(phrase, word):
    for substance in BOOK.substances.values():
        if phrase in substance.phrases:
            assert any(each.startswith(word) for each in substance.classes), (substance.name, phrase)


@pytest.mark.property
def test_every_gas_has_an_alarm_and_what_is_poisonous_an_alarm_below_its_danger():
    gases = [substance for substance in BOOK.substances.values() if substance.state == "gas"]
    assert len(gases) >= 12
    for gas in gases:
        assert not isinstance(gas.alarm, Absence), gas.name
        if isinstance(gas.limits, Absence):
            continue
        danger = [limit.value for limit in gas.limits if "immediately dangerous" in limit.what]
        assert all(gas.alarm.value <= value / 5 for value in danger), gas.name
        if not isinstance(gas.flammable, Absence):
            assert gas.alarm.value <= gas.flammable[0].value / 5, gas.name


@pytest.mark.property
def test_limits_of_flammability_are_the_right_way_round():
    for substance in BOOK.substances.values():
        if not isinstance(substance.flammable, Absence) and len(substance.flammable) == 2:
            assert substance.flammable[0].value < substance.flammable[1].value, substance.name


@pytest.mark.property
def test_every_bath_and_plasma_says_what_it_is_made_of_and_what_that_must_never_meet():
    for medium in BOOK.media.values():
        for name in (*medium.contains, *medium.gases):
            assert BOOK.substance(name).name == name
        worst = {phrase for name in medium.contains for phrase in BOOK.substance(name).phrases}
        if worst & {"H310", "H330"}:
            cautious = BOOK.hazard(medium.hazard)
            assert "poison" in " ".join(cautious.cautions).lower(), medium.name
    for hazard in BOOK.hazards.values():
        assert set(hazard.substances) <= set(BOOK.substances), hazard.key


@pytest.mark.property
def test_a_substance_answers_to_its_formula():
    assert BOOK.substance("SiH4").name == "silane"
    assert BOOK.substance("h2so4").name == "sulfuric acid"


@pytest.mark.literature
@pytest.mark.parametrize(
    ("gas", "potential"), [("sulfur hexafluoride", 23500), ("carbon tetrafluoride", 6630)]
)
def test_warming_potentials(gas, potential):
    # Intergovernmental Panel on Climate Change, fifth assessment, 100 years, from memory; 5 %
    assert BOOK.substance(gas).warming.value == pytest.approx(potential, rel=0.05)


@pytest.mark.literature
def test_limits_of_chromium_metal():
    # NIOSH Pocket Guide, from memory: 1 mg/m³ (OSHA), 0.5 (NIOSH), 250 immediately dangerous; 5 %
    limits = [convert(limit.value, "mg/m^3") for limit in BOOK.substance("chromium").limits]
    assert limits == pytest.approx([1, 0.5, 250], rel=0.05)


@pytest.mark.literature
def test_what_keeps_the_planet_warm_is_told_for_every_fluorinated_gas():
    for substance in BOOK.substances.values():
        if substance.state == "gas" and "F" in substance.formula:
            assert not isinstance(substance.warming, Absence), substance.name
