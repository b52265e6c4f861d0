"""Sets read off the die: transfer-length rows, gated and not, single devices of one width, crosses for the sheet resistance."""

from collections.abc import Sequence
from dataclasses import dataclass

import pytest

from filmwright.numerics import Region
from filmwright.wafer import (
    Action,
    Clear,
    Coat,
    Devices,
    EtchRate,
    Grow,
    Kind,
    Plan,
    Print,
    Remove,
    length_sets,
    read_devices,
    read_nets,
    sheet_crosses,
)

NM, UM = 1e-9, 1e-6
KINDS: dict[str, Kind] = {
    "silicon": "insulator",
    "oxide": "insulator",
    "metal": "conductor",
    "dielectric": "insulator",
    "channel": "semiconductor",
    "resist": "organic",
}
GAPS = (2.0, 4.0, 8.0, 16.0)


@dataclass(frozen=True)
class Text:
    text: str
    x_nm: float
    y_nm: float


def boxes(*sides: tuple[float, float, float, float]) -> Region:
    """Rectangles in micrometres."""
    return Region.joined([Region.box(*(1000 * side for side in each)) for each in sides])


def pattern(material: str, nm: float, keep: Region) -> list[Action]:
    """A film in line of sight, with vertical sides where it is drawn; its etch touches nothing else."""
    return [
        Grow(material=material, film=material + keep.key[:4], thickness=nm * NM, line_of_sight=True),
        Coat(material="resist", film="resist", thickness=1.3 * UM, levelling=20 * UM),
        Print(material="resist", keep=keep),
        Remove(rates={material: EtchRate(down=NM, sideways=0.0)}, time=3 * nm),
        Clear(materials=frozenset({"resist"})),
    ]


def read(actions: Sequence[Action], labels: Sequence[Text] = ()) -> Devices:
    plan = Plan.start(Region.box(-2e5, -2e5, 4e5, 4e5), ("silicon", 5e-4), [("oxide", 300 * NM)])
    for action in actions:
        plan, _ = plan.apply(action)
    return read_devices(plan, KINDS, read_nets(plan, KINDS, labels))


def row(y: float, width: float, gaps: Sequence[float]) -> tuple[list[tuple[float, ...]], tuple[float, ...]]:
    """Contacts of 20 µm with growing gaps, and the island beneath them."""
    contacts, x = [], 0.0
    for gap in (*gaps, 0.0):
        contacts.append((x, y - 5, x + 20, y + width + 5))
        x += 20 + gap
    return contacts, (5.0, y, x - 5, y + width)


@pytest.mark.analytic
@pytest.mark.parametrize("gated", [False, True])
def test_a_row_of_contacts_is_one_set_with_its_widths_and_gaps(gated: bool) -> None:
    contacts, island = row(0, 50, GAPS)
    other, second = row(100, 30, GAPS[:3])
    gate = [*pattern("metal", 50, boxes((-50, -50, 300, 300)))] if gated else []
    insulator = [Grow(material="dielectric", film="d", thickness=40 * NM)] if gated else []
    devices = read(
        [
            *gate,
            *insulator,
            *pattern("channel", 20, boxes(island, second)),
            *pattern("metal", 100, boxes(*contacts, *other)),
        ]
    )
    narrow, wide = length_sets(devices)
    assert (narrow.arranged, narrow.gated, wide.arranged, wide.gated) == ("row", gated, "row", gated)
    assert wide.width == pytest.approx(50 * UM, rel=1e-6)
    assert narrow.width == pytest.approx(30 * UM, rel=1e-6)
    assert wide.lengths == pytest.approx([gap * UM for gap in GAPS], rel=1e-6)
    assert narrow.lengths == pytest.approx([gap * UM for gap in GAPS[:3]], rel=1e-6)
    assert len(wide.members) == 4


@pytest.mark.analytic
def test_gaps_of_too_few_lengths_or_of_different_widths_are_no_set() -> None:
    contacts, island = row(0, 50, (4.0, 4.0, 8.0))
    assert (
        length_sets(read([*pattern("channel", 20, boxes(island)), *pattern("metal", 100, boxes(*contacts))]))
        == ()
    )
    # Three gaps whose island widens: each has a width of its own.
    contacts, _ = row(0, 90, (4.0, 8.0, 16.0))
    stairs = boxes((5, 0, 32, 30), (32, 0, 60, 60), (60, 0, 95, 90))
    assert (
        length_sets(read([*pattern("channel", 20, stairs), *pattern("metal", 100, boxes(*contacts))])) == ()
    )


