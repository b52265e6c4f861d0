"""Plans of repeated cells against the same plans undivided: areas, losses, nets and devices must be the same."""

import random
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from filmwright.masks import Drawing, Label, drawing_of, many_transistors, resist_left
from filmwright.numerics import Region, region_repeats, repeats
from filmwright.wafer import (
    MARGIN_NM,
    Action,
    Clear,
    Coat,
    Devices,
    EtchRate,
    Grow,
    Heat,
    Loss,
    Nets,
    Plan,
    Print,
    Remove,
    read_devices,
    read_nets,
)

NM, UM = 1e-9, 1e-6
Box = tuple[float, float, float, float]
LEVELS = tuple((number, 0) for number in range(1, 6))
GATE, CHANNEL, OPENING, CONTACT, WINDOW = LEVELS
KINDS = {
    "silicon": "insulator",
    "silicon dioxide": "insulator",
    "titanium": "conductor",
    "gold": "conductor",
    "aluminium oxide": "insulator",
    "indium gallium zinc oxide": "semiconductor",
    "resist": "organic",
    "lift-off resist": "organic",
}
STRIP = Clear(materials=frozenset({"resist", "lift-off resist"}))


def sight(material: str, film: str, nm: float) -> Grow:
    return Grow(material=material, film=film, thickness=nm * NM, line_of_sight=True, side_wall=0.0)


def printed(keep: Region, film: str, material: str = "resist", **how: float) -> list[Action]:
    coat = Coat(material=material, film=film, thickness=1.3 * UM, levelling=20 * UM)
    return [coat, Print(material=material, keep=keep, **how)]


def wet(material: str, nm: float, over: float = 0.25) -> Remove:
    return Remove(rates={material: EtchRate(down=NM, sideways=NM)}, time=nm * (1 + over))


def flow(drawing: Drawing) -> list[Action]:
    """A bottom-gate transistor with five masks: wet etches, a lift-off with an overhang, a dry etch that leaves fences."""

    def keep(level: tuple[int, int], drawn: str) -> Region:
        return resist_left(drawing.region(level), drawing.die, drawn, "positive")

    actions = [sight("titanium", "gate", 60), *printed(keep(GATE, "opaque"), "r1", bias=0.2 * UM)]
    actions += [wet("titanium", 60), STRIP]
    actions += [Grow(material="aluminium oxide", film="dielectric", thickness=50 * NM)]
    actions += [Grow(material="indium gallium zinc oxide", film="channel", thickness=20 * NM, side_wall=0.4)]
    actions += [*printed(keep(CHANNEL, "opaque"), "r2"), wet("indium gallium zinc oxide", 20), STRIP]
    actions += [
        *printed(keep(OPENING, "clear"), "r3", bias=-0.1 * UM),
        wet("aluminium oxide", 50, 0.2),
        STRIP,
    ]
    lift = printed(keep(CONTACT, "clear"), "r4", "lift-off resist", bias=-0.5 * UM, undercut=0.5 * UM)
    actions += [*lift, sight("titanium", "adhesion", 10), sight("gold", "contact", 100), STRIP]
    actions += [Grow(material="silicon dioxide", film="cover", thickness=200 * NM)]
    down = Remove(rates={"silicon dioxide": EtchRate(down=NM, sideways=0.0)}, time=240)
    return [*actions, *printed(keep(WINDOW, "clear"), "r5"), down, STRIP]


@dataclass(frozen=True)
class Made:
    plan: Plan
    losses: list[tuple[Loss, ...]]
    nets: Nets
    devices: Devices


def made(drawing: Drawing, divided: bool = True, actions: list[Action] | None = None) -> Made:
    drawn = [drawing.region(level) for level in LEVELS if level in drawing.layers]
    found = repeats(drawn, drawing.die, MARGIN_NM) if divided else None
    plan = Plan.start(drawing.die, ("silicon", 525 * UM), [("silicon dioxide", 300 * NM)], found)
    losses = []
    for action in actions or flow(drawing):
        plan, lost = plan.apply(action)
        losses.append(lost)
    nets = read_nets(plan, KINDS, drawing.labels)
    return Made(plan, losses, nets, read_devices(plan, KINDS, nets))


def of_losses(lost: tuple[Loss, ...]) -> dict[tuple, float]:
    found: dict[tuple, float] = {}
    for loss in lost:
        key = (loss.film, loss.where, loss.before, loss.after, round(loss.sideways / NM, 3), loss.column)
        found[key] = found.get(key, 0.0) + loss.area
    return found


