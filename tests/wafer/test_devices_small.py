"""Devices of a few shapes whose sizes are known by hand: gates above and below, contacts above and below, no gate, many fingers."""

from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from filmwright.numerics import Region
from filmwright.wafer import (
    Action,
    Clear,
    Coat,
    Devices,
    EtchRate,
    Grow,
    Kind,
    Nets,
    Plan,
    Print,
    Remove,
    read_devices,
    read_nets,
)

NM, UM = 1e-9, 1e-6
DIE = Region.box(-100_000, -100_000, 100_000, 100_000)
KINDS: dict[str, Kind] = {
    "silicon": "semiconductor",
    "oxide": "insulator",
    "metal": "conductor",
    "dielectric": "insulator",
    "channel": "semiconductor",
    "resist": "organic",
}


@dataclass(frozen=True)
class Text:
    text: str
    x_nm: float
    y_nm: float


def box(x0: float, y0: float, x1: float, y1: float) -> Region:
    """A rectangle in micrometres."""
    return Region.box(x0 * 1000, y0 * 1000, x1 * 1000, y1 * 1000)


def pattern(material: str, film: str, nm: float, keep: Region) -> list[Action]:
    """A film with vertical sides where it is drawn; its etch touches nothing else."""
    return [
        Grow(material=material, film=film, thickness=nm * NM),
        Coat(material="resist", film=f"resist {film}", thickness=1.3 * UM, levelling=20 * UM),
        Print(material="resist", keep=keep),
        Remove(rates={material: EtchRate(down=NM, sideways=0.0)}, time=20 * nm),
        Clear(materials=frozenset({"resist"})),
    ]


def film(material: str, name: str, nm: float) -> Grow:
    return Grow(material=material, film=name, thickness=nm * NM)


def read(
    actions: list[Action], labels: tuple[Text, ...] = (), body: Kind = "semiconductor"
) -> tuple[Nets, Devices]:
    kinds = {**KINDS, "silicon": body}
    plan = Plan.start(DIE, ("silicon", 5e-4), [("oxide", 300 * NM)])
    for action in actions:
        plan, _ = plan.apply(action)
    nets = read_nets(plan, kinds, labels)
    return nets, read_devices(plan, kinds, nets)


GATE, ISLAND = box(-4, -30, 4, 30), box(-10, -8, 10, 8)
SOURCE, DRAIN = box(-30, -12, -2.5, 12), box(2.5, -12, 30, 12)
LABELS = (Text("T7:S", -20_000, 0), Text("T7:D", 20_000, 0), Text("T7:G", 0, 25_000))


@pytest.mark.analytic
def test_a_gate_on_top_is_found_and_said() -> None:
    actions = [
        *pattern("channel", "channel", 20, ISLAND),
        *pattern("metal", "contact", 50, SOURCE.union(DRAIN)),
    ]
    actions += [film("dielectric", "dielectric", 40), *pattern("metal", "gate", 60, GATE)]
    nets, devices = read(actions, (LABELS[2],))
    (device,) = devices.transistors
    assert device.gate_above
    assert (device.width, device.length) == (pytest.approx(16 * UM), pytest.approx(5 * UM))
    assert device.overlaps == {"source": pytest.approx(1.5 * UM), "drain": pytest.approx(1.5 * UM)}
    assert device.dielectric == (("dielectric", pytest.approx(40 * NM)),)
    assert device.gated == pytest.approx(1.0)
    assert nets.unreachable == ()


@pytest.mark.analytic
def test_contacts_below_the_semiconductor_set_the_length() -> None:
    actions = [*pattern("metal", "gate", 60, GATE), film("dielectric", "dielectric", 40)]
    actions += [
        *pattern("metal", "contact", 50, SOURCE.union(DRAIN)),
        *pattern("channel", "channel", 20, ISLAND),
    ]
    _, devices = read(actions, LABELS[:2])
    (device,) = devices.transistors
    assert not device.gate_above
    assert (device.width, device.length) == (pytest.approx(16 * UM), pytest.approx(5 * UM))
    assert device.overlaps == {"source": pytest.approx(1.5 * UM), "drain": pytest.approx(1.5 * UM)}
    assert device.terminals["source"] == "S"
    assert device.shorts == ()


@pytest.mark.analytic
def test_a_conducting_body_is_the_gate_of_everything() -> None:
    actions = [
        *pattern("channel", "channel", 20, ISLAND),
        *pattern("metal", "contact", 50, SOURCE.union(DRAIN)),
    ]
    _, devices = read(actions, LABELS[:2], body="conductor")
    (device,) = devices.transistors
    assert device.dielectric == (("oxide", pytest.approx(300 * NM)),)
    assert (device.gated, device.length) == (pytest.approx(1.0), pytest.approx(5 * UM))
    # The pads over the oxide are capacitors to the body, but both of its nets belong to the transistor.
    assert devices.capacitors == ()


@pytest.mark.analytic
def test_without_a_gate_it_is_a_resistor() -> None:
    actions = [
        *pattern("channel", "channel", 20, ISLAND),
        *pattern("metal", "contact", 50, SOURCE.union(DRAIN)),
    ]
    _, devices = read(actions, LABELS[:2])
    (device,) = devices.found
    assert (device.kind, device.name) == ("resistor", "T7")
    assert (device.width, device.length) == (pytest.approx(16 * UM), pytest.approx(5 * UM))
    assert device.semiconductor == (("channel", pytest.approx(20 * NM)),)


