"""A lot whose plan cannot be read is told beside all others; no page and no hand-over fails for it."""

from __future__ import annotations

import json
import uuid
import zipfile

import pytest

from filmwright.desk.bench import today
from filmwright.desk.bundles import record_export
from filmwright.desk.uses import books_in
from filmwright.record import Event, LogbookEntry, Lot, digest

PLAN = """\
flow: Two films
invented: yes
wafer: {body: silicon, diameter: 100 mm}
masks:
  drawing: none.oas
  pads: {layer: 1/0, drawn: opaque}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
"""
OLD = PLAN.replace("- deposit: titanium", "- lay down: titanium")
READ, UNREAD = "K7M-4H7", "K7M-3XP"
BEGUN = "2021-05-04T08:00:00+02:00"


@pytest.fixture
def both(browser):
    """A browser before one lot that reads and one whose plan has a word that no grammar knows."""
    bench = browser.app.state.bench
    for name, plan in ((READ, PLAN), (UNREAD, OLD)):
        bench.store.start_lot(
            Lot(
                name=name, flow_text=plan, flow_digest=digest(plan), knowledge_version="1", code_version="0.1.0",
                wafers=("W1", "W2"), started=BEGUN,
            )
        )  # fmt: skip
        bench.store.append(
            [
                Event(
                    id=str(uuid.uuid5(uuid.NAMESPACE_DNS, name)), lot=name, kind="note", step="2.1", text="a scratch at the flat",
                    happened=BEGUN, written=BEGUN, who="AB",
                )
            ]
        )  # fmt: skip
    return browser


@pytest.mark.reference
@pytest.mark.parametrize(
    "path", ["/", "/lots", "/tools", "/api/lots", f"/lot/{READ}", f"/lot/{UNREAD}", f"/lot/{UNREAD}/timers"]
)
def test_every_page_of_all_lots_is_there_with_the_lot_that_cannot_be_read(both, path):
    """Asked of the pages themselves: each answers, and names the lot with the word that is in the way."""
    answer = both.get(path)
    assert answer.status_code == 200
    if path.endswith("/timers"):
        assert answer.json() == {"timers": []}
        return
    if path != f"/lot/{READ}":
        assert UNREAD in answer.text
    if path in ("/", "/lots"):
        assert f'href="/lot/{READ}"' in answer.text
    if path.startswith("/api") or path == f"/lot/{READ}":
        return
    assert "lay down" in answer.text


@pytest.mark.reference
def test_its_own_page_shows_what_was_written_and_the_plan_as_it_is(both):
    """Entry and plan text as they were put in."""
    text = both.get(f"/lot/{UNREAD}").text
    assert "a scratch at the flat" in text
    assert "lay down: titanium" in text
    assert f"filmwright record export {UNREAD}" in text
    assert "0.1.0" in text


@pytest.mark.reference
def test_the_other_lots_are_told_as_if_it_were_not_there(both):
    """Today holds the readable lot, and the other with its problem."""
    answer = today(both.app.state.bench)
    assert [each.name for each in answer.lots] == [READ]
    assert [each["lot"] for each in answer.fields()["unread"]] == [UNREAD]
    bench = both.app.state.bench
    bench.store.enter(
        [
            LogbookEntry(
                id=str(uuid.UUID(int=1)),
                book="tool:evaporator",
                kind="state",
                name="up",
                happened=BEGUN,
                written=BEGUN,
                who="AB",
            )
        ]
    )
    assert {use.lot for use in books_in(bench.store).uses} <= {READ}


@pytest.mark.reference
def test_it_is_handed_over_with_its_raw_text_and_record(both, tmp_path):
    """The bundle holds the very plan and entry, and says why there is no report."""
    place = both.app.state.bench.place
    done = record_export(UNREAD, record=place, into=tmp_path / "out.zip")
    assert any("without a report" in each and "lay down" in each for each in done.said)
    with zipfile.ZipFile(tmp_path / "out.zip") as bundle:
        names = bundle.namelist()
        assert bundle.read(f"{UNREAD}-flow.yaml").decode() == OLD
        assert b"a scratch at the flat" in bundle.read("entries.csv")
        assert "report.html" not in names
        record = next(name for name in names if name.endswith(".json") and "crate" not in name)
        assert "a scratch at the flat" in json.dumps(json.loads(bundle.read(record)))
