"""The plan's text in a browser: mistakes at their lines, offers by keyboard, nothing lost when two people save."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

pytestmark = pytest.mark.whole
RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}


@pytest.fixture
def plan(bench_copy):
    """Name and file of the first plan that is served."""
    from filmwright.desk.bench.plans import plan_files

    name = plan_files(bench_copy.plans)[0].name
    return name, bench_copy.plans / name


def opened(page, plan):
    """The page of a plan with its script at work; its text field."""
    page.goto(f"/plan/{plan[0]}")
    page.wait_for_selector("[data-editor][data-ready]")
    return page.locator("#text")


def put_cursor(page, words, behind=True):
    """Set the cursor behind words of the text."""
    page.evaluate(
        """([words, behind]) => {
          const field = document.getElementById("text");
          const at = field.value.indexOf(words) + (behind ? words.length : 0);
          field.focus();
          field.setSelectionRange(at, at);
        }""",
        [words, behind],
    )


def test_a_mistake_that_is_typed_is_found_at_its_line(tablet, plan):
    opened(tablet, plan)
    line = 1 + plan[1].read_text().partition("diameter: 100 m")[0].count("\n")
    put_cursor(tablet, "diameter: 100 m")
    tablet.keyboard.type("Torr ")
    finding = tablet.locator(".finding", has_text="cannot be read")
    expect(finding).to_contain_text(f"line {line}")
    expect(tablet.locator(".gutter p").nth(line - 1)).to_contain_text("✕1")
    finding.locator("[data-line]").click()
    assert tablet.evaluate("document.activeElement.id") == "text"
    for _ in range(5):
        tablet.keyboard.press("Control+z")
    expect(tablet.locator("#text")).to_have_value(plan[1].read_text())
    expect(tablet.locator(".finding", has_text="cannot be read")).to_have_count(0)


def test_offers_are_taken_by_keyboard_and_by_tap_and_tab_leaves_the_text(tablet, plan):
    field = opened(tablet, plan)
    put_cursor(tablet, "steps:\n")
    tablet.keyboard.type("  - dep")
    offer = tablet.get_by_role("option", name="deposit:")
    expect(offer).to_be_visible()
    tablet.keyboard.press("ArrowDown")
    expect(offer).to_have_attribute("aria-selected", "true")
    assert field.get_attribute("aria-activedescendant") == offer.get_attribute("id")
    tablet.keyboard.press("Enter")
    tablet.keyboard.type("tita")
    tablet.get_by_role("option", name="titanium Ti,").tap()
    assert "steps:\n  - deposit: titanium\n" in field.input_value() + "\n" or (
        "  - deposit: titanium" in field.input_value()
    )
    tablet.keyboard.press("Tab")
    assert tablet.evaluate("document.activeElement.id") != "text"


def test_sections_settings_and_the_day_stand_beside_the_text(tablet, plan):
    opened(tablet, plan)
    tablet.get_by_role("tab", name="Section").click()
    expect(tablet.locator("#section-now img")).to_be_visible()
    before = tablet.locator("#which-step").inner_text()
    tablet.get_by_role("button", name="Step after").click()
    expect(tablet.locator("#which-step")).not_to_have_text(before)
    tablet.get_by_role("tab", name="Settings").click()
    expect(tablet.locator("#settings-now th").first).to_be_visible()
    tablet.get_by_role("tab", name="Day plan").click()
    expect(tablet.locator("#day tbody tr").first).to_be_visible()


def test_who_saves_over_a_newer_text_sees_both_and_loses_nothing(tablet, plan):
    opened(tablet, plan)
    plan[1].write_text(plan[1].read_text() + "# theirs\n")
    put_cursor(tablet, "flow:", behind=False)
    tablet.keyboard.type("# mine\n")
    tablet.fill("#reason", "a remark was missing")
    if tablet.locator("#who").count():
        tablet.fill("#who", "AB")
    tablet.get_by_role("button", name="Save").click()
    expect(tablet.get_by_role("alert")).to_contain_text("Not saved")
    expect(tablet.locator(".line-came", has_text="# theirs")).to_be_visible()
    assert "# mine" in tablet.locator("#text").input_value()
    assert "# mine" not in plan[1].read_text()


@pytest.mark.parametrize("theme", ["paper", "amber"])
def test_axe_finds_nothing(tablet, address, plan, theme):
    blocked: list[str] = []
    tablet.on("console", lambda said: blocked.append(said.text) if "Content Security" in said.text else None)
    tablet.context.add_cookies([{"name": "theme", "value": theme, "url": address}])
    opened(tablet, plan)
    put_cursor(tablet, "steps:\n")
    tablet.keyboard.type("  - d")
    expect(tablet.get_by_role("option").first).to_be_visible()
    tablet.evaluate("scrollTo(0, 0)")
    found = Axe().run(tablet, options=RULES)
    assert found.violations_count == 0, found.generate_report()
    tablet.goto("/plans")
    found = Axe().run(tablet, options=RULES)
    assert found.violations_count == 0, found.generate_report()
    assert not blocked