@pytest.mark.analytic
def test_a_gate_shorter_than_the_channel_covers_part_of_it() -> None:
    actions = [*pattern("metal", "gate", 60, box(-1, -30, 1, 30)), film("dielectric", "dielectric", 40)]
    actions += [
        *pattern("channel", "channel", 20, ISLAND),
        *pattern("metal", "contact", 50, SOURCE.union(DRAIN)),
    ]
    _, devices = read(actions, LABELS[:2])
    (device,) = devices.transistors
    assert device.gated == pytest.approx(2 / 5)
    assert device.overlaps == {"source": 0.0, "drain": 0.0}
    assert devices.working("transistor", {"source": "S", "drain": "D"}) == ()


@pytest.mark.analytic
def test_semiconductor_beside_the_contacts_is_marked() -> None:
    narrow = box(-30, -4, -2.5, 4).union(box(2.5, -4, 30, 4))
    actions = [*pattern("channel", "channel", 20, ISLAND), *pattern("metal", "contact", 50, narrow)]
    _, devices = read(actions, LABELS[:2])
    (device,) = devices.found
    assert device.fringe
    assert (device.width, device.length) == (pytest.approx(8 * UM, rel=1e-3), pytest.approx(5 * UM))


@pytest.mark.analytic
@pytest.mark.parametrize(("gate_end", "gated"), [(30, 1.0), (12, 1.0), (0, 0.5)])
def test_only_the_channel_between_the_contacts_must_lie_over_the_gate(gate_end: float, gated: float) -> None:
    """The island is 10 µm longer than the contacts are wide; a gate that ends just beyond them still gates the channel."""
    gate = box(-4, -30, 4, gate_end)
    actions = [
        *pattern("metal", "gate", 60, gate),
        film("dielectric", "dielectric", 40),
        *pattern("channel", "channel", 20, box(-10, -20, 10, 20)),
        *pattern("metal", "contact", 200, box(-30, -10, -2.5, 10).union(box(2.5, -10, 30, 10))),
    ]
    _, devices = read(actions)
    (device,) = devices.transistors
    assert device.fringe
    assert device.gated == pytest.approx(gated, abs=0.01)
    assert device.width == pytest.approx(20 * UM, rel=1e-3)


@pytest.mark.analytic
def test_three_contacts_on_one_island_make_two_gaps() -> None:
    contacts = Region.joined([box(-30, -12, -12, 12), box(-8, -12, 2, 12), box(10, -12, 30, 12)])
    actions = [
        *pattern("channel", "channel", 20, box(-20, -8, 20, 8)),
        *pattern("metal", "contact", 50, contacts),
    ]
    labels = (Text("L1:1", -25_000, 0), Text("L1:2", 0, 0), Text("L1:3", 25_000, 0))
    _, devices = read(actions, labels)
    gaps = {(d.terminals["source"], d.terminals["drain"]): d.length for d in devices.found}
    assert gaps == {("1", "2"): pytest.approx(4 * UM), ("2", "3"): pytest.approx(8 * UM)}


@pytest.mark.analytic
def test_fingers_add_up_to_their_facing_length() -> None:
    # Two fingers of one contact between three of the other, 4 µm apart, facing over 40 µm, on an island cut to the fingers.
    rails = [box(-25, 24, 21, 30), box(-25, -30, 21, -24)]
    odd = [box(-15 + 20 * k, -30, -9 + 20 * k, 21) for k in range(2)]
    even = [box(-25 + 20 * k, -21, -19 + 20 * k, 30) for k in range(3)]
    contacts = Region.joined([*odd, *even, *rails])
    island = box(-22, -20, 18, 20)
    actions = [*pattern("channel", "channel", 20, island), *pattern("metal", "contact", 50, contacts)]
    labels = (Text("F1:S", 0, 28_000), Text("F1:D", 0, -28_000))
    _, devices = read(actions, labels)
    resistors = devices.of_kind("resistor")
    assert sum(d.width for d in resistors) == pytest.approx(4 * 40 * UM)
    assert {round(d.length / UM, 6) for d in resistors} == {4.0}


@pytest.mark.analytic
def test_a_capacitor_has_the_area_and_the_rim_of_its_smaller_plate() -> None:
    actions = [*pattern("metal", "lower", 60, box(-30, -20, 30, 20)), film("dielectric", "dielectric", 40)]
    actions += pattern("metal", "upper", 60, box(-10, -15, 20, 15))
    _, devices = read(actions)
    (device,) = devices.capacitors
    assert device.area == pytest.approx(30 * UM * 30 * UM)
    assert device.perimeter == pytest.approx(120 * UM)
    assert device.dielectric == (("dielectric", pytest.approx(40 * NM)),)


@pytest.mark.property
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    width=st.integers(2, 40),
    length=st.integers(1, 30),
    x=st.integers(-30, 30),
    y=st.integers(-30, 30),
    turned=st.booleans(),
)
def test_width_and_length_follow_the_drawing_wherever_it_lies(
    width: int, length: int, x: int, y: int, turned: bool
) -> None:
    def at(x0: float, y0: float, x1: float, y1: float) -> Region:
        return box(y0 + x, x0 + y, y1 + x, x1 + y) if turned else box(x0 + x, y0 + y, x1 + x, y1 + y)

    w, n = width / 2, length / 2
    island = at(-n - 8, -w, n + 8, w)
    contacts = at(-n - 20, -w - 3, -n, w + 3).union(at(n, -w - 3, n + 20, w + 3))
    actions = [*pattern("channel", "channel", 20, island), *pattern("metal", "contact", 50, contacts)]
    _, devices = read(actions)
    (device,) = devices.found
    assert device.width == pytest.approx(width * UM)
    assert device.length == pytest.approx(length * UM)
    assert not device.fringe
    assert device.place == pytest.approx((x * 1000, y * 1000))
