"""The shipped facts hang together: sources, dimensions, names."""

import dataclasses
import itertools
import time

import pytest

from filmwright.knowledge import book, version
from filmwright.knowledge.names import spelling
from filmwright.sources import KINDS, Value
from filmwright.units import DIMENSIONS, read

BOOK = book()
PROPERTIES = BOOK.properties
HOLDERS = {**BOOK.materials, **BOOK.resists}


def every_value() -> list[tuple[str, Value]]:
    found = [(f"{name}: {key}", v) for name, thing in HOLDERS.items() for key, v in thing.values.items()]
    found += [(f"{m.name}: {x}", r.value) for m in BOOK.media.values() for x, r in m.rates.items() if r.value]
    for method in BOOK.methods.values():
        values = (method.side_wall, method.non_uniformity, method.temperature, *method.arrival.values())
        found += [(f"{method.name}: {value.unit}", value) for value in values]
    found += [(f"{name}: {key}", v) for name, group in BOOK.models.items() for key, v in group.items()]
    return found + list(BOOK.drifts.items()) + list(BOOK.jumps.items())


@pytest.mark.property
def test_every_value_has_a_source_with_a_citation_and_a_known_kind():
    for name, value in every_value():
        assert len(value.source.citation) > 10, name
        assert value.source.kind in KINDS, name
        assert value.source.kind not in {"lab", "fitted", "plan", "invented"}, name


@pytest.mark.property
def test_every_value_has_bounds_and_they_are_not_all_equal():
    equal = [name for name, value in every_value() if value.low == value.high]
    assert all(name.endswith("lift-off undercut") for name in equal), equal


@pytest.mark.property
def test_a_remembered_rate_is_given_wide_bounds():
    for medium in BOOK.media.values():
        for material, rate in medium.rates.items():
            if (
                rate.value
                and rate.value.low > 0
                and rate.value.source.citation.startswith("etch rates as remembered")
            ):
                assert rate.value.high / rate.value.low >= 1.6, (medium.name, material)


@pytest.mark.property
@pytest.mark.parametrize("name", HOLDERS)
def test_values_have_the_dimension_and_the_size_of_their_property(name):
    for key, value in HOLDERS[name].values.items():
        assert key in PROPERTIES, f"{key} must be entered in properties.toml"
        kind = PROPERTIES[key]
        assert kind.dimension in DIMENSIONS
        read(f"1 {value.unit}".strip(), kind.dimension)
        assert kind.low <= value.low <= value.high <= kind.high, key


@pytest.mark.property
def test_rates_are_rates_and_none_is_faster_than_a_hundred_micrometres_a_minute():
    fastest = read("100000 nm/min", "rate").value
    for medium in BOOK.media.values():
        for material, rate in medium.rates.items():
            if rate.value is None:
                continue
            read(f"1 {rate.value.unit}", "rate")
            assert 0 <= rate.value.low <= rate.value.high <= fastest, (medium.name, material)
            if rate.activation_energy:
                read(f"1 {rate.activation_energy.unit}", "energy")


@pytest.mark.property
def test_every_verdict_says_where_it_was_read():
    for medium in BOOK.media.values():
        for material, rate in medium.rates.items():
            assert rate.source is not None, (medium.name, material)
            assert rate.verdict in {"attacks", "does not attack"}
            if rate.verdict == "does not attack" and rate.value is not None:
                assert rate.value.value == 0 < rate.value.high
            assert 0 <= rate.sideways <= 1


@pytest.mark.property
def test_media_name_only_materials_that_are_on_file():
    for medium in BOOK.media.values():
        unknown = (set(medium.rates) | medium.dissolves) - set(BOOK.materials)
        assert not unknown, (medium.name, unknown)
        assert not medium.dissolves & set(medium.rates), medium.name


@pytest.mark.property
def test_resists_name_materials_developers_and_strippers_that_are_on_file():
    for resist in BOOK.resists.values():
        assert BOOK.materials[resist.material].kind == "organic"
        assert BOOK.media[resist.developer].kind == "developer"
        for stripper in resist.strippers:
            medium = BOOK.media[stripper]
            taken = resist.material in medium.dissolves or medium.rate(resist.material).verdict == "attacks"
            assert taken, (resist.name, stripper)


@pytest.mark.property
def test_every_resist_can_be_printed():
    said = (
        "thickness at reference speed, reference speed, spin exponent, slowest speed, fastest speed, spin time, "
        "dehydration temperature, dehydration time, softbake temperature, softbake time, dose, develop time, "
        "temperature limit, side wall angle, lift-off undercut, levelling length, print bias"
    )
    needed = set(said.split(", "))
    for resist in BOOK.resists.values():
        assert needed <= set(resist.values), (resist.name, needed - set(resist.values))
        reversal = {"reversal bake temperature", "reversal bake time", "flood dose"}
        assert len(reversal & set(resist.values)) in {0, 3}


