"""Values that were read again in a source, against what the source prints: the printed number stands beside each."""

import math

import pytest

from filmwright.knowledge import book
from filmwright.units import convert

BOOK = book()
TRANSCRIBED = "published, read in a transcription"


@pytest.mark.literature
@pytest.mark.parametrize(
    ("material", "printed"),
    [
        # H. B. Michaelson, J. Appl. Phys. 48, 4729 (1977), polycrystalline, eV; read in tables that repeat him: transcription
        ("titanium", 4.33), ("gold", 5.1), ("platinum", 5.65), ("chromium", 4.5), ("aluminium", 4.28), ("tungsten", 4.55),
        ("copper", 4.65), ("nickel", 5.15), ("silver", 4.26), ("palladium", 5.12), ("tantalum", 4.25),
    ],
)  # fmt: skip
def test_work_functions(material, printed):
    found = BOOK.material(material).values["work function"]
    assert convert(found.value, "eV") == pytest.approx(printed, abs=0.005)
    assert found.source.kind == TRANSCRIBED


@pytest.mark.literature
@pytest.mark.parametrize(
    ("material", "film_on_tungsten_of_4565"),
    # J. C. Rivière (1957), abstract, published: metals condensed from the vapour, 4.565 eV taken for tungsten
    [("silver", 4.31), ("gold", 4.70), ("aluminium", 4.20), ("copper", 4.52), ("nickel", 4.74)],
)
def test_work_functions_of_evaporated_films_lie_within_the_bounds(material, film_on_tungsten_of_4565):
    found = BOOK.material(material).values["work function"]
    assert convert(found.low, "eV") - 1e-9 <= film_on_tungsten_of_4565 <= convert(found.high, "eV")


@pytest.mark.literature
@pytest.mark.parametrize(
    ("material", "name", "unit", "printed"),
    [
        # S. M. Sze, Physics of Semiconductor Devices, 2nd ed.: silicon dioxide and silicon nitride at 300 K: transcription
        ("silicon dioxide", "density", "g/cm^3", 2.2), ("silicon dioxide", "permittivity", "", 3.9),
        ("silicon dioxide", "breakdown field", "MV/cm", 10), ("silicon dioxide", "expansion", "1/K", 5e-7),
        ("silicon dioxide", "resistivity", "Ω·cm", 1e15),  # 1e14 to 1e16
        ("stoichiometric silicon nitride", "density", "g/cm^3", 3.1), ("stoichiometric silicon nitride", "permittivity", "", 7.5),
        ("stoichiometric silicon nitride", "breakdown field", "MV/cm", 10),
        ("stoichiometric silicon nitride", "resistivity", "Ω·cm", 1e14),
        # archives of semiconductor parameters that agree with each other: published
        ("silicon", "permittivity", "", 11.7), ("silicon", "electron affinity", "eV", 4.05), ("silicon", "band gap", "eV", 1.12),
        ("silicon", "expansion", "1/K", 2.6e-6), ("silicon", "density", "g/cm^3", 2.329),
        # R. E. Hummel, Electronic Properties of Materials, appendix p. 419, 300 K: transcription
        ("germanium", "band gap", "eV", 0.66), ("zinc oxide", "band gap", "eV", 3.35),
        ("silver", "bulk resistivity", "µΩ·cm", 1.59), ("aluminium", "bulk resistivity", "µΩ·cm", 2.65),
        ("copper", "bulk resistivity", "µΩ·cm", 1.67), ("nickel", "bulk resistivity", "µΩ·cm", 6.84),
        ("zinc", "bulk resistivity", "µΩ·cm", 5.91), ("gold", "bulk resistivity", "µΩ·cm", 2.35),
        # CRC Handbook, physical constants of inorganic compounds: transcription
        ("zinc oxide", "density", "g/cm^3", 5.6), ("copper oxide", "density", "g/cm^3", 6.0), ("tantalum", "density", "g/cm^3", 16.4),
        ("vanadium", "density", "g/cm^3", 6.0), ("magnesium fluoride", "density", "g/cm^3", 3.148),
        ("titanium nitride", "density", "g/cm^3", 5.21), ("tin oxide", "density", "g/cm^3", 6.85),
        # McDowell and Hill (2009), abstract: 35 for 300 °C at the best composition, 20 cited for 300 °C; published
        ("indium zinc oxide", "mobility", "cm^2/(V*s)", 35), ("indium zinc oxide", "mobility", "cm^2/(V*s)", 20),
        # abstracts on amorphous InGaZnO transistors, published
        ("indium gallium zinc oxide", "mobility", "cm^2/(V*s)", 8.4), ("indium gallium zinc oxide", "mobility", "cm^2/(V*s)", 19.42),
    ],
)  # fmt: skip
def test_what_is_printed_lies_within_the_bounds(material, name, unit, printed):
    found = BOOK.material(material).values[name]
    assert convert(found.low, unit) * (1 - 1e-9) <= printed <= convert(found.high, unit) * (1 + 1e-9)
    assert "published" in found.source.kind


