"""Tools on pages: state, checks asked about before they are kept, charts, baths, markup in words, roles."""

import html
import re
from urllib.parse import quote

import pytest

pytestmark = pytest.mark.whole

EVAPORATOR, BENCH = "/tool/evaporator", "/tool/acid%20bench"


def post(client, page, what, way="write", **words):
    """Fill the form of a page that writes one kind of line."""
    text = client.get(page).text
    forms = re.findall(r"<form[^>]*>.*?</form>", text, re.DOTALL)
    form = next(
        each for each in forms if f'action="{page}/{way}"' in each and f'name="what" value="{what}"' in each
    )
    hidden = {
        name: html.unescape(value)
        for name, value in re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', form)
    }
    return client.post(f"{page}/{way}", data={"who": "AB", **hidden, **words}, follow_redirects=False)


def test_tools_stand_with_state_in_words_and_what_is_due(example):
    page = example.get("/tools").text
    assert "limited" in page
    assert "the stage sticks" in page
    assert "stands out" in page
    assert page.index("stylus") < page.index("solvent bench")


def test_a_check_that_looks_odd_is_asked_about_and_then_kept_once(copy):
    asked = post(copy, EVAPORATOR, "check", value="42", unit="Pa")
    assert asked.status_code == 422
    assert "nothing was kept yet" in asked.text
    again = re.search(
        r'<form method="post" action="/tool/evaporator/write">(.*?)</form>', asked.text, re.DOTALL
    ).group(1)
    words = {k: html.unescape(v) for k, v in re.findall(r'name="([^"]+)" value="([^"]*)"', again)}
    for _ in range(2):
        assert copy.post("/tool/evaporator/write", data=words, follow_redirects=False).status_code == 303
    page = copy.get(EVAPORATOR).text
    assert page.count("check base pressure 42 Pa") == 1
    assert "one reading beyond 3 sigma" in page


def test_state_bath_and_note_are_written_and_a_line_is_taken_back(copy):
    assert post(copy, BENCH, "state", state="down", why="no exhaust").status_code == 303
    assert "no exhaust" in copy.get("/tools").text
    assert post(copy, BENCH, "bath", bath="weak acetic acid", action="discarded").status_code == 303
    assert "discarded" in copy.get(BENCH).text
    text = "<script>alert(1)</script>"
    assert post(copy, BENCH, "note", words=text).status_code == 303
    page = copy.get(BENCH).text
    assert text not in page
    assert html.escape(text, quote=False) in page
    assert post(copy, BENCH, "take back", why="a try").status_code == 303
    assert html.escape(text, quote=False) not in copy.get(BENCH).text
    assert post(copy, BENCH, "state", state="down", why="").status_code == 422


def test_a_reading_is_the_number_of_today_from_then_on(copy):
    answer = post(
        copy,
        EVAPORATOR,
        "reading",
        "change",
        quantity="deposition rate",
        value="0.1 nm/s +- 1 %",
        material="titanium",
        monthly="yes",
    )
    assert answer.status_code == 303
    page = copy.get(EVAPORATOR).text
    assert "qualification deposition rate 0.1 nm/s" in page
    assert "process owner, today" in page or "AB, today" in page
    assert "qualification point: the last one" not in page


def test_charts_are_pictures_of_their_own(example):
    addresses = re.findall(r'src="(/tool/[^"]+\.svg[^"]*)"', example.get(EVAPORATOR).text)
    assert len(addresses) > 3
    answer = example.get(html.unescape(addresses[0]))
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert "style=" not in answer.text
    assert "opened" in answer.text
    assert example.get("/tool/evaporator/chart/check/99.svg").status_code == 404


def test_an_unknown_tool_is_not_found_in_words(example):
    answer = example.get("/tool/" + quote("evaporater"))
    assert answer.status_code == 404
    assert "evaporator" in answer.text


def test_an_empty_record_says_where_tools_come_from(browser):
    assert "lab file" in browser.get("/tools").text


def test_forms_say_what_one_must_be_allowed_to_do():
    from filmwright.web.pages import tools

    needs = {route.path: route.endpoint.needs for route in tools.routes if "POST" in (route.methods or set())}
    assert needs == {"/tool/{name:path}/write": "log", "/tool/{name:path}/change": "edit tools"}
