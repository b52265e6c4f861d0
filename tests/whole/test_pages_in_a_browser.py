"""The page of the steps in a real browser: slider, keys, swipe, play, places on the die; and no letters on letters.

Without a browser these tests are left out.
"""

import re
from collections import Counter

import pytest

from filmwright import desk

FLOWS = ("humidity-switch", "delay-line", "platinum-thermometer")


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """The pictures of the bundled flows, by name."""
    found = {}
    for name in FLOWS:
        folder = tmp_path_factory.mktemp(name)
        desk.new(folder / "it", name)
        desk.draw(folder / "it" / "plan.yaml", on="2026-11-25")
        found[name] = folder / "it" / "pictures"
    return found


def shown(browser):
    """Number of the step that the page shows, by its heading."""
    return browser.run("document.querySelector('.head .s.on h2 .no').textContent")


@pytest.mark.whole
def test_the_page_needs_no_network_and_moves_by_slider_keys_and_swipe(browser, drawn):
    page = drawn["platinum-thermometer"] / "steps.html"
    browser.open(page)
    assert browser.requests in ([], [page.as_uri()])
    assert shown(browser) == "1.1"
    browser.run("s = document.getElementById('slider'); s.value = 9; s.dispatchEvent(new Event('input')); 0")
    assert shown(browser) == "4.1"
    assert browser.run("s.getAttribute('aria-valuetext')") == "10 of 36: 4.1 Deposit platinum"
    assert browser.run("location.hash") == "#step=10"
    browser.run("document.activeElement.blur()")
    browser.key("ArrowRight")
    assert shown(browser) == "5.1"
    browser.key("ArrowLeft")
    assert shown(browser) == "4.1"
    browser.key("End")
    assert browser.run("document.getElementById('next').disabled")
    browser.key("Home")
    assert shown(browser) == "1.1"
    browser.ask("Emulation.setTouchEmulationEnabled", enabled=True)
    x, y = 600, 300
    browser.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
    browser.ask("Input.dispatchTouchEvent", type="touchMove", touchPoints=[{"x": x - 150, "y": y}])
    browser.ask("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
    browser.ask("Emulation.setTouchEmulationEnabled", enabled=False)
    assert shown(browser) == "2.1"


@pytest.mark.whole
def test_a_step_can_be_linked_by_place_or_number(browser, drawn):
    page = drawn["platinum-thermometer"] / "steps.html"
    for fragment, number in (
        ("#step=10", "4.1"),
        ("#step=5.1", "5.1"),
        ("#12", "5.2"),
        ("#step=999", "15.1"),
        ("#x", "1.1"),
    ):
        browser.open(page, fragment)
        assert shown(browser) == number, fragment
        visible = browser.run(
            "[...document.querySelectorAll('.section .s')].filter(n => n.offsetHeight).length"
        )
        assert visible == 1


@pytest.mark.whole
def test_the_story_plays_at_its_pace_and_pauses(browser, drawn):
    """The page's clock is set forward: time in the browser is virtual, nobody waits."""
    browser.open(drawn["platinum-thermometer"] / "steps.html")
    browser.run(
        "window.waits = []; window.setTimeout = (f, t) => { waits.push([f, t]); return waits.length; }; 0"
    )
    browser.run("document.getElementById('play').click()")
    assert browser.run("document.getElementById('play').getAttribute('aria-pressed')") == "true"
    usual = browser.run("waits[0][1]")
    assert 3_000 < usual < 20_000
    browser.run("waits.at(-1)[0]()")
    assert shown(browser) == "2.1"
    browser.run("document.getElementById('pace').value = '2'; waits.at(-1)[0]()")
    assert shown(browser) == "2.2"
    seconds = browser.run(
        "JSON.parse(document.getElementById('facts').textContent).steps.map(s => s.seconds)"
    )
    assert browser.run("waits.at(-1)[1]") == pytest.approx(500 * seconds[2])
    browser.run("document.getElementById('play').click()")
    assert browser.run("document.getElementById('play').getAttribute('aria-pressed')") == "false"
    still = "getComputedStyle(document.querySelector('.s.on')).animationName"
    browser.ask(
        "Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": "reduce"}]
    )
    browser.run("document.getElementById('play').click()")
    assert browser.run(still) == "none"
    browser.ask(
        "Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": "no-preference"}]
    )
    assert browser.run(still) == "appear"


@pytest.mark.whole
def test_a_place_on_the_die_shows_its_column_colour_and_history(browser, drawn):
    page = drawn["platinum-thermometer"] / "steps.html"
    browser.open(page, "#step=36")
    assert not browser.run("document.getElementById('place').offsetHeight")
    box = browser.run(
        "(r => [r.x, r.y, r.width, r.height])(document.querySelector('#die .shown .s.on g[data-left] path').getBoundingClientRect())"
    )
    browser.click(box[0] + box[2] / 2, box[1] + box[3] / 2)
    rows = browser.run(
        "[...document.querySelectorAll('#layers tr')].map(r => [...r.cells].map(c => c.textContent))"
    )
    assert rows[-1][:3] == ["Si", "the wafer", "as bought"]
    assert ["SiO₂", "500 nm", "as bought", ""] in rows
    assert "&at=" in browser.run("location.hash")
    column = browser.run(
        "[...document.querySelectorAll('#column svg rect[data-film]')].map(r => r.dataset.film)"
    )
    assert len(column) == len(rows)
    told = browser.run("[...document.querySelectorAll('#history li')].map(n => n.textContent)")
    assert told[0] == "as bought: SiO₂ 500 nm on Si"
    assert any("+ Al₂O₃ 50 nm" in each for each in told)
    assert re.fullmatch(
        r"looks .+ under the microscope \(#[0-9a-f]{6}\)",
        browser.run("document.getElementById('colour-name').textContent"),
    )
    browser.run("document.querySelector('#history li:last-child button').click()")
    last = browser.run("document.querySelector('#history [aria-current]').textContent")
    assert last.startswith(shown(browser))
    browser.key("Escape")
    assert not browser.run("document.getElementById('place').offsetHeight")


