"""The rim and the back of a wafer: what reaches them."""

import pytest

from filmwright.numerics import Region
from filmwright.wafer import Alter, Clear, Coat, Column, EtchRate, Grow, Heat, Plan, Print, Remove, Wafer

NM, UM = 1e-9, 1e-6
DIE = Region.box(0, 0, 100_000, 100_000)
SHAPES = Region.box(20_000, 20_000, 80_000, 60_000)
COAT = Coat(material="resist", film="resist", thickness=1.3 * UM, levelling=20 * UM)
STRIP = Clear(materials=frozenset({"resist"}))


def grow(material: str, side_wall: float) -> Grow:
    return Grow(
        material=material, film=material, thickness=50 * NM, side_wall=side_wall, line_of_sight=side_wall == 0
    )


def after(*actions) -> dict[str, list[str]]:
    wafer = Wafer.start(Plan.start(DIE, ("silicon", 5e-4), [("oxide", 300 * NM)]))
    for action in actions:
        wafer, _ = wafer.apply(action)
    return {name: [layer.material for layer in column.layers] for name, column in wafer.places.items()}


@pytest.mark.analytic
def test_only_what_comes_from_all_sides_reaches_the_back() -> None:
    places = after(grow("evaporated", 0.0), grow("sputtered", 0.4), grow("conformal", 1.0), COAT)
    assert places["back"] == ["silicon", "oxide", "conformal"]
    assert places["rim"] == ["silicon", "oxide", "evaporated", "sputtered", "conformal", "resist"]


@pytest.mark.analytic
@pytest.mark.parametrize(("keep", "stays"), [(SHAPES, False), (DIE.difference(SHAPES), True)])
def test_the_rim_is_printed_like_the_field_of_the_plate(keep: Region, stays: bool) -> None:
    assert ("resist" in after(COAT, Print(material="resist", keep=keep))["rim"]) == stays


@pytest.mark.analytic
@pytest.mark.parametrize(("sideways", "left"), [(1.0, 200), (0.0, 300)])
def test_a_bath_attacks_the_back_and_a_plasma_does_not(sideways: float, left: float) -> None:
    wafer = Wafer.start(Plan.start(DIE, ("silicon", 5e-4), [("oxide", 300 * NM)]))
    rates = {"oxide": EtchRate(down=1 * NM, sideways=sideways * NM)}
    wafer, _ = wafer.apply(Remove(rates=rates, time=100.0))
    assert wafer.places["back"].thickness("oxide") == pytest.approx(left * NM)
    assert wafer.places["rim"].thickness("oxide") == pytest.approx(200 * NM)


@pytest.mark.analytic
def test_a_solvent_gets_under_everything_at_the_rim() -> None:
    assert after(COAT, grow("metal", 1.0), STRIP)["rim"] == ["silicon", "oxide"]
    assert after(COAT, grow("metal", 1.0), STRIP)["back"] == ["silicon", "oxide", "metal"]


@pytest.mark.property
def test_heat_and_states_change_no_shape() -> None:
    wafer = Wafer.start(Plan.start(DIE, ("silicon", 5e-4), [("oxide", 300 * NM)]))
    hot, _ = wafer.apply(Heat(temperature=400.0, time=60.0))
    assert hot.places == wafer.places
    wet, _ = wafer.apply(Alter(material="oxide", mark="primed"))
    assert wet.places["rim"].top.marks == {"primed"}
    assert isinstance(wet.places["back"], Column)
    assert wet.places["back"].top.marks == frozenset()
