"""The sources of a film: read with their lines, and refused where they could not be."""

import pytest

from filmwright.errors import BadInput
from filmwright.flow import flow_from_text, lab_from_text

LAB = lab_from_text(
    "lab: a bench\ntools:\n  s:\n    does: [radio-frequency sputtering]\n    geometry: {guns: {one: {offset: 80 mm}, two: {offset: 80 mm}}}\n",
    "lab.yaml",
)
PLAN = """flow: x
wafer: {body: silicon, diameter: 100 mm}
steps:
  - deposit: indium zinc oxide
    method: METHOD
    thickness: 40 nm
"""


def read(*lines: str, method: str = "radio-frequency sputtering"):
    text = PLAN.replace("METHOD", method) + "".join(f"    {line}\n" for line in lines)
    return flow_from_text(text, "plan.yaml", LAB).steps[0]


@pytest.mark.property
def test_sources_and_composition_are_read():
    step = read(
        "composition: {In: 3, Zn: 1}",
        "sources:",
        "  - {target: ZnO, gun: one, mode: radio frequency}",
        "  - {target: indium oxide, power: 60 W, gun: two}",
    )
    assert [each.target for each in step.sources] == ["zinc oxide", "indium oxide"]
    assert [each.line for each in step.sources] == [9, 10]
    assert step.sources[1].power is not None
    assert step.composition == pytest.approx({"In": 0.75, "Zn": 0.25})


BOTH = "sources: [{target: zinc oxide}, {target: indium oxide}]"


@pytest.mark.property
@pytest.mark.parametrize(
    ("lines", "method", "said"),
    [
        (("sources: zinc oxide",), "", "a list of one to 4"),
        (("sources: [" + "{target: zinc oxide}, " * 5 + "]",), "", "a list of one to 4"),
        (("sources: [{target: zinc oxide}, {target: zinc oxide}]",), "", "each target once"),
        (("sources: [{target: zinc oxide, gun: three}]",), "", "a gun of the tool"),
        (
            ("sources: [{target: zinc oxide, gun: one}, {target: indium oxide, gun: one}]",),
            "",
            "each gun once",
        ),
        (("sources: [{target: zinc oxide, mode: pulsed}]",), "", "direct current or radio frequency"),
        (("sources: [{power: 60 W}]",), "", "given"),
        ((BOTH, "power: 60 W"), "", "given for each source"),
        ((BOTH,), "electron-beam evaporation", "a sputter method"),
        (("composition: {In: 1}",), "", "sources: beside it"),
        ((BOTH, "composition: {In: 1}"), "", "a part for every metal"),
        ((BOTH, "composition: {In: 1, Zn: 1, Ga: 1}"), "", "a metal of one of the sources"),
        ((BOTH, "composition: {In: -1, Zn: 1}"), "", "more than zero"),
        ((BOTH, "composition: equal"), "", "parts of the metals"),
    ],
)
def test_what_could_not_be_is_refused(lines: tuple[str, ...], method: str, said: str):
    with pytest.raises(BadInput, match=r"plan\.yaml") as caught:
        read(*lines, method=method or "radio-frequency sputtering")
    assert any(said in each.expected for each in caught.value.problems)
    assert all(each.line and each.line >= 4 for each in caught.value.problems)
