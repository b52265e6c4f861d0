"""The block geometry: of a tool is read to its end, and nonsense in it is refused with its line."""

import pytest

from filmwright.errors import BadInput
from filmwright.flow import lab_from_text

LAB = """lab: a bench of our own
tools:
  sputter:
    does: [direct-current sputtering]
    geometry:
"""


def read(*lines: str):
    return lab_from_text(LAB + "\n".join(f"      {line}" for line in lines) + "\n", "lab.yaml")


@pytest.mark.property
def test_spread_and_source_are_kept():
    found = (
        read("throw: 100 mm ± 2 %", "guns:", "  left: {holds: titanium, offset: 60 mm, tilt: 25 deg}")
        .tools["sputter"]
        .geometry
    )
    assert found is not None
    assert found.values["throw"].std == pytest.approx(0.002)
    assert "line 6" in str(found.values["throw"].source)
    assert found.holding("titanium") == found.places["left"]
    assert found.holding("gold") is None


@pytest.mark.property
@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("stage: spinning",), "at rest or turning or planetary"),
        (("stage: planetary",), "wafer offset"),
        (("throw: -5 mm",), "more than zero"),
        (("eroded ring: 160 %",), "up to 100 %"),
        (("tilt: 95 deg",), "from 0 to 80"),
        (("source offset: -5 mm",), "zero or more"),
        (("guns: [one, two]",), "a block with names"),
        (("guns: {one: {holds: unobtainium}}",), "a known name"),
        (("guns: {one: {colour: red}}",), "a known key"),
        (("throw: 5 Pa",), "length"),
    ],
)
def test_nonsense_is_refused(lines: tuple[str, ...], said: str):
    with pytest.raises(BadInput, match=r"lab\.yaml") as caught:
        read(*lines)
    assert any(said in f"{each.expected} {each.got} {each.what}" for each in caught.value.problems)
    assert all(each.line for each in caught.value.problems)
