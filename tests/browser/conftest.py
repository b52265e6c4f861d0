"""A real browser before a real server with the invented bench; without Chromium these tests say so and are skipped."""

from __future__ import annotations

import shutil
import threading
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from filmwright.desk.bench import Bench, example_bench
from filmwright.web import Settings
from filmwright.web.serving import server

PATIENCE = 180_000
"""A machine that does many things at once is slow, not wrong [ms]."""

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"


SETTLED = """() => {
  const card = document.getElementById("card");
  return document.readyState === "complete" && !document.body.inert && (!card || card.dataset.ready === "yes");
}"""
_MARK = """() => document.readyState === "complete" && (document.documentElement.dataset.looked = "yes")"""
_AWAY = ("context", "navigat", "ERR_ABORTED")
"""Words of the browser when a page came anew while it was being looked at."""


def settled(page):
    """Wait until a page is whole and its script has taken over the forms."""
    page.wait_for_function(SETTLED)


def unmoved(look, tries=20):
    """What is seen; a page that shows what was worked out comes anew by itself, and looking begins again."""
    from playwright.sync_api import Error

    for _ in range(tries):
        try:
            return look()
        except Error as fault:
            if not any(each in str(fault) for each in _AWAY):
                raise
    return look()


def of_one_page(page, look):
    """What is seen by several looks at one and the same whole page; where it came anew in between they are made again."""
    while True:
        settled(page)
        marked = unmoved(lambda: page.evaluate(_MARK))
        found = unmoved(look)
        if marked and unmoved(lambda: page.evaluate("document.documentElement.dataset.looked")):
            return found


@contextmanager
def served(bench, settings):
    """The address of a server in a thread of its own, on a free port."""
    running = server(bench, settings)
    thread = threading.Thread(target=running.run, daemon=True)
    running.config.port = 0
    thread.start()
    until = time.monotonic() + PATIENCE / 1000
    while not running.started:
        assert thread.is_alive(), "the server did not start"
        assert time.monotonic() < until, "the server did not start in time"
        time.sleep(0.02)
    port = running.servers[0].sockets[0].getsockname()[1]
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        running.should_exit = True
        thread.join(10)


@pytest.fixture(scope="session")
def chromium():
    """One Chromium for all tests of a worker."""
    if not Path(CHROMIUM).exists():
        pytest.skip("Chromium is not installed (Debian package chromium): pages are not looked at")
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def story(tmp_path_factory):
    """The invented bench; ``bench_copy`` is one to write into."""
    return example_bench(tmp_path_factory.mktemp("example"))


@pytest.fixture
def bench_copy(story, tmp_path):
    """A bench of one's own with the invented story."""
    shutil.copytree(story.record.parent, tmp_path / "story")
    with Bench.open(tmp_path / "story" / "record.sqlite", plans=tmp_path / "story" / "plans") as bench:
        yield bench


@pytest.fixture
def address(bench_copy):
    """Where a server shows the copy."""
    with served(bench_copy, Settings(plans=bench_copy.plans, example=True)) as at:
        yield at


@pytest.fixture
def tablet(chromium, address):
    """A page on a tablet; faults of scripts fail the test."""
    context = chromium.new_context(viewport={"width": 1024, "height": 768}, base_url=address, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    yield page
    context.close()
    assert not faults
