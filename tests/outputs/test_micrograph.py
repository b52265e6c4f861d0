"""The synthetic micrograph: every place in its colour, what is not known hatched, light and data stated."""

import re
from xml.etree import ElementTree

import pytest

from filmwright.emulate import looks_of
from filmwright.numerics import Region
from filmwright.outputs import micrograph
from filmwright.wafer import Coat, EtchRate, Plan, Print, Remove

NM = 1e-9
SVG = "{http://www.w3.org/2000/svg}"


def half_etched(material: str = "silicon dioxide") -> Plan:
    """A die of 100 × 50 µm whose left half has lost its film."""
    plan = Plan.start(Region.box(0, 0, 100e3, 50e3), ("silicon", 525e-6), [(material, 120 * NM)])
    for action in (
        Coat(material="positive novolak resist", film="r", thickness=1e-6, levelling=20e-6),
        Print(material="positive novolak resist", keep=Region.box(50e3, 0, 100e3, 50e3)),
        Remove(rates={material: EtchRate(down=120 * NM, sideways=0.0)}, time=1.5),
    ):
        plan, _ = plan.apply(action)
    return plan


@pytest.mark.analytic
def test_each_place_is_filled_with_its_colour_at_its_place() -> None:
    plan = half_etched()
    (look,) = looks_of([plan], aperture=0.3)
    root = ElementTree.fromstring(micrograph(look, size=(324.0, 340.0)))
    paths = {p.get("fill"): p for p in root.iter(f"{SVG}path") if p.get("data-colour")}
    assert set(paths) == {seen.hex for seen in look.seen}
    # 300 px across for 100 µm, from x = 12: the bare half ends in the middle.
    bare = next(seen for seen in look.seen if seen.column.top.material == "silicon")
    numbers = [float(word) for word in re.findall(r"-?[\d.]+", paths[bare.hex].get("d") or "")]
    assert (min(numbers[::2]), max(numbers[::2])) == (12.0, 162.0)
    bar = next(g for g in root.iter(f"{SVG}g") if g.get("data-bar"))
    assert float(bar.get("data-px") or 0) / float(bar.get("data-nm") or 1) == pytest.approx(300 / 100e3)


@pytest.mark.property
def test_light_aperture_and_data_sets_stand_on_it() -> None:
    (look,) = looks_of([half_etched()], light="halogen", aperture=0.3)
    text = " ".join(ElementTree.fromstring(micrograph(look)).itertext())
    assert "halogen" in text
    assert "numerical aperture 0.3" in text
    assert look.data
    for line in look.data:
        assert all(word in text for word in line.split())


@pytest.mark.property
def test_what_is_not_known_is_hatched_and_said() -> None:
    (look,) = looks_of([half_etched("copper oxide")])
    text = micrograph(look, prefix="x-")
    root = ElementTree.fromstring(text)
    assert {seen.hex for seen in look.seen if seen.unknown} == {""}
    assert [p.get("fill") for p in root.iter(f"{SVG}path") if p.get("data-colour") == "not known"]
    assert "copper oxide" in " ".join(root.itertext())


@pytest.mark.property
def test_a_window_shows_only_what_lies_in_it() -> None:
    (look,) = looks_of([half_etched()])
    right = ElementTree.fromstring(micrograph(look, window=(60e3, 0, 100e3, 40e3)))
    assert len([p for p in right.iter(f"{SVG}path") if p.get("data-colour")]) == 1
