"""Edges read off sections: thicknesses, fences and faces known by hand; and where columns alone are known to be wrong."""

import math
from collections.abc import Sequence

import pytest

from filmwright.numerics import Polyline, Region
from filmwright.wafer import (
    Action,
    Clear,
    Coat,
    EdgeJoins,
    EdgeReader,
    EtchRate,
    Grow,
    Plan,
    Print,
    Remove,
    Section,
    kinds_of_edges,
    read_nets,
)

NM, UM = 1e-9, 1e3
DIE = Region.box(0.0, 0.0, 20 * UM, 20 * UM)
ISLAND = Region.box(5 * UM, 5 * UM, 15 * UM, 15 * UM)
KINDS = {
    "silicon": "insulator",
    "oxide": "insulator",
    "resist": "organic",
    "gate metal": "conductor",
    "lead metal": "conductor",
}
BODY = ("silicon", 500e-6)


def grown(material: str, nanometres: float, side_wall: float = 1.0, line_of_sight: bool = False) -> Grow:
    return Grow(
        material=material,
        film=material,
        thickness=nanometres * NM,
        side_wall=0.0 if line_of_sight else side_wall,
        line_of_sight=line_of_sight,
    )


def patterned(etch: Remove, keep: Region = ISLAND, angle: float = math.pi / 2) -> list[Action]:
    """Resist on an island, an etch, and the resist taken off."""
    return [
        Coat(material="resist", film="resist", thickness=1000 * NM, levelling=10e-6),
        Print(material="resist", keep=keep, side_wall_angle=angle),
        etch,
        Clear(materials=frozenset({"resist"})),
    ]


def down(time: float, **rates: float) -> Remove:
    """A vertical etch at rates in nm/s; a blank in a name is an underscore."""
    return Remove(
        rates={
            name.replace("_", " "): EtchRate(down=rate * NM, sideways=0.0) for name, rate in rates.items()
        },
        time=time,
    )


def step(height: float) -> list[Action]:
    """An island of gate metal with upright walls."""
    return [grown("gate metal", height), *patterned(down(height, gate_metal=1.0))]


def die(actions: Sequence[Action]) -> Plan:
    plan = Plan.start(DIE, BODY)
    for action in actions:
        plan, _ = plan.apply(action)
    return plan


def read(actions: Sequence[Action]) -> EdgeReader:
    """The only kind of edge of a die, read off a section across it."""
    plan = die(actions)
    (kind,) = kinds_of_edges(plan)
    section = Section.start(kind.line, BODY[0])
    for action in actions:
        section = section.apply(action)
    return EdgeReader(section, kind.stretches, KINDS)


@pytest.mark.analytic
@pytest.mark.parametrize("side_wall", [1.0, 0.5])
def test_a_film_that_covers_walls_is_there_as_thick_as_it_covers(side_wall: float):
    profile = read([*step(200.0), grown("lead metal", 100.0, side_wall)]).profile()
    (lead,) = (each for each in profile.crossings if "lead metal" in each.films)
    assert lead.whole
    assert lead.thickness == pytest.approx(100 * NM)
    assert lead.least == pytest.approx(100 * NM * side_wall, rel=0.01)


@pytest.mark.analytic
@pytest.mark.parametrize("height", [30.0, 70.0])
def test_a_film_in_line_of_sight_holds_by_what_it_stands_over_the_step(height: float):
    profile = read([*step(height), grown("lead metal", 100.0, line_of_sight=True)]).profile()
    (lead,) = (each for each in profile.crossings if "lead metal" in each.films)
    assert lead.whole
    assert lead.least == pytest.approx((100 - height) * NM, rel=0.01)


@pytest.mark.analytic
@pytest.mark.parametrize("side_wall", [0.3, 0.6, 1.0])
def test_a_lead_that_ends_just_behind_its_step_is_read_too(side_wall: float):
    keep = DIE.difference(Region.box(5.3 * UM, 5.3 * UM, 14.7 * UM, 14.7 * UM))
    lead = [grown("lead metal", 50, side_wall), *patterned(down(50, lead_metal=1.0), keep)]
    profile = read([*step(100), *lead]).profile()
    (ending,) = profile.ending
    assert not profile.crossings
    assert ending.films == ("lead metal",)
    assert ending.whole
    # An upright wall holds what the method puts on a wall, and no place holds more than the flat.
    assert ending.least == pytest.approx(side_wall * 50 * NM, rel=0.03)
    assert ending.thickness == pytest.approx(50 * NM)


@pytest.mark.analytic
def test_a_film_in_line_of_sight_breaks_over_a_higher_upright_step():
    insulated = [*step(150.0), grown("oxide", 20.0), grown("lead metal", 100.0, line_of_sight=True)]
    profile = read(insulated).profile()
    (lead,) = (each for each in profile.crossings if "lead metal" in each.films)
    assert (lead.whole, lead.least, lead.coverage) == (False, 0.0, 0.0)


def fenced(over: float) -> list[Action]:
    """A conformal metal of 100 nm over an upright oxide island of 150 nm, etched from above alone."""
    island = [grown("oxide", 150.0), *patterned(down(150.0, oxide=1.0))]
    return [*island, grown("lead metal", 100.0), down(100.0 + over, lead_metal=1.0)]