def of_device(device) -> tuple:
    def short(number: float | None) -> float | None:
        return None if number is None else float(f"{number:.6g}")

    sizes = (device.area, device.width, device.length, device.perimeter, device.gated)
    overlaps = sorted((role, short(reach)) for role, reach in device.overlaps.items())
    place = tuple(round(part, 2) for part in device.place)
    terminals = sorted(device.terminals.items())
    return (device.kind, device.name, place, terminals, [short(s) for s in sizes], overlaps, device.shorts)


def check_same(one: Made, other: Made) -> None:
    """Two readings of one die are the same but for rounding."""
    least = 1e-9 * one.plan.die.area * 1e-18
    areas, others = one.plan.areas(), other.plan.areas()
    assert all(abs(areas.get(c, 0.0) - others.get(c, 0.0)) < least for c in {*areas, *others})
    for lost, beside in zip(map(of_losses, one.losses), map(of_losses, other.losses), strict=True):
        assert all(abs(lost.get(k, 0.0) - beside.get(k, 0.0)) < least for k in {*lost, *beside})
    assert sorted(net.labels for net in one.nets.nets) == sorted(net.labels for net in other.nets.nets)
    for asked in ("shorted", "shared", "parted", "unreachable", "absent"):
        assert sorted(getattr(one.nets, asked)) == sorted(getattr(other.nets, asked)), asked
    climbs = [
        {(c.film, c.step, c.wall, c.whole): pytest.approx(c.length_nm, abs=10) for c in each.nets.climbs}
        for each in (one, other)
    ]
    assert climbs[0] == climbs[1]
    devices = [sorted(map(of_device, each.devices.found), key=str) for each in (one, other)]
    assert devices[0] == devices[1]


def turned(box: Box, quarters: int, mirrored: bool) -> Box:
    x0, y0, x1, y1 = box
    points = [(x0, -y0), (x1, -y1)] if mirrored else [(x0, y0), (x1, y1)]
    for _ in range(quarters):
        points = [(-y, x) for x, y in points]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def cell(rng: random.Random) -> tuple[list[tuple[tuple[int, int], Box]], list[tuple[str, float, float]]]:
    """A transistor of random size, sound or not, in micrometres, with its labels."""
    half, tall, over = rng.choice([2, 4]), rng.choice([5, 10, 15]), rng.choice([2, 5])
    island = tall + rng.choice([0, -2, 3, 12])
    ends = half + over
    shapes = [
        (GATE, (-ends, -tall - 8, ends, tall + 8)),
        (CHANNEL, (-ends - 6, -island, ends + 6, island)),
        (CONTACT, (-ends - 15, -tall, -half, tall)),
        (CONTACT, (half, -tall, ends + 15, tall)),
    ]
    if rng.random() < 0.6:
        shapes.append((OPENING, (-2, -tall - 6, 2, -tall - 2)))
    if rng.random() < 0.4:
        shapes.append((CONTACT, (-3, -tall - 7, 3, -tall - 1)))
    if rng.random() < 0.5:
        shapes.append((WINDOW, (half + 6, -4, half + 12, 4)))
    return shapes, [("G", 0, -tall - 7.5), ("S", -ends - 10, 0), ("D", ends + 10, 0)]


def extras(
    rng: random.Random, wide: float, high: float, px: int, py: int
) -> Iterator[tuple[tuple[int, int], Box]]:
    """Common lines, blankets, a line to the border of the die, and shapes that stand alone."""
    if rng.random() < 0.5:
        for y in range(0, int(high), py):
            yield GATE, (-40, y - 3, wide - 20, y + 3)
    if rng.random() < 0.4:
        for x in range(0, int(wide), px):
            yield CONTACT, (x + 14, -50, x + 18, high - 20)
    for level in (CHANNEL, GATE):
        if rng.random() < 0.12:
            yield level, (-60, -60, wide, high)
    if rng.random() < 0.2:
        yield CONTACT, (-500, -45, wide + 500, -40)
    if rng.random() < 0.3:
        yield CONTACT, (wide + 60, 0, wide + 90, 33)
        yield GATE, (wide + 70, 0, wide + 95, 13)


