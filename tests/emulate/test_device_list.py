"""The list of devices of the bundled chips: every size as drawn is that of the drawing's own table."""

from collections.abc import Callable

import pytest

from filmwright.emulate import Listed, Trace, list_devices
from filmwright.emulate.drawn_sizes import DrawnEdges
from filmwright.knowledge import book
from filmwright.masks import CHIPS, chip, device_table, drawing_of
from filmwright.numerics import Region
from filmwright.units import VACUUM_PERMITTIVITY

SWITCH = "humidity-switch"
Walked = Callable[..., Trace]


def listed(walked: Walked, name: str) -> tuple[Listed, ...]:
    return list_devices(walked(name), book(), drawing_of(chip(name)))


@pytest.mark.analytic
def test_all_transistors_of_the_switch_have_the_drawn_sizes_of_its_table(walked: Walked) -> None:
    found = {each.name: each for each in listed(walked, SWITCH)}
    drawn = [each for each in device_table(SWITCH) if each.kind == "transistor"]
    assert len(drawn) == 48
    for each in drawn:
        mine = found[each.name]
        assert mine.drawn_width == pytest.approx((each.width_um or 0) * 1e-6, abs=1e-10)
        assert mine.drawn_length == pytest.approx((each.length_um or 0) * 1e-6, abs=1e-10)
        # Contacts print 0.1 µm too large on each side, so channels are made shorter; islands lose to the etch.
        assert 0 < mine.drawn_length - (mine.device.length or 0) < 0.5e-6
        assert 0 < mine.drawn_width - (mine.device.width or 0) < 0.5e-6
        assert mine.labels["gate"] == (f"{each.name}:G",)
        assert mine.device.place == pytest.approx((each.x_um * 1e3, each.y_um * 1e3), abs=200)


@pytest.mark.analytic
def test_gaps_of_the_sets_have_their_drawn_lengths(walked: Walked) -> None:
    for each in (each for each in device_table(SWITCH) if each.kind == "transfer length"):
        gaps = [mine for mine in listed(walked, SWITCH) if mine.name == each.name]
        lengths = sorted(mine.drawn_length or 0 for mine in gaps)
        assert lengths == pytest.approx([gap * 1e-6 for gap in each.lengths_um], abs=1e-10)
        assert {round((mine.drawn_width or 0) * 1e6, 3) for mine in gaps} == {each.width_um}


@pytest.mark.analytic
def test_the_areal_capacitance_is_that_of_the_films_with_their_spreads(walked: Walked) -> None:
    one = next(each for each in listed(walked, SWITCH) if each.name == "T01")
    ((material, thickness),) = one.device.dielectric
    permittivity = book().material(material).values["permittivity"]
    assert one.capacitance is not None
    assert one.capacitance.value == pytest.approx(VACUUM_PERMITTIVITY * permittivity.value / thickness)
    state = next(s for s in walked(SWITCH).states if s.step.material == material and s.step.kind == "deposit")
    assert state.thickness
    assert state.thickness_std is not None
    relative = (permittivity.relative_std**2 + (state.thickness_std / state.thickness) ** 2) ** 0.5
    assert one.capacitance.std / one.capacitance.value == pytest.approx(relative)
    assert str(permittivity.source) in one.capacitance.rests_on[0]


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_every_device_of_a_chip_is_listed_once_with_a_name(walked: Walked, name: str) -> None:
    found = listed(walked, name)
    assert [each.device for each in found] == list(walked(name).devices.found)
    assert all(each.name for each in found)
    unnamed = [each.name for each in found if not each.device.name]
    assert len(set(unnamed)) == len(unnamed)
    drawn = {
        each.name for each in device_table(name) if each.kind in ("transistor", "capacitor", "cross", "track")
    }
    assert drawn - {"C3"} <= {each.name for each in found}


@pytest.mark.property
def test_without_a_drawing_no_drawn_size_is_claimed(walked: Walked) -> None:
    found = list_devices(walked(SWITCH), book(), None)
    assert {(each.drawn_width, each.drawn_length) for each in found} == {(None, None)}


@pytest.mark.analytic
def test_a_drawn_edge_is_the_nearest_one_within_reach() -> None:
    edges = DrawnEdges([Region.box(0, 0, 10_000, 4000), Region.box(-20_000, -20_000, 30_000, 30_000)])
    middle = (5000.0, 2000.0)
    assert edges.size(middle, (1.0, 0.0), 9400.0) == 10_000.0
    assert edges.size(middle, (0.0, 1.0), 4500.0) == 4000.0
    # 2 µm too far on each side: that edge is another one.
    assert edges.size(middle, (1.0, 0.0), 6000.0) is None
    turned = (0.8, 0.6)
    assert edges.size(middle, turned, 6600.0) == pytest.approx(4000 / 0.6)
