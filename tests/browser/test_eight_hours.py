"""A whole shift without network: the tablet's clock goes on eight hours, its browser is closed and opened, then all arrives."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import datetime, timedelta

import pytest

from filmwright.desk.bench import Bench
from filmwright.record import Lot, digest
from filmwright.web import Settings

from .conftest import CHROMIUM, PATIENCE, served, settled
from .test_bench_offline import CODES, LOT, PLAN, press, ready, told

pytestmark = pytest.mark.whole

SHIFT = timedelta(hours=8)


@pytest.fixture
def bench(tmp_path):
    """A small lot of two wafers at its beginning."""
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        bench.store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=("W1", "W2"), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        yield bench


@contextmanager
def opened(chromium, profile, at, moment):
    """The tablet's browser with all that it kept, its clock at a moment."""
    context = chromium.browser_type.launch_persistent_context(
        profile, executable_path=CHROMIUM, args=["--no-sandbox"], base_url=at, has_touch=True,
        viewport={"width": 1024, "height": 768},
    )  # fmt: skip
    faults: list[str] = []
    page = context.pages[0]
    page.set_default_timeout(PATIENCE)
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.clock.install(time=moment)
    yield page
    context.close()
    assert not faults


def later(page, minutes: int) -> None:
    """Time passes, and what counts on the page goes on."""
    page.clock.fast_forward(minutes * 60_000)


def waits(page, count: int) -> None:
    page.locator("#kept", has_text=f"{count} waiting").wait_for()


def works_at(page, code: str, count: int) -> None:
    """An hour and a half of work at one step, without network; it adds three taps."""
    page.goto(f"/lot/{LOT}/step/{code}?wafer=W1")
    settled(page)
    press(page, "Start W1")
    waits(page, count + 1)
    later(page, 30)
    page.locator("summary", has_text="Note").click()
    page.get_by_label("What was seen or done").fill(f"half an hour into {code}")
    press(page, "Keep the note")
    waits(page, count + 2)
    later(page, 60)
    page.locator(".main-action:visible").click()
    waits(page, count + 3)


def test_eight_hours_without_network_arrive_once_in_order_and_at_their_times(chromium, bench, tmp_path):
    from PIL import Image

    Image.linear_gradient("L").save(tmp_path / "rim.png")
    # The shift ends about now by the server's clock, so that no time has to be put right.
    begins = datetime.now().astimezone() - SHIFT
    profile = tmp_path / "profile"
    with served(bench, Settings(plans=bench.plans)) as at:
        with opened(chromium, profile, at, begins) as page:
            page.goto(f"/lot/{LOT}/step/01A?wafer=W1")
            settled(page)
            page.get_by_label("Your name or initials").fill("AB")
            ready(page)
            page.context.set_offline(True)
            press(page, "Start W1")
            waits(page, 1)
            later(page, 30)
            page.locator(".main-action:visible").click()
            waits(page, 2)
            works_at(page, "02A", 2)
            page.locator("summary", has_text="Photo").click()
            page.get_by_label("Take or choose a photo").set_input_files(tmp_path / "rim.png")
            page.get_by_label("What it shows").fill("rim of the film")
            press(page, "Keep the photo")
            waits(page, 6)
        with opened(chromium, profile, at, begins + timedelta(hours=2.5)) as page:
            page.context.set_offline(True)
            works_at(page, "03A", 6)
            works_at(page, "03C", 9)
        assert told(bench) == [], "nothing came through while there was no network"
        with opened(chromium, profile, at, begins + timedelta(hours=5.75)) as page:
            page.context.set_offline(True)
            works_at(page, "04A", 12)
            later(page, 45)
            page.context.set_offline(False)
            page.locator('#kept[data-state="server"]', has_text="saved on the server at").wait_for()
    steps = dict(zip(CODES, ("1.1", "2.1", "3.1", "3.2", "4.1"), strict=True))
    wanted = [(steps["01A"], "start"), (steps["01A"], "finish")]
    for code in CODES[1:]:
        wanted += [(steps[code], kind) for kind in ("start", "note", "finish")]
        wanted += [(steps[code], "photo")] * (code == "02A")
    # What is dialled in depends on how much has been worked out when the pages were kept.
    came = [each for each in bench.written(LOT) if each.kind != "set"]
    assert [(each.step, each.kind) for each in came] == wanted
    assert {(each.who, each.wafer) for each in came} == {("AB", "W1")}
    times = [datetime.fromisoformat(each.happened) for each in came]
    assert times == sorted(times)
    assert timedelta(hours=6) < times[-1] - times[0] < SHIFT
    (photo,) = (each for each in came if each.kind == "photo")
    assert digest(bench.store.raw(photo.sha256)) == photo.sha256
    assert bench.store.verify(LOT).sound
    progress = bench.progress(LOT)
    assert {progress.cell("W1", each.number).state for each in progress.steps} == {"done"}
