"""Live figures in a real browser: drawn without a network, they answer pointer, keys and buttons, and print as vector."""

import json
import re

import numpy as np
import pytest

from filmwright import desk

PANEL = "document.querySelector('.plot .panel')"


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """The page of an invented device that was swept up and down."""
    folder = tmp_path_factory.mktemp("curves")
    gate = np.linspace(-2, 8, 101)
    rows = []
    for volts, shift in ((gate, 0.0), (gate[::-1], 0.5)):
        amps = 1e-12 + 2e-7 * 0.2 * np.logaddexp(0, (volts - 1 - shift) / 0.2)
        rows += [f"{v:.2f},0.1,{i:.6e},1e-13" for v, i in zip(volts, amps, strict=True)]
    (folder / "T07.csv").write_text("VG (V),VD (V),ID (A),IG (A)\n" + "\n".join(rows) + "\n", "utf-8")
    answer = desk.extract(
        [folder / "T07.csv"], "100 um", "10 um", "62 nF/cm^2", into={"page": folder / "page.html"}
    )
    return answer.written[0]


def ready(browser, page, size=(1280, 900)):
    """The page with its first figure drawn."""
    browser.open(page, size=size)
    assert browser.run(
        "new Promise((done) => { const look = (left) => document.querySelector('.panel[data-live]') ? done(true) :"
        " left ? setTimeout(look, 100, left - 1) : done(false); look(300); })"
    )


@pytest.mark.whole
def test_figures_are_drawn_from_the_page_alone_with_the_numbers_of_the_file(browser, page):
    ready(browser, page)
    assert [each for each in browser.requests if not each.startswith(("file:", "data:", "blob:"))] == []
    drawn = json.loads(browser.run(f"JSON.stringify({PANEL}.querySelector('.live').data[0])"))
    assert drawn["name"] == "V_D 0.1 V, forward"
    assert drawn["x"][0] == -2
    assert drawn["y"][-1] == pytest.approx(2e-7 * 7 * 1e6, rel=1e-3)
    assert browser.run(f"{PANEL}.querySelectorAll('.annotation-arrow-g path').length") >= 2
    assert browser.run("document.querySelectorAll('.modebar-btn, a[href*=plotly]').length") == 0
    assert browser.run(f"{PANEL}.querySelector('.rest').hidden")


@pytest.mark.whole
def test_a_point_under_the_pointer_tells_its_numbers_with_units(browser, page):
    ready(browser, page)
    place = browser.run(
        f"(() => {{ const live = {PANEL}.querySelector('.live'); live.scrollIntoView({{block: 'center'}});"
        "const box = live.querySelector('.nsewdrag').getBoundingClientRect(), a = live._fullLayout;"
        "return [box.left + a.xaxis.d2p(6), box.top + a.yaxis.d2p(live.data[0].y[80])]; })()"
    )
    browser.ask("Input.dispatchMouseEvent", type="mouseMoved", x=place[0] - 40, y=place[1] - 30)
    browser.ask("Input.dispatchMouseEvent", type="mouseMoved", x=place[0], y=place[1])
    told = browser.run(
        "new Promise((done) => { const look = (left) => { const box = document.querySelector('.hoverlayer .hovertext');"
        "box ? done(box.textContent) : left ? setTimeout(look, 100, left - 1) : done(''); }; look(50); })"
    )
    assert re.search(r"gate voltage [\d.]+ V", told)
    assert re.search(r"drain current [\d.]+ µA", told)


@pytest.mark.whole
def test_a_curve_is_switched_off_by_its_name_and_on_again(browser, page):
    ready(browser, page)
    name = f"[...{PANEL}.querySelectorAll('.names button')].find(n => n.textContent === 'V_D 0.1 V, forward')"
    seen = f"{PANEL}.querySelector('.live').data[0].visible"
    browser.run(f"{name}.click()")
    assert browser.run(seen) is False
    assert browser.run(f"{name}.getAttribute('aria-pressed')") == "false"
    browser.run(f"{name}.click()")
    assert browser.run(seen) is True
    sample = browser.run(f"{name}.querySelector('svg').innerHTML")
    assert "<line" in sample


@pytest.mark.whole
def test_keys_walk_along_a_curve_and_say_where_they_are(browser, page):
    ready(browser, page)
    browser.run(f"{PANEL}.querySelector('.live').focus()")
    for _ in range(3):
        browser.key("ArrowRight")
    said = browser.run(f"{PANEL}.querySelector('.said').textContent")
    assert said.startswith("V_D 0.1 V, forward: gate voltage [V] -1.8, drain current [µA] ")
    browser.key("ArrowDown")
    assert browser.run(f"{PANEL}.querySelector('.said').textContent").startswith("V_D 0.1 V, backward")
    assert browser.run(f"{PANEL}.querySelector('.live').getAttribute('aria-label')").startswith(
        "drain current [µA]"
    )


@pytest.mark.whole
@pytest.mark.parametrize("size", [(1280, 900), (768, 1024)])
def test_figures_fit_the_screen_and_their_buttons_the_finger(browser, page, size):
    ready(browser, page, size)
    assert browser.run("document.documentElement.scrollWidth") <= size[0]
    small = browser.run(
        "[...document.querySelectorAll('.names button, .does button')].filter(n => n.offsetWidth)"
        ".map(n => [n.textContent, n.offsetWidth, n.offsetHeight])"
    )
    assert small
    assert all(wide >= 44 and high >= 44 for _, wide, high in small)


@pytest.mark.whole
def test_in_print_the_vector_pictures_stand_and_no_button(browser, page):
    ready(browser, page)
    browser.ask("Emulation.setEmulatedMedia", media="print")
    shown = browser.run(
        f"[...{PANEL}.children].filter(n => n.offsetHeight > 1 && getComputedStyle(n).display !== 'none').map(n => n.className)"
    )
    browser.ask("Emulation.setEmulatedMedia", media="")
    assert "rest" in shown
    assert not {"live", "names", "does"} & {word for each in shown for word in each.split()}
