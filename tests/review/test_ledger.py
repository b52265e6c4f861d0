"""What every film lost, by step and place, against sums done by hand."""

import sys
from pathlib import Path

import pytest

from filmwright.emulate import Trace, walk
from filmwright.flow import Done, as_run, flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import Drawing
from filmwright.review import PLACES, Lost, counts, ledger, review

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_flows import SWITCH, after, changed, shipped

ON = "2026-10-26"


def walked(drawing: Drawing, *record: Done) -> Trace:
    """The humidity switch, as planned or as run."""
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(shipped(SWITCH, "plan.yaml"), "plan.yaml", lab)
    return walk(as_run(flow, record) if record else flow, lab, book(), drawing, on=ON, sections=False)


@pytest.fixture(scope="module")
def losses(drawings: dict[str, Drawing]) -> tuple[Lost, ...]:
    """Of the plan."""
    return ledger(walked(drawings[SWITCH]), book())


def of(losses: tuple[Lost, ...], material: str, place: str, step: str) -> Lost:
    """The one row."""
    (found,) = (e for e in losses if (e.material, e.place, e.step) == (material, place, step))
    return found


@pytest.mark.analytic
def test_a_loss_is_rate_times_time(losses: tuple[Lost, ...]):
    # 1.1 nm/min of the lab file for the usual 60 s of development.
    assert of(losses, "aluminium oxide", "pad", "16.6").typical == pytest.approx(1.1e-9, rel=1e-6)
    assert of(losses, "aluminium oxide", "back", "9.6").typical == pytest.approx(1.1e-9, rel=1e-6)


@pytest.mark.analytic
def test_an_undercut_is_told_by_its_depth(losses: tuple[Lost, ...]):
    # The foot of an isotropic etch of 60 nm with 25 % over-etch: 60 nm √(1.25² − 1) = 45 nm.
    assert of(losses, "titanium", "under resist", "4.1").typical == pytest.approx(45e-9, rel=0.01)


@pytest.mark.property
def test_the_far_end_is_never_less_than_the_typical_loss(losses: tuple[Lost, ...]):
    assert all(each.most >= each.typical >= 0 for each in losses)
    assert {each.place for each in losses} == set(PLACES)
    assert all(each.typical <= each.before * (1 + 1e-9) for each in losses if each.place != "under resist")


@pytest.mark.property
def test_a_film_that_is_meant_to_go_is_no_loss(losses: tuple[Lost, ...]):
    assert not [e for e in losses if e.material == "titanium" and e.place == "open field" and e.step == "4.1"]


REWORK = """\
  - strip: resist
    name: strip for rework
    in: dimethyl sulfoxide stripper

  - pattern: contact
    resist: lift-off two-layer"""


@pytest.mark.whole
def test_a_level_that_is_stripped_and_printed_again_takes_its_loss_twice(drawings: dict[str, Drawing]):
    """Rework written into the plan: 1.1 nm of insulator by each development, and nothing else is said of it."""
    text = changed(shipped(SWITCH, "plan.yaml"), (after("- pattern: contact", REWORK),))
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(text, "plan.yaml", lab)
    trace = walk(flow, lab, book(), drawings[SWITCH], on=ON, sections=False)
    lost = [
        each
        for each in ledger(trace, book())
        if each.material == "aluminium oxide" and each.place == "pad" and each.kind == "develop"
    ]
    assert [each.step for each in lost] == ["16.6", "18.6"]
    assert [each.typical for each in lost] == pytest.approx([1.1e-9] * 2, rel=1e-6)
    # The stripper between takes a hundredth of a nanometre.
    assert lost[1].before == pytest.approx(lost[0].before - 1.1e-9, abs=0.05e-9)
    said = counts(review(trace, book()))
    assert (said["stop"], said["warn"]) == (0, 0)


@pytest.mark.analytic
def test_rework_is_followed(drawings: dict[str, Drawing]):
    """A level that is developed twice takes its 1.1 nm of insulator twice, wherever it took it once."""
    record = [
        Done(step="16.6", what="finish", happened="2026-10-26T10:00:00+01:00"),
        Done(step="16.6", what="repeat", happened="2026-10-26T11:00:00+01:00"),
    ]
    found = [
        each
        for each in ledger(walked(drawings[SWITCH], *record), book())
        if each.material == "aluminium oxide" and each.step == "16.6" and each.place in {"open field", "pad"}
    ]
    assert [each.typical for each in found] == pytest.approx([1.1e-9] * 2, rel=1e-6)
    assert found[1].before == pytest.approx(found[0].before - 1.1e-9, rel=1e-9)