@pytest.mark.analytic
def test_single_devices_of_one_width_and_different_lengths_are_a_set_apart() -> None:
    islands, contacts = [], []
    for k, length in enumerate((3.0, 6.0, 12.0, 24.0)):
        y = 60.0 * k
        islands.append((0.0, y, 40 + length, y + 20))
        contacts += [(-10.0, y - 5, 20.0, y + 25), (20 + length, y - 5, 60 + length, y + 25)]
    (found,) = length_sets(
        read([*pattern("channel", 20, boxes(*islands)), *pattern("metal", 100, boxes(*contacts))])
    )
    assert (found.arranged, found.gated, found.name, len(found.members)) == ("apart", False, "", 4)
    assert found.lengths == pytest.approx([length * UM for length in (3, 6, 12, 24)], rel=1e-6)


ARMS = ((-60, -10, 60, 10), (-10, -60, 10, 60))
PADS = ((40, -20, 80, 20), (-80, -20, -40, 20), (-20, 40, 20, 80), (-20, -80, 20, -40))
AT = ((60, 0), (-60, 0), (0, 60), (0, -60))


def named(*ends: str) -> list[Text]:
    return [Text(f"X:{end}", x * 1000, y * 1000) for end, (x, y) in zip(ends, AT, strict=True)]


@pytest.mark.analytic
def test_a_semiconductor_cross_with_four_taps_is_one_for_the_sheet_resistance() -> None:
    actions = [*pattern("channel", 20, boxes(*ARMS)), *pattern("metal", 100, boxes(*PADS))]
    (found,) = sheet_crosses(read(actions, named("I1", "V1", "I2", "V2")))
    assert (found.kind, found.name) == ("cross", "X")
    # What no pad covers: a cross of four arms 30 long and a middle of 20 × 20.
    assert found.area == pytest.approx((4 * 30 * 20 + 20 * 20) * UM**2, rel=1e-6)
    assert len(sheet_crosses(read(actions))) == 1  # without names too
    # Four electrodes with names of their own are something else.
    other = read(actions, named("IN", "OUT", "A", "B"))
    assert sheet_crosses(other) == ()
    assert [each.kind for each in other.found] == ["film"]


@pytest.mark.analytic
def test_a_film_between_pairs_of_fingers_is_no_cross() -> None:
    # Two combs of long fingers on each half of one film: four nets, none named.
    fingers, bars = [], [(0, -10, 95, 0), (0, 200, 95, 210), (105, -10, 200, 0), (105, 200, 200, 210)]
    for k in range(20):
        x = 10 * k + 2
        fingers.append((x, 0, x + 5, 190) if k % 2 else (x, 10, x + 5, 200))
    actions = [
        *pattern("channel", 20, boxes((-5, -15, 205, 215))),
        *pattern("metal", 100, boxes(*bars, *fingers)),
    ]
    devices = read(actions)
    (film,) = devices.found
    assert (film.kind, len(film.nets)) == ("film", 4)
    assert film.perimeter > 20 * 2 * 190 * UM  # both flanks of every finger
    assert sheet_crosses(devices) == ()


@pytest.mark.analytic
def test_a_metal_cross_is_one_and_a_line_to_and_fro_is_not() -> None:
    cross = [*pattern("metal", 100, boxes(*ARMS, *PADS))]
    (found,) = sheet_crosses(read(cross, named("I1", "V1", "I2", "V2")))
    assert found.kind == "track"
    turns = [(-60 + 8 * k, -100, -58 + 8 * k, 100) for k in range(16)]
    links = [(-60 + 8 * k, -100 if k % 2 else 98, -50 + 8 * k, -98 if k % 2 else 100) for k in range(15)]
    taps = [
        Text("R:I1", -59e3, -90e3),
        Text("R:V1", -59e3, -50e3),
        Text("R:I2", 61e3, -90e3),
        Text("R:V2", 61e3, -50e3),
    ]
    devices = read([*pattern("metal", 100, boxes(*turns, *links))], taps)
    assert len(devices.of_kind("track")) == 1
    assert sheet_crosses(devices) == ()
