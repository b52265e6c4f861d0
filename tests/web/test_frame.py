"""What every page has: the frame, the headers, and forms that only a page of this server can send."""

import re

import pytest

from filmwright.web.guard import HEADERS

pytestmark = pytest.mark.whole


def token_of(page):
    """The token that a page's forms carry."""
    return re.search(r'data-token="([0-9a-f]{64})"', page.text).group(1)


def test_the_first_page_says_what_to_do(browser):
    page = browser.get("/")
    assert page.status_code == 200
    assert "No lot here yet" in page.text


@pytest.mark.parametrize(
    "path", ["/", "/nowhere", "/static/x/look.css", "/static/x/none.css", "/healthz", "/theme"]
)
def test_every_answer_carries_the_security_headers(browser, path):
    answer = browser.get(path)
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS


def test_a_form_needs_token_and_origin(browser):
    sent = {"theme": "amber", "back": "/"}
    assert browser.post("/theme", data=sent).status_code == 403
    sent["token"] = token_of(browser.get("/"))
    foreign = browser.post("/theme", data=sent, headers={"origin": "http://elsewhere.example"})
    assert foreign.status_code == 403
    assert browser.post("/theme", data=sent, follow_redirects=False).status_code == 303
    assert 'data-theme="amber"' in browser.get("/").text


def test_a_form_sends_nobody_elsewhere(browser):
    sent = {"theme": "amber", "back": "//elsewhere.example/", "token": token_of(browser.get("/"))}
    assert browser.post("/theme", data=sent, follow_redirects=False).headers["location"] == "/"


def test_a_foreign_name_of_this_machine_is_not_answered(browser):
    assert browser.get("/", headers={"host": "elsewhere.example"}).status_code == 421


def test_an_unknown_address_is_a_calm_page_and_the_same_fields_for_programs(browser):
    assert "There is no such page" in browser.get("/nowhere").text
    told = browser.get("/nowhere", headers={"accept": "application/json"}).json()
    assert set(told) == {"status", "said", "problems", "number"}
