"""Section pictures: valid, true to the geometry, emphasis and ghosts where they belong."""

import re
import xml.etree.ElementTree as ET
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.numerics import Region
from filmwright.outputs import Callout, SectionPicture, png_of, section_svg, small_section_svg
from filmwright.outputs.frame import Window, fitted, round_down
from filmwright.outputs.section_notes import spread_out
from filmwright.units import read

SVG = "{http://www.w3.org/2000/svg}"


def picture(stages, legend, stage, previous=None, **more):
    before = stages[previous] if previous else None
    return SectionPicture(
        section=stages[stage], previous=before, kinds=legend.kinds, symbols=legend.symbols, title="T", **more
    )


def texts(root):
    return ["".join(node.itertext()) for node in root.iter(f"{SVG}text")]


def points(node):
    return np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", node.get("d")), dtype=float)


def main_film(root, film):
    """The path of a film in the main view: the first one that is drawn."""
    return next(node for node in root.iter(f"{SVG}path") if node.get("data-film") == film)


@pytest.mark.analytic
def test_the_scale_bars_and_the_stated_exaggeration_equal_the_drawn_geometry(stages, legend):
    root = ET.fromstring(section_svg(picture(stages, legend, "gate", cut_length_nm=64_000)))
    bars = {node.get("data-bar"): node for node in root.iter() if node.get("data-bar")}
    across = float(bars["across"].get("data-px")) / float(bars["across"].get("data-nm"))
    up = float(bars["up"].get("data-px")) / float(bars["up"].get("data-nm"))
    gate = points(main_film(root, "titanium (step 2)"))
    assert np.ptp(gate[:, 0]) == pytest.approx(20_120 * across, abs=0.05)
    assert np.ptp(gate[:, 1]) == pytest.approx(60 * up, abs=0.05)
    stated = float(re.search(r"exaggerated ([\d.]+) ×", " ".join(texts(root)))[1])
    assert up / across == pytest.approx(stated, rel=1e-3)


@pytest.mark.analytic
def test_the_words_of_a_bar_say_its_length(stages, legend):
    root = ET.fromstring(section_svg(picture(stages, legend, "gate")))
    for bar in (node for node in root.iter() if node.get("data-bar")):
        said = read("".join(bar.itertext()), "length").value
        assert said == pytest.approx(float(bar.get("data-nm")) * 1e-9)


@pytest.mark.analytic
def test_the_legend_gives_each_film_its_thickness(stages, legend):
    words = texts(ET.fromstring(section_svg(picture(stages, legend, "contacts"))))
    for thickness in ("90 nm", "10 nm", "25 nm", "40 nm", "60 nm", "300 nm"):
        assert thickness in words
    assert words.index("90 nm") < words.index("300 nm")


@pytest.mark.analytic
def test_a_film_of_one_nanometre_can_be_seen(stages, legend):
    top = Region.box(0, 300, 64_000, 301)
    film = SimpleNamespace(material="chromium", film="chromium (step 2)", shape=top)
    section = SimpleNamespace(bodies=(*stages["start"].bodies, film))
    root = ET.fromstring(
        section_svg(SectionPicture(section=section, kinds={**legend.kinds, "chromium": "conductor"}))
    )
    node = main_film(root, "chromium (step 2)")
    assert float(node.get("stroke-width")) >= 1.5
    assert node.get("stroke") not in (None, "none")
    assert "1 nm" in texts(root)


@pytest.mark.analytic
def test_what_is_new_has_a_heavy_outline_and_what_went_a_dashed_one(stages, legend):
    root = ET.fromstring(section_svg(picture(stages, legend, "dielectric", "gate")))
    heavy = [node for node in root.iter(f"{SVG}path") if node.get("data-new")]
    assert len(heavy) == 1
    assert float(heavy[0].get("stroke-width")) >= 2
    assert not [node for node in root.iter() if node.get("data-ghost")]
    root = ET.fromstring(section_svg(picture(stages, legend, "gate", "blanket")))
    (ghost,) = [node for node in root.iter() if node.get("data-ghost")]
    assert ghost.get("data-ghost") == "titanium (step 2)"
    assert ghost.get("stroke-dasharray")


@pytest.mark.analytic
def test_the_strip_and_the_details_are_in_scale(stages, legend):
    note = Callout(x=22_000, z=380, text="thin over the edge: 34.6 nm", detail=500)
    root = ET.fromstring(section_svg(picture(stages, legend, "gate", callouts=[note])))
    detail = next(node for node in root.iter() if node.get("data-view") == "detail")
    bar = next(node for node in detail.iter() if node.get("data-bar") == "across")
    scale = float(bar.get("data-px")) / float(bar.get("data-nm"))
    gate = points(next(node for node in detail.iter() if node.get("data-film") == "titanium (step 2)"))
    assert np.ptp(gate[:, 1]) == pytest.approx(60 * scale, abs=0.05)
    slope = gate[np.argmin(gate[:, 0])] - gate[np.argmin(gate[:, 1] + 1e-3 * gate[:, 0])]
    assert abs(slope[0]) == pytest.approx(abs(slope[1]), abs=0.1), "a 45° flank is drawn at 45°"
    assert "thin over the edge: 34.6 nm" in texts(root)


