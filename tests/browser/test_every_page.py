"""Every page in a browser: accessible in both themes, nothing blocked by the page's own rules, targets for gloves."""

from __future__ import annotations

import shutil
from urllib.parse import quote

import pytest
from axe_playwright_python.sync_playwright import Axe

from filmwright.desk.bench import Bench
from filmwright.record import Store
from filmwright.web import Settings

from .conftest import PATIENCE, of_one_page, served, unmoved

pytestmark = pytest.mark.whole

RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}

UNROLLED = """() => {
  // What lies half under the bar can be scrolled out; it is looked at as if the page were one long sheet.
  for (const each of document.querySelectorAll(".head, .bar, .grid-sheet, .grid th")) {
    each.style.position = "static";
    each.style.maxHeight = "none";
    each.style.overflow = "visible";
  }
}"""

SMALL_TARGETS = """() => {
  const places = [...document.querySelectorAll("a, button, summary, input:not([type=hidden]), select, textarea")];
  return places.filter((each) => {
    const within = each.closest("td, p, q, li, small, .title, dd");
    if (each.matches("a") && within && !each.matches(".cell, .choice, .main-action, .ways a, .coming a, .lot-name")) return false;
    if (each.matches(".skip") || !each.checkVisibility()) return false;
    const held = each.matches("input") && each.closest("label");
    const box = (held || each).getBoundingClientRect();
    return box.width && (box.height < 47.5 || box.width < 43.5);
  }).map((each) => each.outerHTML.slice(0, 120));
}"""


CLOSE_TARGETS = """([least, most, apart]) => {
  // What is touched with gloves at a step: all that does something, as it lies on the screen, with every part unfolded.
  for (const each of document.querySelectorAll("details")) each.open = true;
  for (const each of document.querySelectorAll("[data-while-running]")) each.hidden = false;
  const all = [...document.querySelectorAll("main a, main button, main summary, main input, main textarea, .bar button, .bar a, .bar summary")];
  const seen = all.filter((each) => each.checkVisibility() && each.type !== "hidden" && !each.closest(".entries, p, dd, td"));
  const boxes = [...new Set(seen.map((each) => (each.type === "radio" && each.closest("label")) || each))].map((each) => [each, each.getBoundingClientRect()]);
  const name = (each) => each.outerHTML.slice(0, 90), found = [];
  for (const [each, box] of boxes) {
    const wanted = each.matches(".main-action") ? most : least;
    if (Math.min(box.width, box.height) < wanted - 0.5) found.push(`${box.width} by ${box.height}: ${name(each)}`);
  }
  for (const [k, [one, a]] of boxes.entries())
    for (const [other, b] of boxes.slice(k + 1)) {
      if (one.contains(other) || other.contains(one) || Boolean(one.closest(".bar")) !== Boolean(other.closest(".bar"))) continue;
      const gap = Math.max(a.left - b.right, b.left - a.right, a.top - b.bottom, b.top - a.bottom);
      if (gap < apart - 0.5) found.push(`${gap} apart: ${name(one)} | ${name(other)}`);
    }
  return found;
}"""


@pytest.fixture(scope="module")
def reading(story, tmp_path_factory):
    """Where a server shows the invented bench, for looking only."""
    # The story itself is never open while tests copy it: a record that is in use is backed up, not copied.
    folder = tmp_path_factory.mktemp("read") / "at"
    shutil.copytree(story.record.parent, folder)
    plans = folder / "plans"
    with (
        Bench.open(folder / story.record.name, plans=plans) as bench,
        served(bench, Settings(plans=plans, example=True)) as at,
    ):
        yield at


def story_books(story):
    """The logbooks of the invented bench."""
    with Store.open(story.record) as store:
        return store.books()


@pytest.fixture(scope="module")
def paths(story):
    """One page of each kind."""
    first, second, third = story.lots
    tool = quote(next(name.partition(":")[2] for name in story_books(story) if name.startswith("tool:")))
    return (
        "/", "/parts", "/nowhere", "/lots/new", f"/lot/{first}", f"/lot/{second}/resume", f"/lot/{third}?open=all",
        f"/lot/{third}/step/08A?wafer=W1", f"/labels/{first}", f"/lot/{third}/wafer/W1", f"/lot/{third}/flow",
        f"/lot/{third}/measurements", f"/lot/{third}/paper", "/plans", "/tools", "/lots",
        "/plan/humidity-switch/plan.yaml", f"/tool/{tool}",
    )  # fmt: skip