@pytest.mark.analytic
@pytest.mark.parametrize("over", [0.0, 60.0, 140.0])
def test_a_fence_is_as_high_as_the_step_less_the_over_etch(over: float):
    """A conformal film of thickness d over a step h stands h + d high at the wall, and the etch takes d + over.

    Its outer face is upright up to the step's height and a quarter circle of radius d above.
    """
    (fence,) = read(fenced(over)).profile().fences
    assert (fence.film, fence.beside) == ("lead metal", "oxide")
    assert fence.height == pytest.approx((150 - over) * NM, rel=0.01)
    assert fence.width == pytest.approx(math.sqrt(100**2 - max(over - 50, 0) ** 2) * NM, rel=0.02)


@pytest.mark.analytic
def test_an_over_etch_as_long_as_the_step_is_high_leaves_no_fence():
    assert not read(fenced(151.0)).profile().fences


@pytest.mark.analytic
def test_a_wall_etched_from_all_sides_has_its_foot_and_top_where_the_circle_ends():
    """Front about the resist's foot: the top lies d (1 + OE) behind it, the foot d √((1 + OE)² − 1)."""
    wet = Remove(rates={"gate metal": EtchRate(down=NM, sideways=NM)}, time=150.0)
    reader = read([grown("gate metal", 100.0), *patterned(wet)])
    ((start, _),) = ISLAND.along(reader.section.cut)
    (ending,) = reader.profile(feet=(start,)).endings
    assert ending.top == pytest.approx(150 * NM, rel=0.06)
    assert ending.foot == pytest.approx(100 * NM * math.sqrt(1.5**2 - 1), rel=0.06)
    assert math.radians(60) < ending.slope(100 * NM) < math.pi / 2


@pytest.mark.analytic
def test_columns_break_a_lead_on_a_tapered_wall_and_the_section_carries_it():
    """Resist at 45° that goes as fast as the film leaves the film at 45°: the lead is d cos 45° thick on it."""
    taper = patterned(down(150.0, gate_metal=1.0, resist=1.0), angle=math.pi / 4)
    actions = [
        grown("gate metal", 150.0),
        *taper,
        grown("oxide", 20.0),
        grown("lead metal", 100.0, line_of_sight=True),
    ]
    reader = read(actions)
    lead = next(each for each in reader.profile().crossings if "lead metal" in each.films)
    assert lead.whole
    assert lead.least == pytest.approx(100 * NM / math.sqrt(2), rel=0.02)
    joins = EdgeJoins(reader)
    assert joins.disagree
    assert joins.words() == "lead metal goes across in one piece"
    apart, held = read_nets(die(actions), KINDS), read_nets(die(actions), KINDS, edges=found(joins))
    assert [len(nets.nets) for nets in (apart, held)] == [3, 2]
    (climb,) = (each for each in held.climbs if each.film == "lead metal" and each.step > 0)
    assert climb.whole
    assert climb.wall == pytest.approx(100 * NM / math.sqrt(2), rel=0.02)


@pytest.mark.analytic
def test_columns_drop_a_film_whose_ledge_still_hangs_and_the_section_keeps_it_off_the_lead():
    """Oxide etched from under the metal leaves a ledge 300 nm up; a lead of 100 nm on the ground does not reach it."""
    stack = [grown("oxide", 300.0), grown("gate metal", 50.0), *step_of_two()]
    actions = [*stack, grown("lead metal", 100.0, line_of_sight=True)]
    reader = read(actions)
    joins = EdgeJoins(reader)
    assert joins.disagree
    assert joins.words() == "gate metal and lead metal do not touch; lead metal is interrupted"
    joined, apart = read_nets(die(actions), KINDS), read_nets(die(actions), KINDS, edges=found(joins))
    assert len(apart.nets) > len(joined.nets)


def step_of_two() -> list[Action]:
    """Metal cut upright, and the oxide beneath it etched from all sides."""
    wet = Remove(rates={"oxide": EtchRate(down=NM, sideways=NM)}, time=420.0)
    begun = patterned(down(50.0, gate_metal=1.0))
    return [*begun[:3], wet, begun[3]]


def found(joins: EdgeJoins):
    """What ``read_nets`` asks, from one edge."""
    edges = joins.edges()
    return lambda one, other: edges[one, other]


@pytest.mark.property
def test_a_kind_of_edge_runs_all_round_its_island_and_is_cut_once():
    plan = die(step(150.0))
    (kind,) = kinds_of_edges(plan)
    assert kind.length == pytest.approx(40e-6)
    assert [stretch.column.height for stretch in kind.stretches] == sorted(
        stretch.column.height for stretch in kind.stretches
    )
    assert kind.line.length == pytest.approx(6 * UM)


@pytest.mark.property
def test_an_edge_is_cut_short_of_its_next_neighbour():
    """Two islands 4 µm apart: a cut across one of the facing walls ends half way to the other."""
    two = Region.joined(
        [Region.box(2 * UM, 2 * UM, 8 * UM, 18 * UM), Region.box(12 * UM, 2 * UM, 18 * UM, 18 * UM)]
    )
    actions = [grown("gate metal", 150.0), *patterned(down(150.0, gate_metal=1.0), keep=two)]
    (kind,) = kinds_of_edges(die(actions))
    assert 4 * UM <= kind.line.length <= 6 * UM
    assert [len(keep) for keep in (two.along(Polyline(kind.line.points)),)] == [1]
