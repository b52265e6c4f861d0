"""The checklist of a lot fills itself from files, masks and record, and says what it does not know."""

from pathlib import Path

import pytest

from filmwright import desk
from filmwright.desk.explain import gather
from filmwright.desk.report_checklist import lot_rows, report_rows
from filmwright.record import Store


@pytest.mark.whole
def test_the_lot_says_what_is_known_of_its_measurement_and_what_was_logged_at_the_probe(kept):
    with Store.open(kept.record) as store:
        story = gather(store, kept.lot)
    rows = {row.what: row for row in lot_rows(story)}
    assert rows["light, and the wait in the dark"].missing
    assert "microscope" in rows["light, and the wait in the dark"].lost
    assert rows["drain voltage of each sweep"].value == "0.1 V, 5 V"
    assert rows["directions of the sweep"].value == "forward and backward"
    assert "on 2 wafers" in rows["number of devices and how they were chosen"].value
    assert "6 channel lengths" in rows["contacts"].value
    assert rows["channel film against contacts"].value == "ends at the contacts"
    assert "days after the last step" in rows["age of the device and its storage"].value
    assert "not measured" in rows["areal capacitance and how it is known"].value

    probe = next(state.step.number for state in story.planned.states if state.step.kind == "probe")
    seen = ["dark wait=10 min", "temperature=25 degC", "humidity=41 %"]
    desk.log(kept.lot, probe, settings=seen, record=kept.record)
    with Store.open(kept.record) as store:
        told = {what: (value, note) for what, value, note in report_rows(gather(store, kept.lot))}
    assert told["light, and the wait in the dark"] == ("dark wait 10 min", "the record")
    assert "25" in told["temperature"][0]
    assert "41 %" in told["atmosphere and humidity"][0]
    assert told["delay per point or sweep rate"][1].startswith("without it: ")


@pytest.mark.whole
def test_the_page_shows_what_is_missing_with_what_is_lost(made: Path):
    page = (made / "humidity-switch" / "report.html").read_text("utf-8")
    part = page.split("Conditions of measurement")[1].split("</table>")[0]
    assert part.count("not recorded</strong>") == 5
    assert part.count("without it: ") == 5
    assert "nobody can repeat the curve" in part
