"""Measured files in a browser: dropped, understood, confirmed, worked out while one looks, and a device looked at by touch and by keys."""

from __future__ import annotations

import re
import shutil

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from filmwright.desk.bench import Bench
from filmwright.web import Settings

from .conftest import PATIENCE, served, unmoved
from .test_every_page import RULES, SMALL_TARGETS, UNROLLED

pytestmark = pytest.mark.whole


@pytest.fixture
def measured(chromium, probed, tmp_path):
    """A tablet before a copy of a lot that was run and probed."""
    shutil.copytree(probed.parent, tmp_path / "lot")
    with Bench.open(tmp_path / "lot" / probed.name) as bench:
        lot = bench.lots()[0].name
        files = [each for each in bench.store.files(lot) if each.device]
        table = bench.store.raw(files[0].sha256)
        with served(bench, Settings()) as address:
            context = chromium.new_context(
                viewport={"width": 1024, "height": 768},
                base_url=address,
                has_touch=True,
                reduced_motion="reduce",
            )
            page = context.new_page()
            page.set_default_timeout(PATIENCE)
            faults: list[str] = []
            page.on("pageerror", lambda fault: faults.append(str(fault)))
            yield page, f"/lot/{lot}/measurements", files, table
            context.close()
            assert not faults


def test_files_are_dropped_confirmed_and_told_and_a_device_is_looked_at(measured):
    page, path, files, table = measured
    page.goto(path)
    name = files[0].device
    page.locator("#files").set_input_files(
        {"name": f"again-W1-{name}.csv", "mimeType": "text/csv", "buffer": table + b"\n"}
    )
    page.locator("#bar .main-action").tap()
    page.wait_for_url(re.compile("/tray/"))
    expect(page.locator("select[name^=device]")).to_have_value(name)
    page.get_by_label("Your name or initials").fill("AB")
    page.locator("#bar .main-action").tap()
    page.wait_for_url(f"**{path}")
    page.locator("#explorer").wait_for()
    expect(page.locator("#worked-out")).to_have_count(0)
    expect(page.get_by_role("heading", name="Prediction")).to_be_visible()

    mark = page.locator(f'.map [data-device="W1 {name}"] title').locator("..")
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] / 2 + 2, box["y"] + box["height"] / 2 + 2)
    readout = page.locator(".of-device")
    expect(readout.get_by_role("heading", name=f"W1 {name}")).to_be_visible()
    expect(readout.locator(".curve.expected").first).to_be_attached()

    page.locator("#one-device").focus()
    page.keyboard.press("ArrowDown")
    other = page.locator("#one-device").input_value()
    assert other != f"W1 {name}"
    expect(readout.get_by_role("heading", name=other)).to_be_visible()
    expect(page.locator("#one-device")).to_be_focused()
    unmoved(page.reload)
    expect(readout.get_by_role("heading", name=other)).to_be_visible()

    page.evaluate(UNROLLED)
    found = Axe().run(page, options=RULES)
    assert not found.violations_count, found.generate_report()
    assert page.evaluate(SMALL_TARGETS) == []
    with page.expect_download() as saved:
        page.locator("summary", has_text="files").first.tap()
        page.get_by_role("link", name=files[0].name, exact=True).tap()
    assert saved.value.suggested_filename == files[0].name
