"""Every page in a browser: accessible in both themes, nothing blocked by the page's own rules."""

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.whole

RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}


@pytest.mark.parametrize("theme", ["paper", "amber"])
@pytest.mark.parametrize("path", ["/", "/parts", "/nowhere"])
def test_axe_finds_nothing(tablet, address, path, theme):
    blocked: list[str] = []
    tablet.on("console", lambda said: blocked.append(said.text) if "Content Security" in said.text else None)
    tablet.context.add_cookies([{"name": "theme", "value": theme, "url": address}])
    tablet.goto(path)
    found = Axe().run(tablet, options=RULES)
    assert found.violations_count == 0, found.generate_report()
    assert not blocked
