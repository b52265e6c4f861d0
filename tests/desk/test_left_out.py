"""Devices left out with a reason, variants of wafers, and the table of devices."""

import uuid
from pathlib import Path

import pytest

from filmwright.desk.device_table import (
    About,
    matched,
    measured_files,
    read_device_table,
)
from filmwright.desk.left_out import check_exclusion, left_out, read_splits, variants
from filmwright.errors import BadInput
from filmwright.record import Event

NOON = "2031-05-04T12:00:00+02:00"


def entry(kind: str, name: str, text: str, wafer: str = "W1") -> Event:
    return Event(
        id=str(uuid.uuid4()), lot="K7M-4H7", kind=kind, name=name, text=text, wafer=wafer,
        happened=NOON, written=NOON, who="AB",
    )  # fmt: skip


@pytest.mark.analytic
def test_the_last_entry_of_a_device_counts_and_an_entry_of_no_wafer_is_meant_for_all():
    events = [
        entry("exclude", "T01", "probe slipped"),
        entry("exclude", "T02", "pad torn", wafer=""),
        entry("include", "T01", "measured again"),
        entry("include", "T02", "only W2 was torn", wafer="W1"),
    ]
    assert left_out(events, ("W1", "W2")) == {("W2", "T02"): "pad torn (AB, 2031-05-04)"}
    again = [*events, entry("exclude", "T01", "slipped again")]
    assert left_out(again, ("W1", "W2"))["W1", "T01"].startswith("slipped again")


@pytest.mark.analytic
def test_a_wafer_has_the_variant_of_the_last_entry():
    events = [entry("split", "variant", "A", "W1"), entry("split", "variant", "A", "W2")]
    assert variants([*events, entry("split", "variant", "B", "W2")]) == {"W1": "A", "W2": "B"}


@pytest.mark.analytic
def test_splits_are_read_and_what_is_wrong_with_them_is_said_at_once():
    assert read_splits(["A=W1, W2", "B = W3"]) == {"W1": "A", "W2": "A", "W3": "B"}
    with pytest.raises(BadInput) as caught:
        read_splits(["A=W1,W9", "B=W1", "nothing"], ("W1", "W2"))
    assert len(caught.value.problems) == 3


@pytest.mark.analytic
def test_leaving_out_needs_a_reason_and_a_name():
    check_exclusion((), "", "")
    check_exclusion(("T01",), "probe slipped", "AB")
    with pytest.raises(BadInput) as caught:
        check_exclusion(("T01",), " ", "")
    assert [each.what.split(" of ")[0] for each in caught.value.problems] == ["the reason", "who says so"]


@pytest.mark.analytic
def test_columns_are_known_by_meaning_and_can_be_corrected(tmp_path: Path):
    path = tmp_path / "devices.csv"
    path.write_text(
        "file;maker;Wafer;W [um];L_um;x (mm);y (mm);variant\na.csv;T1;K;20;5;-1.5;0;hot\n", "utf-8"
    )
    rows, notes = read_device_table(path, ["kind=maker"])
    assert (rows[0].file, rows[0].kind, rows[0].wafer, rows[0].split) == ("a.csv", "T1", "K", "hot")
    sizes = (rows[0].width, rows[0].length, rows[0].x, rows[0].y)
    assert sizes == pytest.approx((2e-5, 5e-6, -1.5e-3, 0.0))
    assert "width from “W [um]”" in notes[0]
    assert matched(Path("folder/a.csv"), rows) == rows[0]
    assert matched(Path("folder/b.csv"), rows) is None


@pytest.mark.analytic
def test_a_size_without_a_unit_is_refused_at_its_line(tmp_path: Path):
    path = tmp_path / "devices.csv"
    path.write_text("device,W,L [um]\nT1,20,5\nT2,20 um,-5\n", "utf-8")
    with pytest.raises(BadInput) as caught:
        read_device_table(path, ["colour=device"])
    assert [each.line for each in caught.value.problems] == [None, 2, 3]


@pytest.mark.analytic
def test_a_file_of_several_devices_has_a_row_for_each_and_folders_give_their_tables(tmp_path: Path):
    rows = [About(file="a.csv", device="T1", split="A"), About(file="a.csv", device="T2", split="B")]
    assert matched(Path("a.csv"), rows, "T2") == rows[1]
    by_name = [About(device="T7", wafer="K3"), About(device="T8", wafer="K3")]
    assert matched(Path("k3-T8.csv"), by_name) == by_name[1]
    (tmp_path / "b.csv").touch()
    (tmp_path / "a.png").touch()
    assert measured_files([tmp_path]) == (tmp_path / "b.csv",)
