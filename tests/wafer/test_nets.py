"""What touches what after small flows: the classic traps, each with the flow that avoids it."""

from dataclasses import dataclass

import pytest

from filmwright.numerics import Region
from filmwright.wafer import Clear, Coat, EtchRate, Grow, Plan, Print, Remove, read_devices, read_nets

NM, UM = 1e-9, 1e-6
DIE = Region.box(-60_000, -60_000, 60_000, 60_000)
KINDS = {
    "silicon": "semiconductor",
    "oxide": "insulator",
    "gate": "conductor",
    "dielectric": "insulator",
    "channel": "semiconductor",
    "contact": "conductor",
    "resist": "organic",
    "other": "organic",
}
ROLES = {"gate": "G", "source": "S", "drain": "D"}

# A transistor with W = 10 µm and L = 4 µm; the gate line leaves downward to its pad, the contacts leave sideways.
GATE = Region.of(
    [
        [(-5_000, -50_000), (5_000, -50_000), (5_000, 8_000), (-5_000, 8_000)],
        [(-9_000, -50_000), (9_000, -50_000), (9_000, -30_000), (-9_000, -30_000)],
    ]
)
ISLAND = Region.box(-12_000, -5_000, 12_000, 5_000)
SHORT_ISLAND = Region.box(-5_000, -5_000, 5_000, 5_000)
SOURCE, DRAIN = Region.box(-40_000, -6_000, -2_000, 6_000), Region.box(2_000, -6_000, 40_000, 6_000)
OPENING = Region.box(-7_000, -48_000, 7_000, -32_000)


@dataclass(frozen=True)
class Text:
    text: str
    x_nm: float
    y_nm: float


LABELS = (Text("T1:G", 0, -40_000), Text("T1:S", -30_000, 0), Text("T1:D", 30_000, 0))


def resist(keep: Region, material: str = "resist") -> list:
    coat = Coat(material=material, film=f"{material} {keep.key}", thickness=1.3 * UM, levelling=20 * UM)
    return [coat, Print(material=material, keep=keep)]


def etch(time: float, sideways: float = 0.0, **rates: float) -> Remove:
    return Remove(
        rates={k: EtchRate(down=r * NM, sideways=sideways * r * NM) for k, r in rates.items()}, time=time
    )


def strip(material: str = "resist") -> Clear:
    return Clear(materials=frozenset({material}))


def grow(material: str, nm: float, side_wall: float = 1.0, sight: bool = False) -> Grow:
    return Grow(
        material=material,
        film=material,
        thickness=nm * NM,
        side_wall=0.0 if sight else side_wall,
        line_of_sight=sight,
    )


def flow(
    island: Region = ISLAND,
    together: bool = False,
    opened: bool = True,
    strip_island: bool = True,
    dielectric: Grow | None = None,
) -> list:
    """A bottom-gate transistor: wet etched gate, dielectric, channel, opening, contacts by lift-off."""
    actions = [grow("gate", 60, sight=True), *resist(GATE), etch(60, gate=1.0), strip()]
    actions += [dielectric or grow("dielectric", 50), grow("channel", 20, side_wall=0.5)]
    below = {"dielectric": 1.0} if together else {}
    actions += [
        *resist(island),
        etch(80, channel=1.0, **below) if together else etch(20, sideways=1.0, channel=1.0),
    ]
    if strip_island:
        actions.append(strip())
    if opened and not together:
        actions += [*resist(DIE.difference(OPENING), "other"), etch(50, dielectric=1.0), strip("other")]
    return actions


def lift_off(contacts: Region) -> list:
    return [*resist(DIE.difference(contacts), "other"), grow("contact", 110, sight=True), strip("other")]


def contacts(*more: Region) -> Region:
    return Region.joined([SOURCE, DRAIN, *more])


def made(actions: list) -> Plan:
    plan = Plan.start(DIE, ("silicon", 5e-4), [("oxide", 300 * NM)])
    for action in actions:
        plan, _ = plan.apply(action)
    return plan