def die_of_cells(seed: int) -> Drawing:
    """Cells in rows, some turned and mirrored, some touching, some on common lines."""
    rng = random.Random(seed)
    cells = [cell(rng) for _ in range(rng.choice([1, 1, 2]))]
    columns, rows = rng.randint(2, 4), rng.randint(1, 3)
    px, py = rng.choice([60, 70, 90, 130]), rng.choice([50, 60, 80, 130])
    any_way = rng.random() < 0.3
    shapes: list[tuple[tuple[int, int], Box]] = []
    labels = []
    for number in range(columns * rows):
        x, y = number % columns * px, number // columns * py
        parts, ends = cells[rng.randrange(len(cells))]
        quarters, mirrored = (rng.randrange(4), rng.random() < 0.5) if any_way else (0, False)
        for level, box in parts:
            x0, y0, x1, y1 = turned(box, quarters, mirrored)
            shapes.append((level, (x + x0, y + y0, x + x1, y + y1)))
        for end, dx, dy in ends:
            dx, dy, _, _ = turned((dx, dy, dx, dy), quarters, mirrored)
            labels.append((f"T{number}:{end}", x + dx, y + dy))
    shapes += extras(rng, columns * px, rows * py, px, py)
    layers = {}
    for level in LEVELS:
        mine = [Region.box(*(1000 * c for c in box)) for each, box in shapes if each == level]
        layers[level] = Region.joined(mine or [Region.box(-300_000, -300_000, -290_000, -290_000)])
    edge = rng.choice([100, 180, 280])
    low, high = -1000 * edge, 1000 * edge
    layers[0, 0] = Region.box(low, low, high + 1000 * columns * px, high + 1000 * rows * py)
    texts = tuple(Label(text=t, layer=(60, 0), x_nm=1000 * x, y_nm=1000 * y) for t, x, y in labels)
    return Drawing(name="cells", layers=layers, labels=texts)


