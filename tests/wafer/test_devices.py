"""Devices read off the die: sizes known from the drawing, and the whole of a chip."""

import numpy as np
import pytest

from filmwright.masks import chip, device_table, drawing_of, resist_left
from filmwright.numerics import Region
from filmwright.wafer import Clear, Coat, EtchRate, Grow, Plan, Print, Remove, read_devices, read_nets
from filmwright.wafer.devices_gaps import channel_size

NM, UM = 1e-9, 1e-6
ROLES = {"gate": "G", "source": "S", "drain": "D"}
KINDS = {
    "silicon": "semiconductor",
    "silicon dioxide": "insulator",
    "titanium": "conductor",
    "gold": "conductor",
    "chromium": "conductor",
    "molybdenum": "conductor",
    "platinum": "conductor",
    "aluminium oxide": "insulator",
    "silicon nitride": "insulator",
    "zinc oxide": "insulator",
    "indium gallium zinc oxide": "semiconductor",
    "resist": "organic",
    "lift-off resist": "organic",
}
GATE, CHANNEL, OPENING, CONTACT = (1, 0), (2, 0), (3, 0), (4, 0)


def lines(*pieces: tuple[float, float, float, float]) -> np.ndarray:
    return np.array(pieces, dtype=float)


@pytest.mark.analytic
def test_a_rectangle_has_its_width_and_length() -> None:
    assert channel_size(lines((0, 0, 0, 500)), lines((40, 0, 40, 500)), 40 * 500) == (500.0, 40.0, False)


@pytest.mark.analytic
def test_a_channel_wider_than_its_contacts_is_marked() -> None:
    # Contacts 500 wide on a semiconductor 700 wide; beside the contacts it reaches on for 100.
    width, length, fringe = channel_size(
        lines((0, 0, 0, 500), (0, 0, -100, 0)), lines((40, 0, 40, 500), (40, 500, 140, 500)), 45_000
    )
    assert fringe
    assert length == 40.0
    assert width == pytest.approx(500.0, rel=1e-3)


@pytest.mark.analytic
def test_a_ring_has_its_mean_circumference() -> None:
    turn = np.linspace(0, 2 * np.pi, 721)
    inner, outer = (
        np.hstack(
            [
                np.column_stack([r * np.cos(turn[:-1]), r * np.sin(turn[:-1])]),
                np.column_stack([r * np.cos(turn[1:]), r * np.sin(turn[1:])]),
            ]
        )
        for r in (1000.0, 1050.0)
    )
    width, length, fringe = channel_size(inner, outer, np.pi * (1050**2 - 1000**2))
    assert width == pytest.approx(np.pi * 2050, rel=1e-4)
    assert length == pytest.approx(50.0, rel=1e-3)
    assert not fringe


def sight(material: str, film: str, nm: float) -> Grow:
    return Grow(material=material, film=film, thickness=nm * NM, line_of_sight=True, side_wall=0.0)


def printed(keep: Region, film: str, material: str = "resist", **how: float) -> list:
    return [
        Coat(material=material, film=film, thickness=1.3 * UM, levelling=20 * UM),
        Print(material=material, keep=keep, **how),
    ]


def wet(material: str, nm: float, over: float = 0.25, sideways: float = 1.0) -> Remove:
    return Remove(rates={material: EtchRate(down=NM, sideways=sideways * NM)}, time=nm * (1 + over))


STRIP = Clear(materials=frozenset({"resist", "lift-off resist"}))


def switch_actions(
    drawing, contact_tone: str = "clear", gate_bias: float = 0.0, opening: bool = True
) -> list:
    def keep(layer, drawn):
        return resist_left(drawing.region(layer), drawing.die, drawn, "positive")

    actions = [
        sight("titanium", "gate", 60),
        *printed(keep(GATE, "opaque"), "r1", bias=gate_bias),
        wet("titanium", 60),
        STRIP,
    ]
    actions += [Grow(material="aluminium oxide", film="dielectric", thickness=50 * NM)]
    actions += [Grow(material="indium gallium zinc oxide", film="channel", thickness=20 * NM, side_wall=0.4)]
    actions += [*printed(keep(CHANNEL, "opaque"), "r2"), wet("indium gallium zinc oxide", 20), STRIP]
    if opening:
        actions += [*printed(keep(OPENING, "clear"), "r3"), wet("aluminium oxide", 50, 0.2), STRIP]
    lift = printed(keep(CONTACT, contact_tone), "r4", "lift-off resist", bias=-0.5 * UM, undercut=0.5 * UM)
    return [*actions, *lift, sight("titanium", "adhesion", 10), sight("gold", "contact", 100), STRIP]


