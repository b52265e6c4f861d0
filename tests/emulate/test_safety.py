"""Whatever can hurt says so when it is planned: every bath, plasma, method, gas and kind of step that is on file."""

import itertools

import pytest

from filmwright.emulate import Trace, walk
from filmwright.emulate.walk import PLANNERS
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import Absence, book

from .conftest import shipped

BOOK = book()
LAB = lab_from_text(shipped("lab.yaml"), "lab.yaml")
HEAD = "flow: {title}\nwafer: {{body: silicon, diameter: 100 mm, films: [{{material: silicon dioxide, thickness: 1 um}}]}}\nsteps:\n"
FILMS = {
    "atomic layer deposition": "aluminium oxide",
    "spin coating": "polyimide",
    "parylene vapour deposition": "parylene",
}
NO_ALARM = {"water rinse"}
"""Plain water: no interlock, and nothing on a bench that it must not meet."""


def planned(*steps: str) -> Trace:
    text = HEAD.format(title="one step") + "".join(f"  - {each}\n" for each in steps)
    return walk(flow_from_text(text, "plan.yaml", LAB), LAB, BOOK, None, on="2026-10-26", sections=False)


def step_of(medium: str) -> str:
    """A plan line in which a medium may stand."""
    kind = BOOK.media[medium].kind
    if kind == "plasma":
        return f"{{etch: silicon dioxide, with: '{medium}', time: 1 min}}"
    if kind == "wet etch":
        return f"{{etch: silicon dioxide, in: '{medium}', time: 1 min}}"
    if kind == "developer":
        return ""
    return f"{{clean: {medium}}}"


@pytest.mark.property
@pytest.mark.parametrize("name", sorted(BOOK.media))
def test_every_bath_and_plasma_shows_all_that_its_hazard_says(name: str):
    medium = BOOK.media[name]
    hazard = BOOK.hazard(medium.hazard)
    line = step_of(name)
    if not line:  # developers come with their resist
        resist = next((each.name for each in BOOK.resists.values() if each.developer == name), None)
        line = f"{{pattern: gate, resist: {resist or 'positive 1.3 um'}, developer: {name}}}"
        text = HEAD.format(title="one step").replace(
            "steps:", "masks: {drawing: a.oas, gate: {layer: 1/0, drawn: opaque}}\nsteps:"
        )
        flow = flow_from_text(f"{text}  - {line}\n", "plan.yaml", LAB)
        trace = walk(flow, LAB, BOOK, None, on="2026-10-26", sections=False) if flow.steps else None
    else:
        trace = planned(line)
    assert trace is not None
    state = next(each for each in trace.states if each.step.medium == name)
    safety = state.safety
    assert set(hazard.cautions) <= set(safety.cautions)
    assert set(hazard.gear) <= set(safety.gear) != set()
    assert hazard.waste in safety.waste != ""
    assert safety.second_person == hazard.second_person
    if name not in NO_ALARM:
        assert hazard.interlock in safety.interlock != ""
    apart = {
        each for gas in medium.gases for each in BOOK.substances[gas].never_with if gas in BOOK.substances
    }
    assert len(safety.neighbours) >= len(hazard.never_with)
    assert bool(safety.neighbours) == bool(hazard.never_with or apart)
    if medium.kind != "plasma" and name not in NO_ALARM:
        assert safety.neighbours, f"{name} says of nothing that it must be kept apart from it"
    levels = [
        gas
        for gas in medium.gases
        if gas in BOOK.substances and not isinstance(BOOK.substances[gas].alarm, Absence)
    ]
    assert bool(safety.alarms) == bool(levels)


@pytest.mark.property
@pytest.mark.parametrize("name", sorted(BOOK.methods))
def test_every_method_shows_all_that_its_hazard_says(name: str):
    method = BOOK.methods[name]
    hazard = BOOK.hazard(method.hazard)
    material = FILMS.get(name, "silicon dioxide")
    (state,) = planned(
        f"{{deposit: {BOOK.material(material).name}, method: {name}, thickness: 20 nm}}"
    ).states
    safety = state.safety
    assert set(hazard.cautions) <= set(safety.cautions)
    assert safety.gear
    assert safety.waste
    assert safety.interlock
    toxic = {"silane", "ammonia", "oxygen", "argon"} & set(method.families)
    assert not toxic or safety.alarms, f"{name} lets in {toxic} and names no alarm level"


