"""The record does not answer: the page and the program are told so and what to do, nothing is lost, and it goes on by itself."""

from __future__ import annotations

import re
import sqlite3
import uuid
from contextlib import closing, contextmanager

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, People, SignIns
from filmwright.record import Lot, Store, digest
from filmwright.web import Settings, application

pytestmark = pytest.mark.whole

HERE, LOT, WORDS = "http://127.0.0.1:8537", "K7M-4H7", "tulip harbour seven crayon"
PLAN = """\
flow: One film
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - clean: solvent clean
"""
PHOTO = b"\xff\xd8\xff\xd9"
PATIENCE = 0.2


def started(place):
    """A bench that soon gives up, with one lot."""
    bench = Bench(Store.open(place, create=True, patience=PATIENCE))
    bench.store.start_lot(
        Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
            wafers=("W1",), started="2026-01-05T08:00:00+01:00", invented=True)
    )  # fmt: skip
    return bench


@pytest.fixture
def path(tmp_path):
    return tmp_path / "record.sqlite"


@pytest.fixture
def bench(path):
    with started(path) as opened:
        yield opened


@pytest.fixture
def browser(bench):
    with TestClient(application(bench, Settings()), base_url=HERE, follow_redirects=False) as client:
        yield client


@contextmanager
def held(path):
    """Another program writes and does not come to an end."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield


def head_of(client, page="/"):
    token = re.search(r'data-token="([0-9a-f]+)"', client.get(page).text)[1]
    return {"x-form-token": token, "accept": "application/json"}


def tap(text="meanwhile"):
    entry = {"kind": "note", "text": text}
    return {"id": str(uuid.uuid4()), "lot": LOT, "step": "1.1", "who": "AB", "entries": [entry]}


def told(answer):
    """The one shape of a refusal, with the sentence and what to do."""
    assert answer.status_code == 503
    said = answer.json()
    assert set(said) == {"status", "said", "problems", "number"}
    assert (said["status"], said["number"]) == (503, "")
    assert all(each["remedy"] for each in said["problems"])
    return said


def test_a_tap_stays_the_tablets_until_the_record_takes_it(browser, bench, path):
    head, sent = head_of(browser), {"taps": [tap("one"), tap("two")]}
    with held(path):
        said = told(browser.post("/queue", json=sent, headers=head))
        assert "does not answer" in said["said"]
        assert "locked by" in said["problems"][0]["got"]
        assert browser.get(f"/lot/{LOT}").status_code == 200, "reading goes on beside a writer"
        assert browser.get("/healthz").status_code == 200
    answers = browser.post("/queue", json=sent, headers=head).json()["answers"]
    assert [each["state"] for each in answers] == ["kept", "kept"]
    answers = browser.post("/queue", json=sent, headers=head).json()["answers"]
    assert [each["state"] for each in answers] == ["already there"] * 2
    assert [each.text for each in bench.written(LOT)] == ["one", "two"]


def test_a_form_without_script_gets_a_page_that_says_what_to_do(browser, bench, path):
    page = f"/lot/{LOT}/step/01A"
    token = head_of(browser, page)["x-form-token"]
    words = {"token": token, "kind": "note", "text": "by form", "who": "AB", "entry_id": str(uuid.uuid4())}
    with held(path):
        answer = browser.post(page, data=words)
    assert answer.status_code == 503
    assert "The record does not answer. What was kept before is safe" in answer.text
    assert "locked by" in answer.text
    assert "then repeat" in answer.text
    assert browser.post(page, data=words).status_code == 303
    assert [each.text for each in bench.written(LOT)] == ["by form"]


def test_a_program_is_told_in_the_same_shape(browser, bench, path):
    sent = {"id": str(uuid.uuid4()), "step": "1.1", "entries": [{"kind": "note", "text": "by program"}]}
    with held(path):
        told(browser.post(f"/api/lots/{LOT}/entries", json=sent))
    assert browser.post(f"/api/lots/{LOT}/entries", json=sent).status_code == 201
    assert [each.text for each in bench.written(LOT)] == ["by program"]


def test_a_photo_that_finds_no_room_is_sent_again_later(browser, tmp_path):
    head = head_of(browser)
    there = tmp_path / "record.sqlite.files"
    there.write_text("no folder can be made here")
    told(browser.post("/photos", files={"photo": ("p.jpg", PHOTO)}, headers=head))
    there.unlink()
    answer = browser.post("/photos", files={"photo": ("p.jpg", PHOTO)}, headers=head)
    assert re.fullmatch("[0-9a-f]{64}", answer.json()["sha256"])


def test_a_database_server_that_went_away_is_told_on_every_page_and_comes_back(
    postgres_server, postgres_place, tmp_path
):
    with (
        started(postgres_place) as bench,
        TestClient(application(bench, Settings()), base_url=HERE, follow_redirects=False) as alone,
        TestClient(
            application(bench, Settings(shared=True, names=())), base_url="https://b.example"
        ) as shared,
    ):
        people = People(bench.store)
        people.add("otto", "operator", by="the test", password=WORDS)
        shared.cookies.set("__Host-session", SignIns(people).by_password("otto", WORDS).token)
        head, sent = head_of(alone), {"taps": [tap()]}
        postgres_server.stop("immediate")
        try:
            told(alone.post("/queue", json=sent, headers=head))
            # Where people sign in, nobody is known without the record: still words, and no sign-in is lost.
            for client in (alone, shared):
                page = client.get(f"/lot/{LOT}", headers={"accept": "text/html"})
                assert page.status_code == 503
                assert "The record does not answer" in page.text
        finally:
            postgres_server.start()
        assert alone.post("/queue", json=sent, headers=head).json()["answers"][0]["state"] == "kept"
        page = shared.get(f"/lot/{LOT}")
        assert page.status_code == 200
        assert "meanwhile" in shared.get(f"/lot/{LOT}/step/01A").text
