"""How the die looks: colours of known stacks, what is hidden, what is not known."""

import numpy as np
import pytest

from filmwright.emulate import check_aperture, lamp_named, looks_of, spectra_of
from filmwright.errors import BadInput
from filmwright.knowledge import optical
from filmwright.numerics import Region
from filmwright.process import eye, illuminated, stacks
from filmwright.wafer import Plan

NM = 1e-9
BODY = ("silicon", 525e-6)


def plan(*films: tuple[str, float], body: tuple[str, float] = BODY) -> Plan:
    """A die that carries the same films (lowest first, nm) everywhere."""
    return Plan.start(Region.box(0, 0, 1e6, 1e6), body, [(material, nm * NM) for material, nm in films])


def name(*films: tuple[str, float], light: str = "D65", aperture: float = 0.0) -> str:
    (look,) = looks_of([plan(*films)], light=light, aperture=aperture)
    return look.seen[0].name


@pytest.mark.literature
@pytest.mark.parametrize(
    ("nm", "words"),
    [
        (120, ("blue",)),
        (200, ("gold", "yellow")),
        (270, ("violet", "red", "purple")),
        (350, ("green",)),
        (490, ("blue",)),
    ],
)
def test_thermal_oxide_has_its_published_colours(nm: float, words: tuple[str, ...]) -> None:
    # Colour chart of thermal oxide on silicon seen straight down under white light (Pliskin and Conrad, IBM J. Res. Dev. 8, 43,
    # 1964, from memory). Charts differ by ± 10 nm and by their words, so only the hue is held.
    assert any(word in name(("silicon dioxide", nm)) for word in words)


@pytest.mark.literature
@pytest.mark.parametrize("aperture", [0.0, 0.3])
def test_zinc_oxide_on_nitride_over_chromium_is_yellowish(aperture: float) -> None:
    # Common practice: an island of about 40 nm on 100 nm of nitride over chromium looks yellowish.
    (look,) = looks_of(
        [plan(("chromium", 100), ("silicon nitride", 100), ("zinc oxide", 40))], aperture=aperture
    )
    red, green, blue = (int(look.seen[0].hex[k : k + 2], 16) for k in (1, 3, 5))
    assert red > blue + 20
    assert green > blue + 20


@pytest.mark.reference
def test_a_spectrum_is_that_of_the_optics_alone() -> None:
    wavelengths = np.linspace(400e-9, 700e-9, 7)
    column = plan(("silicon dioxide", 300), ("titanium", 60)).cells[0].column
    (found,) = spectra_of([column], wavelengths)
    index = {m: optical(m).index(wavelengths) for m in ("silicon", "silicon dioxide", "titanium")}
    films = [[("titanium", 60 * NM), ("silicon dioxide", 300 * NM), ("silicon", 1.0)]]
    assert found == pytest.approx(illuminated(stacks(wavelengths, films, index)).reflectance[0], rel=1e-12)


@pytest.mark.property
def test_one_call_for_many_plans_is_many_calls_for_one() -> None:
    plans = [plan(("silicon dioxide", nm), ("gold", 20)) for nm in range(100, 400, 40)]
    together = looks_of(plans, aperture=0.3)
    for each, look in zip(plans, together, strict=True):
        (alone,) = looks_of([each], aperture=0.3)
        assert (look.seen[0].hex, look.seen[0].name) == (alone.seen[0].hex, alone.seen[0].name)
        assert look.seen[0].luminance == pytest.approx(alone.seen[0].luminance, rel=1e-12)
        assert alone.data == look.data


@pytest.mark.analytic
def test_what_an_opaque_film_hides_need_not_be_known() -> None:
    assert optical("copper oxide") is None
    (open_,) = looks_of([plan(("copper oxide", 50))])
    assert (open_.seen[0].hex, open_.seen[0].name, open_.seen[0].luminance) == ("", "", None)
    assert "copper oxide" in open_.seen[0].unknown[0]
    assert open_.data == ()
    (hidden,) = looks_of([plan(("copper oxide", 50), ("gold", 200))])
    assert hidden.seen[0].unknown == ()
    assert hidden.seen[0].hex == looks_of([plan(("gold", 200))])[0].seen[0].hex
    assert [line.partition(":")[0] for line in hidden.data] == ["gold"]
    (thin,) = looks_of([plan(("copper oxide", 50), ("gold", 5))])
    assert thin.seen[0].unknown


@pytest.mark.analytic
def test_a_glass_body_shows_its_back_and_silicon_does_not() -> None:
    wavelengths = eye().wavelength
    (glass,) = spectra_of([plan(body=("fused silica", 0.5e-3)).cells[0].column], wavelengths)
    n = optical("fused silica").index(wavelengths).real
    front = ((n - 1) / (n + 1)) ** 2
    # Two faces without interference: R = 2 r / (1 + r).
    assert glass == pytest.approx(2 * front / (1 + front), rel=1e-3)
    (silicon,) = spectra_of([plan().cells[0].column], wavelengths)
    index = optical("silicon").index(wavelengths)
    assert silicon == pytest.approx(abs((1 - index) / (1 + index)) ** 2, rel=1e-9)


@pytest.mark.property
def test_a_lamp_is_found_by_a_part_of_its_name() -> None:
    assert lamp_named(" d65 ") == "daylight D65"
    assert lamp_named("halogen") == "halogen"
    for wrong in ("daylight", "candle", ""):
        with pytest.raises(BadInput, match="light") as caught:
            lamp_named(wrong)
        assert "D65" in caught.value.problems[0].expected
    for wrong_aperture in (-0.1, 1.0, 1.4):
        with pytest.raises(BadInput, match="aperture"):
            check_aperture(wrong_aperture)
    assert name(("silicon dioxide", 120), light="incandescent")
