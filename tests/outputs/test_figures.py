"""Plots: valid, the same again, units on the axes, nothing left out."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from filmwright.outputs import Curve, Place, Share, output_svg, share_svg, transfer_svg, wafer_map_svg
from filmwright.units import to_si

GATE = np.linspace(-2, 6, 81)
CURRENT = 1e-12 + 1e-6 * np.clip(GATE - 1, 0, None)


def told(svg):
    return ET.fromstring(svg).find("{http://www.w3.org/2000/svg}desc").text


def every(prefix="x"):
    curves = [Curve(voltage=GATE, current=CURRENT, label="T-7 <up>", gate_current=np.full(81, 1e-12))]
    places = [Place(x=0.01 * k, y=0.0, value=1e-3 * k if k else None) for k in range(4)]
    shares = [Share(cause="dielectric <38 nm>", amount=0.12, low=0.05, high=0.2)]
    return [
        transfer_svg(curves, title="a < b", prefix=prefix),
        output_svg(curves, title="a < b", prefix=prefix),
        wafer_map_svg(places, diameter=0.1, dimension="mobility", title="mobility", prefix=prefix),
        share_svg(1.0, shares, 1.35, unit="V", name="threshold", prefix=prefix),
    ]


@pytest.mark.property
def test_plots_are_valid_the_same_again_and_need_no_font_or_address():
    for one, other in zip(every(), every(), strict=True):
        ET.fromstring(one)
        assert one == other
        assert "<text" not in one
        assert "<style" not in one
        assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", one)
        assert "currentColor" in one


@pytest.mark.property
def test_two_plots_on_one_page_do_not_share_an_id():
    for one, other in zip(every("a"), every("b"), strict=True):
        ids = [set(re.findall(r'\bid="([^"]+)"', text)) for text in (one, other)]
        assert not ids[0] & ids[1]
        for text, own in zip((one, other), ids, strict=True):
            assert set(re.findall(r'(?:href="|url\()#([^")]+)', text)) <= own


@pytest.mark.analytic
def test_axes_carry_the_unit_that_reads_best():
    curves = [Curve(voltage=GATE, current=CURRENT, label="T-7")]
    assert told(transfer_svg(curves)).startswith("drain current [µA] against gate voltage [V]: T-7")
    weak = [Curve(voltage=GATE, current=CURRENT * 1e-3, label="T-7")]
    assert "drain current [nA]" in told(transfer_svg(weak))
    assert "drain voltage [V]" in told(output_svg(curves))


@pytest.mark.analytic
def test_a_device_without_a_value_is_counted_not_left_out():
    places = [
        Place(x=0, y=0, value=to_si(10, "cm^2/(V*s)")),
        Place(x=0.01, y=0, value=None),
        Place(x=0.02, y=0, value=np.nan),
    ]
    svg = wafer_map_svg(places, diameter=0.1, dimension="mobility", title="mobility")
    assert "mobility [cm²/(V·s)]" in told(svg)
    assert ET.fromstring(svg) is not None
    wafer_map_svg([Place(x=0, y=0, value=None)], diameter=0.1, dimension="voltage", title="t")


@pytest.mark.analytic
def test_zero_current_does_not_break_the_logarithm():
    ET.fromstring(transfer_svg([Curve(voltage=GATE, current=np.zeros(81))]))
