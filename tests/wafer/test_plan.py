"""The die in plan: areas, thicknesses and undercuts known by hand."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from filmwright.numerics import Region
from filmwright.wafer import Action, Alter, Clear, Coat, EtchRate, Grow, Heat, Plan, Print, Remove, plan_memo
from filmwright.wafer.plan_remove import undercut_at_foot

NM, UM = 1e-9, 1e-6
DIE = Region.box(0, 0, 100_000, 100_000)
ISLAND = Region.box(20_000, 20_000, 80_000, 60_000)
STRIP = Clear(materials=frozenset({"resist"}))


def start(*films: tuple[str, float]) -> Plan:
    return Plan.start(DIE, ("silicon", 5e-4), [(material, nm * NM) for material, nm in films])


def grow(material: str, nm: float, film: str = "", side_wall: float = 1.0, sight: bool = False) -> Grow:
    return Grow(
        material=material,
        film=film or material,
        thickness=nm * NM,
        side_wall=0.0 if sight else side_wall,
        line_of_sight=sight,
    )


def resist(
    keep: Region, material: str = "resist", bias_nm: float = 0.0, undercut_nm: float = 0.0
) -> tuple[Coat, Print]:
    coat = Coat(material=material, film=f"{material} {keep.key}", thickness=1.3 * UM, levelling=20 * UM)
    return coat, Print(material=material, keep=keep, bias=bias_nm * NM, undercut=undercut_nm * NM)


def etch(time: float, sideways: bool = False, **rates: float) -> Remove:
    named = {
        k.replace("_", " "): EtchRate(down=r * NM, sideways=r * NM if sideways else 0.0)
        for k, r in rates.items()
    }
    return Remove(rates=named, time=time)


def run(plan: Plan, *actions) -> Plan:
    for action in actions:
        plan, _ = plan.apply(action)
    return plan


def covered(plan: Plan) -> float:
    return sum(cell.region.area for cell in plan.cells)


@pytest.mark.analytic
def test_a_film_is_patterned_where_resist_stayed() -> None:
    plan = run(start(), grow("metal", 60), *resist(ISLAND), etch(60, metal=1.0), STRIP)
    assert plan.region_of("metal").area == ISLAND.area
    assert len(plan.cells) == 2
    assert plan.column_at(50_000, 40_000).thickness("metal") == pytest.approx(60 * NM)
    assert plan.column_at(1_000, 1_000).top.material == "silicon"
    assert plan.column_at(200_000, 0) is None


@pytest.mark.analytic
def test_an_etch_that_is_too_short_leaves_a_residue() -> None:
    plan, losses = run(start(), grow("metal", 60), *resist(ISLAND)).apply(etch(45, metal=1.0))
    assert plan.column_at(1_000, 1_000).thickness("metal") == pytest.approx(15 * NM)
    assert [(loss.film, loss.where) for loss in losses] == [("metal", "open")]
    assert losses[0].taken == pytest.approx(45 * NM)
    assert losses[0].area == pytest.approx((DIE.area - ISLAND.area) * 1e-18)


@pytest.mark.analytic
def test_over_etch_goes_on_into_the_film_below() -> None:
    plan, losses = run(start(("oxide", 300)), grow("metal", 60), *resist(ISLAND)).apply(
        etch(100, metal=1.0, oxide=0.5)
    )
    assert plan.thicknesses("oxide")[0][0] == pytest.approx((300 - 20) * NM)
    below = next(loss for loss in losses if loss.material == "oxide")
    assert below.taken == pytest.approx(20 * NM)
    assert "as bought" in below.film


@pytest.mark.analytic
@pytest.mark.parametrize("over_etch", [0.0, 0.25, 1.0])
def test_the_foot_of_an_isotropic_etch_lies_at_the_quarter_circle(over_etch: float) -> None:
    # d · sqrt((1 + OE)² − 1): 75 nm for 100 nm and 25 %.
    depth = 100 * math.sqrt((1 + over_etch) ** 2 - 1)
    assert undercut_at_foot(100 * NM, EtchRate(down=NM, sideways=NM), 100 * (1 + over_etch)) == pytest.approx(
        depth * NM
    )
    plan = run(
        start(),
        grow("metal", 100),
        *resist(ISLAND),
        etch(100 * (1 + over_etch), sideways=True, metal=1.0),
        STRIP,
    )
    x0, _y0, _x1, y1 = plan.region_of("metal").bounds
    assert x0 == pytest.approx(20_000 + depth, abs=0.01)
    assert y1 == pytest.approx(60_000 - depth, abs=0.01)
    assert plan.region_of("metal").area == pytest.approx(
        (60_000 - 2 * depth) * (40_000 - 2 * depth), rel=1e-6
    )


@pytest.mark.analytic
def test_an_undercut_is_a_loss_under_cover() -> None:
    _, losses = run(start(), grow("metal", 100), *resist(ISLAND)).apply(etch(125, sideways=True, metal=1.0))
    under = next(loss for loss in losses if loss.where == "undercut")
    assert under.sideways == pytest.approx(75 * NM)
    assert under.area == pytest.approx((2 * (60_000 + 40_000) * 75 - 4 * 75**2) * 1e-18, rel=1e-3)


@pytest.mark.analytic
def test_a_bare_wall_retreats_for_the_whole_time() -> None:
    # The island is finished; a second etch with resist of the same shape works on its bare wall from the start.
    done = run(start(), grow("metal", 100), *resist(ISLAND), etch(100, metal=1.0))
    plan = run(done, etch(40, sideways=True, metal=1.0), STRIP)
    assert plan.region_of("metal").bounds[0] == pytest.approx(20_040, abs=0.01)


@pytest.mark.analytic
def test_a_ridge_narrower_than_two_undercuts_is_gone() -> None:
    ridge = Region.box(50_000, 0, 50_140, 100_000)
    plan = run(start(), grow("metal", 100), *resist(ridge), etch(125, sideways=True, metal=1.0), STRIP)
    assert plan.region_of("metal").empty
    assert len(plan.cells) == 1


@pytest.mark.analytic
def test_print_bias_moves_every_edge() -> None:
    plan = run(start(), grow("metal", 60), *resist(ISLAND, bias_nm=500), etch(60, metal=1.0), STRIP)
    assert plan.region_of("metal").bounds == (19_500.0, 19_500.0, 80_500.0, 60_500.0)


@pytest.mark.analytic
def test_lift_off_leaves_the_film_where_no_resist_was() -> None:
    field = DIE.difference(ISLAND)
    actions = (*resist(field, undercut_nm=500, bias_nm=-500), grow("metal", 100, sight=True))
    plan, losses = run(start(), *actions).apply(STRIP)
    assert plan.region_of("metal").area == ISLAND.area
    assert {(loss.film, loss.where) for loss in losses} == {("metal", "floated")}
    assert sum(loss.area for loss in losses) == pytest.approx(field.area * 1e-18)
    assert plan.region_of("resist").empty


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("side_wall", "undercut_nm", "sealed"),
    [(1.0, 0, True), (1.0, 500, True), (0.3, 0, True), (0.3, 500, False)],
)
def test_a_film_that_covers_the_resist_wall_seals_it(
    side_wall: float, undercut_nm: float, sealed: bool
) -> None:
    field = DIE.difference(ISLAND)
    actions = (
        *resist(field, undercut_nm=undercut_nm, bias_nm=-undercut_nm),
        grow("metal", 100, side_wall=side_wall),
    )
    plan, losses = run(start(), *actions).apply(STRIP)
    assert ("sealed" in {loss.where for loss in losses}) == sealed
    assert plan.region_of("resist").empty == (not sealed)


@pytest.mark.analytic
def test_the_solvent_follows_the_resist_under_what_covers_it() -> None:
    # A second film over part of the resist, sealed all round its own edge; the resist beneath is reached from elsewhere.
    field = DIE.difference(ISLAND)
    lid = Region.box(0, 0, 10_000, 10_000)
    lid_only = (
        *resist(lid, "other"),
        etch(55, sideways=True, lid=1.0),
        Clear(materials=frozenset({"other"})),
    )
    actions = (*resist(field), grow("lid", 50), *lid_only)
    plan, losses = run(start(), *actions).apply(STRIP)
    assert plan.region_of("resist").empty
    assert [(loss.film, loss.where) for loss in losses] == [("lid", "floated")]
    assert plan.region_of("lid").empty


@pytest.mark.analytic
def test_a_film_over_a_forgotten_resist_floats_off_with_it() -> None:
    forgotten = run(start(), *resist(ISLAND), grow("metal", 100, sight=True))
    plan, losses = forgotten.apply(STRIP)
    assert plan.region_of("metal").area == DIE.area - ISLAND.area
    assert losses[0].area == pytest.approx(ISLAND.area * 1e-18)


@pytest.mark.analytic
def test_a_vertical_etch_leaves_a_fence_along_a_step() -> None:
    # Step 100 nm, film 50 nm on flat and wall: after 60 nm of etching 90 nm stand along the wall, 50 nm wide.
    step = run(start(), grow("base", 100), *resist(ISLAND), etch(100, base=1.0), STRIP, grow("film", 50))
    plan = run(step, etch(60, film=1.0))
    fence = plan.region_of("film")
    assert fence.area == pytest.approx(2 * (60_000 + 40_000) * 50 + 4 * 50**2, rel=1e-6)
    assert plan.thicknesses("film") == ((pytest.approx(90 * NM), pytest.approx(fence.area * 1e-18)),)
    assert len(fence.parts()) == 1
    assert fence.holds(19_975, 40_000)
    assert not fence.holds(19_900, 40_000)


@pytest.mark.analytic
@pytest.mark.parametrize(("time", "stands"), [(60, True), (149, True), (151, False)])
def test_a_fence_needs_an_over_etch_of_the_step(time: float, stands: bool) -> None:
    step = run(start(), grow("base", 100), *resist(ISLAND), etch(100, base=1.0), STRIP, grow("film", 50))
    assert run(step, etch(time, film=1.0)).region_of("film").empty != stands


@pytest.mark.analytic
def test_a_fence_on_the_wall_of_a_resist_stays_when_the_resist_goes() -> None:
    plan = run(start(), *resist(ISLAND), grow("film", 50), etch(50, film=1.0), STRIP)
    assert plan.thicknesses("film")[0][0] == pytest.approx(1.3 * UM)
    assert plan.region_of("film").area == pytest.approx(2 * (60_000 + 40_000) * 50 + 4 * 50**2, rel=1e-6)


@pytest.mark.analytic
def test_an_isotropic_etch_leaves_no_fence() -> None:
    step = run(start(), grow("base", 100), *resist(ISLAND), etch(100, base=1.0), STRIP, grow("film", 50))
    assert run(step, etch(55, sideways=True, film=1.0)).region_of("film").empty


@pytest.mark.analytic
def test_line_of_sight_leaves_no_fence() -> None:
    step = run(
        start(), grow("base", 100), *resist(ISLAND), etch(100, base=1.0), STRIP, grow("film", 50, sight=True)
    )
    assert run(step, etch(55, film=1.0)).region_of("film").empty


@pytest.mark.analytic
def test_oxidation_takes_what_it_consumes_and_only_where_that_is_bare() -> None:
    grown = Grow(material="oxide", film="oxide", thickness=100 * NM, consumed=44 * NM, consumes="silicon")
    plan = run(start(), grow("metal", 60), *resist(ISLAND), etch(60, metal=1.0), STRIP, grown)
    bare, under = plan.column_at(1_000, 1_000), plan.column_at(50_000, 40_000)
    assert bare.thickness("silicon") == pytest.approx(5e-4 - 44 * NM, rel=1e-12)
    assert bare.top.material == "oxide"
    assert under.top.material == "metal"


@pytest.mark.analytic
def test_a_state_is_marked_only_where_the_material_is_bare() -> None:
    plan = run(start(), grow("metal", 60), *resist(ISLAND), Alter(material="metal", mark="oxidised"), STRIP)
    assert plan.column_at(1_000, 1_000).top.marks == {"oxidised"}
    assert plan.column_at(50_000, 40_000).top.marks == frozenset()
    assert run(plan, Heat(temperature=400.0, time=60.0)) == plan


@pytest.mark.analytic
def test_the_newest_resist_is_developed_and_an_older_one_stays() -> None:
    plan = run(start(), *resist(ISLAND), *resist(Region.box(0, 0, 10_000, 10_000)))
    assert plan.region_of("resist").area == ISLAND.area + 10_000**2


@pytest.mark.analytic
def test_exposed_areas_are_what_is_seen_from_above() -> None:
    plan = run(start(), grow("metal", 60), *resist(ISLAND))
    seen = plan.exposed()
    assert seen["resist"] == pytest.approx(ISLAND.area * 1e-18)
    assert seen["resist"] + seen["metal"] == pytest.approx(DIE.area * 1e-18)


@st.composite
def action_lists(draw: st.DrawFn) -> list[Action]:
    """Films, dry and wet patterns, lift-offs and strips in any order, drawn with slanted shapes."""
    actions: list[Action] = []
    places = st.integers(0, 80_000)
    for number, kind in enumerate(draw(st.lists(st.sampled_from(KINDS_OF_STEP), min_size=1, max_size=9))):
        x, y = draw(places), draw(places)
        keep = Region.of(
            [[(x, y), (x + 30_000, y + 7_000), (x + 22_000, y + 40_000), (x - 9_000, y + 31_000)]]
        )
        if kind == "grow":
            wall = draw(st.sampled_from((0.0, 0.3, 1.0)))
            nm = draw(st.sampled_from((20, 60)))
            actions.append(grow(draw(st.sampled_from("ab")), nm, f"f{number}", wall, sight=wall == 0))
        elif kind in {"pattern", "wet"}:
            actions += [*resist(keep), etch(draw(st.integers(5, 120)), kind == "wet", a=1.0, b=0.6)]
        elif kind == "lift":
            actions += [*resist(keep, undercut_nm=300), grow("a", 40, f"f{number}", sight=True)]
        else:
            actions.append(STRIP)
    return actions


KINDS_OF_STEP = ("grow", "pattern", "wet", "lift", "strip")


@pytest.mark.property
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(actions=action_lists())
def test_cells_always_share_out_the_die(actions: list[Action]) -> None:
    plan = start(("b", 100))
    for action in actions:
        before = plan
        plan, losses = plan.apply(action)
        assert covered(plan) == pytest.approx(DIE.area, rel=1e-7)
        assert len({cell.column for cell in plan.cells}) == len(plan.cells)
        assert all(loss.before >= loss.after >= 0 and loss.area > 0 for loss in losses)
        if isinstance(action, Remove | Clear | Print):
            volume = [sum(c.column.height * c.region.area for c in p.cells) for p in (before, plan)]
            assert volume[1] <= volume[0] * (1 + 1e-7)


@pytest.mark.property
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(actions=action_lists())
def test_no_two_cells_lie_on_one_another(actions: list[Action]) -> None:
    plan = run(start(("b", 100)), *actions)
    for number, cell in enumerate(plan.cells):
        for other in plan.cells[number + 1 :]:
            # Slanted borders are snapped to 2⁻¹⁰ nm, piece by piece.
            assert cell.region.intersection(other.region).area <= 2e-3 * cell.region.perimeter


@pytest.mark.property
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(actions=action_lists())
def test_the_same_actions_give_the_same_plan(actions: list[Action]) -> None:
    one = run(start(("b", 100)), *actions)
    plan_memo.forget()
    other = run(start(("b", 100)), *actions)
    assert [(c.column, c.region.key) for c in one.cells] == [(c.column, c.region.key) for c in other.cells]


@pytest.mark.property
def test_a_strip_of_nothing_changes_nothing() -> None:
    plan = run(start(), grow("metal", 60), *resist(ISLAND), etch(60, metal=1.0), STRIP)
    assert [(c.column, c.region.key) for c in run(plan, STRIP).cells] == [
        (c.column, c.region.key) for c in plan.cells
    ]
