"""A run sheet on paper is typed in by step codes, looked at as it was understood, and kept once."""

from __future__ import annotations

import html

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, People, SignIns
from filmwright.record import Lot, digest
from filmwright.web import Settings, application

from .conftest import HERE, send

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
PAPER = f"/lot/{LOT}/paper"
LINES = '01A ok 9:10 CD\n02A W1 measured thickness=58 nm ok 10:30 CD "a <b> rim"'


@pytest.fixture
def bench(tmp_path):
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        bench.store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=("W1", "W2"), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        yield bench


def test_lines_are_shown_as_understood_and_kept_once(bench):
    with TestClient(application(bench, Settings()), base_url=HERE) as client:
        words = {"text": LINES, "day": "2026-01-06", "who": "AB"}
        seen = send(client, PAPER, f"{PAPER}/look", **words)
        assert seen.status_code == 200
        assert "a <b> rim" not in seen.text
        assert "02A" in seen.text
        assert "Keep 2 lines" in seen.text
        assert not bench.written(LOT)
        for _ in range(2):
            assert (
                client.post(
                    f"{PAPER}/keep", data=_hidden(seen.text) | words, follow_redirects=False
                ).status_code
                == 303
            )
        kept = [
            (each.step, each.wafer, each.kind, each.who, each.happened[:16]) for each in bench.written(LOT)
        ]
        assert kept == [
            ("1.1", "", "finish", "CD", "2026-01-06T09:10"), ("2.1", "W1", "measured", "CD", "2026-01-06T10:30"),
            ("2.1", "W1", "finish", "CD", "2026-01-06T10:30"),
        ]  # fmt: skip
        bad = send(client, PAPER, f"{PAPER}/look", **{**words, "text": "01A ok\n09Z ok\n02A tiem=4"})
        assert bad.status_code == 422
        assert "Line 2" in bad.text
        assert "tiem=4" in html.unescape(bad.text)
        assert len(bench.written(LOT)) == 3


def test_a_refused_sheet_keeps_the_name_that_was_typed_with_it(bench):
    with TestClient(application(bench, Settings()), base_url=HERE) as client:
        bad = send(client, PAPER, f"{PAPER}/look", text="09Z ok", day="2026-01-06", who="AB")
    assert bad.status_code == 422
    assert 'value="AB"' in bad.text


def test_where_people_sign_in_the_typist_is_named_and_decides_no_more_than_elsewhere(bench):
    people, signs = People(bench.store), SignIns(People(bench.store))
    people.add("otto", "operator", by="the test", password=WORDS)
    with TestClient(
        application(bench, Settings(shared=True, names=())), base_url="https://b.example"
    ) as client:
        client.cookies.set("__Host-session", signs.by_password("otto", WORDS).token)
        words = {"text": LINES, "day": "2026-01-06"}
        seen = send(client, PAPER, f"{PAPER}/look", **words)
        token = _hidden(seen.text)
        refused = client.post(
            f"{PAPER}/keep", data=token | {**words, "text": "01A go 9:00"}, follow_redirects=False
        )
        assert refused.status_code == 403
        assert not bench.written(LOT)
        assert client.post(f"{PAPER}/keep", data=token | words, follow_redirects=False).status_code == 303
        assert {each.who for each in bench.written(LOT)} == {"CD (typed in by otto)"}


def _hidden(text):
    return {"token": text.partition('name="token" value="')[2].partition('"')[0]}