@pytest.mark.property
def test_names_cannot_inject_mark_up_and_ids_do_not_clash(stages, legend):
    evil = 'x"/><script>alert(1)</script>'
    text = section_svg(picture(stages, legend, "contacts", "island", cut=evil, prefix="q"))
    root = ET.fromstring(text)
    assert not list(root.iter(f"{SVG}script"))
    ids = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(ids) == len(set(ids))
    assert all(name.startswith("q") for name in ids)
    assert set(re.findall(r"url\(#([^)]*)\)", text)) <= set(ids)


@pytest.mark.property
def test_a_picture_needs_nothing_from_outside(stages, legend):
    text = section_svg(picture(stages, legend, "contacts")).replace("http://www.w3.org/2000/svg", "")
    assert "http" not in text
    assert "@import" not in text
    assert "<image" not in text


@pytest.mark.property
def test_an_example_says_that_it_is_invented(stages, legend):
    assert "invented" in section_svg(picture(stages, legend, "gate", invented=True))
    assert "invented" not in section_svg(picture(stages, legend, "gate"))


@pytest.mark.analytic
def test_the_small_picture_names_every_film_once(stages, legend):
    root = ET.fromstring(
        small_section_svg(
            stages["contacts"], previous=stages["island"], kinds=legend.kinds, symbols=legend.symbols
        )
    )
    words = texts(root)
    assert words.count("Ti") == 2
    for sign in ("Au", "IGZO", "Al₂O₃", "SiO₂"):
        assert words.count(sign) == 1
    bold = {"".join(n.itertext()) for n in root.iter(f"{SVG}text") if n.get("font-weight") == "700"}
    assert {"Au", "Ti"} <= bold
    assert "IGZO" not in bold


@pytest.mark.property
@given(st.floats(1e-6, 1e9))
def test_rounding_down_stays_below_and_near(value):
    assert 0.75 * value < round_down(value) <= value * (1 + 1e-9)


@pytest.mark.property
@given(st.floats(10, 1e6), st.floats(10, 1e6))
def test_a_frame_fits_and_never_squeezes_the_height(wide, high):
    frame = fitted(Window(x0=0, x1=wide, z0=0, z1=high), 0, 0, 600, 280)
    assert frame.width <= 600.01
    assert frame.height <= 280.01
    assert frame.exaggeration >= 1 - 1e-9


@pytest.mark.property
@given(st.lists(st.floats(0, 500), min_size=1, max_size=12))
def test_labels_keep_their_order_and_gap(wanted):
    placed = spread_out(wanted, 20, 0, 500)
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    gaps = np.diff([placed[k] for k in order])
    assert (gaps >= 20 - 1e-6).all()
    assert min(placed) >= -1e-6
    assert max(placed) <= 500 + 1e-6


@pytest.mark.analytic
def test_labels_that_do_not_crowd_stay_where_they_are():
    assert spread_out([10, 100, 200], 20, 0, 300) == pytest.approx([10, 100, 200])
    assert spread_out([100, 100], 20, 0, 300) == pytest.approx([90, 110])


@pytest.mark.whole
def test_a_png_has_the_size_of_its_picture(stages, legend):
    data = png_of(section_svg(picture(stages, legend, "gate")), scale=1.0)
    assert data.startswith(b"\x89PNG")
    assert abs(int.from_bytes(data[16:20], "big") - 840) <= 1


@pytest.mark.analytic
def test_a_resist_that_stays_is_cropped_so_that_the_etched_film_can_be_read(stages, legend):
    resist = SimpleNamespace(
        material="positive resist", film="resist", shape=Region.box(22_000, 360, 42_000, 1_660)
    )
    before, after = (SimpleNamespace(bodies=(*stages[name].bodies, resist)) for name in ("blanket", "gate"))
    made = SectionPicture(section=after, previous=before, kinds=legend.kinds, symbols=legend.symbols)
    root = ET.fromstring(section_svg(made))
    up = next(
        float(n.get("data-px")) / float(n.get("data-nm")) for n in root.iter() if n.get("data-bar") == "up"
    )
    assert up * 60 > 15, "60 nm of titanium are more than 15 pixels high"
    assert "1.3 µm" in texts(root)


@pytest.mark.analytic
def test_a_stack_without_edges_is_not_stretched_out_of_sight(stages, legend):
    root = ET.fromstring(section_svg(picture(stages, legend, "blanket", "start")))
    assert float(re.search(r"exaggerated ([\d.]+) ×", " ".join(texts(root)))[1]) <= 60