def read(actions: list):
    plan = made(actions)
    nets = read_nets(plan, KINDS, LABELS)
    return nets, read_devices(plan, KINDS, nets)


@pytest.mark.analytic
def test_a_sound_flow_gives_one_transistor_with_its_width_and_length() -> None:
    nets, devices = read(flow() + lift_off(contacts()))
    (device,) = devices.working("transistor", ROLES)
    assert device.name == "T1"
    assert device.width == pytest.approx(10 * UM)
    assert device.length == pytest.approx(4 * UM)
    assert device.overlaps == {"source": pytest.approx(3 * UM), "drain": pytest.approx(3 * UM)}
    assert device.dielectric == (("dielectric", pytest.approx(50 * NM)),)
    assert not device.fringe
    assert device.gated == pytest.approx(1.0)
    assert device.place == pytest.approx((0.0, 0.0))
    assert device.towards == pytest.approx((1.0, 0.0))
    assert (nets.shorted, nets.unreachable, nets.absent, nets.parted) == ((), (), (), ())


@pytest.mark.analytic
def test_dielectric_patterned_with_the_island_shorts_the_contacts_to_the_gate() -> None:
    # The island ends inside the gate's width, so the contacts leave it over bare gate metal.
    nets, devices = read(flow(SHORT_ISLAND, together=True) + lift_off(contacts()))
    assert ("T1:D", "T1:G") in nets.shorted
    assert ("T1:G", "T1:S") in nets.shorted
    assert devices.working("transistor", ROLES) == ()


@pytest.mark.analytic
def test_an_island_whose_edge_is_the_gate_edge_is_shorted_along_the_wall() -> None:
    # No film of the contact lies on the gate: it touches the gate's bare wall beneath the island's edge.
    gate_wide = SHORT_ISLAND
    actions = [grow("gate", 60, sight=True), *resist(gate_wide), etch(60, gate=1.0), strip()]
    actions += [
        grow("dielectric", 50),
        grow("channel", 20),
        *resist(gate_wide),
        etch(150, dielectric=1.0, channel=1.0),
        strip(),
    ]
    labels = (Text("T1:S", -30_000, 0), Text("T1:D", 30_000, 0))
    nets = read_nets(made(actions + lift_off(contacts())), KINDS, labels)
    assert nets.joined("T1:S", "T1:D"), "both contacts touch the gate"


@pytest.mark.analytic
def test_a_larger_island_with_its_dielectric_is_not_shorted() -> None:
    nets, _ = read(flow(Region.box(-12_000, -9_000, 12_000, 9_000), together=True) + lift_off(contacts()))
    assert nets.shorted == ()


@pytest.mark.analytic
def test_a_blanket_dielectric_isolates() -> None:
    nets, devices = read(flow(SHORT_ISLAND) + lift_off(contacts()))
    assert nets.shorted == ()
    assert len(devices.working("transistor", ROLES)) == 1


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("film", "shorted"),
    [
        (grow("dielectric", 50), False),
        (grow("dielectric", 50, side_wall=0.4), False),
        (grow("dielectric", 50, sight=True), True),
    ],
)
def test_only_a_dielectric_that_covers_the_gate_wall_isolates_it(film: Grow, shorted: bool) -> None:
    nets, _ = read(flow(SHORT_ISLAND, dielectric=film) + lift_off(contacts()))
    assert bool(nets.shorted) == shorted


@pytest.mark.analytic
def test_an_inverted_contact_mask_gives_no_transistor() -> None:
    nets, devices = read(
        [*flow(), *resist(contacts(), "other"), grow("contact", 110, sight=True), strip("other")]
    )
    assert devices.working("transistor", ROLES) == ()
    assert {"T1:S", "T1:D"} <= set(nets.absent)


