"""Hours without network, two tablets at one step, a reload in the middle of a clock: nothing is lost, nothing is there twice."""

from __future__ import annotations

from datetime import datetime

import pytest

from filmwright.desk.bench import Bench
from filmwright.desk.bench.entries import Tap, Wanted, enter
from filmwright.record import Lot, digest

from .conftest import PATIENCE, settled, unmoved

pytestmark = pytest.mark.whole

LOT = "K7M-4H7"
PLAN = """\
flow: Two films and a gap
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
  - etch: titanium
    in: dilute hydrofluoric acid
    time: 20 s
  - measure: step height
    of: titanium
"""
CODES = ["01A", "02A", "03A", "03C", "04A"]


@pytest.fixture
def bench_copy(tmp_path):
    """A small lot of two wafers at its beginning; it takes the place of the invented story."""
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        bench.store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=("W1", "W2"), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        yield bench


def ready(page) -> None:
    """Wait until the pages of the lot are kept on the device."""
    page.wait_for_selector('html[data-offline="ready"]')


def press(page, word: str) -> None:
    page.get_by_role("button", name=word, exact=True).click()


def start(page, code: str = "03A", wafer: str = "W1") -> None:
    page.goto(f"/lot/{LOT}/step/{code}?wafer={wafer}")
    settled(page)
    if unmoved(page.get_by_label("Your name or initials").count):
        page.get_by_label("Your name or initials").fill("AB")
    press(page, f"Start {wafer}")
    page.locator("#state-word", has_text="Running").wait_for()
    wait_kept(page)


def wait_kept(page) -> None:
    page.locator('#kept[data-state="server"]', has_text="saved on the server at").wait_for()


def told(bench) -> list[tuple[str, str]]:
    return [(each.step, each.kind) for each in bench.written(LOT)]


def test_a_shift_without_network_arrives_once_and_in_order(tablet, bench_copy):
    start(tablet, "01A")
    unmoved(tablet.reload)
    ready(tablet)
    tablet.context.set_offline(True)
    press(tablet, "Finish")
    tablet.locator("#kept", has_text="1 waiting").wait_for()
    for code in CODES[1:]:
        tablet.goto(f"/lot/{LOT}/step/{code}?wafer=W1")
        press(tablet, "Start W1")
        tablet.locator("#state-word", has_text="Running").wait_for()
        unmoved(tablet.reload)
        # What was entered here is still seen after a reload without network.
        tablet.locator("#state-word", has_text="Running").wait_for()
        tablet.locator("summary", has_text="Note").click()
        tablet.get_by_label("What was seen or done").fill(f"note at {code}")
        press(tablet, "Keep the note")
        tablet.locator("#entries .here", has_text=f"note at {code}").wait_for()
        tablet.locator(".main-action:visible").click()
        tablet.locator("#state-word", has_text="Done").wait_for()
    tablet.locator("#kept", has_text="13 waiting").wait_for()
    assert told(bench_copy) == [("1.1", "start")]
    tablet.context.set_offline(False)
    wait_kept(tablet)
    wanted = [("1.1", "start"), ("1.1", "finish")]
    wanted += [(step, kind) for step in ("2.1", "3.1", "3.2", "4.1") for kind in ("start", "note", "finish")]
    # What is dialled in at a deposition depends on how much has been worked out; the etch's time is the plan's.
    assert [each for each in told(bench_copy) if each[1] != "set"] == wanted
    assert told(bench_copy).count(("3.1", "set")) == 1
    assert {each.wafer for each in bench_copy.written(LOT)} == {"W1"}
    assert {each.who for each in bench_copy.written(LOT)} == {"AB"}


def test_the_second_tablet_is_told_who_finished_when_and_loses_nothing(tablet, chromium, address, bench_copy):
    start(tablet)
    other = chromium.new_context(base_url=address).new_page()
    other.set_default_timeout(PATIENCE)
    other.goto(f"/lot/{LOT}/step/03A?wafer=W1")
    tablet.context.set_offline(True)
    press(tablet, "Finish as planned")
    tablet.locator("#kept", has_text="1 waiting").wait_for()
    press(other, "Finish, nothing more to enter")
    other.locator("#state-word", has_text="Done").wait_for()
    tablet.context.set_offline(False)
    asked = tablet.locator(".decide")
    asked.wait_for()
    assert "someone else finished this step at" in asked.inner_text()
    assert "time 20 s" in asked.inner_text()
    assert told(bench_copy) == [("3.1", "start"), ("3.1", "finish")]
    asked.get_by_role("button", name="Theirs hold").click()
    wait_kept(tablet)
    *_, note = bench_copy.written(LOT)
    assert (note.kind, note.who) == ("note", "AB")
    assert "time 20 s" in note.text
    other.context.close()