@pytest.mark.whole
def test_every_place_can_be_reached_by_keys_and_what_it_says_is_what_lies_there(browser, drawn):
    browser.open(drawn["platinum-thermometer"] / "steps.html", "#step=36")
    places = "[...document.querySelectorAll('#die .shown .s.on [data-column]')]"
    keys = browser.run(f"{places}.map(n => n.dataset.column)")
    wide = browser.run(f"{places}.map(n => n.getBBox()).map(b => Math.min(b.width, b.height))")
    assert len(keys) > 4
    for k, key in enumerate(keys):
        if wide[k] < 2:
            continue
        browser.run(f"{places}[{k}].focus()")
        browser.key("Enter")
        facts = browser.run(
            f"JSON.parse(document.getElementById('facts').textContent).columns['{key}'].layers.map(r => r[1])"
        )
        assert (
            browser.run("[...document.querySelectorAll('#layers tr td:first-child')].map(c => c.textContent)")
            == facts[::-1]
        )


@pytest.mark.whole
def test_looking_closer_keeps_the_scale_bar_true(browser, drawn):
    browser.open(drawn["humidity-switch"] / "steps.html", "#step=52")
    bar = "document.querySelector('#die .shown .s.on [data-bar]')"
    width = f"(l => l.getAttribute('x2') - l.getAttribute('x1'))({bar}.querySelector('line'))"
    scale = float(browser.run("document.querySelector('#die g[data-px]').dataset.px"))
    for _ in range(6):
        browser.run("document.getElementById('closer').click()")
        zoom = float(
            re.search(
                r"scale\(([\d.]+)\)",
                browser.run("document.querySelector('#die .shown .s.on .inside').getAttribute('transform')"),
            )[1]
        )
        told, unit = browser.run(f"{bar}.textContent").split()
        nm = float(told) * {"µm": 1000, "nm": 1}[unit]
        assert float(browser.run(width)) == pytest.approx(nm * scale * zoom, rel=1e-6)
    assert zoom == pytest.approx(1.6**6)
    browser.run("document.getElementById('as-seen').click()")
    assert browser.run("document.querySelectorAll('#die .seen .s.on svg').length") == 1
    browser.run("document.getElementById('whole').click()")
    assert "scale(1)" in browser.run(
        "document.querySelector('#die .shown .s.on .inside').getAttribute('transform')"
    )


CROSSING = """
[...document.querySelectorAll('svg')].flatMap((svg, k) => {
  const boxes = [...svg.querySelectorAll('text')].filter(n => n.textContent.trim()).map(n => [n.textContent, n.getBoundingClientRect()]);
  const inside = svg.getBoundingClientRect(), bad = [];
  boxes.forEach(([one, a], i) => {
    if (a.left < inside.left - 1 || a.right > inside.right + 1 || a.bottom > inside.bottom + 1) bad.push([k, one, 'leaves the picture']);
    boxes.slice(i + 1).forEach(([other, b]) => {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left), high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 1 && high > 3) bad.push([k, one, other]);
    });
  });
  return bad;
})
"""


@pytest.mark.whole
@pytest.mark.parametrize("flow", FLOWS)
def test_no_letters_lie_on_others_in_any_picture(browser, drawn, flow, tmp_path):
    """The boxes of all texts as the browser sets them: none leaves its picture, none crosses another one."""
    files = sorted((drawn[flow] / "sections").glob("*.svg"))
    page = tmp_path / "all.html"
    page.write_text(
        "<meta charset='utf-8'>" + "".join(f.read_text(encoding="utf-8") for f in files), encoding="utf-8"
    )
    browser.open(page)
    assert browser.run("document.querySelectorAll('svg').length") == len(files)
    assert browser.run(CROSSING) == []


@pytest.mark.whole
def test_letters_on_letters_would_be_found(browser, tmp_path):
    page = tmp_path / "bad.html"
    page.write_text(
        "<svg width='90' height='50'><text x='5' y='20'>one</text><text x='9' y='22'>other, too long a text</text></svg>",
        encoding="utf-8",
    )
    browser.open(page)
    assert [word[1:] for word in browser.run(CROSSING)] == [
        ["one", "other, too long a text"],
        ["other, too long a text", "leaves the picture"],
    ]


@pytest.mark.whole
@pytest.mark.parametrize("size", [(1280, 900), (1024, 768), (768, 1024)])
def test_nothing_is_wider_than_the_screen(browser, drawn, size):
    browser.open(drawn["humidity-switch"] / "steps.html", "#step=52&at=1190,4720", size)
    assert browser.run("document.documentElement.scrollWidth") <= size[0]
    assert browser.run("document.getElementById('place').offsetHeight") > 100
    small = browser.run(
        "[...document.querySelectorAll('.bar button, .tools button')].filter(n => n.offsetWidth).map(n => [n.id, n.offsetWidth, n.offsetHeight])"
    )
    assert all(wide >= 44 and high >= 44 for _, wide, high in small), Counter(name for name, *_ in small)
