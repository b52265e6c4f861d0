"""What extract says beside the parameters of transfer curves: output curves, the checklist, contacts taken off."""

from pathlib import Path

import numpy as np
import pytest

from filmwright.device import TransistorDesign, drain_current
from filmwright.units import to_si

SIZES = ("--width", "100 um", "--length", "10 um", "--capacitance", "62 nF/cm^2")
DESIGN = TransistorDesign(
    width=to_si(100, "um"),
    length=to_si(10, "um"),
    areal_capacitance=to_si(62, "nF/cm^2"),
    mobility=to_si(10, "cm^2/(V*s)"),
    threshold_voltage=2.0,
    ideality=3.0,
    contact_resistance=0.2,
    off_current=1e-12,
)
HEAD = "Delay: 0.05 s\nLight: off\nVG (V),VD (V),ID (A),IG (A)\n"


@pytest.fixture
def transfer(tmp_path: Path) -> Path:
    gate = np.linspace(-5, 20, 126)
    rows = (f"{v:g},0.1,{i:.9e},1e-14" for v, i in zip(gate, drain_current(DESIGN, gate, 0.1), strict=True))
    (tmp_path / "T07.csv").write_text(HEAD + "\n".join(rows) + "\n", "utf-8")
    return tmp_path


@pytest.mark.whole
def test_the_checklist_fills_itself_and_names_what_is_missing(filmwright, transfer: Path):
    said = filmwright("extract", "T07.csv", *SIZES, "--checklist")
    assert said.code == 0
    assert "delay 0.05 s" in said.out
    assert "missing" in said.out
    (told,) = filmwright("extract", "T07.csv", *SIZES, "--checklist", "--json").fields["checklists"]
    rows = {row["what"]: row for row in told["rows"]}
    assert rows["light, and the wait in the dark"]["value"] == "light off"
    assert rows["temperature"]["missing"]
    assert "swing" in rows["temperature"]["lost"]
    assert filmwright("extract", "T07.csv", *SIZES, "--json").fields["checklists"] == []


@pytest.mark.whole
def test_a_contact_resistance_that_is_given_is_taken_off(filmwright, transfer: Path):
    words = ("extract", "T07.csv", *SIZES, "--contact-resistance", "20 ohm*cm", "--json")
    (curve,) = filmwright(*words).fields["curves"]
    apparent, corrected = (
        curve["parameters"][name]["value"] for name in ("effective_mobility", "contact_corrected_mobility")
    )
    assert apparent < 8.0
    assert corrected == pytest.approx(10.0, rel=0.1)
    refused = filmwright("extract", "T07.csv", *SIZES, "--contact-resistance", "20 bananas")
    assert refused.code == 2


@pytest.mark.whole
def test_output_curves_are_told_with_what_is_wrong_with_them(filmwright, tmp_path: Path):
    drain = np.linspace(0, 20, 81)
    rows = [
        f"{gate:g},{v:g},{i:.9e}"
        for gate in (4.0, 8.0, 12.0)
        for v, i in zip(drain, drain_current(DESIGN, gate, drain) * (1 + 0.01 * drain), strict=True)
    ]
    (tmp_path / "T08.csv").write_text("VG (V),VD (V),ID (A)\n" + "\n".join(rows) + "\n", "utf-8")
    said = filmwright("extract", "T08.csv", "--json")
    (family,) = said.fields["families"]
    told = family["curves"][0]["parameters"]["channel_length_modulation"]
    assert told["value"] == pytest.approx(0.01, rel=0.1)
    assert told["unit"] == "1/V"
    shown = filmwright("extract", "T08.csv").out
    assert "output curves, forward, n-type" in shown
    assert "early voltage" in shown
