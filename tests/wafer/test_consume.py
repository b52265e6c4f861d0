"""Oxidation of silicon that carries windows of oxide: column and section agree, and silicon is conserved."""

import pytest

from filmwright.numerics import Polyline, Region
from filmwright.wafer import Clear, Coat, EtchRate, Grow, Plan, Print, Remove, Section
from filmwright.wafer.plan_cells import Cell

NM = 1e-9
SHARE = 0.44
THROUGH = ((0.0, 100 * NM), (50 * NM, 70 * NM), (300 * NM, 20 * NM))
WINDOW = Region.box(-1e6, -1e6, 3000, 1e6).union(Region.box(7000, -1e6, 1e6, 1e6))
OXIDE = Grow(
    material="oxide",
    film="new",
    thickness=100 * NM,
    consumed=SHARE * 100 * NM,
    consumes="silicon",
    through=THROUGH,
)


def window_etched(nanometres: float) -> list[object]:
    """Resist, a window in it, an etch straight down, resist away."""
    return [
        Coat(material="resist", film="resist", thickness=1000 * NM, levelling=1000 * NM),
        Print(material="resist", keep=WINDOW),
        Remove(rates={"oxide": EtchRate(down=NM, sideways=0.0)}, time=nanometres),
        Clear(materials=frozenset({"resist"})),
    ]


def both(actions: list[object]) -> tuple[Plan, Section]:
    die = Region.box(0, -2000, 10_000, 2000)
    plan = Plan.start(die, ("silicon", 5e-4), [("oxide", 300 * NM)])
    section = Section.start(Polyline(((0.0, 0.0), (10_000.0, 0.0))), "silicon", [("oxide", "old", 300 * NM)])
    for action in actions:
        plan, section = plan.apply(action)[0], section.apply(action)
    return plan, section


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("etched", "field", "inside"), [(301, 320, 100), (250, 320, 50 + 70), (100, 320, 200 + 40)]
)
def test_column_and_section_grow_alike_in_the_window_and_beneath_the_field(
    etched: int, field: float, inside: float
):
    plan, section = both([*window_etched(etched), OXIDE])
    for x, total in ((1000.0, field), (5000.0, inside)):
        column = plan.column_at(x, 0.0)
        assert column.thickness("oxide") == pytest.approx(total * NM, rel=1e-9)
        stack = section.column(x)
        oxides = [(low, high) for material, _, low, high in stack if material == "oxide"]
        assert oxides[-1][1] - oxides[0][0] == pytest.approx(total, abs=0.01)
        # What grew took its share from the silicon, in both
        grown = total - {1000.0: 300.0, 5000.0: max(300.0 - etched, 0.0)}[x]
        assert stack[0][3] == pytest.approx(-SHARE * grown, abs=0.01)
        assert column.layers[0].thickness == pytest.approx(5e-4 - SHARE * grown * NM, rel=1e-12)
    # Heights over the wafer's back agree, so that steps of the surface do
    step = plan.column_at(1000.0, 0.0).height - plan.column_at(5000.0, 0.0).height
    assert section.column(1000.0)[-1][3] - section.column(5000.0)[-1][3] == pytest.approx(step / NM, abs=0.02)


@pytest.mark.analytic
def test_the_silicon_keeps_its_step_after_the_oxide_is_stripped():
    strip = Remove(rates={"oxide": EtchRate(down=NM, sideways=NM)}, time=1000)
    plan, section = both([*window_etched(301), OXIDE, strip])
    # 44 % of (100 − 20) nm
    step = plan.column_at(1000.0, 0.0).height - plan.column_at(5000.0, 0.0).height
    assert step == pytest.approx(SHARE * 80 * NM, rel=1e-9)
    tops = [section.column(x)[-1][3] for x in (1000.0, 5000.0)]
    assert tops[0] - tops[1] == pytest.approx(SHARE * 80, abs=0.02)


@pytest.mark.property
def test_what_the_silicon_loses_and_the_surface_gains_is_the_oxide():
    _, before = both(window_etched(250))
    _, after = both([*window_etched(250), OXIDE])
    grown = after.area("oxide") - before.area("oxide")
    lost = before.area("silicon") - after.area("silicon")
    assert lost == pytest.approx(SHARE * grown, rel=1e-3)


@pytest.mark.analytic
def test_nothing_grows_beneath_another_film():
    nitride = Grow(material="nitride", film="mask", thickness=50 * NM)
    plan, section = both([nitride, OXIDE])
    assert plan.column_at(5000.0, 0.0).thickness("oxide") == pytest.approx(300 * NM)
    assert section.thickness("old", 5000.0) == pytest.approx(300 * NM)


@pytest.mark.analytic
def test_without_a_table_it_grows_on_bare_silicon_only():
    from dataclasses import replace

    plan, section = both([*window_etched(301), replace(OXIDE, through=())])
    assert plan.column_at(1000.0, 0.0).thickness("oxide") == pytest.approx(300 * NM)
    assert section.thickness("old", 1000.0) == pytest.approx(300 * NM)
    assert isinstance(plan.cells[0], Cell)
