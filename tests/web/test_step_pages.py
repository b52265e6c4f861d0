"""A step is worked by plain forms, without any script: start, numbers, questions, conflicts, photos, the hold point."""

from __future__ import annotations

import html
import io
import json
import re
import uuid

import pytest
from PIL import Image
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench
from filmwright.record import Event, Lot, Store, digest
from filmwright.web import Settings, application

pytestmark = pytest.mark.whole

HERE, LOT = "http://127.0.0.1:8537", "K7M-4H7"
PLAN = """\
flow: Two films and a gap
invented: yes
wafer: {body: silicon, diameter: 100 mm}
masks:
  drawing: none.oas
  pads: {layer: 1/0, drawn: opaque}
steps:
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
  - pattern: pads
    resist: positive 1.3 um
  - etch: titanium
    in: dilute hydrofluoric acid
    time: 20 s
"""
ETCH = f"/lot/{LOT}/step/03A"


@pytest.fixture
def bench(tmp_path):
    """A lot of two wafers at its beginning."""
    with Store.open(tmp_path / "record.sqlite", create=True) as store:
        store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=("W1", "W2"), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        yield Bench(store)


@pytest.fixture
def person(bench):
    """A browser without script."""
    with TestClient(application(bench, Settings()), base_url=HERE) as client:
        yield client


def forms(text: str) -> list[str]:
    return re.findall(r"<form[^>]*>.*?</form>", text, re.DOTALL)


