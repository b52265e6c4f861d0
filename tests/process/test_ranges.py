"""A law is silent just inside the range in which it was tried, notes just outside, and refuses what cannot be."""

import pytest

from filmwright.process import (
    Arrhenius,
    etch_time,
    monitor_reading,
    oxide_thickness,
    sauerbrey_thickness,
    source_temperature,
    spin_speed,
    stoney_radius,
    z_match_thickness,
)
from filmwright.units import to_si

NM, UM, EV, RPM = to_si(1, "nm"), to_si(1, "um"), to_si(1, "eV"), to_si(1, "rpm")
BARE = to_si(6, "MHz")
PARABOLIC = Arrhenius(prefactor=to_si(386, "um^2/h"), energy=0.78 * EV)
LINEAR = Arrhenius(prefactor=to_si(9.702e7, "um/h"), energy=2.05 * EV)
FILM = (7200.0, 1661.0, 2649.0)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("notes_of", "inside", "outside"),
    [
        (lambda tooling: monitor_reading(60 * NM, tooling)[2], 0.41, 0.39),
        (lambda tooling: monitor_reading(60 * NM, tooling)[2], 1.99, 2.01),
        (lambda shift: sauerbrey_thickness(BARE, BARE * (1 - shift), *FILM).notes, 0.019, 0.021),
        (lambda shift: z_match_thickness(BARE, BARE * (1 - shift), 7200.0, 0.305, 1661.0, 2649.0).notes, 0.39, 0.41),
        (lambda std: etch_time(60 * NM, NM, rate_relative_std=std).notes, 0.14, 0.16),
        (lambda celsius: oxide_thickness(3600.0, to_si(celsius, "°C"), PARABOLIC, LINEAR).notes, 701.0, 699.0),
        (lambda celsius: oxide_thickness(3600.0, to_si(celsius, "°C"), PARABOLIC, LINEAR).notes, 1199.0, 1201.0),
        (lambda film: stoney_radius(1e9, film * UM, 525 * UM, 180.5e9).notes, 5.2, 5.3),
        (lambda d: spin_speed(d * UM, UM, 4000 * RPM, 0.5, 2000 * RPM, 6000 * RPM).notes, 1.41, 1.42),
        (lambda d: spin_speed(d * UM, UM, 4000 * RPM, 0.5, 2000 * RPM, 6000 * RPM).notes, 0.82, 0.81),
    ],
)  # fmt: skip
def test_notes_begin_at_the_end_of_the_tried_range(notes_of, inside: float, outside: float):
    assert notes_of(inside) == ()
    assert len(notes_of(outside)) == 1


@pytest.mark.analytic
def test_a_crystal_cannot_lose_half_of_its_frequency_nor_gain():
    assert z_match_thickness(BARE, 0.51 * BARE, 7200.0, 0.305, 1661.0, 2649.0).notes
    with pytest.raises(ValueError, match="below half"):
        z_match_thickness(BARE, 0.49 * BARE, 7200.0, 0.305, 1661.0, 2649.0)
    with pytest.raises(ValueError, match="must"):
        z_match_thickness(BARE, 1.01 * BARE, 7200.0, 0.305, 1661.0, 2649.0)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("kelvin", "found"), [(5900.0, True), (6100.0, False), (160.0, True), (140.0, False)]
)
def test_a_source_temperature_is_looked_for_between_150_and_6000_kelvin(kelvin: float, found: bool):
    # log₁₀(p/p₀) = 1 − kelvin/T, so that 1 atmosphere lies at that temperature
    coefficients = (1.0, -kelvin, 0.0, 0.0)
    if found:
        assert source_temperature(1.0, coefficients) == pytest.approx(kelvin)
    else:
        with pytest.raises(ValueError, match="no temperature between 150 and 6000 K"):
            source_temperature(1.0, coefficients)