@pytest.mark.property
def test_hazards_are_on_file_and_their_enemies_are_families_of_media_or_methods():
    things = [*BOOK.media.values(), *BOOK.methods.values()]
    assert all(thing.hazard in BOOK.hazards for thing in things), [
        t.name for t in things if t.hazard not in BOOK.hazards
    ]
    families = frozenset(itertools.chain.from_iterable(thing.families for thing in things))
    families |= frozenset(
        itertools.chain.from_iterable(material.families for material in BOOK.materials.values())
    )
    for hazard in BOOK.hazards.values():
        assert hazard.cautions, hazard.key
        assert hazard.sources, hazard.key
        assert hazard.never_with <= families, (hazard.key, hazard.never_with - families)


@pytest.mark.property
@pytest.mark.parametrize(
    "word", ["first aid", "rinse the eye", "calcium gluconate", "call a doctor", "swallow", "vomit"]
)
def test_hazards_give_no_first_aid(word):
    for hazard in BOOK.hazards.values():
        assert word not in " ".join((*hazard.cautions, hazard.waste, hazard.interlock)).lower()


@pytest.mark.property
def test_an_oxidiser_and_a_solvent_are_kept_apart_from_both_sides():
    oxidisers = [
        m for m in BOOK.media.values() if "oxidiser" in m.families and m.kind in {"wet etch", "clean"}
    ]
    solvents = [m for m in BOOK.media.values() if "solvent" in m.families]
    assert len(oxidisers) > 5
    assert len(solvents) > 5
    for one, other in itertools.product(oxidisers, solvents):
        assert BOOK.hazard(other.hazard).never_with & one.families, (one.name, other.name)
    for one in oxidisers:
        if one.name not in {"ferric chloride", "sulfuric and nitric molybdenum etch"}:
            assert "solvent" in BOOK.hazard(one.hazard).never_with, one.name


@pytest.mark.property
def test_one_material_does_not_answer_to_the_name_of_another():
    for things in (BOOK.materials, BOOK.media, BOOK.resists, BOOK.methods):
        owner: dict[str, str] = {}
        for thing in things.values():
            for name in (thing.name, *thing.aliases):
                assert owner.setdefault(spelling(name), thing.name) == thing.name, name


@pytest.mark.property
def test_there_is_enough_on_file():
    assert len(BOOK.materials) >= 45
    assert sum(m.kind == "plasma" for m in BOOK.media.values()) >= 10
    assert sum(m.kind != "plasma" for m in BOOK.media.values()) >= 30
    assert len(BOOK.resists) >= 8
    symbols = [material.symbol for material in BOOK.materials.values()]
    assert len(symbols) == len(set(symbols))


@pytest.mark.property
@pytest.mark.parametrize(
    ("medium", "materials"),
    [
        ("alkaline developer", "Al2O3 ZnO IGZO Al Ti"),
        ("dilute hydrogen peroxide and ammonia", "Ti SiO2 Al2O3 Au"),
        ("dilute oxalic acid", "IGZO ZnO Ti Al2O3 Au Mo SiO2"),
        ("dilute HCl", "IGZO ZnO Ti Al2O3 Au Mo SiO2"),
        ("SF6+O2", "Mo SiNx SiO2 Si ZnO Cr resist+"),
        ("CF4+O2", "SiNx Cr SiO2 resist+"),
        ("boron trichloride plasma", "Al2O3 Ti SiO2 resist+"),
        ("acetone", "ZnO Mo IGZO Au"),
        ("water", "ZnO Mo IGZO Au"),
    ],
)
def test_the_pairs_of_the_bundled_flows_are_known(medium, materials):
    for material in materials.split():
        assert BOOK.medium(medium).rate(BOOK.material(material).name).verdict != "unknown", material


@pytest.mark.property
def test_a_pair_that_nobody_wrote_down_is_unknown_and_not_safe():
    assert BOOK.medium("aqua regia").rate("parylene").verdict == "unknown"
    assert BOOK.medium("aqua regia").rate("parylene").value is None


@pytest.mark.property
def test_the_book_is_read_once_and_fast():
    assert book() is BOOK
    book.cache_clear()
    start = time.process_time()
    book()
    assert time.process_time() - start < 0.25, "about 25 ms on an idle core; ten times that on a busy one"


@pytest.mark.property
def test_facts_cannot_be_changed_in_place():
    with pytest.raises(dataclasses.FrozenInstanceError):
        BOOK.material("titanium").name = "tin"
    with pytest.raises(TypeError):
        BOOK.materials["tin"] = BOOK.material("titanium")
    with pytest.raises(TypeError):
        BOOK.material("titanium").values["density"] = None


@pytest.mark.property
def test_the_version_is_a_short_digest_of_the_files():
    assert len(version()) == 12
    int(version(), 16)