def hidden(form: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for tag in re.findall(r'<input type="hidden"[^>]*>', form):
        name, value = re.search(r'name="([^"]*)"', tag)[1], re.search(r'value="([^"]*)"', tag)[1]
        found.setdefault(name, []).append(html.unescape(value))
    return found


def send(client, shown: str, needle: str, files=None, **words):
    """The first form that holds the words, sent as a browser sends it."""
    form = next(each for each in forms(shown) if needle in each)
    path = html.unescape(re.search(r'action="([^"]*)"', form)[1])
    return client.post(path, data={**hidden(form), **words}, files=files, follow_redirects=False)


def told(bench) -> list[tuple[str, str, float | None]]:
    return [(each.kind, each.name, each.value) for each in bench.written(LOT) if each.name != "hold point"]


def without_the_look(bench) -> None:
    """The process owner lets the etch begin although nobody looked at the print."""
    bench.store.append(
        [
            Event(id=str(uuid.uuid4()), lot=LOT, kind="acknowledge", step="3.1", name="hold point", text="a test",
                  happened="2026-01-05T08:00:01+01:00", written="2026-01-05T08:00:01+01:00", who="owner", invented=True)
        ]
    )  # fmt: skip


def test_an_ordinary_step_is_two_taps(person, bench):
    without_the_look(bench)
    page = person.get(ETCH + "?wafer=W1")
    assert "Start W1" in page.text
    assert send(person, page.text, 'id="do-start"', who="AB").status_code == 303
    page = person.get(ETCH + "?wafer=W1")
    assert "Finish as planned" in page.text
    assert send(person, page.text, 'id="do-finish"').headers["location"] == ETCH + "?wafer=W1"
    assert told(bench) == [("start", "", None), ("set", "time", 20.0), ("finish", "", None)]
    assert {(each.wafer, each.who) for each in bench.written(LOT) if each.who != "owner"} == {("W1", "AB")}
    assert "20 s entered" in person.get(ETCH + "?wafer=W1").text


def test_the_same_form_sent_twice_is_kept_once(person, bench):
    without_the_look(bench)
    page = person.get(ETCH).text
    assert [send(person, page, 'id="do-start"').status_code for _ in range(2)] == [303, 303]
    assert told(bench) == [("start", "", None)]


def test_a_slip_is_asked_back_and_one_tap_keeps_what_was_meant(person, bench):
    page = person.get(ETCH).text
    asked = send(person, page, 'data-what="time"', value="20", unit="min")
    assert asked.status_code == 422
    assert "20 min entered, 20 s planned: did you mean 20 s?" in asked.text
    assert told(bench) == []
    assert send(person, asked.text, 'id="meant"').status_code == 303
    assert told(bench) == [("set", "time", 20.0)]


def test_a_second_look_keeps_the_number_with_a_remark(person, bench):
    asked = send(person, person.get(ETCH).text, 'data-what="time"', value="25", unit="s")
    assert "above 22 s, the limit of the band around 20 s" in html.unescape(asked.text)
    assert send(person, asked.text, "Keep it as entered").status_code == 303
    assert told(bench) == [("set", "time", 25.0), ("acknowledge", "out of band", None)]


def test_an_impossible_number_is_refused_in_words(person, bench):
    refused = send(person, person.get(ETCH).text, 'data-what="time"', value="-20", unit="s")
    assert refused.status_code == 422
    assert "more than zero" in refused.text
    assert told(bench) == []


@pytest.mark.parametrize(("choice", "kept"), [("theirs", "note"), ("mine", "finish")])
def test_who_comes_second_sees_both_and_chooses(person, bench, choice, kept):
    without_the_look(bench)
    page = person.get(ETCH).text
    send(person, page, 'id="do-start"', who="AB")
    old = person.get(ETCH).text
    with TestClient(application(bench, Settings()), base_url=HERE) as other:
        send(other, other.get(ETCH).text, 'id="do-finish"', who="CD")
    second = send(person, old, 'id="do-finish"')
    assert second.status_code == 409
    assert "CD finished this step at" in second.text
    before = len(bench.written(LOT))
    assert send(person, second.text, f'value="{choice}"').status_code == 303
    assert kept in {each.kind for each in bench.written(LOT)[before:]}
    assert len([each for each in bench.events(LOT) if each.kind == "finish"]) == 1


def test_what_is_taken_back_stays_to_be_seen(person, bench):
    send(person, person.get(ETCH).text, 'name="kind" value="note"', text="<b>a rim</b>")
    page = person.get(ETCH).text
    assert "&lt;b&gt;a rim" in page
    send(person, page, 'value="withdraw"')
    assert "<del>" in person.get(ETCH).text
    assert [each[0] for each in told(bench)] == ["note", "withdraw"]


def test_a_photo_is_kept_without_where_it_was_taken(person, bench):
    raw = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "51.4778 north"
    Image.new("RGB", (20, 10)).save(raw, "JPEG", exif=exif)
    page = person.get(ETCH).text
    sent = send(person, page, 'type="file"', files={"photo": ("../rim.svg", raw.getvalue(), "text/html")})
    assert sent.status_code == 303
    (event,) = bench.written(LOT)
    shown = person.get(f"/photos/{event.sha256}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert "sandbox" in shown.headers["content-security-policy"]
    assert b"51.4778" not in shown.content
    assert person.get("/photos/" + "0" * 64).status_code == 404
    evil = send(person, page, 'type="file"', files={"photo": ("x.jpg", b"<script>", "image/jpeg")})
    assert evil.status_code == 422


def test_the_hold_point_asks_and_scrap_needs_a_reason(person, bench):
    code = next(each.code for each in bench.flow(LOT).steps if each.hold)
    inspect = f"/lot/{LOT}/step/{code}"
    send(person, person.get(inspect).text, 'id="do-start"')
    send(person, person.get(inspect).text, 'id="do-finish"')
    page = person.get(inspect).text
    assert "Before going on look at:" in page
    etch = person.get(ETCH).text
    assert f"First decide at {code}" in html.unescape(etch)
    assert send(person, etch, 'id="do-start"').status_code == 422
    assert send(person, page, 'value="scrap"', text="").status_code == 422
    assert send(person, page, 'id="do-go"').status_code == 303
    assert told(bench)[-1][:2] == ("hold", "go")
    assert "Decided: go" in person.get(inspect).text
    assert "First decide" not in person.get(ETCH).text


def test_cautions_are_there_before_anything_was_worked_out(person, bench):
    page = html.unescape(person.get(ETCH).text)
    assert "being worked out" in page or bench.place is None
    for words in ("hydrofluoric acid", "Wear", "The rules of the site come first"):
        assert words in page, words
    assert 'class="cautions"' in page


def test_a_look_that_was_never_begun_is_told_and_the_start_refused_until_a_reason_is_given(person, bench):
    code = next(each.code for each in bench.flow(LOT).steps if each.hold)
    etch = person.get(ETCH).text
    assert f"First decide at {code}" in html.unescape(etch)
    assert "Begin without it" in etch
    refused = send(person, etch, 'id="do-start"')
    assert refused.status_code == 422
    assert "a look that was not taken of W1, W2" in html.unescape(refused.text)
    assert send(person, etch, 'value="hold point"', text=" ").status_code == 422
    assert not bench.written(LOT)
    assert send(person, etch, 'value="hold point"', text="the microscope is down").status_code == 303
    free = person.get(ETCH).text
    assert "First decide" not in free
    assert "hold point the microscope is down" in html.unescape(free)
    assert send(person, free, 'id="do-start"').status_code == 303


def test_the_queue_answers_for_each_tap_and_the_clocks_are_told(person, bench):
    without_the_look(bench)
    text = person.get(ETCH).text
    head = {"x-form-token": re.search(r'data-token="([0-9a-f]+)"', text)[1], "accept": "application/json"}
    ids = [f"00000000-0000-4000-8000-00000000000{k}" for k in range(4)]
    taps = [
        {"id": ids[0], "lot": LOT, "step": "3.1", "seen": 0, "entries": [{"kind": "start"}], "who": "AB"},
        {"id": ids[1], "lot": LOT, "step": "3.1", "seen": 0, "who": "AB",
         "entries": [{"kind": "timer", "name": "etch", "value": "2", "unit": "min"}]},
        {"id": ids[2], "lot": "none", "step": "3.1", "entries": [{"kind": "start"}]},
        {"id": ids[3], "lot": LOT, "step": "3.1", "seen": 0, "entries": "start"},
    ]  # fmt: skip
    answers = person.post("/queue", json={"taps": taps}, headers=head).json()["answers"]
    assert [each["state"] for each in answers] == ["kept", "kept", "refused", "refused"]
    again = person.post("/queue", json={"taps": taps}, headers=head).json()["answers"]
    assert [each["state"] for each in again][:2] == ["already there", "already there"]
    (timer,) = person.get(f"/lot/{LOT}/timers").json()["timers"]
    assert (timer["name"], timer["code"]) == ("etch", "03A")
    assert person.post("/queue", json={"taps": taps}).status_code == 403


def test_the_worker_names_its_version_and_keeps_every_page_of_the_lot(person, bench):
    worker = person.get("/sw.js")
    version = re.search(r'const VERSION = "([0-9a-f]+)"', worker.text)[1]
    assert person.get(ETCH).headers["x-version"] == version
    for path in json.loads(re.search(r"const STATIC = (\[.*?\]);", worker.text)[1]):
        assert person.get(path).status_code == 200
        assert version in path
    paths = [path for path, _ in person.get(f"/lot/{LOT}/offline").json()["paths"]]
    steps = bench.flow(LOT).steps
    assert {f"/lot/{LOT}/step/{each.code}?wafer=W2" for each in steps} <= set(paths)
    assert person.get("/manifest.webmanifest").json()["display"] == "standalone"


def test_a_mark_changes_only_with_what_was_written_about_its_step(person, bench):
    before = dict(person.get(f"/lot/{LOT}/offline").json()["paths"])
    send(person, person.get(ETCH).text, 'name="kind" value="note"', text="rim")
    after = dict(person.get(f"/lot/{LOT}/offline").json()["paths"])
    changed = {path for path in before if before[path] != after[path]}
    steps = {path.partition("?")[0] for path in changed if "/step/" in path}
    assert steps == {ETCH}


def test_scripts_of_the_bench_are_small():
    """All of our own script for a step, uncompressed, in bytes; the worker included."""
    from filmwright.web.render import STATIC

    names = ["page", "bench", "queue", "clocks", "decide", "step", "keypad", "check", "photo", "timers", "sw"]
    assert sum((STATIC / f"{name}.js").stat().st_size for name in names) < 60_000


def test_a_split_is_planned_for_one_wafer_and_then_nobody_writes_for_all(person, bench):
    assert "data-split" not in person.get(ETCH).text, "a split compares wafers: one is chosen first"
    page = person.get(ETCH + "?wafer=W2").text
    assert send(person, page, "data-split", value="24", unit="s", text="longer", who="AB").status_code == 303
    (split,) = bench.written(LOT)
    assert (split.kind, split.wafer, split.name, split.value, split.text) == (
        "split",
        "W2",
        "time",
        24.0,
        "longer",
    )
    both = person.get(ETCH).text
    assert "each has its own numbers" in both
    assert "20 s" not in re.search(r'<section class="dial".*?</section>', both, re.DOTALL)[0]
    assert 'class="main-action" href="/lot/K7M-4H7/step/03A?wafer=W1"' in both
    own = re.search(r'<section class="dial".*?</section>', person.get(ETCH + "?wafer=W2").text, re.DOTALL)[0]
    assert ">24 <" in own
    assert "split longer" in own


def test_a_wafer_is_shown_with_the_check_character_of_its_label(person, bench):
    from filmwright.record import label_of

    check = label_of(LOT, "W1").rpartition("W1")[2]
    assert f"<strong>W1<small>{check}</small></strong>" in person.get(ETCH).text
