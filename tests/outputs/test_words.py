"""Durations, bands and the methods paragraph."""

import pytest

from filmwright.outputs import MethodsStep, methods_paragraph
from filmwright.outputs.words import band_text, difference_text, duration_text, value_text
from filmwright.process import Setting
from filmwright.sources import Source
from filmwright.units import to_si

SOURCE = Source(citation="lab", kind="lab")


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (8.3, "8.3 s"),
        (60, "1 min"),
        (95, "1 min 35 s"),
        (600, "10 min"),
        (4800, "1 h 20 min"),
        (7200, "2 h"),
        (601, "11 min"),
    ],
)
def test_durations(seconds, words):
    assert duration_text(seconds) == words


@pytest.mark.analytic
def test_a_band_is_two_standard_deviations_and_knows_no_offset():
    warm = Setting(name="temperature", unit="°C", source=SOURCE, value=to_si(110, "degC"), spread=1.0)
    assert (value_text(warm), band_text(warm)) == ("110 °C", "± 2 °C")
    assert difference_text(to_si(3, "nm"), "nm") == "3 nm"
    words = Setting(name="time", unit="s", source=SOURCE, text="to the end point")
    assert (value_text(words), band_text(words)) == ("to the end point", "")


@pytest.mark.analytic
def test_the_methods_paragraph_says_what_was_run():
    text = methods_paragraph(
        "silicon wafers",
        [
            MethodsStep(
                kind="deposit",
                material="titanium",
                method="evaporation",
                thickness=to_si(57, "nm"),
                thickness_measured=True,
            ),
            MethodsStep(kind="etch", material="titanium", medium="a dilute bath", time=95, over_etch=0.25),
            MethodsStep(kind="anneal", temperature=to_si(300, "degC"), time=3600, logged=False),
            MethodsStep(kind="inspect"),
        ],
        invented=True,
    )
    assert text == (
        "The devices were made on silicon wafers. Titanium (57 nm, measured) was deposited by evaporation. "
        "Titanium was etched in a dilute bath for 1 min 35 s, "
        "over-etched by 25 % of the time to the end point. "
        "They were annealed at 300 °C for 1 h. "
        "For 1 of 4 steps nothing was logged; their planned settings are given. The run is invented."
    )