@pytest.fixture(params=["where it pays", "always"])
def divided(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Small dies divided as large ones are: large clusters cut into tiles where it pays, or always."""
    monkeypatch.setattr(region_repeats, "BATCH", 1)
    monkeypatch.setattr(region_repeats, "LARGE", 3)
    if request.param == "always":
        monkeypatch.setattr(region_repeats, "WORTH", 10.0)


@pytest.mark.property
@settings(
    max_examples=14,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(seed=st.integers(0, 10_000))
def test_a_divided_plan_is_the_undivided_plan(divided: None, seed: int) -> None:
    drawing = die_of_cells(seed)
    check_same(made(drawing), made(drawing, divided=False))


@pytest.mark.property
@pytest.mark.parametrize("seed", [5, 19, 27, 31])
def test_the_column_at_a_point_is_that_of_the_undivided_plan(divided: None, seed: int) -> None:
    drawing = die_of_cells(seed)
    one, other = made(drawing).plan, made(drawing, divided=False).plan
    rng = random.Random(seed)
    x0, y0, x1, y1 = drawing.die.bounds
    for _ in range(60):
        x, y = rng.uniform(x0, x1), rng.uniform(y0, y1)
        assert one.column_at(x, y) == other.column_at(x, y)
    assert one.column_at(x1 + 1, y0) is None
    assert one.exposed() == pytest.approx(other.exposed(), rel=1e-9)
    assert one.thicknesses("aluminium oxide") == tuple(
        (t, pytest.approx(area, rel=1e-9)) for t, area in other.thicknesses("aluminium oxide")
    )
    window = (x0 + 60_000, y0 + 50_000, x0 + 200_000, y0 + 190_000)
    areas = [
        {c.column: pytest.approx(c.region.area, rel=1e-7, abs=1) for c in p.within(*window)}
        for p in (one, other)
    ]
    assert areas[0] == areas[1]


@pytest.mark.property
def test_the_cells_of_a_divided_plan_are_those_of_the_undivided_plan(divided: None) -> None:
    drawing = die_of_cells(27)
    one, other = made(drawing).plan, made(drawing, divided=False).plan
    areas = {cell.column: cell.region.area for cell in other.cells}
    assert {c.column: pytest.approx(c.region.area, rel=1e-9) for c in one.cells} == areas
    assert one.region_of("gold").difference(other.region_of("gold")).area == pytest.approx(0, abs=1)


@pytest.mark.analytic
def test_five_thousand_transistors_are_computed_as_one() -> None:
    # Counted, not timed: one window with one set of cells, whatever the number of places.
    few, many = (drawing_of(many_transistors(count)) for count in (60, 5000))
    small, large = made(few), made(many)
    assert [part.place.count for part in small.plan.parts] == [60]
    assert [part.place.count for part in large.plan.parts] == [5000]
    assert [len(part.cells) for part in large.plan.parts] == [len(part.cells) for part in small.plan.parts]
    assert len(large.nets.map.boards) == len(small.nets.map.boards) == 2
    assert len(large.devices.transistors) == 5000
    assert len([net for net in large.nets.nets if net.labels]) == 15_000
    assert {device.width for device in large.devices.found} == {small.devices.found[0].width}
    last = large.devices.named("N5000")
    assert last is not None
    assert last.terminals == {"gate": "G", "source": "S", "drain": "D"}
    assert large.plan.column_at(*last.place) == small.plan.column_at(*small.devices.found[0].place)
    gold = [plan.thicknesses("gold")[0][1] for plan in (small.plan, large.plan)]
    assert gold[1] == pytest.approx(gold[0] * 5000 / 60, rel=1e-12)


@pytest.mark.analytic
def test_devices_on_common_lines_hang_together() -> None:
    # 12 rows of 20 transistors, each row on one gate line that runs to a labelled end.
    places = [(60.0 * i, 50.0 * j) for j in range(12) for i in range(20)]
    shapes = {
        GATE: [(x - 6, y - 12, x + 6, y + 12) for x, y in places]
        + [(-50, 50.0 * j - 3, 1170, 50.0 * j + 3) for j in range(12)],
        CHANNEL: [(x - 10, y - 8, x + 10, y + 8) for x, y in places],
        CONTACT: [
            box
            for x, y in places
            for box in ((x - 20, y - 10, x - 3, y + 10), (x + 3, y - 10, x + 20, y + 10))
        ],
        OPENING: [(-40, 50.0 * j - 2, -34, 50.0 * j + 2) for j in range(12)],
        WINDOW: [
            box for x, y in places for box in ((x - 18, y - 4, x - 10, y + 4), (x + 10, y - 4, x + 18, y + 4))
        ],
    }
    layers = {
        level: Region.joined([Region.box(*(1000 * c for c in box)) for box in boxes])
        for level, boxes in shapes.items()
    }
    labels = [(f"R{j}:G", -37.0, 50.0 * j) for j in range(12)]
    labels += [
        (f"T{k}:{end}", x + dx, y) for k, (x, y) in enumerate(places) for end, dx in (("S", -14), ("D", 14))
    ]
    texts = tuple(Label(text=t, layer=(60, 0), x_nm=1000 * x, y_nm=1000 * y) for t, x, y in labels)
    array = made(Drawing(name="array", layers=layers, labels=texts))
    assert len(array.plan.parts) < 40, "240 cells, of which all but those near the rims are one tile"
    assert len(array.devices.transistors) == 240
    gates = {device.nets["gate"] for device in array.devices.transistors}
    assert gates == {
        net.number for net in array.nets.nets if any(label.endswith(":G") for label in net.labels)
    }
    assert len(gates) == 12
    # 16 µm drawn, less the foot of the isotropic etch on both sides: 20 nm × √(1.25² − 1) = 15 nm.
    assert {round(d.width / NM) for d in array.devices.transistors} == {16_000 - 2 * 15}
    assert {round(d.length / NM) for d in array.devices.transistors} == {6_000}


@pytest.mark.analytic
def test_edges_that_move_too_far_are_computed_one_by_one() -> None:
    drawing = drawing_of(many_transistors(60))
    keep = resist_left(drawing.region(GATE), drawing.die, "opaque", "positive")
    far = [
        sight("titanium", "gate", 60),
        *printed(keep, "r1", bias=5 * UM),
        Heat(temperature=400.0, time=60.0),
    ]
    plan = made(drawing, actions=far).plan
    assert not plan.divided
    assert len(plan.notes) == 1
    assert "5000 nm" in plan.notes[0]
    assert plan.areas() == pytest.approx(made(drawing, divided=False, actions=far).plan.areas(), rel=1e-9)


@pytest.mark.analytic
def test_a_print_that_does_not_repeat_is_computed_place_by_place() -> None:
    drawing = drawing_of(many_transistors(60))
    scratch = Region.box(300_000, 300_000, 320_000, 310_000)
    actions = [
        sight("titanium", "gate", 60),
        *printed(drawing.die.difference(scratch), "r1"),
        wet("titanium", 60),
        STRIP,
    ]
    plan = made(drawing, actions=actions).plan
    assert "does not repeat" in plan.notes[0]
    assert plan.column_at(310_000, 305_000).film("gate") is None
    assert plan.column_at(810_000, 305_000).film("gate") is not None