@pytest.mark.property
@pytest.mark.parametrize(
    ("gas", "caution", "alarm"),
    [
        ("nitrogen", "displace air", "oxygen in the room below 19.5 %"),
        ("hydrogen", "burn and explode", "hydrogen 0.4 %"),
        ("oxygen", "feeds fire", "oxygen in the room above 23.5 %"),
        ("ammonia", "35 ppm", "ammonia 25 ppm"),
    ],
)
def test_an_oven_with_a_gas_says_what_the_gas_does(gas: str, caution: str, alarm: str):
    # NFPA and safety data sheets: 19.5 % and 23.5 % oxygen, a tenth of 4 % hydrogen, 25 ppm ammonia (NIOSH, published)
    (state,) = planned(f"{{anneal: {gas}, temperature: 300 degC, time: 10 min}}").states
    assert caution in " ".join(state.safety.cautions)
    assert any(each.startswith(alarm) for each in state.safety.alarms)
    assert "Hot surface" in " ".join(state.safety.cautions)


@pytest.mark.property
def test_every_kind_of_step_that_can_hurt_has_cautions_gear_and_interlock():
    # A rinse hurts as its water does; to look, to wait and to read an instrument do not.
    harmless = {"inspect", "measure", "park"}
    text = shipped("humidity-switch", "plan.yaml")
    flow = flow_from_text(
        text.replace("  drawing: humidity-switch.oas", "  drawing: a.oas"), "plan.yaml", LAB
    )
    states = list(walk(flow, LAB, BOOK, None, on="2026-10-26", sections=False).states)
    reversal = next(name for name, each in BOOK.resists.items() if "reversal bake temperature" in each.values)
    amplified = next(
        name for name, each in BOOK.resists.items() if "post-exposure bake temperature" in each.values
    )
    baked = next(name for name, each in BOOK.resists.items() if "postbake temperature" in each.values)
    more = (
        "flow: r\nwafer: {body: silicon, diameter: 100 mm}\n"
        "masks: {drawing: a.oas, g: {layer: 1/0, drawn: opaque}}\nsteps:\n"
        f"  - {{pattern: g, resist: {reversal}}}\n"
        f"  - {{pattern: g, name: again, resist: {amplified}}}\n"
        f"  - {{pattern: g, name: baked, resist: {baked}, hard bake: yes}}\n"
    )
    states += walk(
        flow_from_text(more, "p.yaml", LAB), LAB, BOOK, None, on="2026-10-26", sections=False
    ).states
    seen = {state.step.kind: state.safety for state in states}
    assert set(seen) == set(PLANNERS)
    for kind, safety in seen.items():
        if kind in harmless:
            continue
        assert safety.cautions, kind
        assert safety.gear, kind
        assert safety.interlock or kind == "rinse", kind


@pytest.mark.property
def test_chemical_hazards_are_complete():
    for key, hazard in BOOK.hazards.items():
        assert hazard.cautions, key
        assert hazard.gear, key
        if hazard.substances:
            assert hazard.waste, key
            assert hazard.interlock or key == "water rinse", key
            gases = [
                BOOK.substances[name] for name in hazard.substances if BOOK.substances[name].state == "gas"
            ]
            apart = hazard.never_with or any(gas.never_with for gas in gases)
            quiet = {
                "water rinse",
                "fluorine plasma",
                "inert gas",
                "electron-beam evaporator",
                "thermal evaporator",
            }
            assert apart or key in quiet, key


def incompatible(one: frozenset[str], other: frozenset[str]) -> bool:
    """Pairs that safety data sheets keep apart (published rule of storage classes, from memory)."""
    rules = (
        ("oxidiser", "solvent"),
        ("strong acid", "strong alkali"),
        ("ammonia", "iodine"),
        ("ammonia", "chlorine"),
        ("cyanide complex", "acid"),
        ("hydrofluoric", "strong alkali"),
    )
    return any((a in one and b in other) or (b in one and a in other) for a, b in rules)


@pytest.mark.literature
def test_every_pair_of_baths_that_must_never_meet_is_known_from_one_side_at_least():
    baths = [each for each in BOOK.media.values() if each.kind not in {"plasma", "rinse"}]
    missed = [
        (one.name, other.name)
        for one, other in itertools.combinations(baths, 2)
        if incompatible(one.families, other.families)
        and not (
            BOOK.hazard(one.hazard).never_with & other.families
            or BOOK.hazard(other.hazard).never_with & one.families
        )
    ]
    assert not missed


@pytest.mark.property
def test_baths_of_one_waste_bottle_may_meet_in_it():
    baths = [each for each in BOOK.media.values() if each.kind not in {"plasma", "rinse"}]
    wrong = [
        (one.name, other.name, BOOK.hazard(one.hazard).waste)
        for one, other in itertools.combinations(baths, 2)
        if BOOK.hazard(one.hazard).waste == BOOK.hazard(other.hazard).waste
        and (
            BOOK.hazard(one.hazard).never_with & other.families
            or BOOK.hazard(other.hazard).never_with & one.families
        )
    ]
    assert not wrong
