"""Measured files through the pages: understood before they are kept, kept raw, and nothing harmful in any of them."""

import hashlib
import importlib.util
import re
import shutil
from concurrent.futures import Future
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench
from filmwright.desk.bench.measured_lots import MeasuredLots
from filmwright.desk.bench.measurements import excluded
from filmwright.errors import BadInput
from filmwright.web import Settings, application

pytestmark = pytest.mark.whole
HERE = "http://127.0.0.1:8537"


def _fuzz():
    place = Path(__file__).parents[2] / "bench" / "fuzz.py"
    spec = importlib.util.spec_from_file_location("bench_fuzz", place)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


FUZZ = _fuzz()


@pytest.fixture(scope="module")
def lab(story, tmp_path_factory):
    """A browser before a copy of the invented bench, the bench, and its lot of transistors."""
    place = tmp_path_factory.mktemp("measured")
    shutil.copytree(story.record.parent, place / "story")
    with (
        Bench.open(place / "story" / story.record.name) as bench,
        TestClient(application(bench, Settings()), base_url=HERE, raise_server_exceptions=False) as client,
    ):
        yield (
            client,
            bench,
            next(each.name for each in bench.lots() if "humidity-switch.oas" in each.flow_text),
        )


def token_of(client):
    """The token that this browser's forms carry."""
    return re.search(r'data-token="([0-9a-f]{64})"', client.get("/plans").text).group(1)


def sent(client, lot, *files):
    """The page of what was understood of files."""
    answer = client.post(
        f"/lot/{lot}/measurements/files",
        data={"token": token_of(client)},
        files=[("files", (name, raw, "application/octet-stream")) for name, raw in files],
    )
    assert answer.status_code == 200
    return answer


def count(bench, lot):
    """Files that are kept of a lot."""
    return len(bench.store.files(lot))


def fresh(more):
    """A sound table that was not sent before."""
    return FUZZ.seeds()[0] + b"\n" * more


def test_nothing_is_kept_before_it_is_confirmed_and_then_raw(lab):
    client, bench, lot = lab
    name, raw = "new-W1-T08.csv", fresh(1)
    before = count(bench, lot)
    page = sent(client, lot, (name, raw))
    sha256 = hashlib.sha256(raw).hexdigest()
    assert count(bench, lot) == before
    assert "first values" in page.text
    assert "<option selected>T08</option>" in page.text
    tray = page.url.path
    answer = client.post(
        f"{tray}/keep",
        data={
            "token": token_of(client), "keep": sha256, f"device_{sha256}": "T08", f"wafer_{sha256}": "W1", "who": "AB",
        },
    )  # fmt: skip
    assert answer.status_code == 200
    assert count(bench, lot) == before + 1
    assert bench.store.raw(sha256) == raw
    assert client.get(tray).status_code == 404


def test_a_correction_is_read_again_and_kept_with_the_file(lab):
    client, bench, lot = lab
    name, raw = "corrected.csv", fresh(2)
    raw = raw.replace(b"ID", b"Kanal7").replace(b"Id", b"Kanal7")
    page = sent(client, lot, (name, raw))
    sha256 = hashlib.sha256(raw).hexdigest()
    tray = page.url.path
    head = raw.split(b"\n")[0].decode("utf-8", "replace")
    column = next((c.strip(' "\r') for c in re.split("[,;\t]", head) if "Kanal7" in c), "Kanal7")
    form = {"token": token_of(client), "keep": sha256, f"read_as_{sha256}": f"{column} = drain current, A"}
    again = client.post(f"{tray}/read", data=form)
    assert again.status_code == 200
    assert f"{column} = drain current, A" in again.text
    wrong = client.post(f"{tray}/read", data={**form, f"read_as_{sha256}": "no sense"})
    assert "Cannot be read as it is" in wrong.text
    assert count(bench, lot) == len(bench.store.files(lot))


def test_what_cannot_belong_to_the_lot_is_refused_and_nothing_is_kept(lab):
    client, bench, lot = lab
    name, raw = "elsewhere.csv", fresh(3)
    before, sha256 = count(bench, lot), hashlib.sha256(raw).hexdigest()
    tray = sent(client, lot, (name, raw)).url.path
    form = {"token": token_of(client), "keep": sha256, "who": "AB"}
    for wrong in ({f"device_{sha256}": "T99x"}, {f"wafer_{sha256}": "W99"}, {"keep": "0" * 64}, {"keep": ""}):
        assert client.post(f"{tray}/keep", data={**form, **wrong}).status_code == 422
    assert client.post(f"{tray}/drop", data=form, follow_redirects=False).status_code == 303
    assert client.post(f"{tray}/keep", data=form).status_code == 422
    assert count(bench, lot) == before


