"""Changing over at a paired tablet by taps, and the pages about people in both themes."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from filmwright.desk.bench import Bench, People, SignIns, Visitor
from filmwright.web import Settings

from .conftest import served
from .test_every_page import RULES, SMALL_TARGETS, UNROLLED

pytestmark = pytest.mark.whole

WORDS, PIN = "tulip harbour seven crayon", "481516"


@pytest.fixture
def lab(tmp_path):
    """A shared bench: its address, a paired tablet's secret and a link for a password."""
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        people = People(bench.store)
        signs = SignIns(people)
        for name, role in (("Ada", "administrator"), ("Otto", "operator")):
            people.add(name, role, by="the test", password=WORDS)
            signs.set_pin(signs.by_password(name, WORDS).visitor, WORDS, PIN)
        tablet = signs.pair(Visitor(name="Ada", role="administrator"), "wet bench 2")
        signs.make_token(Visitor(name="Ada", role="administrator"), "furnace logger", ("read",))
        link = people.add("New", "reader", by="Ada").link
        with served(bench, Settings(shared=True, names=())) as at:
            yield at, tablet, link


def test_otto_goes_on_by_taps_alone_and_signs_out_again(chromium, lab):
    at, tablet, _ = lab
    context = chromium.new_context(base_url=at, viewport={"width": 1024, "height": 768}, has_touch=True)
    context.add_cookies([{"name": "tablet", "value": tablet, "url": at}])
    page = context.new_page()
    page.goto("/")
    page.get_by_role("link", name="Otto", exact=True).tap()
    for digit in PIN:
        page.locator("#pin-keys").get_by_role("button", name=digit, exact=True).tap()
    page.get_by_role("button", name="Go on as Otto").tap()
    page.wait_for_selector("h1:has-text('Today')")
    page.locator(".asker a").tap()
    page.get_by_role("button", name="Sign out Otto").tap()
    page.wait_for_selector("h1:has-text('Who goes on?')")
    context.close()


@pytest.mark.parametrize(
    ("theme", "width", "height"), [("paper", 1280, 800), ("amber", 1024, 768), ("paper", 390, 844)]
)
def test_axe_finds_nothing_on_the_pages_about_people(chromium, lab, theme, width, height):
    at, tablet, link = lab
    context = chromium.new_context(base_url=at, viewport={"width": width, "height": height}, has_touch=True)
    cookies = [("theme", theme), ("tablet", tablet)]
    context.add_cookies([{"name": name, "value": value, "url": at} for name, value in cookies])
    page = context.new_page()
    blocked: list[str] = []
    page.on("console", lambda said: blocked.append(said.text) if "Content Security" in said.text else None)
    page.on("pageerror", lambda fault: blocked.append(str(fault)))
    found = {}

    def look(path: str) -> None:
        page.goto(path)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        page.evaluate(UNROLLED)
        axe = Axe().run(page, options=RULES)
        if axe.violations_count:
            found[path] = axe.generate_report()
        small = page.evaluate(SMALL_TARGETS)
        if small or wide > 0:
            found[f"{path}, small or wide"] = (small, wide)

    for path in ("/sign-in", "/switch", "/switch?name=Otto", f"/first/{link}"):
        look(path)
    page.goto("/sign-in")
    page.get_by_label("Name").fill("ada")
    page.get_by_label("Password").fill(WORDS)
    page.get_by_role("button", name="Sign in").tap()
    page.wait_for_selector("h1:has-text('Today')")
    for path in ("/me", "/people"):
        look(path)
    context.close()
    assert not found, "\n".join(f"{path}: {what}" for path, what in found.items())
    assert not blocked