def walked(drawing, actions: list, films=(("silicon dioxide", 300 * NM),)):
    plan = Plan.start(drawing.die, ("silicon", 525 * UM), films)
    for action in actions:
        plan, _ = plan.apply(action)
    nets = read_nets(plan, KINDS, drawing.labels)
    return plan, nets, read_devices(plan, KINDS, nets)


@pytest.fixture(scope="module")
def switch():
    drawing = drawing_of(chip("humidity-switch"))
    plan, nets, devices = walked(drawing, switch_actions(drawing))
    return drawing, plan, nets, devices


@pytest.mark.analytic
def test_the_humidity_switch_has_48_transistors_of_the_drawn_sizes(switch) -> None:
    *_, devices = switch
    found = {device.name: device for device in devices.working("transistor", ROLES)}
    drawn = [device for device in device_table("humidity-switch") if device.kind == "transistor"]
    assert len(found) == len(drawn) == 48
    # The wet channel etch takes 20 nm · sqrt(1.25² − 1) = 15 nm from each side of the island; the contacts set L.
    narrowed = 2 * 20 * NM * (1.25**2 - 1) ** 0.5
    # The gate is narrower than drawn by 60 nm · sqrt(1.25² − 1) = 45 nm on each side.
    overlap = 5 * UM - 60 * NM * (1.25**2 - 1) ** 0.5
    for device in drawn:
        seen = found[device.name]
        assert seen.width == pytest.approx(device.width_um * UM - narrowed, abs=0.01 * NM)
        assert seen.length == pytest.approx(device.length_um * UM, abs=0.01 * NM)
        assert seen.overlaps == {
            "source": pytest.approx(overlap, rel=1e-4),
            "drain": pytest.approx(overlap, rel=1e-4),
        }
        assert seen.place == pytest.approx((device.x_um * 1000, device.y_um * 1000), abs=1.0)
        assert not seen.fringe
        assert seen.dielectric == (("aluminium oxide", pytest.approx(50 * NM)),)
        assert seen.semiconductor == (("indium gallium zinc oxide", pytest.approx(20 * NM)),)


@pytest.mark.analytic
def test_the_humidity_switch_has_no_short_and_every_pad_is_reached(switch) -> None:
    _, _, nets, _ = switch
    assert (nets.shorted, nets.shared, nets.parted, nets.unreachable, nets.absent) == ((), (), (), (), ())


@pytest.mark.analytic
def test_transfer_length_sets_are_gated_gaps_of_the_drawn_lengths(switch) -> None:
    *_, devices = switch
    for drawn in (device for device in device_table("humidity-switch") if device.kind == "transfer length"):
        gaps = [device for device in devices.transistors if device.name == drawn.name]
        ends = {(d.terminals["source"], d.terminals["drain"]): d.length / UM for d in gaps}
        assert ends == {
            (str(k), str(k + 1)): pytest.approx(length) for k, length in enumerate(drawn.lengths_um, start=1)
        }
        assert {d.terminals["gate"] for d in gaps} == {"G"}


@pytest.mark.analytic
def test_capacitors_have_the_area_of_their_upper_plate(switch) -> None:
    *_, devices = switch
    for drawn in (device for device in device_table("humidity-switch") if device.kind == "capacitor"):
        (device,) = [each for each in devices.capacitors if each.name == drawn.name]
        assert device.terminals == {"bottom": "BOTTOM", "top": "TOP"}
        assert device.area == pytest.approx((drawn.width_um * UM) ** 2)
        assert device.perimeter == pytest.approx(4 * drawn.width_um * UM)


@pytest.mark.analytic
def test_crosses_are_read_off(switch) -> None:
    *_, devices = switch
    (film,) = devices.of_kind("cross")
    assert (film.name, sorted(film.terminals.values())) == ("X1", ["I1", "I2", "V1", "V2"])
    (metal,) = devices.of_kind("track")
    assert metal.name == "X2"


@pytest.mark.analytic
def test_an_inverted_contact_plate_leaves_no_transistor(switch) -> None:
    drawing = switch[0]
    _, _, devices = walked(drawing, switch_actions(drawing, contact_tone="opaque"))
    assert devices.working("transistor", ROLES) == ()


