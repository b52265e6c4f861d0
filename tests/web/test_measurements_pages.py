"""Measured files through the pages: understood before they are kept, kept raw, and nothing harmful in any of them."""

import hashlib
import importlib.util
import re
import shutil
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench
from filmwright.desk.bench.measurements import excluded
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