def test_a_device_is_left_out_only_with_a_reason_and_a_name(lab):
    client, bench, lot = lab
    form = {"token": token_of(client), "device": "T07", "wafer": "W1"}
    anonymous = TestClient(client.app, base_url=HERE)
    path = f"/lot/{lot}/measurements/exclude"
    assert client.post(path, data={**form, "who": "AB", "why": " "}).status_code == 422
    bare = {"token": token_of(anonymous), "device": "T07", "wafer": "W1", "why": "pad torn"}
    assert anonymous.post(path, data=bare).status_code == 422
    assert client.post(path, data={**form, "who": "AB", "why": "pad torn"}).status_code == 200
    assert "pad torn" in excluded(bench, lot)["W1", "T07"]
    assert (
        client.post(path, data={**form, "who": "AB", "why": "it was another", "back": "yes"}).status_code
        == 200
    )
    assert ("W1", "T07") not in excluded(bench, lot)


@pytest.mark.parametrize("part", range(3))
def test_damaged_tables_never_end_in_a_fault_and_nothing_is_kept(lab, part):
    client, bench, lot = lab
    before, random, sound = count(bench, lot), np.random.default_rng([FUZZ.SEED, 7, part]), FUZZ.seeds()
    files = []
    for number in range(30):
        content = FUZZ.damaged(sound[int(random.integers(len(sound)))], random)
        files.append((f"{number}.csv", content))
    page = sent(client, lot, *files)
    assert page.status_code == 200
    assert count(bench, lot) == before


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=60), st.binary(max_size=300))
def test_any_name_and_any_bytes_are_answered_calmly(lab, name, raw):
    client, bench, lot = lab
    before = count(bench, lot)
    answer = client.post(
        f"/lot/{lot}/measurements/files",
        data={"token": token_of(client)},
        files=[("files", (name.replace("\0", "") or "x", raw, "text/csv"))],
    )
    assert answer.status_code < 500
    assert "<script>" not in answer.text
    assert count(bench, lot) == before


def test_names_stay_names_and_too_much_is_refused(lab):
    client, _, lot = lab
    page = sent(client, lot, ("../../<b>x</b>.csv", fresh(4)), ("page.html", b"<html><script>1</script>"))
    assert "<b>x</b>" not in page.text
    assert "../../" not in page.text
    assert "Not taken" in page.text
    big = [("files", ("big.csv", b"1,2\n" * (17 * 1024 * 1024), "text/csv"))]
    answer = client.post(f"/lot/{lot}/measurements/files", data={"token": token_of(client)}, files=big)
    assert answer.status_code == 413
    assert client.get(f"/lot/{lot}/measurements/tray/none").status_code == 404
    assert client.get("/lot/NONE-1/measurements").status_code == 404


@pytest.fixture(scope="module")
def whole(probed, tmp_path_factory):
    """A browser before a copy of a lot that was run and probed; what its files tell is worked out at once, in this process."""
    place = tmp_path_factory.mktemp("whole") / "lot"
    shutil.copytree(probed.parent, place)

    def now(work, *asked):
        future = Future()
        try:
            future.set_result(work(*asked))
        except BadInput as trouble:
            future.set_exception(trouble)
        return future

    with Bench.open(place / probed.name) as bench:
        bench.measured = MeasuredLots(now)
        with TestClient(
            application(bench, Settings()), base_url=HERE, raise_server_exceptions=False
        ) as client:
            yield client, bench, bench.lots()[0].name


def test_everything_that_files_tell_stands_on_the_page_without_script(whole):
    client, _, lot = whole
    page = client.get(f"/lot/{lot}/measurements?told=1&of=field_effect_mobility&device=W1+T01").text
    for section in ("Yield", "Maps and splits", "Parameters", "Prediction", "Devices"):
        assert f">{section}</h2>" in page
    assert "Being worked out" not in page
    assert re.search(r'<option value="field_effect_mobility" selected>', page)
    assert "W1 T01" in page
    assert "Dots: as expected of the device as it was made" in page
    assert "style=" not in page
    readout = page[page.index('class="of-device"') :]
    assert re.search(r"<dd>\d[\d.]* ± \d[\d.]* cm²/\(V·s\)</dd>", readout)