@pytest.mark.analytic
def test_gate_pads_left_under_dielectric_are_unreachable(switch) -> None:
    drawing = switch[0]
    _, nets, devices = walked(drawing, switch_actions(drawing, opening=False))
    # A pad of contact metal lies over each gate pad: a probe lands on metal that leads nowhere.
    ends = [label.text for label in drawing.labels if label.text[0] in "TL" and label.text.endswith(":G")]
    assert len(ends) == 48 + 3
    assert nets.unreachable == tuple((text, "aluminium oxide") for text in sorted(ends))
    assert devices.working("transistor", ROLES) == ()
    assert len([d for d in devices.transistors if d.terminals["gate"] == ""]) == 48 + 15


@pytest.mark.analytic
def test_a_print_bias_of_the_gate_moves_the_overlap(switch) -> None:
    drawing = switch[0]
    _, _, devices = walked(drawing, switch_actions(drawing, gate_bias=-0.4 * UM))
    device = devices.named("T48")
    assert device.overlaps["source"] == pytest.approx(5 * UM - 0.4 * UM - 60 * NM * 0.75, rel=1e-4)


@pytest.mark.analytic
def test_the_platinum_thermometer_has_its_meanders_and_capacitors() -> None:
    drawing = drawing_of(chip("platinum-thermometer"))

    def lift(layer, film, metals):
        keep = resist_left(drawing.region(layer), drawing.die, "clear", "positive")
        return [*printed(keep, film, "lift-off resist", bias=-0.5 * UM, undercut=0.5 * UM), *metals, STRIP]

    keep = resist_left(drawing.region((2, 0)), drawing.die, "clear", "positive")
    actions = lift((1, 0), "r1", [sight("titanium", "adhesion 1", 5), sight("platinum", "platinum", 100)])
    actions += [Grow(material="silicon nitride", film="nitride", thickness=120 * NM, side_wall=0.6)]
    actions += [*printed(keep, "r2"), wet("silicon nitride", 120, sideways=0.0), STRIP]
    actions += lift((3, 0), "r3", [sight("titanium", "adhesion 3", 10), sight("gold", "top", 200)])
    _plan, nets, devices = walked(drawing, actions)
    assert nets.shorted == nets.unreachable == nets.absent == ()
    lines = {d.name: d for d in devices.of_kind("track")}
    assert set(lines) == {"R1", "R2", "R3"}
    for drawn in (each for each in device_table("platinum-thermometer") if each.kind == "track"):
        # Bias and undercut of the resist cancel each other: the line is as wide as drawn.
        assert lines[drawn.name].line == pytest.approx((drawn.width_um * UM, drawn.length_um * UM), rel=1e-4)
        assert lines[drawn.name].squares == pytest.approx(drawn.length_um / drawn.width_um, rel=2e-4)
    areas = {d.name: d.area / UM**2 for d in devices.capacitors if d.name}
    assert areas == {"C1": pytest.approx(100**2), "C2": pytest.approx(200**2), "C3": pytest.approx(400**2)}
    assert devices.transistors == ()


@pytest.mark.analytic
def test_the_delay_line_has_its_transducers_apart_and_its_capacitors() -> None:
    drawing = drawing_of(chip("delay-line"))

    def keep(layer, drawn):
        return resist_left(drawing.region(layer), drawing.die, drawn, "positive")

    actions = [
        sight("chromium", "ground", 100),
        *printed(keep((1, 0), "opaque"), "r1"),
        wet("chromium", 100),
        STRIP,
    ]
    actions += [Grow(material="silicon nitride", film="nitride", thickness=200 * NM, side_wall=0.6)]
    actions += [Grow(material="zinc oxide", film="piezo", thickness=1.5 * UM, side_wall=0.4)]
    actions += [*printed(keep((2, 0), "opaque"), "r2"), wet("zinc oxide", 1500), STRIP]
    actions += [*printed(keep((3, 0), "clear"), "r3"), wet("silicon nitride", 200, sideways=0.0), STRIP]
    actions += [Grow(material="molybdenum", film="fingers", thickness=150 * NM, side_wall=0.3)]
    over = wet("molybdenum", 150, 20.0, sideways=0.0)
    short, long = (
        walked(drawing, [*actions, *printed(keep((4, 0), "opaque"), "r4"), etch, STRIP])
        for etch in (wet("molybdenum", 150, sideways=0.0), over)
    )
    assert long[1].shorted == long[1].unreachable == long[1].absent == ()
    capacitors = {d.name: d for d in long[2].capacitors if d.name.startswith("C")}
    assert set(capacitors) == {"C1", "C2", "C3"}
    assert [material for material, _ in capacitors["C3"].dielectric] == ["silicon nitride", "zinc oxide"]
    # A plain vertical etch leaves a fence of finger metal round the thick piezo film, which joins all its transducers.
    assert ("D1:IN", "D1:IN RETURN") in short[1].shorted
