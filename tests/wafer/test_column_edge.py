"""Two columns side by side: who touches whom over the step, checked by thinking each case through."""

import random

import pytest

from filmwright.wafer.column import Column, Layer
from filmwright.wafer.column_edge import Edge, meet

NM = 1e-9
BODY = Layer(material="silicon", film="body", thickness=5e-4, born=0)


def stack(*films: Layer) -> Column:
    return Column((BODY, *films))


def film(name: str, born: int, nm: float, side_wall: float = 1.0, overhang_nm: float = 0.0) -> Layer:
    return Layer(
        material=name, film=name, thickness=nm * NM, born=born, side_wall=side_wall, overhang=overhang_nm * NM
    )


def touching(edge: Edge, one: Column, two: Column) -> set[str]:
    """Pairs of different films that touch, written "first|second", and "=name" for a film in one piece."""
    found = set()
    for touch in edge.touches:
        a, b = one.layers[touch.first].film, two.layers[touch.second].film
        if "body" not in (a, b):
            found.add(f"={a}" if a == b else f"{a}|{b}")
    return found


GATE = film("gate", 1, 100)


def met(one: Column, two: Column) -> tuple[set[str], Edge]:
    edge = meet(one, two)
    return touching(edge, one, two), edge


@pytest.mark.analytic
def test_a_conformal_dielectric_keeps_metal_off_a_gate_of_twice_its_height() -> None:
    one = stack(GATE, film("dielectric", 2, 50), film("metal", 3, 150))
    two = stack(film("dielectric", 2, 50), film("metal", 3, 150))
    pairs, edge = met(one, two)
    assert pairs == {"gate|dielectric", "=dielectric", "dielectric|metal", "=metal"}
    assert [(c.step / NM, c.wall / NM, c.whole) for c in edge.climbs] == [
        (pytest.approx(100), pytest.approx(50), True),
        (pytest.approx(100), pytest.approx(150), True),
    ]


@pytest.mark.analytic
def test_a_thin_cover_of_the_wall_is_a_cover() -> None:
    one = stack(GATE, film("dielectric", 2, 50, side_wall=0.4), film("metal", 3, 150, side_wall=0.0))
    two = stack(film("dielectric", 2, 50, side_wall=0.4), film("metal", 3, 150, side_wall=0.0))
    pairs, edge = met(one, two)
    assert "gate|metal" not in pairs
    assert edge.climbs[0].wall == pytest.approx(20 * NM)


@pytest.mark.analytic
def test_a_dielectric_in_line_of_sight_leaves_the_gate_wall_to_the_metal() -> None:
    one = stack(GATE, film("dielectric", 2, 50, side_wall=0.0), film("metal", 3, 150))
    two = stack(film("dielectric", 2, 50, side_wall=0.0), film("metal", 3, 150))
    pairs, _ = met(one, two)
    assert "gate|metal" in pairs
    assert "=dielectric" not in pairs


@pytest.mark.analytic
@pytest.mark.parametrize(("thickness", "whole"), [(90, False), (110, True)])
def test_metal_in_line_of_sight_breaks_at_a_step_that_is_higher(thickness: float, whole: bool) -> None:
    one, two = stack(GATE, film("metal", 3, thickness, 0.0)), stack(film("metal", 3, thickness, 0.0))
    pairs, edge = met(one, two)
    assert ("=metal" in pairs) == whole
    assert "gate|metal" in pairs
    assert edge.climbs[0].whole == whole
    assert edge.climbs[0].wall == pytest.approx(max(thickness - 100, 0) * NM)


@pytest.mark.analytic
def test_a_broken_metal_leaves_the_rest_of_the_wall_bare() -> None:
    one, two = stack(GATE, film("metal", 3, 30, 0.0)), stack(film("metal", 3, 30, 0.0))
    bare = {(part.side, part.layer): part.height / NM for part in meet(one, two).bare}
    assert bare == {(0, 1): pytest.approx(70), (0, 2): pytest.approx(30)}


@pytest.mark.analytic
def test_metal_beside_an_island_touches_only_what_it_is_as_high_as() -> None:
    island = stack(film("low", 1, 40), film("middle", 2, 40), film("high", 3, 40))
    pairs, _ = met(island, stack(film("metal", 4, 60, 0.0)))
    assert pairs == {"low|metal", "middle|metal"}


@pytest.mark.analytic
def test_metal_that_climbs_an_island_touches_all_of_its_wall() -> None:
    one = stack(GATE, film("dielectric", 2, 50), film("channel", 3, 20), film("metal", 4, 30))
    pairs, _ = met(one, stack(film("metal", 4, 30)))
    assert pairs == {"gate|metal", "dielectric|metal", "channel|metal", "=metal"}


@pytest.mark.analytic
@pytest.mark.parametrize(("side_wall", "sealed"), [(0.0, False), (0.3, False), (0.45, True), (1.0, True)])
def test_an_overhang_stays_open_until_a_film_fills_it(side_wall: float, sealed: bool) -> None:
    # 100 nm at 0.45 on the wall fill an overhang of 40 nm, at 0.3 they do not.
    resist = film("resist", 1, 1000, overhang_nm=40)
    one, two = stack(resist, film("metal", 2, 100, side_wall)), stack(film("metal", 2, 100, side_wall))
    edge = meet(one, two)
    assert edge.shows(0, 1) != sealed
    assert ("=metal" in touching(edge, one, two)) == sealed


@pytest.mark.analytic
def test_equal_columns_have_no_wall() -> None:
    one = stack(GATE, film("dielectric", 2, 50))
    edge = meet(one, one)
    assert touching(edge, one, one) == {"=gate", "=dielectric"}
    assert edge.bare == ()
    assert edge.climbs == ()


@pytest.mark.analytic
def test_a_film_thinned_on_one_side_shows_its_own_wall() -> None:
    one, two = stack(film("field", 1, 300)), stack(film("field", 1, 250))
    edge = meet(one, two)
    assert [(b.side, b.layer, b.height / NM) for b in edge.bare] == [(0, 1, pytest.approx(50))]


def random_columns(seed: int) -> tuple[Column, Column]:
    chance = random.Random(seed)
    sides: tuple[list[Layer], list[Layer]] = ([], [])
    for born in range(1, chance.randint(2, 9)):
        layer = film(f"f{born}", born, chance.choice((5, 20, 50, 100)), chance.choice((0.0, 0.3, 1.0)))
        for side in sides:
            if chance.random() < 0.7:
                side.append(layer)
    return stack(*sides[0]), stack(*sides[1])


@pytest.mark.property
@pytest.mark.parametrize("seed", range(60))
def test_an_edge_seen_from_the_other_side_is_the_same(seed: int) -> None:
    one, two = random_columns(seed)
    forth, back = meet(one, two), meet(two, one)
    assert {(t.first, t.second, round(t.height / NM, 6)) for t in forth.touches} == {
        (t.second, t.first, round(t.height / NM, 6)) for t in back.touches
    }
    assert {(b.side, b.layer, round(b.height / NM, 6)) for b in forth.bare} == {
        (1 - b.side, b.layer, round(b.height / NM, 6)) for b in back.bare
    }


@pytest.mark.property
@pytest.mark.parametrize("seed", range(60))
def test_the_bare_wall_is_as_high_as_the_step(seed: int) -> None:
    one, two = random_columns(seed)
    step = abs(one.height - two.height)
    assert sum(part.height for part in meet(one, two).bare) == pytest.approx(step, abs=1e-12)
