"""Changing over at a paired tablet by taps, and the pages about people in both themes."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from filmwright.desk.bench import Bench, People, SignIns, Visitor
from filmwright.record import Lot, digest
from filmwright.web import Settings

from .conftest import PATIENCE, served
from .test_every_page import RULES, SMALL_TARGETS, UNROLLED

pytestmark = pytest.mark.whole

LOT = "K7M-4H7"
PLAN = """\
flow: One film
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - clean: solvent clean
"""
WORDS, PIN = "tulip harbour seven crayon", "481516"


@pytest.fixture
def record(tmp_path):
    """A shared record with one lot, and the lot's name."""
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        bench.store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=("W1",), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        yield bench, LOT


@pytest.fixture
def lab(record):
    """A shared bench: its address, a paired tablet's secret and a link for a password."""
    bench, _ = record
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
    page.set_default_timeout(PATIENCE)
    page.goto("/")
    page.get_by_role("link", name="Otto", exact=True).tap()
    for digit in PIN:
        page.locator("#pin-keys").get_by_role("button", name=digit, exact=True).tap()
    page.get_by_role("button", name="Go on as Otto").tap()
    # The PIN was set since the last sign-in, which is told once.
    page.locator("main li", has_text="The PIN was set or taken away, by Otto").wait_for()
    page.get_by_role("link", name="Go on").tap()
    page.wait_for_selector("h1:has-text('Today')")
    page.locator(".asker a").tap()
    page.get_by_role("button", name="Sign out Otto").tap()
    page.wait_for_selector("h1:has-text('Who goes on?')")
    context.close()


def test_a_new_password_can_be_shown_and_is_judged_while_it_is_typed(chromium, lab):
    at, _, link = lab
    page = chromium.new_context(base_url=at).new_page()
    page.set_default_timeout(PATIENCE)
    page.goto(f"/first/{link}")
    field = page.get_by_label("New password", exact=True)
    field.fill("seven letters")
    page.get_by_role("button", name="Show: New password").click()
    assert field.get_attribute("type") == "text"
    page.locator(".judged", has_text="Will do").wait_for()
    field.fill("new new new new")
    page.locator(".judged[data-taken=no]", has_text="Easy to guess").wait_for()
    field.fill(WORDS)
    page.locator(".judged", has_text="Hard to guess").wait_for()
    page.get_by_role("button", name="Hide: New password").click()
    assert field.get_attribute("type") == "password"
    page.context.close()


@pytest.mark.parametrize(
    ("theme", "width", "height"), [("paper", 1280, 800), ("amber", 1024, 768), ("paper", 390, 844)]
)
def test_axe_finds_nothing_on_the_pages_about_people(chromium, lab, theme, width, height):
    at, tablet, link = lab
    context = chromium.new_context(base_url=at, viewport={"width": width, "height": height}, has_touch=True)
    cookies = [("theme", theme), ("tablet", tablet)]
    context.add_cookies([{"name": name, "value": value, "url": at} for name, value in cookies])
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
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
    page.get_by_label("Password", exact=True).fill(WORDS)
    page.get_by_role("button", name="Sign in").tap()
    page.wait_for_selector("h1:has-text('About your account')")
    for path in ("/changes", "/me", "/people"):
        look(path)
    context.close()
    assert not found, "\n".join(f"{path}: {what}" for path, what in found.items())
    assert not blocked


def test_what_otto_tapped_without_network_is_not_sent_in_the_name_of_who_comes_next(chromium, lab, record):
    at, _, _ = lab
    bench, lot = record
    context = chromium.new_context(base_url=at, viewport={"width": 1024, "height": 768}, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)

    def enters(name: str) -> None:
        token = SignIns(People(bench.store)).by_password(name, WORDS).token
        context.add_cookies([{"name": "session", "value": token, "url": at}])

    enters("Otto")
    page.goto(f"/lot/{lot}/step/01A")
    context.set_offline(True)
    page.get_by_role("button", name="Start", exact=False).first.tap()
    page.locator('#kept[data-state="here"]', has_text="1 waiting").wait_for()
    enters("Ada")
    context.set_offline(False)
    page.goto(f"/lot/{lot}/step/01A")
    asked = page.get_by_role("heading", name="Of Otto, not sent yet: 1 entry")
    asked.wait_for()
    assert not bench.written(lot)
    page.get_by_role("button", name="Otto did this, I send it").tap()
    page.locator("#state-word", has_text="Running").wait_for()
    page.locator('#kept[data-state="server"]').wait_for()
    context.close()
    assert [each.who for each in bench.written(lot)] == ["Otto (sent by Ada)"]


KEPT = """async () => (await Promise.all((await caches.keys()).map(async (name) =>
    (await (await caches.open(name)).keys()).map((each) => new URL(each.url).pathname)))).flat()
    .filter((each) => !each.startsWith("/static/") && each !== "/offline")"""
"""Pages and pictures of lots that the browser keeps."""


def test_signing_out_leaves_only_what_is_not_sent_and_says_so(chromium, lab, record):
    at, _, _ = lab
    bench, lot = record
    context = chromium.new_context(base_url=at, viewport={"width": 1024, "height": 768}, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)

    def enters() -> None:
        token = SignIns(People(bench.store)).by_password("Otto", WORDS).token
        context.add_cookies([{"name": "session", "value": token, "url": at}])

    enters()
    page.goto(f"/lot/{lot}/step/01A")
    page.wait_for_selector('html[data-offline="ready"]')
    assert f"/lot/{lot}/step/01A" in page.evaluate(KEPT)
    page.route("**/queue", lambda route: route.abort())
    page.get_by_role("button", name="Start", exact=False).first.tap()
    page.locator("#kept", has_text="1 waiting").wait_for()
    # What waits is told on every page, also on one that does not exist.
    page.goto("/nowhere")
    page.locator("#kept", has_text="1 waiting").wait_for()
    page.goto("/me")
    page.get_by_role("button", name="Sign out", exact=True).tap()
    page.get_by_role("button", name="Sign out, it stays here").tap()
    page.wait_for_selector("h1:has-text('Sign in')")
    page.locator("#kept", has_text="1 waiting").wait_for()
    assert page.evaluate(KEPT) == []
    assert page.evaluate("localStorage.getItem('who')") is None
    assert not bench.written(lot)
    page.unroute("**/queue")
    enters()
    page.goto("/me")
    page.locator('#kept[data-state="server"]').wait_for()
    assert [(each.kind, each.who) for each in bench.written(lot)] == [("start", "Otto")]
    context.close()