@pytest.mark.analytic
def test_a_forgotten_strip_makes_the_contacts_float_off() -> None:
    plan = made(flow(strip_island=False) + lift_off(contacts()))
    _, losses = plan.apply(strip())
    assert ("contact", "floated") in {(loss.film, loss.where) for loss in losses}
    nets, devices = read(flow(strip_island=False) + lift_off(contacts()) + [strip()])
    assert devices.working("transistor", ROLES) == ()
    assert nets.shorted == ()
    # What is left of the contacts touches only the island's outer walls: the gate covers 10 of its 24 µm.
    assert devices.transistors[0].gated == pytest.approx(10 / 24)
    assert devices.transistors[0].fringe


@pytest.mark.analytic
def test_a_gate_pad_under_dielectric_cannot_be_reached() -> None:
    nets, devices = read(flow(opened=False) + lift_off(contacts()))
    assert nets.unreachable == (("T1:G", "dielectric"),)
    assert len(devices.working("transistor", ROLES)) == 1, (
        "the transistor is there, only no probe can reach its gate"
    )


@pytest.mark.analytic
def test_contact_metal_in_the_opening_is_on_the_gate_net() -> None:
    nets, _ = read(flow() + lift_off(contacts(OPENING.grown(500))))
    gate = nets.of_label("T1:G")
    assert gate is not None
    materials = {nets.map.columns[piece].layers[place].material for piece, place in gate.nodes}
    assert materials == {"gate", "contact"}
    assert nets.unreachable == ()


@pytest.mark.analytic
@pytest.mark.parametrize(("time", "joined"), [(110, True), (160, True), (200, False)])
def test_a_fence_of_contact_metal_joins_source_and_drain_round_the_island(time: float, joined: bool) -> None:
    # Conformal contact metal, dry etched; the island is 20 nm high over a gate of 60 nm: the fence along the gate's
    # edge is 60 nm high and needs 60 nm more than the flat film.
    etched = [grow("contact", 110), *resist(contacts(), "other"), etch(time, contact=1.0), strip("other")]
    nets, _ = read(flow(opened=False) + etched)
    assert nets.joined("T1:S", "T1:D") == joined
    assert (("T1:D", "T1:S") in nets.shorted) == joined


@pytest.mark.analytic
@pytest.mark.parametrize(("thickness", "whole"), [(50, False), (90, True)])
def test_contact_metal_in_line_of_sight_must_be_thicker_than_the_step(thickness: float, whole: bool) -> None:
    metal = [
        *resist(DIE.difference(contacts()), "other"),
        grow("contact", thickness, sight=True),
        strip("other"),
    ]
    nets, devices = read(flow(SHORT_ISLAND) + metal)
    assert {climb.whole for climb in nets.climbs if climb.step > 55 * NM} == {whole}
    assert len(devices.working("transistor", ROLES)) == (1 if whole else 0)


@pytest.mark.analytic
def test_a_label_on_two_separate_nets_is_parted() -> None:
    plan = made(flow() + lift_off(contacts()))
    nets = read_nets(plan, KINDS, (Text("A:S", -30_000, 0), Text("A:S", 30_000, 0)))
    assert nets.parted == ("A:S",)


@pytest.mark.analytic
def test_taps_of_one_conductor_are_not_a_short() -> None:
    plan = made(flow() + lift_off(contacts()))
    labels = (Text("R1:I1", -38_000, 0), Text("R1:V1", -30_000, 0), Text("B2:A", -20_000, 0))
    nets = read_nets(plan, KINDS, labels)
    assert nets.shorted == ()
    assert set(nets.shared) == {("B2:A", "R1:I1"), ("B2:A", "R1:V1")}
    (track,) = read_devices(plan, KINDS, nets).of_kind("track")
    assert track.name == "R1"


@pytest.mark.property
def test_a_material_without_a_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="contact"):
        read_nets(made(flow() + lift_off(contacts())), {k: v for k, v in KINDS.items() if k != "contact"})


@pytest.mark.property
def test_nets_do_not_depend_on_where_the_die_lies() -> None:
    nets, _ = read(flow() + lift_off(contacts()))
    assert len([net for net in nets.nets if net.labels]) == 3