def faults_of(page, path):
    """What is wrong with the page as it is now."""
    found = {}
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    page.evaluate(UNROLLED)
    axe = Axe().run(page, options=RULES)
    if axe.violations_count:
        found[path] = axe.generate_report()
    small = page.evaluate(SMALL_TARGETS)
    if small:
        found[f"{path}, small"] = small
    if wide > 0:
        found[f"{path}, wider than the screen"] = wide
    return found


@pytest.mark.parametrize(
    ("theme", "width", "height"), [("paper", 1024, 768), ("amber", 1024, 768), ("paper", 390, 844)]
)
def test_axe_finds_nothing_and_fingers_find_everything(chromium, reading, paths, theme, width, height):
    context = chromium.new_context(
        viewport={"width": width, "height": height}, base_url=reading, has_touch=True, reduced_motion="reduce"
    )
    context.add_cookies([{"name": "theme", "value": theme, "url": reading}])
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    blocked: list[str] = []
    page.on("console", lambda said: blocked.append(said.text) if "Content Security" in said.text else None)
    page.on("pageerror", lambda fault: blocked.append(str(fault)))
    found = {}
    for path in paths if width > 1000 else paths[:8]:
        unmoved(lambda path=path: page.goto(path))
        found |= of_one_page(page, lambda path=path: faults_of(page, path))
    context.close()
    assert not found, "\n".join(f"{path}: {what}" for path, what in found.items())
    assert not blocked


def test_a_keyboard_reaches_the_content_first_and_the_main_action_last(chromium, reading):
    context = chromium.new_context(base_url=reading)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    page.goto("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Shift+Tab")
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.className") == "main-action":
            break
    assert page.evaluate("document.activeElement.className") == "main-action"
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px"
    context.close()


def test_the_keys_write_a_number_and_the_theme_stays(tablet):
    tablet.goto("/parts")
    keys = tablet.get_by_role("group", name="Keys for time s")
    for key in ("4", "5", "Point", "2", "7", "Take back the last digit"):
        keys.get_by_role("button", name=key, exact=True).tap()
    assert tablet.get_by_label("time s", exact=True).input_value() == "45.2"
    tablet.get_by_role("button", name="amber").tap()
    tablet.wait_for_selector("html[data-theme=amber]")
    assert tablet.url.endswith("/parts")
    tablet.goto("/")
    assert tablet.locator("html").get_attribute("data-theme") == "amber"


def test_a_timer_counts_to_its_end_and_survives_a_reload(tablet):
    tablet.goto("/")
    left = tablet.locator(".timer .timer-left").first
    left.filter(has_text=":").wait_for()
    before = tablet.locator(".timer").first.get_attribute("data-ends")
    unmoved(tablet.reload)
    left.filter(has_text=":").wait_for()
    assert tablet.locator(".timer").first.get_attribute("data-ends") == before


@pytest.mark.parametrize(("width", "height"), [(1024, 768), (390, 844)])
def test_what_is_touched_at_a_step_is_large_and_apart(chromium, reading, paths, width, height):
    """With two pairs of gloves: targets of 48 px, the main action of 56 px, 8 px between them."""
    context = chromium.new_context(
        viewport={"width": width, "height": height}, base_url=reading, has_touch=True, reduced_motion="reduce"
    )
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    page.goto(next(each for each in paths if "/step/" in each))
    page.locator(".main-action:visible").first.wait_for()

    def close(*wanted: int) -> list[str]:
        return of_one_page(page, lambda: page.evaluate(CLOSE_TARGETS, list(wanted)))

    assert close(48, 56, 8) == []
    assert any(" by " in each for each in close(48, 500, 8))
    assert any(" apart" in each for each in close(48, 56, 30))
    context.close()
