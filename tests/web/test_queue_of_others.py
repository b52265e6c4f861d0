"""A tablet that was without network while people changed over: nothing is written in another's name unasked, no decision undone below its role."""

from __future__ import annotations

import re
import uuid

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, People, SignIns
from filmwright.record import Event, Lot, digest
from filmwright.web import Settings, application

pytestmark = pytest.mark.whole

LOT, WORDS = "K7M-4H7", "tulip harbour seven crayon"
PLAN = """\
flow: One film
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
"""


@pytest.fixture
def lab(tmp_path):
    """A shared record with a lot, an operator and a process owner."""
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        bench.store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=("W1",), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        people, signs = People(bench.store), SignIns(People(bench.store))
        for name, role in (("otto", "operator"), ("pia", "process owner")):
            people.add(name, role, by="the test", password=WORDS)
        with TestClient(
            application(bench, Settings(shared=True, names=())), base_url="https://b.example"
        ) as client:
            yield bench, client, signs


def as_person(lab, name):
    """Cookie and form token of a person who has just signed in on this tablet."""
    _, client, signs = lab
    client.cookies.set("__Host-session", signs.by_password(name, WORDS).token)
    return {
        "x-form-token": re.search(r'data-token="([0-9a-f]+)"', client.get("/me").text)[1],
        "accept": "application/json",
    }


def tap(who, kind, step="1.1", **more):
    entry = {name: more.pop(name) for name in ("name", "text", "about") if name in more}
    return {
        "id": str(uuid.uuid4()),
        "lot": LOT,
        "step": step,
        "who": who,
        "entries": [{"kind": kind, **entry}],
        **more,
    }


def test_what_another_entered_waits_until_somebody_says_whose_it_is(lab):
    bench, client, _ = lab
    head = as_person(lab, "pia")
    taps = [tap("otto", "start"), tap("pia", "finish"), tap("pia", "note", "2.1", text="beside it")]
    answers = client.post("/queue", json={"taps": taps}, headers=head).json()["answers"]
    assert [each["state"] for each in answers] == ["another's", "later", "kept"]
    assert "otto entered this" in answers[0]["said"]
    assert [each.kind for each in bench.written(LOT)] == ["note"]
    taps = [{**taps[0], "passed": True}, taps[1]]
    answers = client.post("/queue", json={"taps": taps}, headers=head).json()["answers"]
    assert [each["state"] for each in answers] == ["kept", "kept"]
    assert [each.who for each in bench.written(LOT)] == ["pia", "otto (sent by pia)", "pia"]


def test_what_otto_entered_goes_when_otto_is_back(lab):
    bench, client, _ = lab
    sent = tap("otto", "start")
    client.post("/queue", json={"taps": [sent]}, headers=as_person(lab, "pia"))
    answers = client.post("/queue", json={"taps": [sent]}, headers=as_person(lab, "otto")).json()["answers"]
    assert [each["state"] for each in answers] == ["kept"]
    assert [each.who for each in bench.written(LOT)] == ["otto"]


def test_a_decision_is_taken_back_and_accepted_by_who_may_decide(lab):
    bench, client, _ = lab
    moment = "2026-01-05T09:00:00+01:00"
    held = Event(id=str(uuid.uuid4()), lot=LOT, kind="hold", step="1.1", name="rework", text="specks", happened=moment,
                 written=moment, who="pia", invented=True)  # fmt: skip
    bench.store.append([held])
    back = tap("", "withdraw", about=held.id)
    wanted = [back, tap("", "acknowledge", "2.1", name="hold point", text="no time")]
    answers = client.post("/queue", json={"taps": wanted}, headers=as_person(lab, "otto")).json()["answers"]
    assert [each["state"] for each in answers] == ["refused", "refused"]
    assert all("process owner" in each["said"] for each in answers)
    answers = client.post("/queue", json={"taps": [back]}, headers=as_person(lab, "pia")).json()["answers"]
    assert [each["state"] for each in answers] == ["kept"]


def test_after_a_change_of_person_the_pages_of_the_lot_are_fetched_anew(lab):
    _, client, _ = lab
    marks = []
    for name in ("otto", "pia"):
        as_person(lab, name)
        marks.append(dict(client.get(f"/lot/{LOT}/offline").json()["paths"]))
    assert marks[0].keys() == marks[1].keys()
    assert all(marks[0][path] != marks[1][path] for path in marks[0])