@pytest.mark.literature
@pytest.mark.parametrize(
    ("material", "kelvin"),
    [
        # CRC Handbook, physical constants of inorganic compounds: transcription
        ("titanium", 1943.15), ("gold", 1337.33), ("chromium", 2180.15), ("molybdenum", 2895.15), ("aluminium", 933.473),
        ("tungsten", 3687.15), ("copper", 1357.77), ("silver", 1234.93), ("zinc", 692.677), ("silicon", 1687.15),
        ("germanium", 1211.4), ("aluminium oxide", 2327.15), ("hafnium oxide", 3073.15), ("zinc oxide", 2247.15),
    ],
)  # fmt: skip
def test_melting_points(material, kelvin):
    assert BOOK.material(material).values["melting point"].value == pytest.approx(kelvin, abs=0.6)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("substance", "what", "unit", "printed"),
    [
        # NIOSH Pocket Guide and documentation of concentrations that are immediately dangerous (1994), page of each: published
        ("acetone", "NIOSH, 8 h average", "ppm", 250), ("acetone", "OSHA, 8 h average", "ppm", 1000),
        ("acetone", "NIOSH, immediately dangerous", "ppm", 2500),
        ("ethanol", "OSHA and NIOSH, 8 h average", "ppm", 1000), ("ethanol", "NIOSH, immediately dangerous", "ppm", 3300),
        ("acetic acid", "OSHA and NIOSH, 8 h average", "ppm", 10), ("acetic acid", "NIOSH, short term", "ppm", 15),
        ("acetic acid", "NIOSH, immediately dangerous", "ppm", 50),
        ("phosphoric acid", "OSHA and NIOSH, 8 h average", "mg/m^3", 1), ("phosphoric acid", "NIOSH, short term", "mg/m^3", 3),
        ("phosphoric acid", "NIOSH, immediately dangerous", "mg/m^3", 1000),
        ("methyl isobutyl ketone", "NIOSH, 8 h average", "ppm", 50), ("methyl isobutyl ketone", "NIOSH, immediately dangerous", "ppm", 500),
        ("iodine", "OSHA and NIOSH, ceiling", "ppm", 0.1), ("iodine", "NIOSH, immediately dangerous", "ppm", 2),
        ("oxalic acid", "NIOSH, short term", "mg/m^3", 2), ("oxalic acid", "NIOSH, immediately dangerous", "mg/m^3", 500),
        ("ozone", "NIOSH, ceiling; OSHA, 8 h average", "ppm", 0.1), ("ozone", "NIOSH, immediately dangerous", "ppm", 5),
        ("phosphine", "OSHA and NIOSH, 8 h average", "ppm", 0.3), ("phosphine", "NIOSH, immediately dangerous", "ppm", 50),
        ("diborane", "OSHA and NIOSH, 8 h average", "ppm", 0.1), ("diborane", "NIOSH, immediately dangerous", "ppm", 15),
        ("nitrogen trifluoride", "OSHA and NIOSH, 8 h average", "ppm", 10), ("nitrous oxide", "NIOSH, over the time of use", "ppm", 25),
        ("sodium hydroxide", "OSHA, 8 h average; NIOSH, ceiling", "mg/m^3", 2), ("sodium hydroxide", "NIOSH, immediately dangerous", "mg/m^3", 10),
        # Directive 2000/39/EC, as listed by the makers; a national documentation and Regulation (EU) 2018/588: published
        ("propylene glycol methyl ether acetate", "European Union, 8 h average", "ppm", 50),
        ("propylene glycol methyl ether acetate", "European Union, short term", "ppm", 100),
        ("N-methyl pyrrolidone", "European Union, 8 h average; 10 ppm", "mg/m^3", 40),
        ("N-methyl pyrrolidone", "European Union, level without effect for workers (2018)", "mg/m^3", 14.4),
        # Ontario, Regulation 833: transcription
        ("acetone", "Ontario, 8 h average", "ppm", 500), ("hydrofluoric acid", "Ontario, 8 h average", "ppm", 0.5),
        ("hydrofluoric acid", "Ontario, ceiling", "ppm", 2), ("sulfuric acid", "Ontario, 8 h average", "mg/m^3", 0.2),
        ("iodine", "Ontario, 8 h average", "ppm", 0.01), ("hydrochloric acid", "Ontario, ceiling", "ppm", 2),
    ],
)  # fmt: skip
def test_limits_of_exposure(substance, what, unit, printed):
    found = {each.what: each for each in BOOK.substance(substance).limits}[what]
    assert convert(found.value, unit) == pytest.approx(printed)
    assert "published" in found.source.kind