def test_a_clock_goes_on_over_a_reload_and_a_closed_tablet(tablet, chromium, address, bench_copy):
    start(tablet)
    press(tablet, "Timer 20 s")
    clock = tablet.locator("#clocks li")
    clock.wait_for()
    ends = datetime.fromisoformat(clock.get_attribute("data-ends"))
    unmoved(tablet.reload)
    assert datetime.fromisoformat(tablet.locator("#clocks li").get_attribute("data-ends")) == ends
    again = chromium.new_context(base_url=address).new_page()
    again.set_default_timeout(PATIENCE)
    again.goto(f"/lot/{LOT}/step/01A")
    again.locator("#clocks li .clock-left", has_text=":").wait_for()
    (timer,) = bench_copy.progress(LOT).timers
    assert again.locator("#clocks li").get_attribute("data-entry") == timer.id
    again.context.close()


def test_a_slip_is_asked_about_without_network_too(tablet, bench_copy):
    start(tablet)
    ready(tablet)
    tablet.context.set_offline(True)
    tablet.locator("summary", has_text="Other value").click()
    for key in ("2", "1"):
        press(tablet, key)
    tablet.get_by_label("min", exact=True).first.check()
    press(tablet, "Keep time")
    asked = tablet.locator(".asked")
    asked.wait_for()
    assert "21 min entered, 20 s planned: did you mean 21 s?" in asked.inner_text()
    press(tablet, "21 s")
    tablet.locator("[data-actual]", has_text="21 s entered").wait_for()
    tablet.context.set_offline(False)
    wait_kept(tablet)
    assert [(each.kind, each.value) for each in bench_copy.written(LOT)] == [("start", None), ("set", 21.0)]


def test_a_wet_glove_taps_once(tablet, bench_copy):
    tablet.goto(f"/lot/{LOT}/step/03A?wafer=W1")
    tablet.get_by_label("Your name or initials").fill("AB")
    tablet.locator("text=Start W1").dblclick()
    tablet.locator("#state-word", has_text="Running").wait_for()
    wait_kept(tablet)
    assert told(bench_copy) == [("3.1", "start")]


def test_a_photo_is_made_small_and_kept_by_its_bytes(tablet, bench_copy, tmp_path):
    from PIL import Image

    Image.linear_gradient("L").resize((2400, 1200)).convert("RGB").save(tmp_path / "large.png")
    start(tablet)
    tablet.locator("summary", has_text="Photo").click()
    tablet.get_by_label("Take or choose a photo").set_input_files(tmp_path / "large.png")
    tablet.get_by_label("What it shows").fill("rim of the film")
    press(tablet, "Keep the photo")
    tablet.locator("#entries img.photo").wait_for()
    *_, kept = bench_copy.written(LOT)
    raw = bench_copy.store.raw(kept.sha256)
    assert digest(raw) == kept.sha256
    import io

    with Image.open(io.BytesIO(raw)) as seen:
        assert (seen.format, seen.size) == ("JPEG", (1600, 800))


def test_a_photo_that_goes_slowly_takes_no_half_written_number_away(tablet, bench_copy, tmp_path):
    """The page does not come anew under a hand that keys in something else; what was kept is told, and nothing conflicts."""
    from PIL import Image

    Image.new("RGB", (8, 8)).save(tmp_path / "small.png")
    start(tablet)
    slow = []
    tablet.context.route("**/photos", lambda route: slow.append(route))
    tablet.locator("summary", has_text="Photo").click()
    tablet.get_by_label("Take or choose a photo").set_input_files(tmp_path / "small.png")
    press(tablet, "Keep the photo")
    tablet.locator("#kept", has_text="1 waiting").wait_for()
    tablet.locator("summary", has_text="Other value").first.click()
    keys = tablet.locator("details[open] .keys")
    keys.get_by_role("button", name="2", exact=True).click()
    while not slow:
        tablet.wait_for_timeout(50)
    slow[0].continue_()
    tablet.locator("#entries .here", has_text="saved on the server").wait_for()
    keys.get_by_role("button", name="1", exact=True).click()
    tablet.locator("details[open]").get_by_role("button", name="Keep time").click()
    tablet.locator('[data-actual="time"]', has_text="21 s").wait_for()
    tablet.locator("#entries img.photo").wait_for()
    wait_kept(tablet)
    kept = [(each.kind, each.value) for each in bench_copy.written(LOT)]
    assert kept == [("start", None), ("photo", None), ("set", 21.0)]