def test_the_next_part_is_fetched_and_another_device_is_a_part_of_the_page(whole):
    client, bench, lot = whole
    name = [each.device for each in bench.store.files(lot) if each.device][-1]
    part = client.get(f"/lot/{lot}/measurements/told?done=0")
    assert part.status_code == 200
    assert "<html" not in part.text
    assert "Prediction" in part.text
    shown = client.get(f"/lot/{lot}/measurements/devices?of=threshold_voltage&device=W1+{name}").text
    assert f'<option value="W1 {name}" selected>' in shown
    assert "dot-chosen" in shown
    for odd in ("?of=none&device=W9+T99", "?of=<b>&device=<b>", "?device=+"):
        answer = client.get(f"/lot/{lot}/measurements/devices{odd}")
        assert answer.status_code == 200
        assert "<b>&" not in answer.text
        assert "dot-chosen" not in answer.text


def test_working_out_is_told_stopped_and_gone_on_with(lab):
    client, bench, lot = lab
    waiting = []

    def later(work, *asked):
        waiting.append(Future())
        if len(asked) == 2:
            # W and L of the drawing: this page waits for them a while.
            waiting[-1].set_result({})
        return waiting[-1]

    before, bench.measured = bench.measured, MeasuredLots(later)
    try:
        sha256 = hashlib.sha256(fresh(50)).hexdigest()
        tray = sent(client, lot, ("W1-T01.csv", fresh(50))).url.path
        form = {
            "token": token_of(client),
            "keep": sha256,
            f"device_{sha256}": "T01",
            f"wafer_{sha256}": "W1",
            "who": "AB",
        }
        page = client.post(f"{tray}/keep", data=form).text
        assert "Being worked out now: parameters" in page
        told = client.get(f"/lot/{lot}/measurements/told?done=0")
        assert (told.status_code, told.json()["working"]) == (202, True)
        page = client.post(
            f"/lot/{lot}/measurements/work", data={"token": token_of(client), "do": "stop"}
        ).text
        assert "Stopped; what is worked out stays." in page
        assert client.get(f"/lot/{lot}/measurements/told?done=0").json()["working"] is False
        page = client.post(f"/lot/{lot}/measurements/work", data={"token": token_of(client), "do": "go"}).text
        assert "Being worked out now: parameters" in page
    finally:
        bench.measured = before


def test_a_kept_file_is_saved_and_never_shown(whole):
    client, bench, lot = whole
    file = next(each for each in bench.store.files(lot) if each.device)
    answer = client.get(f"/lot/{lot}/measurements/file/{file.sha256}")
    assert hashlib.sha256(answer.content).hexdigest() == file.sha256
    assert answer.headers["content-disposition"].startswith("attachment;")
    assert "sandbox" in answer.headers["content-security-policy"]
    assert answer.headers["content-type"].startswith("text/plain")
    drawing = next(each for each in bench.store.files(lot) if not each.device)
    assert client.get(f"/lot/{lot}/measurements/file/{drawing.sha256}").status_code == 404
    assert client.get(f"/lot/{lot}/measurements/file/{'0' * 64}").status_code == 404


def test_what_cannot_be_read_is_kept_said_so_and_read_when_somebody_says_how(whole):
    client, bench, lot = whole
    lines = FUZZ.seeds()[0].decode().splitlines()
    raw = ("\n".join(["Kanal7;Kanal8;Kanal9", *lines[1:]])).encode()
    sha256 = hashlib.sha256(raw).hexdigest()
    page = sent(client, lot, ("odd-W1-T02.csv", raw))
    assert "Cannot be read as it is" in page.text
    assert re.search(rf'name="keep" value="{sha256}" checked', page.text)
    form = {
        "token": token_of(client),
        "keep": sha256,
        f"device_{sha256}": "T02",
        f"wafer_{sha256}": "W1",
        "who": "AB",
    }
    page = client.post(f"{page.url.path}/keep", data=form)
    assert bench.store.raw(sha256) == raw
    assert (
        "<b>odd-W1-T02.csv</b> is kept as it is and tells nothing yet"
        in client.get(f"/lot/{lot}/measurements?told=1").text
    )
    again = client.post(f"/lot/{lot}/measurements/file/{sha256}/again", data={"token": token_of(client)})
    assert "What was understood" in again.text
    assert re.search(rf'name="keep" value="{sha256}" checked', again.text)


def test_a_wafer_shows_its_maps_and_planned_beside_measured_thickness(whole):
    client, _, lot = whole
    client.get(f"/lot/{lot}/measurements?told=1")
    page = client.get(f"/lot/{lot}/wafer/W1").text
    assert "Maps of what was measured" in page
    assert 'aria-label="Map of threshold voltage. W1: ' in page
    rows = page[page.index("Planned and measured") : page.index("Maps of what was measured")]
    assert len(re.findall(r"<td class=\"figure\">[\d.]+ ± [\d.]+ nm</td>", rows)) >= 2
    assert re.search(r"<td class=\"figure\">[+−][\d.]+ %</td>", rows)
