"""Relations that hold between values of different sources: a slipped digit or unit in one of them shows."""

import re
from pathlib import Path

import pytest

from filmwright.knowledge import Absence, book, optical, optical_choices, shipped
from filmwright.units import PLANCK, SPEED_OF_LIGHT, convert, to_si

BOOK = book()
DATA = Path(shipped.__file__).parent / "data"
MATERIALS = sorted(BOOK.materials)
ATOMS = {
    # g/mol; M. Winter's table of the elements, read in a transcription, and the standard atomic weights for O, N, F, Ga, In, Hf …
    "Si": 28.0855, "O": 15.999, "N": 14.007, "Al": 26.9815, "Hf": 178.49, "Ta": 180.948, "Ti": 47.867, "Zr": 91.224,
    "Y": 88.906, "Mg": 24.305, "F": 18.998, "Zn": 65.409, "Cu": 63.546, "Sn": 118.71, "In": 114.818, "Ga": 69.723,
}  # fmt: skip


def _of(name, key):
    return BOOK.materials[name].values.get(key)


@pytest.mark.property
def test_a_value_lies_between_its_bounds():
    things = [*BOOK.materials.values(), *BOOK.resists.values()]
    for thing in things:
        for name, value in thing.values.items():
            assert value.low <= value.value <= value.high, (thing.name, name)
    for medium in BOOK.media.values():
        for name, rate in medium.rates.items():
            for value in filter(None, (rate.value, rate.activation_energy)):
                assert value.low <= value.value <= value.high, (medium.name, name)


@pytest.mark.property
@pytest.mark.parametrize("name", MATERIALS)
def test_a_film_changes_before_its_solid_melts(name):
    melts = _of(name, "melting point")
    for where in ("air", "vacuum"):
        limit = _of(name, f"temperature limit in {where}")
        if melts and limit:
            assert limit.high < melts.value, where


@pytest.mark.property
@pytest.mark.parametrize("name", [name for name in MATERIALS if BOOK.materials[name].vapour])
def test_the_curve_of_the_solid_ends_where_it_melts(name):
    # two tables that know nothing of each other: Alcock's curves, and the handbook's melting points
    curve = BOOK.materials[name].vapour.get("solid")
    melts = _of(name, "melting point").value
    if curve is not None:
        assert curve.high == pytest.approx(melts, abs=8) or curve.high in (2000, 2500)
        assert curve.high <= melts + 8


@pytest.mark.property
@pytest.mark.parametrize(
    "name", [n for n in MATERIALS if BOOK.materials[n].kind in ("insulator", "substrate")]
)
def test_a_static_field_is_shielded_at_least_as_well_as_light(name):
    # lattice and dipoles add to the electrons: the static permittivity is n² or more where the material is clear
    permittivity, sets = _of(name, "permittivity"), optical_choices(name)
    if permittivity is None or not sets:
        return
    if (
        name == "silicon"
    ):  # no dipoles: the same electrons answer both, a little faster near the edge of absorption
        near = optical(name).index(to_si(1400, "nm")).real ** 2
        assert permittivity.value < near == pytest.approx(permittivity.value, rel=0.05)
        return
    index = optical(name).index(to_si(633, "nm"))
    assert -index.imag < 0.01, "not clear there: choose another wavelength"
    assert permittivity.high >= index.real**2


@pytest.mark.property
@pytest.mark.parametrize(
    "name", [n for n in MATERIALS if BOOK.materials[n].kind == "organic" and optical_choices(n)]
)
def test_a_polymer_without_strong_dipoles_has_a_permittivity_near_the_square_of_its_index(name):
    permittivity = _of(name, "permittivity")
    if permittivity is not None:
        square = optical(name).index(to_si(633, "nm")).real ** 2
        assert square * 0.95 <= permittivity.high <= 2.2 * square


@pytest.mark.property
@pytest.mark.parametrize("name", [n for n in MATERIALS if _of(n, "band gap") and optical_choices(n)])
def test_light_of_less_than_the_gap_passes(name):
    # edge of absorption λ = h c / E; a third above it in wavelength k is small. Evaporated amorphous silicon has tails.
    edge = PLANCK * SPEED_OF_LIGHT / _of(name, "band gap").value
    data = optical(name)
    try:
        extinction = -data.index(1.3 * edge).imag
    except ValueError:
        return  # the data end before
    assert extinction < 0.03


@pytest.mark.property
@pytest.mark.parametrize(
    "name",
    ["zinc oxide", "indium gallium zinc oxide", "titanium dioxide", "hafnium oxide", "amorphous silicon"],
)
def test_light_of_more_than_the_gap_is_absorbed(name):
    edge = PLANCK * SPEED_OF_LIGHT / _of(name, "band gap").value
    assert -optical(name).index(0.8 * edge).imag > 0.03