def test_while_the_record_takes_nothing_photo_and_tap_stay_on_the_tablet(tablet, bench_copy, tmp_path):
    from PIL import Image

    Image.new("RGB", (8, 8)).save(tmp_path / "small.png")
    start(tablet)
    wait_kept(tablet)
    away = '{"status": 503, "said": "The record does not answer.", "problems": [], "number": ""}'
    for path in ("**/photos", "**/queue"):
        tablet.context.route(path, lambda route: route.fulfill(status=503, body=away))
    tablet.locator("summary", has_text="Photo").click()
    tablet.get_by_label("Take or choose a photo").set_input_files(tmp_path / "small.png")
    press(tablet, "Keep the photo")
    with tablet.expect_response("**/photos"):
        tablet.locator("#kept", has_text="1 waiting").wait_for()
    press(tablet, "Finish as planned")
    tablet.locator("#kept", has_text="2 waiting").wait_for()
    assert not tablet.locator(".decide").count(), "nobody is asked about what will be sent again"
    tablet.context.unroute("**/photos")
    tablet.context.unroute("**/queue")
    unmoved(tablet.reload)
    tablet.evaluate("dispatchEvent(new Event('online'))")
    wait_kept(tablet)
    assert [each.kind for each in bench_copy.written(LOT)][:2] == ["start", "photo"]
    assert "finish" in [each.kind for each in bench_copy.written(LOT)]


def test_what_was_entered_elsewhere_is_seen_before_the_next_tap(tablet, bench_copy):
    """A page that stood open for an hour does not finish what somebody else finished."""
    start(tablet)
    seen = bench_copy.seen(LOT, "3.1")
    enter(bench_copy, Tap(id="6f1c1f5e-7d0a-4f7e-9f86-3a2c7b1f8e01", lot=LOT, step="3.1", wafers=("W1",), seen=seen,
                          entries=(Wanted(kind="finish"),), who="CD"))  # fmt: skip
    press(tablet, "Finish as planned")
    tablet.locator(".decide", has_text="CD finished this step at").wait_for()
    tablet.get_by_role("button", name="Mine hold").click()
    wait_kept(tablet)
    assert [each.kind for each in bench_copy.events(LOT)] == ["start", "finish", "set"]
    assert len(bench_copy.written(LOT)) == 4


def test_a_new_version_of_the_server_replaces_all_that_was_kept_at_once(tablet, monkeypatch, bench_copy):
    """Old pages never meet new scripts: the old version stays in charge until the new one holds the whole lot."""
    tablet.goto(f"/lot/{LOT}/step/03A?wafer=W1")
    ready(tablet)
    settled(tablet)
    (old,) = unmoved(lambda: tablet.evaluate("caches.keys()"))
    from filmwright.web import app, render
    from filmwright.web.pages import offline, step

    for module in (app, render, offline, step):
        monkeypatch.setattr(module, "static_digest", lambda: "0123456789ab")
    unmoved(tablet.reload)
    settled(tablet)
    unmoved(
        lambda: tablet.evaluate(
            """async (wanted) => {
                while ((await caches.keys()).join() !== wanted) await new Promise((next) => setTimeout(next, 100));
            }""",
            "filmwright-0123456789ab",
        )
    )
    assert old != "filmwright-0123456789ab"
    tablet.context.set_offline(True)
    for code in CODES:
        tablet.goto(f"/lot/{LOT}/step/{code}?wafer=W2")
        sources = tablet.evaluate(
            "[...document.querySelectorAll('link[rel=stylesheet], script')].map((e) => e.href || e.src)"
        )
        assert sources
        assert [each for each in sources if "/static/0123456789ab/" not in each] == []