@pytest.mark.literature
@pytest.mark.parametrize(
    ("substance", "lower", "upper"),
    [
        # IEC 60079-20-1 (2010), per cent by volume: transcription; ethanol, phosphine, diborane: NIOSH Pocket Guide, published
        ("acetone", 2.5, 14.3), ("hydrogen", 4, 77), ("methane", 4.4, 17), ("methyl isobutyl ketone", 1.2, 8),
        ("isopropanol", 2, 12.7), ("ammonia", 15, 33.6), ("acetic acid", 4, 19.9), ("ethanol", 3.3, 19), ("diborane", 0.8, 88),
    ],
)  # fmt: skip
def test_limits_of_burning(substance, lower, upper):
    found = [convert(each.value, "%") for each in BOOK.substance(substance).flammable]
    assert found == pytest.approx([lower, upper])


@pytest.mark.literature
@pytest.mark.parametrize(
    ("gas", "printed"),
    # IPCC, fifth assessment report, table 8.A.1, over 100 years without feedbacks: transcription
    [("methane", 28), ("nitrous oxide", 265), ("sulfur hexafluoride", 23500), ("carbon tetrafluoride", 6630),
     ("trifluoromethane", 12400), ("octafluorocyclobutane", 9540), ("nitrogen trifluoride", 16100)],
)  # fmt: skip
def test_warming_of_gases(gas, printed):
    assert BOOK.substance(gas).warming.value == printed


@pytest.mark.literature
@pytest.mark.parametrize(
    ("medium", "material", "per_mole", "unit", "tolerance"),
    [
        # S. S. Mammana et al., Thin Solid Films 567, 20 (2014), abstract, published: 80 ± 5 and 56 ± 5 kJ/mol
        ("oxalic acid", "indium tin oxide", 80, "kJ", 5 / 80),
        ("dilute HCl", "indium tin oxide", 56, "kJ", 5 / 56),
        # B. Schwartz, H. Robbins, J. Electrochem. Soc. 108, 365 (1961), abstract, published: about 4 kcal/mol in much nitric acid
        ("isotropic silicon etch", "silicon", 4, "kcal", 0.1),
    ],
)
def test_activation_energies(medium, material, per_mole, unit, tolerance):
    found = BOOK.medium(medium).rate(material).activation_energy
    kilojoule = convert(found.value, "eV") * 96.485
    assert kilojoule / {"kJ": 1, "kcal": 4.184}[unit] == pytest.approx(per_mole, rel=tolerance)
    assert found.source.kind == "published"


@pytest.mark.literature
def test_nitride_in_boiling_phosphoric_acid_between_its_two_temperatures():
    # builders of such baths (2011), published: 45 Å/min at 155 °C, 100 Å/min at 180 °C along the line of boiling
    found = BOOK.medium("hot phosphoric acid").rate("stoichiometric silicon nitride")
    assert convert(found.value.value, "Å/min") == pytest.approx(45)
    slope = math.log(100 / 45) / (1 / (155 + 273.15) - 1 / (180 + 273.15)) * 8.617333e-5  # eV
    assert convert(found.activation_energy.value, "eV") == pytest.approx(slope, rel=0.02)


@pytest.mark.literature
def test_nitride_in_buffered_hydrofluoric_acid():
    # Sze, 2nd ed., table at 300 K: oxide 1000 Å/min, nitride 5 to 10 Å/min; transcription
    medium = BOOK.medium("5:1 BHF")
    assert convert(medium.rate("silicon dioxide").value.value, "Å/min") == pytest.approx(1000)
    found = medium.rate("stoichiometric silicon nitride").value
    assert 5 <= convert(found.value, "Å/min") <= 10
    # Williams et al. (2003), published: 10:1 is half of 5:1
    weaker = BOOK.medium("10:1 BHF").rate("stoichiometric silicon nitride").value
    assert weaker.value == pytest.approx(found.value / 2)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("substance", "phrases"),
    [
        # Regulation (EC) 1272/2008, Annex VI, entries 606-001-00-8, 603-117-00-0, 606-021-00-7: transcription
        ("acetone", {"H225", "H319", "H336", "EUH066"}),
        ("isopropanol", {"H225", "H319", "H336"}),
        ("N-methyl pyrrolidone", {"H360D", "H335", "H315", "H319"}),
    ],
)
def test_harmonised_entries(substance, phrases):
    found = BOOK.substance(substance)
    assert set(found.phrases) == phrases
    assert found.classified_by.kind == TRANSCRIBED