@pytest.mark.property
@pytest.mark.parametrize(
    ("name", "formula"),
    [("silicon dioxide", "SiO2"), ("stoichiometric silicon nitride", "Si3N4"), ("aluminium oxide", "Al2O3"), ("hafnium oxide", "HfO2"),
     ("tantalum pentoxide", "Ta2O5"), ("titanium dioxide", "TiO2"), ("zirconium oxide", "ZrO2"), ("yttrium oxide", "Y2O3"),
     ("magnesium fluoride", "MgF2"), ("zinc oxide", "ZnO"), ("copper oxide", "Cu2O"), ("tin oxide", "SnO2"), ("titanium nitride", "TiN"),
     ("indium gallium zinc oxide", "InGaZnO4"), ("sapphire", "Al2O3"), ("fused silica", "SiO2")],
)  # fmt: skip
def test_a_formula_weighs_what_its_atoms_weigh(name, formula):
    weight = sum(ATOMS[atom] * int(count or 1) for atom, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula))
    assert convert(_of(name, "molar mass").value, "g/mol") == pytest.approx(weight, rel=1e-3)


@pytest.mark.property
@pytest.mark.parametrize(
    ("name", "solid"),
    # g/cm³, CRC Handbook, physical constants of inorganic compounds: transcription. A film is never denser than its crystal.
    [("aluminium oxide", 3.99), ("hafnium oxide", 9.68), ("tantalum pentoxide", 8.24), ("titanium dioxide", 4.17),
     ("zirconium oxide", 5.68), ("yttrium oxide", 5.03), ("magnesium fluoride", 3.148), ("stoichiometric silicon nitride", 3.44),
     ("tin oxide", 6.99), ("amorphous silicon", 2.33)],
)  # fmt: skip
def test_a_film_is_no_denser_than_the_crystal(name, solid):
    film = _of(name, "density")
    assert convert(film.high, "g/cm^3") <= solid * 1.025
    assert convert(film.value, "g/cm^3") >= solid * 0.7


@pytest.mark.property
def test_metals_line_up_as_their_chemistry_says():
    def work(name):
        return convert(_of(name, "work function").value, "eV")

    metals = [m.name for m in BOOK.materials.values() if m.kind == "conductor"]
    assert all(4 <= work(name) <= 6 for name in metals)
    for noble in ("gold", "platinum", "palladium", "nickel"):
        assert work(noble) > max(work(base) for base in ("aluminium", "titanium", "zinc", "tantalum"))


@pytest.mark.property
@pytest.mark.parametrize("name", [n for n in MATERIALS if _of(n, "band gap") and _of(n, "resistivity")])
def test_what_has_a_wide_gap_and_few_carriers_resists(name):
    # below 1.5e-3 Ω·cm only metals and degenerate semiconductors; above 4 eV of gap nothing conducts by itself
    resistivity = convert(_of(name, "resistivity").low, "Ω·cm")
    gap = convert(_of(name, "band gap").value, "eV")
    assert resistivity > (1e3 if gap > 4 else 1e-4)


@pytest.mark.property
def test_a_limit_of_burning_lies_below_the_upper_one_and_an_alarm_below_both():
    for substance in BOOK.substances.values():
        if isinstance(substance.flammable, Absence):
            continue
        burning = [each.value for each in substance.flammable]
        assert burning == sorted(burning), substance.name
        if not isinstance(substance.alarm, Absence) and substance.alarm.unit == "%":
            assert substance.alarm.value <= burning[0] / 10 * 1.001, substance.name


@pytest.mark.property
def test_short_limits_are_no_stricter_than_long_ones_of_the_same_body():
    for substance in BOOK.substances.values():
        if isinstance(substance.limits, Absence):
            continue
        for body in ("NIOSH", "OSHA", "Ontario", "European Union", "ACGIH"):
            long = [x.value for x in substance.limits if body in x.what and "8 h" in x.what]
            short = [x.value for x in substance.limits if body in x.what and "short term" in x.what]
            danger = [x.value for x in substance.limits if "immediately" in x.what and body == "NIOSH"]
            for one, other in ((long, short), (short or long, danger)):
                assert not one or not other or max(one) <= min(other), (substance.name, body)


@pytest.mark.property
def test_every_source_on_file_is_used():
    data = [path for path in DATA.rglob("*.toml") if path.name != "sources.toml"]
    text = "\n".join(path.read_text("utf-8") for path in data)
    cited = set(re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)*", text))
    assert [key for key in BOOK.sources if key not in cited] == []
