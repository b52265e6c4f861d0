"""Labels of a lot: what they say, and that the printed page and its codes say the same."""

import shutil
import subprocess
import uuid
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.desk.lot_labels import labels_of
from filmwright.desk.lots import frozen
from filmwright.errors import BadInput
from filmwright.outputs import LABEL_KINDS, Label, labels_pdf
from filmwright.record import Event, Lot, Store, digest, label_of, read_label


@pytest.fixture(scope="module")
def lot(made):
    """The lot that the demo ran, with its plan as frozen."""
    with Store.open(made / "humidity-switch" / "record.sqlite") as store:
        (held,) = store.lots()
        return frozen(store, held.name)


@pytest.mark.whole
def test_every_wafer_has_a_carrier_and_every_bath_a_beaker(lot):
    held, work = lot
    found = labels_of(held, work, LABEL_KINDS)
    assert [each.kind for each in found[:1]] == ["box"]
    assert [each.head for each in found if each.kind == "carrier"] == [
        label_of(held.name, wafer) for wafer in held.wafers
    ]
    beakers = [each for each in found if each.kind == "beaker"]
    media = {step.medium for step in work.flow.steps if step.medium in work.facts.media}
    wet = {name for name in media if work.facts.media[name].kind not in ("plasma", "rinse")}
    assert {each.head.lower() for each in beakers} == {name.lower() for name in wet}
    assert all(each.invented for each in found)


@pytest.mark.whole
def test_a_beaker_says_what_hurts_and_where_it_goes(lot):
    held, work = lot
    beakers = labels_of(held, work, ("beaker",))
    for each in beakers:
        (name,) = [medium for medium in work.facts.media if medium.lower() == each.head.lower()]
        hazard = work.facts.hazards[work.facts.media[name].hazard]
        assert set(hazard.cautions) <= set(each.cautions)
        assert any(line.startswith("waste: ") for line in each.lines)


@pytest.mark.whole
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the page back")
def test_the_page_says_what_the_labels_say_and_markup_is_only_text(lot, tmp_path: Path):
    held, work = lot
    rude = Label(kind="beaker", head="#panic() *acid* $x$", lines=("<b>\\u{41}",), cautions=("@ref #eval",))
    path = tmp_path / "labels.pdf"
    path.write_bytes(labels_pdf((*labels_of(held, work, ("box", "carrier")), rude)))
    text = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True).stdout
    assert "#panic() *acid* $x$" in text
    assert "@ref #eval" in text
    for wafer in held.wafers:
        assert label_of(held.name, wafer) in text
        assert read_label(label_of(held.name, wafer)) == (held.name, wafer)
    assert "never replaces them" in text


@pytest.mark.property
def test_the_same_labels_are_the_same_bytes():
    label = Label(kind="box", head="K7M-4H7", code="filmwright lot=K7M-4H7")
    assert labels_pdf((label,)) == labels_pdf((label,))


@pytest.mark.property
def test_what_is_no_label_is_refused(made):
    record = made / "humidity-switch" / "record.sqlite"
    with pytest.raises(BadInput, match="carrier"):
        desk.labels("any", kinds=("carier",), record=record)
    with pytest.raises(BadInput, match="at least one"):
        labels_pdf(())
    with pytest.raises(BadInput, match="record"):
        desk.labels("no-such-lot", record=record)


@pytest.mark.whole
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the page back")
def test_a_beaker_is_labelled_for_the_newest_version_of_the_flow(tmp_path: Path):
    plan = """\
flow: One film
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
  - etch: titanium
    in: dilute hydrofluoric acid
    time: 20 s
"""
    place, name = tmp_path / "record.sqlite", "K7M-4H7"
    with Store.open(place, create=True) as store:
        store.start_lot(
            Lot(name=name, flow_text=plan, flow_digest=digest(plan), knowledge_version="1", code_version="1",
                wafers=("W1",), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        newer = plan.replace("dilute hydrofluoric acid", "buffered hydrofluoric acid")
        sha256 = store.keep_blob(newer.encode(), "application/yaml", "flow")
        moment = "2026-01-05T09:00:00+01:00"
        store.append(
            [Event(id=str(uuid.uuid4()), lot=name, kind="flow", sha256=sha256, text="gentler", who="AB",
                   happened=moment, written=moment, invented=True)]
        )  # fmt: skip
    desk.labels(name, ("beaker",), place, tmp_path / "labels.pdf")
    read = ["pdftotext", str(tmp_path / "labels.pdf"), "-"]
    text = subprocess.run(read, capture_output=True, text=True, check=True).stdout.lower()
    assert "buffered hydrofluoric acid" in text
    assert "dilute hydrofluoric acid" not in text
