"""The page of a wafer: every moment by taps, pictures behind addresses, entries that no longer count still shown."""

import re
import shutil
import uuid

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Answers, Bench
from filmwright.record import Event
from filmwright.web import Settings, application

pytestmark = pytest.mark.whole

HERE = "http://127.0.0.1:8537"
MARKUP = '<b onclick=alert(1)>"bold"</b>'


@pytest.fixture
def wafer(story, tmp_path):
    """A browser before a copy of the invented bench that works wafers out at once, and the page of the wafer furthest on."""
    shutil.copytree(story.record.parent, tmp_path / "copy")
    with Bench.open(tmp_path / "copy" / "record.sqlite") as bench:
        lot = min(bench.heads(), key=lambda name: len(bench.progress(name).steps))
        bench.emulation = Answers(bench)
        with TestClient(application(bench, Settings(example=True)), base_url=HERE) as client:
            yield client, bench, lot, f"/lot/{lot}/wafer/{bench.lot(lot).wafers[0]}"


def test_one_goes_through_the_past_by_taps_alone(wafer):
    client, _, _, path = wafer
    page = client.get(path).text
    last = int(re.search(r"Moment (\d+) of \1<", page)[1])
    assert last > 3
    pictures = set()
    for at in range(last, -1, -1):
        page = client.get(f"{path}?at={at}").text
        assert f"Moment {at} of {last}" in page
        assert (f'href="{path}?at={at - 1}"' in page) == (at > 0)
        assert (f'href="{path}?at={at + 1}"' in page) == (at < last)
        assert f'max="{last}" value="{at}"' in page
        (picture,) = set(re.findall(r'<img src="(/picture/[^"]+)"', page))
        pictures.add(picture)
    assert "As bought" in page
    for picture in pictures:
        shown = client.get(picture)
        assert shown.headers["content-type"].startswith("image/svg+xml")
        assert "sandbox" in shown.headers["content-security-policy"]
    assert len(pictures) > 2
    for wrong in ("-1", "x", "٣", "9" * 40, ""):
        assert client.get(path, params={"at": wrong}).status_code == 200
    assert client.get(path, params={"at": "99999"}).text.count(f"Moment {last} of {last}") == 1


def test_what_was_corrected_and_taken_back_is_still_there_and_markup_is_text(wafer):
    client, bench, lot, path = wafer
    name, noon = path.rpartition("/")[2], bench.lot(lot).started
    step = bench.flow(lot).steps[0].number

    def said(kind, **words):
        event = Event(
            id=str(uuid.uuid4()), lot=lot, wafer=name, kind=kind, happened=noon, written=noon, **words
        )
        bench.store.append([event])
        return event

    first = said("note", step=step, text=f"first {MARKUP}")
    said("note", step=step, text="second thought", about=first.id)
    third = said("note", step=step, text="never mind")
    said("withdraw", text="was nothing", about=third.id)
    page = client.get(path, params={"all": "yes"}).text
    assert MARKUP not in page
    assert "second thought" in page
    assert re.search(r"<s>note first [^<]*</s> <strong>corrected</strong>", page)
    assert re.search(r"<s>note never mind</s> <strong>taken back</strong>", page)
    assert "takes back: note never mind" in page


def test_a_wafer_that_is_not_there_is_said_and_one_that_is_not_worked_out_has_its_history(wafer):
    client, bench, lot, path = wafer
    gone = client.get(f"/lot/{lot}/wafer/W99")
    assert gone.status_code == 400 or gone.status_code == 404
    assert "W99" in gone.text
    known = client.get(f"{path}/known").json()
    assert known == {"position": bench.head(lot), "working": False}
    bench.emulation = None
    page = client.get(path).text
    assert "History" in page
    assert "worked out when the bench is served" in page


def test_a_long_history_begins_with_the_newest_and_keeps_what_was_measured_in_view(wafer):
    client, bench, lot, path = wafer
    name, at = path.rpartition("/")[2], "2020-01-05T09:00:00+00:00"

    def entry(kind, **words):
        return Event(id=str(uuid.uuid4()), lot=lot, wafer=name, kind=kind, happened=at, written=at, who="AB", invented=True,
                     **words)  # fmt: skip

    bench.store.append(
        [
            entry("seen", name="look", text="a first look"),
            *(entry("note", text=f"word {k}.") for k in range(70)),
        ]
    )
    page, every = client.get(path).text, client.get(f"{path}?all=yes").text
    assert client.get(f"{path}/known").json()["position"] >= -1
    log, whole = (re.search(r'<ol class="log">.*?</ol>', each, re.DOTALL)[0] for each in (page, every))
    assert log.count("<li") == 60
    assert f"Show {whole.count('<li') - 60} more entries" in page
    assert whole.startswith(log.removesuffix("</ol>").rstrip())
    assert "word 0." in whole
    # They happened before all others, so they stand last and out of view; what was seen has a part of its own.
    assert "word 0." not in log
    assert "a first look" not in log
    assert "a first look" in page
    assert "more entries" not in every
