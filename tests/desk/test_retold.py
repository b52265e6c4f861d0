"""A lot is told from its record alone: whatever becomes of the files it was started from, its predictions stay."""

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.errors import BadInput

CHANGES: dict[str, Callable[[Path], object]] = {
    "plan changed": lambda folder: _replace(folder / "plan.yaml", "thickness: 40 nm ± 4 %", "thickness: 80 nm ± 4 %"),
    "lab changed": lambda folder: _replace(folder / "lab.yaml", "growth per cycle: 0.102 nm", "growth per cycle: 0.204 nm"),
    "drawing changed": lambda folder: (folder / "humidity-switch.oas").write_bytes(b"gone"),
    "all deleted": lambda folder: [path.unlink() for path in folder.iterdir() if path.is_file() and path.suffix != ".sqlite"],
}  # fmt: skip


def _replace(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


@pytest.mark.whole
def test_predictions_of_a_lot_do_not_move_with_the_files_it_came_from_nor_with_what_was_learnt_later(
    kept, first_told
):
    assert len(first_told["rows"]) > 50
    planned = [row["as_planned"] for row in first_told["rows"] if row["parameter"] == "threshold voltage"]
    assert all(value is not None for value in planned)
    proposals = desk.next(kept.lot, record=kept.record).proposals
    rates = [number for number, each in enumerate(proposals, 1) if each.quantity not in {"time", "cycles"}]
    desk.next(kept.lot, accept=rates, who="AB", record=kept.record)
    for change in CHANGES.values():
        change(kept.folder)
    assert json.dumps(desk.compare(kept.lot, record=kept.record).fields()) == json.dumps(first_told)


@pytest.mark.whole
def test_a_plan_that_was_changed_starts_another_lot_with_other_predictions(kept):
    CHANGES["plan changed"](kept.folder)
    lot = desk.run(kept.folder / "plan.yaml", record=kept.record).lot
    assert lot != kept.lot
    from filmwright.record import Store

    with Store.open(kept.record) as store:
        one, other = store.lot(kept.lot), store.lot(lot)
    assert one.flow_digest != other.flow_digest
    assert one.lab_digest == other.lab_digest
    assert "80 nm ± 4 %" in other.flow_text
    assert "80 nm ± 4 %" not in one.flow_text


@pytest.mark.whole
def test_a_rate_is_accepted_once_and_a_setting_never(shipped_thermometer: Path):
    plan, record = shipped_thermometer / "plan.yaml", shipped_thermometer / "record.sqlite"
    lot = desk.run(plan, record=record).lot
    desk.log(lot, "04A", settings=["time=1125 s"], measured=["thickness=70 nm +- 0.5 nm"], record=record)
    proposals = desk.next(lot, record=record).proposals
    kinds = [each.quantity for each in proposals]
    rate, time = kinds.index("deposition rate") + 1, kinds.index("time") + 1
    desk.next(lot, accept=[rate], who="AB", record=record)
    once = desk.settings(plan, record=record).fields()
    desk.next(lot, accept=[rate], who="AB", record=record)
    assert desk.settings(plan, record=record).fields() == once
    with pytest.raises(BadInput, match="accept the rate instead"):
        desk.next(lot, accept=[time], who="AB", record=record)
    assert desk.settings(plan, record=record).fields() == once


@pytest.mark.whole
def test_a_later_lot_is_planned_with_what_was_accepted_before_it_began(shipped_thermometer: Path):
    from filmwright.desk.lots import frozen
    from filmwright.record import Store

    plan, record = shipped_thermometer / "plan.yaml", shipped_thermometer / "record.sqlite"
    first = desk.run(plan, record=record).lot
    desk.log(first, "04A", settings=["time=1125 s"], measured=["thickness=70 nm +- 0.5 nm"], record=record)
    proposals = desk.next(first, record=record).proposals
    number = [each.quantity for each in proposals].index("deposition rate") + 1
    desk.next(first, accept=[number], who="AB", record=record)
    second = desk.run(plan, record=record).lot
    with Store.open(record) as store:
        labs = {lot: frozen(store, lot)[1].lab for lot in (first, second)}
    of_platinum = {
        lot: [c.value for c in lab.calibrations if c.material == "platinum" and c.of == "deposition rate"]
        for lot, lab in labs.items()
    }
    assert len(of_platinum[first]) == 1
    assert of_platinum[first] != of_platinum[second]
    assert of_platinum[second] == pytest.approx([proposals[number - 1].new])
    # What the second lot measures is weighed against what was accepted; a repeat of the first is no news.
    desk.log(second, "04A", settings=["time=1125 s"], measured=["thickness=70 nm +- 0.5 nm"], record=record)
    again = next(e for e in desk.next(second, record=record).proposals if e.quantity == "deposition rate")
    assert abs(again.new - again.old) < abs(proposals[number - 1].new - proposals[number - 1].old) / 5


@pytest.mark.whole
def test_a_lot_whose_kept_plan_was_tampered_with_is_noticed(kept):
    database = sqlite3.connect(kept.record)
    triggers = database.execute("select name from sqlite_master where type = 'trigger'").fetchall()
    for (name,) in triggers:
        database.execute(f"drop trigger {name}")
    changed = database.execute("update lots set flow_text = replace(flow_text, '40 nm', '80 nm')").rowcount
    database.commit()
    database.close()
    assert triggers
    assert changed == 1
    with pytest.raises(BadInput, match="as it was written"):
        desk.compare(kept.lot, record=kept.record)


@pytest.mark.whole
def test_the_report_holds_the_head_of_the_chain_that_the_record_shows(kept, tmp_path: Path):
    from filmwright.record import Store

    page = desk.report(kept.lot, record=kept.record, into=tmp_path / "report.html").open.read_text("utf-8")
    with Store.open(kept.record) as store:
        check = store.verify(kept.lot)
    assert check.head[:8] in page
